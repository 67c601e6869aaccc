// Two figures under the same draws: how often one is below the other, by how much, and what may be
// said of it. Both questions belong together: Heijungs, "Selecting the best product alternative in
// a sea of uncertainty", Int J LCA 26 (2021); shared inputs need shared draws: Heijungs, Kleijn,
// Int J LCA 6 (2001) 141-148.
#pragma once

#include <optional>

#include "engine/analysis/sample.h"

namespace deckle {

/// In words of everyday use; the limits are Deckle's convention, no published ones.
enum class ComparisonVerdict : std::uint8_t {
    below,           ///< in at least 97.5 % of the draws
    probably_below,  ///< in at least 90 %
    too_close,
    probably_above,
    above,
    equal  ///< in every draw
};

struct Comparison {
    std::uint64_t draws = 0;
    double below = 0.0;           ///< share of draws in which the figure is below its reference;
                                  ///< equal ones count half
    Sample difference;            ///< figure less reference
    std::optional<Sample> ratio;  ///< figure / reference; none unless both stay above zero
    ComparisonVerdict verdict = ComparisonVerdict::too_close;
};

[[nodiscard]] ComparisonVerdict verdict_of(double below, const Summary& difference);

}  // namespace deckle
