// Where a function of one number is zero in a range: none, one or several places, each with a
// bracket of neighbouring doubles. A scan of the range finds changes of sign and near misses; each
// is then halved down. By values alone, so that steps and kinks are found too; by + - * / alone, so
// that a root has the same bits everywhere. What two changes of sign between neighbouring points of
// the scan hide is missed.
#pragma once

#include <functional>
#include <optional>
#include <string>
#include <vector>

namespace deckle {

struct Range {
    double from, to;
};

/// The function at one place. `scale`: how large the numbers were whose difference it is; what is
/// below 1e-13 of it counts as nothing.
struct Reading {
    bool known = true;
    double value = 0.0;
    double scale = 1.0;
};

enum class CrossingKind : std::uint8_t {
    smooth,   ///< it is zero at `at`
    step,     ///< it jumps over zero between two neighbouring numbers
    touch,    ///< it comes to zero and turns back
    stretch,  ///< it is zero from `low` to `high`
};

struct Crossing {
    CrossingKind kind = CrossingKind::smooth;
    double at = 0.0;
    double low = 0.0, high = 0.0;      ///< the bracket
    double before = 0.0, after = 0.0;  ///< the function at its ends
};

/// A part of the range where the function has no value.
struct Gap {
    double from, to;
};

struct Roots {
    std::vector<Crossing> crossings;  ///< ascending
    std::vector<Gap> gaps;            ///< ascending
    Reading at_from, at_to;
};

/// `points`: steps of the scan. from < to, both finite.
[[nodiscard]] Roots find_roots(const std::function<Reading(double)>& function, Range range,
                               std::size_t points = 200);

}  // namespace deckle
