// SHA-256 (FIPS 180-4), by libsodium: of files in seals and pages, and under the ids of
// declarations.
#pragma once

#include <array>
#include <string>
#include <string_view>

namespace deckle {

using Sha256 = std::array<unsigned char, 32>;

[[nodiscard]] Sha256 sha256_bytes(std::string_view bytes);

/// The same in hexadecimal, lower case.
[[nodiscard]] std::string sha256_of(std::string_view bytes);

}  // namespace deckle
