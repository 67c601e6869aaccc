// How often the draws of a figure fall where: counts in equal bins from the lowest draw to the
// highest. The draws are those of uncertainty() with the same seed.
#pragma once

#include <cstdint>
#include <span>
#include <vector>

#include "engine/graph/lanes.h"

namespace deckle {

struct Histogram {
    double low = 0.0, high = 0.0;  ///< of all draws, in the unit of the figure
    std::vector<std::uint32_t>
        counts;  ///< of equal bins from low to high; one bin when all are equal
};

/// One a node, in the order asked. Keeps all draws of all nodes at once: for few figures.
/// Errors: NoAnswer of a draw that has none.
[[nodiscard]] std::vector<Histogram> histograms(const Graph& graph, const Evaluation& base,
                                                std::span<const NodeId> nodes, std::uint64_t seed,
                                                std::uint64_t draws, std::size_t bins,
                                                unsigned threads);

}  // namespace deckle
