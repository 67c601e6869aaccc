// Values of a graph: one double a node. A walk in array order; nothing is cached between walks.
// The reverse walk gives the derivative of one node to every other node at once.
#pragma once

#include <memory>
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

/// Finds a sound order of elimination, at the values read, for each loop that has none yet.
/// Errors: NoAnswer unsolvable-loop, not-finite.
void plan_solves(Graph& graph);

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

/// The same for many nodes of one graph, one after the other: each reverse pass walks only what its
/// node rests on. Graph and evaluation must outlive it.
class Gradient {
public:
    Gradient(const Graph& graph, const Evaluation& at);
    ~Gradient();
    Gradient(Gradient&&) noexcept;

    /// Derivative of `node` to every node; stands until the next call.
    [[nodiscard]] std::span<const double> of(NodeId node);
    /// The nodes that the last one rests on, itself first, descending.
    [[nodiscard]] std::span<const NodeId> walked() const;

private:
    class Reverse;
    friend std::vector<double> derivatives(const Graph& graph, const Evaluation& at, NodeId of);
    std::unique_ptr<Reverse> reverse_;
};

}  // namespace deckle
