// The two ways a number becomes text: for people (significant digits) and for machines (shortest
// decimal that reads back to the same double). Figures of a study are formatted here and nowhere
// else.
#pragma once

#include <string>

namespace deckle {

/// A number for people: so many significant digits, trailing zeros included. Very small and very
/// large numbers (outside 1e-4 .. 1e15) get an exponent; zero has no sign. Errors: logic_error for
/// NaN and infinities.
[[nodiscard]] std::string format_significant(double value, int digits = 3);

/// Shortest decimal that reads back to the same double; zero has no sign. Errors: logic_error for
/// NaN and infinities.
[[nodiscard]] std::string shortest(double value);

}  // namespace deckle
