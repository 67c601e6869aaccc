// What a figure rests on, seen from the figure: every node that can move it, and those that do so
// through a step. Finer than Graph::ancestors, which holds a loop as a whole: the right sides of
// other indicators in the same loop do not move this one.
#pragma once

#include <cstdint>
#include <span>
#include <vector>

#include "engine/graph/graph.h"

namespace deckle {

struct Rests {
    bool on = false;            ///< the figure rests on it
    bool through_step = false;  ///< over a whole number, a minimum or a maximum
};

/// One entry a node; one backward pass, for one figure or several at once.
[[nodiscard]] std::vector<Rests> what_it_rests_on(const Graph& graph,
                                                  std::span<const NodeId> figures);
[[nodiscard]] std::vector<Rests> what_it_rests_on(const Graph& graph, NodeId figure);

}  // namespace deckle
