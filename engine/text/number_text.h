// The two ways a number becomes text: for people (significant digits) and for machines (shortest
// decimal that reads back to the same double). Figures of a study are formatted here and nowhere
// else.
#pragma once

#include <cstdint>
#include <string>

namespace deckle {

/// A number for people: so many significant digits, trailing zeros included, five digits and more
/// before the decimal sign in groups of three. Very small and very large numbers (outside 1e-4 ..
/// 1e15) get an exponent; zero has no sign. Errors: logic_error for NaN and infinities.
[[nodiscard]] std::string format_significant(double value, int digits = 3);

/// A whole number for people, in the same groups.
[[nodiscard]] std::string format_count(std::uint64_t count);

/// Shortest decimal that reads back to the same double; zero has no sign. Errors: logic_error for
/// NaN and infinities.
[[nodiscard]] std::string shortest(double value);

}  // namespace deckle
