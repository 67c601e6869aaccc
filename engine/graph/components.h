// Strong components of a directed graph given as lists of successors, each component after all it
// points to: what feeds comes before what is fed. Linear time, no recursion.
// Source: R. Tarjan, Depth-first search and linear graph algorithms, SIAM J. Comput. 1(2), 1972.
#pragma once

#include <cstdint>
#include <vector>

namespace deckle {

/// Members in ascending order inside a component.
[[nodiscard]] std::vector<std::vector<std::uint32_t>> strong_components(
    const std::vector<std::vector<std::uint32_t>>& successors);

}  // namespace deckle
