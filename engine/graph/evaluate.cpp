#include "engine/graph/evaluate.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <functional>

#include "engine/graph/solve.h"
#include "engine/text/problem.h"

namespace deckle {
namespace {

/// A few arguments without allocation; the long sums of a large network fall back to the heap.
class Gathered {
public:
    std::span<const double> operator()(std::span<const NodeId> nodes,
                                       const std::vector<double>& values) {
        if (nodes.size() > store_.size()) store_.resize(nodes.size());
        for (std::size_t i = 0; i < nodes.size(); ++i) store_[i] = values[nodes[i]];
        return {store_.data(), nodes.size()};
    }

private:
    std::vector<double> store_ = std::vector<double>(16);
};

/// The node by its name, or as a step of the nearest figure that has one and rests on it.
std::string figure_of(const Graph& graph, NodeId node) {
    if (!graph.name_of(node).empty()) return std::string(graph.name_of(node));
    std::vector<bool> rests(graph.size());
    rests[node] = true;
    for (NodeId n = node + 1; n < graph.size(); ++n) {
        const auto arguments = graph.arguments(n);
        rests[n] = std::ranges::any_of(arguments, [&](NodeId one) { return bool(rests[one]); });
        if (rests[n] && !graph.name_of(n).empty())
            return fmt::format("a step of {}", graph.name_of(n));
    }
    return "a figure";
}

[[noreturn]] void refuse_value(const Graph& graph, NodeId node) {
    throw NoAnswer({graph.origin(node).place,
                    Severity::error,
                    "not-finite",
                    fmt::format("{} has no finite value ({})", figure_of(graph, node),
                                graph.text_of(graph.origin(node).rule)),
                    "a divisor is zero, or a number is far outside what a mill can have",
                    {}});
}

[[noreturn]] void refuse_loop(const Graph& graph, const Solve& system,
                              std::span<const double> coefficients, const SolveFailure& failure) {
    throw NoAnswer({graph.origin(system.node).place,
                    Severity::error,
                    "unsolvable-loop",
                    loop_message(graph, system, coefficients, failure),
                    "a loop must make more of its products than it uses of them",
                    {}});
}

void run_solve(const Graph& graph, const Solve& system, Gathered& gather, Evaluation& result) {
    const auto arguments = gather(graph.arguments(system.node), result.value);
    const auto coefficients = arguments.first(system.entries.size());
    const auto b = arguments.subspan(system.entries.size());
    const std::span<double> x(result.solved.data() + system.offset, b.size());
    const SolveFailure failure = solve_system(system, coefficients, b, x);
    if (failure.outcome != SolveOutcome::solved) refuse_loop(graph, system, coefficients, failure);
}

}  // namespace

void plan_solves(Graph& graph) {
    for (std::size_t i = 0; i < graph.solves().size(); ++i) {
        const Solve& system = graph.solves()[i];
        if (!system.order.empty()) continue;
        const auto coefficients = graph.arguments(system.node).first(system.entries.size());
        const Evaluation at = evaluate(graph, {}, graph.ancestors(coefficients));
        std::vector<double> values;
        for (const NodeId node : coefficients) values.push_back(at.value[node]);
        std::vector<std::uint32_t> order;
        const SolveFailure failure = plan_order(system, values, order);
        if (failure.outcome != SolveOutcome::solved) refuse_loop(graph, system, values, failure);
        graph.set_order(i, std::move(order));
    }
}

Evaluation evaluate(const Graph& graph, const Overlay& overlay,
                    std::span<const std::uint8_t> wanted) {
    Evaluation result{std::vector<double>(graph.size(), 0.0),
                      std::vector<double>(graph.solved_size(), 0.0)};
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
            case Operation::constant:
                value[node] = graph.constants()[graph.payload(node)];
                continue;
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
                for (std::size_t i = 2; i < a.size(); i += 2)
                    total += value[a[i]] * value[a[i + 1]];
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
            case Operation::solve:
                run_solve(graph, graph.solves()[graph.payload(node)], gather, result);
                continue;
            case Operation::part:
                value[node] =
                    result.solved[graph.solves()[graph.payload(a[0])].offset + graph.payload(node)];
                break;
            default: value[node] = value_of(operation, gather(a, value)); break;
        }
        if (!std::isfinite(value[node])) refuse_value(graph, node);
    }
}

/// The reverse pass: slopes flow from a node to its arguments, through a loop by its transposed
/// system.
class Gradient::Reverse {
public:
    Reverse(const Graph& graph, const Evaluation& at)
        : graph_(graph),
          at_(at),
          slope_(graph.size(), 0.0),
          unknown_slope_(graph.solved_size(), 0.0),
          reached_(graph.solves().size(), false),
          seen_(graph.size(), 0) {}

