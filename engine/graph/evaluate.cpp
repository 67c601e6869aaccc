#include "engine/graph/evaluate.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "engine/graph/solve.h"
#include "engine/text/problem.h"

namespace deckle {
namespace {

/// A few arguments without allocation; the long sums of a large network fall back to the heap.
class Gathered {
public:
    std::span<const double> operator()(std::span<const NodeId> nodes, const std::vector<double>& values) {
        if (nodes.size() > store_.size()) store_.resize(nodes.size());
        for (std::size_t i = 0; i < nodes.size(); ++i) store_[i] = values[nodes[i]];
        return {store_.data(), nodes.size()};
    }

private:
    std::vector<double> store_ = std::vector<double>(16);
};

[[noreturn]] void refuse_value(const Graph& graph, NodeId node) {
    const auto name = graph.name_of(node);
    throw NoAnswer({graph.origin(node).place, Severity::error, "not-finite",
                    fmt::format("{} has no finite value ({})", name.empty() ? "a figure" : name,
                                graph.text_of(graph.origin(node).rule)),
                    "a divisor is zero, or a number is far outside what a mill can have", {}});
}

void run_solve(const Graph& graph, const Solve& system, Gathered& gather, Evaluation& result) {
    const auto arguments = gather(graph.arguments(system.node), result.value);
    const auto coefficients = arguments.first(system.entries.size());
    const auto b = arguments.subspan(system.entries.size());
    const std::span<double> x(result.solved.data() + system.offset, b.size());
    const SolveFailure failure = solve_system(system, coefficients, b, x);
    if (failure.outcome == SolveOutcome::solved) return;
    throw NoAnswer({graph.origin(system.node).place, Severity::error, "unsolvable-loop",
                    loop_message(graph, system, coefficients, failure),
                    "a loop must make more of its products than it uses of them", {}});
}

}  // namespace

Evaluation evaluate(const Graph& graph, const Overlay& overlay, std::span<const std::uint8_t> wanted) {
    Evaluation result{std::vector<double>(graph.size(), 0.0), std::vector<double>(graph.solved_size(), 0.0)};
    evaluate_into(graph, overlay, wanted, result);
    return result;
}

void evaluate_into(const Graph& graph, const Overlay& overlay, std::span<const std::uint8_t> wanted,
                   Evaluation& result) {
    auto& value = result.value;
    Gathered gather;
    const auto inputs = graph.inputs();
    const auto conversions = graph.conversions();
    for (const Input& input : inputs) value[input.node] = input.value;
    for (const auto& change : overlay.changes) value[change.input] = change.value;
    for (NodeId node = 0; node < graph.size(); ++node) {
        if (!wanted.empty() && wanted[node] == 0) continue;
        const auto a = graph.arguments(node);
        const Operation operation = graph.operation(node);
        switch (operation) {
            case Operation::input: continue;
            case Operation::constant: value[node] = graph.constants()[graph.payload(node)]; continue;
            case Operation::sum: {
                double total = value[a[0]];
                for (std::size_t i = 1; i < a.size(); ++i) total += value[a[i]];
                value[node] = total;
                break;
            }
            case Operation::product: {
                double total = value[a[0]];
                for (std::size_t i = 1; i < a.size(); ++i) total *= value[a[i]];
                value[node] = total;
                break;
            }
            case Operation::sum_of_products: {
                double total = value[a[0]] * value[a[1]];
                for (std::size_t i = 2; i < a.size(); i += 2) total += value[a[i]] * value[a[i + 1]];
                value[node] = total;
                break;
            }
            case Operation::quotient: value[node] = value[a[0]] / value[a[1]]; break;
            case Operation::negate: value[node] = -value[a[0]]; break;
            case Operation::convert: {
                const Conversion& c = conversions[graph.payload(node)];
                value[node] = value[a[0]] * c.p / c.q;
                break;
            }
            case Operation::solve: run_solve(graph, graph.solves()[graph.payload(node)], gather, result); continue;
            case Operation::part:
                value[node] = result.solved[graph.solves()[graph.payload(a[0])].offset + graph.payload(node)];
                break;
            default: value[node] = value_of(operation, gather(a, value)); break;
        }
        if (!std::isfinite(value[node])) refuse_value(graph, node);
    }
}

std::vector<double> derivatives(const Graph& graph, const Evaluation& at, NodeId of) {
    const auto& value = at.value;
    std::vector<double> slope(graph.size(), 0.0);
    std::vector<double> solved(graph.solved_size(), 0.0);
    std::vector<double> arguments, local;
    slope[of] = 1.0;
    for (NodeId node = of + 1; node-- > 0;) {
        const double up = slope[node];
        const auto a = graph.arguments(node);
        switch (graph.operation(node)) {
            case Operation::input:
            case Operation::constant: continue;
            case Operation::part:
                if (up != 0.0) {
                    solved[graph.solves()[graph.payload(a[0])].offset + graph.payload(node)] += up;
                    slope[a[0]] = 1.0;  // marks the solve as reached
                }
                continue;
            case Operation::solve: {
                if (up == 0.0) continue;
                const Solve& system = graph.solves()[graph.payload(node)];
                const std::size_t unknowns = std::size_t{system.size} * system.right_sides;
                arguments.resize(system.entries.size());
                for (std::size_t k = 0; k < arguments.size(); ++k) arguments[k] = value[a[k]];
                local.assign(unknowns, 0.0);
                solve_transposed(system, arguments, std::span<const double>(solved).subspan(system.offset, unknowns), local);
                for (std::size_t k = 0; k < system.entries.size(); ++k) {
                    const auto [row, column] = system.entries[k];
                    double total = 0.0;
                    for (std::uint32_t r = 0; r < system.right_sides; ++r) {
                        total += local[row * system.right_sides + r] * at.solved[system.offset + column * system.right_sides + r];
                    }
                    slope[a[k]] += total;
                }
                for (std::size_t k = 0; k < unknowns; ++k) slope[a[system.entries.size() + k]] += local[k];
                continue;
            }
            default: break;
        }
        if (up == 0.0) continue;
        if (graph.operation(node) == Operation::convert) {
            const Conversion& c = graph.conversions()[graph.payload(node)];
            slope[a[0]] += up * c.p / c.q;
            continue;
        }
        arguments.resize(a.size());
        for (std::size_t i = 0; i < a.size(); ++i) arguments[i] = value[a[i]];
        local.assign(a.size(), 0.0);
        add_slopes(graph.operation(node), arguments, value[node], up, local);
        for (std::size_t i = 0; i < a.size(); ++i) slope[a[i]] += local[i];
    }
    return slope;
}

}  // namespace deckle
