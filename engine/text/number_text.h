// The two ways a number becomes text: for people (significant digits) and for machines (shortest
// decimal that reads back to the same double). Nothing else in Deckle formats a number.
#pragma once

#include <string>

namespace deckle {

/// `value` with `digits` significant digits, zeros kept, plain decimals from 1e-4 up to 1e15, else
/// 1.23e-07; zero is "0", never "-0". Errors: logic_error for NaN and infinities.
[[nodiscard]] std::string format_significant(double value, int digits = 3);

/// Shortest decimal that reads back to the same double. Errors: logic_error for NaN and infinities.
[[nodiscard]] std::string shortest(double value);

}  // namespace deckle
