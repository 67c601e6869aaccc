// Values of a graph: one double a node. A walk in array order; nothing is cached between walks.
// The reverse walk gives the derivative of one node to every other node at once.
#pragma once

#include <span>
#include <vector>

#include "engine/graph/graph.h"

namespace deckle {

/// Values of inputs other than those read: a slider, a break-even, a scenario that passes.
struct Overlay {
    struct Change {
        NodeId input;
        double value;
    };
    std::vector<Change> changes;
};

struct Evaluation {
    std::vector<double> value;   ///< one a node
    std::vector<double> solved;  ///< unknowns of all solves, at Solve::offset
};

/// All nodes, or those flagged in `wanted` (from Graph::ancestors; others are 0).
/// Errors: NoAnswer unsolvable-loop (names the loop), not-finite (names the node).
[[nodiscard]] Evaluation evaluate(const Graph& graph, const Overlay& overlay = {},
                                  std::span<const std::uint8_t> wanted = {});

/// The same into existing storage, without allocation. `result` must come from evaluate() on this
/// graph.
void evaluate_into(const Graph& graph, const Overlay& overlay, std::span<const std::uint8_t> wanted,
                   Evaluation& result);

/// Derivative of `of` to every node, at the values given: one reverse pass.
[[nodiscard]] std::vector<double> derivatives(const Graph& graph, const Evaluation& at, NodeId of);

}  // namespace deckle
