#include "reports/seal/keys.h"

#include <fmt/format.h>
#include <sodium.h>

#include <array>
#include <optional>

#include "engine/text/problem.h"
#include "reports/inert.h"

namespace deckle {
namespace {

constexpr std::string_view secret_head = "deckle-secret-key ed25519 ";
constexpr std::string_view open_head = "deckle-public-key ed25519 ";
constexpr std::string_view signature_head = "ed25519 ";

using Seed = std::array<unsigned char, crypto_sign_SEEDBYTES>;
using OpenKey = std::array<unsigned char, crypto_sign_PUBLICKEYBYTES>;
using SecretKey = std::array<unsigned char, crypto_sign_SECRETKEYBYTES>;
using Signature = std::array<unsigned char, crypto_sign_BYTES>;

/// Bytes that are gone when they are no longer needed.
template <class Bytes>
struct Wiped {
    Bytes bytes{};
    Wiped() = default;
    Wiped(const Wiped&) = delete;
    Wiped& operator=(const Wiped&) = delete;
    ~Wiped() { sodium_memzero(bytes.data(), bytes.size()); }
};

void start_sodium() {
    if (sodium_init() < 0) throw std::runtime_error("libsodium does not start");
}

const unsigned char* octets(std::string_view text) {
    return reinterpret_cast<const unsigned char*>(text.data());
}

template <class Bytes>
std::string hex(const Bytes& bytes) {
    std::string text;
    for (const unsigned char byte : bytes) text += fmt::format("{:02x}", byte);
    return text;
}

/// Lower case alone: one key has one text.
template <class Bytes>
bool read_hex(std::string_view text, Bytes& bytes) {
    constexpr std::string_view digits = "0123456789abcdef";
    if (text.size() != 2 * bytes.size()) return false;
    for (std::size_t i = 0; i < bytes.size(); ++i) {
        const std::size_t high = digits.find(text[2 * i]), low = digits.find(text[2 * i + 1]);
        if (high == std::string_view::npos || low == std::string_view::npos) return false;
        bytes[i] = static_cast<unsigned char>(16 * high + low);
    }
    return true;
}

[[noreturn]] void refuse_other_key(std::string_view name, std::string_view wanted,
                                   std::string_view found) {
    throw InputError(
        {Problem{{},
                 Severity::error,
                 "bad-key",
                 fmt::format("{} is a {} key, and a {} one is needed", inert(name), found, wanted),
                 "the secret key signs, the public one verifies",
                 {}}});
}

[[noreturn]] void refuse_key(std::string_view name, std::string_view wanted,
                             std::string_view text) {
    const std::string_view found = text.starts_with(secret_head) ? "secret"
                                   : text.starts_with(open_head) ? "public"
                                                                 : "no";
    if (found != "no" && found != wanted) refuse_other_key(name, wanted, found);
    throw InputError({Problem{{},
                              Severity::error,
                              "bad-key",
                              fmt::format("{} is no {} key of deckle", inert(name), wanted),
                              "deckle keys NAME makes NAME.secret to sign with and NAME.public to "
                              "verify with",
                              {}}});
}

template <class Bytes>
bool read_key(std::string_view text, std::string_view head, Bytes& bytes) {
    if (!text.starts_with(head) || !text.ends_with('\n')) return false;
    text.remove_suffix(1);
    return read_hex(text.substr(head.size()), bytes);
}

}  // namespace

KeyTexts new_keys() {
    start_sodium();
    Wiped<Seed> seed;
    Wiped<SecretKey> secret;
    OpenKey open{};
    randombytes_buf(seed.bytes.data(), seed.bytes.size());
    crypto_sign_seed_keypair(open.data(), secret.bytes.data(), seed.bytes.data());
    return {fmt::format("{}{}\n", secret_head, hex(seed.bytes)),
            fmt::format("{}{}\n", open_head, hex(open))};
}

bool is_secret_key(std::string_view text) { return text.starts_with(secret_head); }

std::string signature_of(std::string_view message, std::string_view secret_text,
                         std::string_view name) {
    start_sodium();
    Wiped<Seed> seed;
    if (!read_key(secret_text, secret_head, seed.bytes)) refuse_key(name, "secret", secret_text);
    Wiped<SecretKey> secret;
    OpenKey open{};
    crypto_sign_seed_keypair(open.data(), secret.bytes.data(), seed.bytes.data());
    Signature signature{};
    crypto_sign_detached(signature.data(), nullptr, octets(message), message.size(),
                         secret.bytes.data());
    return fmt::format("{}{} {}\n", signature_head, hex(open), hex(signature));
}

std::string open_key_in(std::string_view text, std::string_view name) {
    OpenKey open{};
    if (!read_key(text, open_head, open)) refuse_key(name, "public", text);
    return hex(open);
}

SignatureCheck check_signature(std::string_view message, std::string_view line) {
    start_sodium();
    SignatureCheck check;
    if (!line.starts_with(signature_head) || !line.ends_with('\n')) return check;
    line.remove_prefix(signature_head.size());
    line.remove_suffix(1);
    const std::size_t space = std::min(line.find(' '), line.size() - 1);
    OpenKey open{};
    Signature signature{};
    check.readable = !line.empty() && read_hex(line.substr(0, space), open) &&
                     read_hex(line.substr(space + 1), signature);
    if (!check.readable) return check;
    check.key = hex(open);
    check.holds = crypto_sign_verify_detached(signature.data(), octets(message), message.size(),
                                              open.data()) == 0;
    return check;
}

}  // namespace deckle
