#include "engine/analysis/rests_on.h"

namespace deckle {
namespace {

class BackwardPass {
public:
    BackwardPass(const Graph& graph, NodeId figure)
        : graph_(graph), figure_(figure), rests_(graph.size()) {}

    std::vector<Rests> run() {
        rests_[figure_].on = true;
        for (NodeId node = figure_ + 1; node-- > 0;) {
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
    NodeId figure_;
    std::vector<Rests> rests_;
};

}  // namespace

std::vector<Rests> what_it_rests_on(const Graph& graph, NodeId figure) {
    return BackwardPass(graph, figure).run();
}

}  // namespace deckle
