#include "engine/analysis/rests_on.h"

#include <algorithm>

namespace deckle {
namespace {

class BackwardPass {
public:
    explicit BackwardPass(const Graph& graph) : graph_(graph), rests_(graph.size()) {}

    std::vector<Rests> from(std::span<const NodeId> figures) {
        for (const NodeId figure : figures) rests_[figure].on = true;
        const NodeId end = figures.empty() ? 0 : std::ranges::max(figures) + 1;
        for (NodeId node = end; node-- > 0;) {
            if (!rests_[node].on) continue;
            if (graph_.operation(node) == Operation::part) into_loop(node);
            else into_arguments(node);
        }
        return std::move(rests_);
    }

private:
    void into_arguments(NodeId node) {
        const bool step = rests_[node].through_step || row_of(graph_.operation(node)).stepped;
        for (const NodeId argument : graph_.arguments(node)) mark(argument, step);
    }

    /// All coefficients, and of the right sides the column of this part.
    void into_loop(NodeId part) {
        const NodeId solve = graph_.arguments(part)[0];
        const Solve& system = graph_.solves()[graph_.payload(solve)];
        const auto arguments = graph_.arguments(solve);
        const bool step = rests_[part].through_step;
        for (std::size_t k = 0; k < system.entries.size(); ++k) mark(arguments[k], step);
        const std::uint32_t side = graph_.payload(part) % system.right_sides;
        for (std::uint32_t row = 0; row < system.size; ++row) {
            const std::size_t at = std::size_t{row} * system.right_sides + side;
            mark(arguments[system.entries.size() + at], step);
        }
    }

    void mark(NodeId node, bool step) {
        rests_[node].on = true;
        rests_[node].through_step |= step;
    }

    const Graph& graph_;
    std::vector<Rests> rests_;
};

}  // namespace

std::vector<Rests> what_it_rests_on(const Graph& graph, std::span<const NodeId> figures) {
    return BackwardPass(graph).from(figures);
}

std::vector<Rests> what_it_rests_on(const Graph& graph, NodeId figure) {
    return what_it_rests_on(graph, std::span(&figure, 1));
}

}  // namespace deckle
