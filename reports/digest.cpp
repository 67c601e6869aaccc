#include "reports/digest.h"

#include <fmt/format.h>
#include <sodium.h>

#include <stdexcept>

namespace deckle {

Sha256 sha256_bytes(std::string_view bytes) {
    static_assert(std::tuple_size_v<Sha256> == crypto_hash_sha256_BYTES);
    if (sodium_init() < 0) throw std::runtime_error("libsodium does not start");
    Sha256 digest{};
    crypto_hash_sha256(digest.data(), reinterpret_cast<const unsigned char*>(bytes.data()),
                       bytes.size());
    return digest;
}

std::string sha256_of(std::string_view bytes) {
    std::string text;
    for (const unsigned char byte : sha256_bytes(bytes)) text += fmt::format("{:02x}", byte);
    return text;
}

}  // namespace deckle
