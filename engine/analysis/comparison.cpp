#include "engine/analysis/comparison.h"

namespace deckle {
namespace {

constexpr double sure = 0.975;
constexpr double probable = 0.9;

}  // namespace

ComparisonVerdict verdict_of(double below, const Summary& difference) {
    const bool never_differs = difference.mean == 0.0 && difference.standard_uncertainty == 0.0;
    if (never_differs) return ComparisonVerdict::equal;
    if (below >= sure) return ComparisonVerdict::below;
    if (below >= probable) return ComparisonVerdict::probably_below;
    if (below <= 1.0 - sure) return ComparisonVerdict::above;
    if (below <= 1.0 - probable) return ComparisonVerdict::probably_above;
    return ComparisonVerdict::too_close;
}

}  // namespace deckle
