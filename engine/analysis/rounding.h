// How far apart two values of one figure may lie by rounding alone. What moves a figure by no more
// moves nothing: a spread that cancels out of a result leaves the last bits of its draws different,
// and these say nothing of the result.
#pragma once

#include <algorithm>
#include <cmath>

namespace deckle {

/// Of the size of a figure: 4096 units in the last place, for sums of thousands of terms and
/// solves.
inline constexpr double rounding = 0x1p-40;

[[nodiscard]] inline double rounding_of(double one, double other) {
    return rounding * std::max(std::abs(one), std::abs(other));
}

}  // namespace deckle
