// A number as people type it, at a place inside a longer text: digits, `.`, exponent `e`; `_` or
// one space between groups of exactly three. Commas, hexadecimal, nan and inf are refused with a
// hint.
#pragma once

#include <string>
#include <string_view>

#include "engine/quantity/text_error.h"

namespace deckle {

struct NumberScan {
    double value = 0.0;
    std::string digits;   ///< as typed
    std::size_t end = 0;  ///< first byte after the number
    TextError error;
};

/// The number that begins at `start` (no spaces before it); what follows it is for the caller.
/// Codes: bad-number, number-with-comma, number-out-of-range.
[[nodiscard]] NumberScan scan_number(std::string_view text, std::size_t start);

/// Whether a number can begin at `at`: a digit, or a sign or point before one.
[[nodiscard]] bool number_begins(std::string_view text, std::size_t at);

}  // namespace deckle