    /// All nodes up to `of`, once.
    std::vector<double> from(NodeId of) {
        slope_[of] = 1.0;
        for (NodeId node = of + 1; node-- > 0;) pass(node);
        return std::move(slope_);
    }

    /// Only what `of` rests on, any number of times.
    std::span<const double> along(NodeId of) {
        forget();
        walk_to(of);
        slope_[of] = 1.0;
        for (const NodeId node : walked_) pass(node);
        return slope_;
    }

    [[nodiscard]] std::span<const NodeId> walked() const { return walked_; }

private:
    void forget() {
        for (const NodeId node : walked_) {
            slope_[node] = 0.0;
            seen_[node] = 0;
            if (graph_.operation(node) != Operation::solve) continue;
            const Solve& system = graph_.solves()[graph_.payload(node)];
            std::fill_n(unknown_slope_.begin() + static_cast<std::ptrdiff_t>(system.offset),
                        std::size_t{system.size} * system.right_sides, 0.0);
            reached_[graph_.payload(node)] = false;
        }
    }

    void walk_to(NodeId of) {
        walked_.assign(1, of);
        seen_[of] = 1;
        for (std::size_t k = 0; k < walked_.size(); ++k) {
            for (const NodeId argument : graph_.arguments(walked_[k])) {
                if (seen_[argument] != 0) continue;
                seen_[argument] = 1;
                walked_.push_back(argument);
            }
        }
        std::ranges::sort(walked_, std::greater<>());
    }

    void pass(NodeId node) {
        switch (graph_.operation(node)) {
            case Operation::input:
            case Operation::constant: return;
            case Operation::solve: return through_loop(node);
            default: break;
        }
        if (slope_[node] == 0.0) return;
        switch (graph_.operation(node)) {
            case Operation::part: return into_loop(node);
            case Operation::convert: {
                const Conversion& c = graph_.conversions()[graph_.payload(node)];
                slope_[graph_.arguments(node)[0]] += slope_[node] * c.p / c.q;
                return;
            }
            default: return through_arguments(node);
        }
    }

    void through_arguments(NodeId node) {
        const auto arguments = graph_.arguments(node);
        values_.resize(arguments.size());
        for (std::size_t i = 0; i < arguments.size(); ++i) values_[i] = at_.value[arguments[i]];
        local_.assign(arguments.size(), 0.0);
        add_slopes(graph_.operation(node), values_, at_.value[node], slope_[node], local_);
        for (std::size_t i = 0; i < arguments.size(); ++i) slope_[arguments[i]] += local_[i];
    }

    void into_loop(NodeId part) {
        const std::uint32_t solve = graph_.payload(graph_.arguments(part)[0]);
        unknown_slope_[graph_.solves()[solve].offset + graph_.payload(part)] += slope_[part];
        reached_[solve] = true;
    }

    /// lambda from the transposed system; right sides get lambda, coefficient (i, j) gets lambda_i
    /// x_j.
    void through_loop(NodeId node) {
        if (!reached_[graph_.payload(node)]) return;
        const Solve& system = graph_.solves()[graph_.payload(node)];
        const auto arguments = graph_.arguments(node);
        const std::size_t unknowns = std::size_t{system.size} * system.right_sides;
        values_.resize(system.entries.size());
        for (std::size_t k = 0; k < values_.size(); ++k) values_[k] = at_.value[arguments[k]];
        local_.assign(unknowns, 0.0);
        solve_transposed(system, values_,
                         std::span<const double>(unknown_slope_).subspan(system.offset, unknowns),
                         local_);
        for (std::size_t k = 0; k < system.entries.size(); ++k) {
            const auto [row, column] = system.entries[k];
            double total = 0.0;
            for (std::uint32_t r = 0; r < system.right_sides; ++r) {
                total += local_[std::size_t{row} * system.right_sides + r] *
                         at_.solved[system.offset + std::size_t{column} * system.right_sides + r];
            }
            slope_[arguments[k]] += total;
        }
        for (std::size_t k = 0; k < unknowns; ++k)
            slope_[arguments[system.entries.size() + k]] += local_[k];
    }

    const Graph& graph_;
    const Evaluation& at_;
    std::vector<double> slope_, unknown_slope_, values_, local_;
    std::vector<bool> reached_;
    std::vector<std::uint8_t> seen_;
    std::vector<NodeId> walked_;
};

Gradient::Gradient(const Graph& graph, const Evaluation& at)
    : reverse_(std::make_unique<Reverse>(graph, at)) {}
Gradient::~Gradient() = default;
Gradient::Gradient(Gradient&&) noexcept = default;
std::span<const double> Gradient::of(NodeId node) { return reverse_->along(node); }
std::span<const NodeId> Gradient::walked() const { return reverse_->walked(); }

std::vector<double> derivatives(const Graph& graph, const Evaluation& at, NodeId of) {
    return Gradient::Reverse(graph, at).from(of);
}

}  // namespace deckle
