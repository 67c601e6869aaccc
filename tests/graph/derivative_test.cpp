// The reverse pass against two other ways to the same slopes: differences of values, and dual
// numbers carried forward by formulas written here, with the standard library and long double.
#include <catch2/catch.hpp>
#include <cmath>

#include "engine/graph/evaluate.h"
#include "tests/graph/graph_maker.h"

using namespace deckle;

namespace {

long double wide(double value) { return static_cast<long double>(value); }

/// A value and its derivative to one input.
struct Dual {
    long double value = 0, slope = 0;
};

Dual operator+(Dual a, Dual b) { return {a.value + b.value, a.slope + b.slope}; }
Dual operator*(Dual a, Dual b) {
    return {a.value * b.value, a.slope * b.value + a.value * b.slope};
}
Dual operator/(Dual a, Dual b) {
    return {a.value / b.value, (a.slope * b.value - a.value * b.slope) / (b.value * b.value)};
}

/// Slope of a function of the steam room, by differences with the leading error removed.
long double steam_slope(Operation operation, std::vector<double> arguments, std::size_t k) {
    const auto difference = [&](double step) {
        auto up = arguments, down = arguments;
        up[k] += step;
        down[k] -= step;
        return (value_of(operation, up) - value_of(operation, down)) / (2.0 * step);
    };
    const double step = 2e-3 * arguments[k];
    return wide((4.0 * difference(step / 2.0) - difference(step)) / 3.0);
}

Dual steam(Operation operation, const std::vector<Dual>& a) {
    std::vector<double> values;
    for (const Dual& dual : a) values.push_back(static_cast<double>(dual.value));
    Dual result{static_cast<long double>(value_of(operation, values)), 0};
    for (std::size_t k = 0; k < a.size(); ++k) {
        if (a[k].slope != 0) result.slope += steam_slope(operation, values, k) * a[k].slope;
    }
    return result;
}

/// Gauss with the largest pivot of each column.
std::vector<long double> solved(std::vector<std::vector<long double>> a,
                                std::vector<long double> b) {
    const std::size_t n = b.size();
    for (std::size_t k = 0; k < n; ++k) {
        std::size_t best = k;
        for (std::size_t i = k; i < n; ++i)
            best = std::fabs(a[i][k]) > std::fabs(a[best][k]) ? i : best;
        std::swap(a[k], a[best]);
        std::swap(b[k], b[best]);
        for (std::size_t i = 0; i < n; ++i) {
            if (i == k) continue;
            const long double factor = a[i][k] / a[k][k];
            for (std::size_t j = k; j < n; ++j) a[i][j] -= factor * a[k][j];
            b[i] -= factor * b[k];
        }
    }
    for (std::size_t k = 0; k < n; ++k) b[k] /= a[k][k];
    return b;
}

/// (I - C) x = b and (I - C) x' = C' x + b', column by column.
std::vector<Dual> solve_forward(const Solve& system, const std::vector<Dual>& a) {
    const std::size_t n = system.size, sides = system.right_sides, first = system.entries.size();
    std::vector<std::vector<long double>> matrix(n, std::vector<long double>(n, 0));
    for (std::size_t i = 0; i < n; ++i) matrix[i][i] = 1;
    for (std::size_t k = 0; k < first; ++k)
        matrix[system.entries[k].row][system.entries[k].column] -= a[k].value;
    std::vector<Dual> x(n * sides);
    for (std::size_t s = 0; s < sides; ++s) {
        std::vector<long double> b(n), moved(n);
        for (std::size_t i = 0; i < n; ++i) b[i] = a[first + i * sides + s].value;
        const auto value = solved(matrix, b);
        for (std::size_t i = 0; i < n; ++i) moved[i] = a[first + i * sides + s].slope;
        for (std::size_t k = 0; k < first; ++k)
            moved[system.entries[k].row] += a[k].slope * value[system.entries[k].column];
        const auto slope = solved(matrix, moved);
        for (std::size_t i = 0; i < n; ++i) x[i * sides + s] = {value[i], slope[i]};
    }
    return x;
}

Dual plain(Operation operation, const std::vector<Dual>& a) {
    Dual result = a[0];
    switch (operation) {
        case Operation::sum:
            for (std::size_t k = 1; k < a.size(); ++k) result = result + a[k];
            return result;
        case Operation::product:
            for (std::size_t k = 1; k < a.size(); ++k) result = result * a[k];
            return result;
        case Operation::sum_of_products:
            result = a[0] * a[1];
            for (std::size_t k = 2; k < a.size(); k += 2) result = result + a[k] * a[k + 1];
            return result;
        case Operation::quotient: return a[0] / a[1];
        case Operation::negate: return {-a[0].value, -a[0].slope};
        case Operation::power:
            return {std::pow(a[0].value, a[1].value),
                    a[1].value * std::pow(a[0].value, a[1].value - 1) * a[0].slope};
        case Operation::square_root:
            return {std::sqrt(a[0].value), a[0].slope / (2 * std::sqrt(a[0].value))};
        case Operation::exponential:
            return {std::exp(a[0].value), std::exp(a[0].value) * a[0].slope};
        case Operation::logarithm: return {std::log(a[0].value), a[0].slope / a[0].value};
        default: return steam(operation, a);
    }
}

/// All nodes with their derivatives to `input`, forward.
std::vector<Dual> forward(const Graph& graph, NodeId input) {
    std::vector<Dual> dual(graph.size());
    std::vector<std::vector<Dual>> solutions(graph.solves().size());
    for (NodeId node = 0; node < graph.size(); ++node) {
        const std::uint32_t payload = graph.payload(node);
        std::vector<Dual> a;
        for (const NodeId argument : graph.arguments(node)) a.push_back(dual[argument]);
        switch (graph.operation(node)) {
            case Operation::input:
                dual[node] = {wide(graph.inputs()[payload].value), node == input ? 1.0L : 0.0L};
                break;
            case Operation::constant: dual[node] = {wide(graph.constants()[payload]), 0}; break;
            case Operation::convert: {
                const Conversion& c = graph.conversions()[payload];
                dual[node] = {a[0].value * wide(c.p) / wide(c.q),
                              a[0].slope * wide(c.p) / wide(c.q)};
                break;
            }
            case Operation::solve:
                solutions[payload] = solve_forward(graph.solves()[payload], a);
                break;
            case Operation::part:
                dual[node] = solutions[graph.payload(graph.arguments(node)[0])][payload];
                break;
            default: dual[node] = plain(graph.operation(node), a); break;
        }
    }
    return dual;
}

}  // namespace

TEST_CASE("one reverse pass gives the slopes of dual numbers, whatever the operations and loops",
          "[graph][property]") {
    for (std::uint64_t seed = 1; seed <= 8; ++seed) {
        const test::RandomGraph random = test::random_graph(seed, 400, test::Steps::without);
        const Graph& graph = random.graph();
        const Evaluation at = evaluate(graph);
        std::vector<std::vector<double>> slopes;
        for (const NodeId result : random.results) slopes.push_back(derivatives(graph, at, result));
        for (const Input& input : graph.inputs()) {
            const auto dual = forward(graph, input.node);
            for (std::size_t r = 0; r < random.results.size(); ++r) {
                const NodeId result = random.results[r];
                INFO("seed " << seed << ", result " << result << " to "
                             << graph.name_of(input.node));
                REQUIRE_THAT(at.value[result],
                             Catch::WithinRel(static_cast<double>(dual[result].value), 1e-11));
                const double expected = static_cast<double>(dual[result].slope);
                const double scale =
                    std::fabs(expected) + std::fabs(at.value[result] / at.value[input.node]);
                REQUIRE_THAT(slopes[r][input.node], Catch::WithinAbs(expected, 1e-8 * scale));
            }
        }
    }
}

TEST_CASE("one reverse pass gives the slopes of central differences", "[graph][property]") {
    for (std::uint64_t seed = 21; seed <= 26; ++seed) {
        const test::RandomGraph random = test::random_graph(seed, 400, test::Steps::without);
        const Graph& graph = random.graph();
        const Evaluation at = evaluate(graph);
        for (const Input& input : graph.inputs()) {
            const double step = 1e-5 * input.value;
            const Evaluation up = evaluate(graph, {{{input.node, input.value + step}}});
            const Evaluation down = evaluate(graph, {{{input.node, input.value - step}}});
            for (const NodeId result : random.results) {
                const double slope = derivatives(graph, at, result)[input.node];
                const double expected = (up.value[result] - down.value[result]) / (2.0 * step);
                const double scale =
                    std::fabs(expected) + std::fabs(at.value[result] / input.value);
                INFO("seed " << seed << ", result " << result << " to "
                             << graph.name_of(input.node));
                REQUIRE_THAT(slope, Catch::WithinAbs(expected, 1e-6 * scale));
            }
        }
    }
}

TEST_CASE("what comes out of a loop above 64 products has the slopes of central differences",
          "[graph][property]") {
    const test::RandomGraph random = test::random_loop(3, 90, 2, 4);
    const Graph& graph = random.graph();
    const Evaluation at = evaluate(graph);
    const NodeId result = random.results[17];
    const auto slope = derivatives(graph, at, result);
    for (std::size_t k = 0; k < graph.inputs().size(); k += 7) {
        const Input& input = graph.inputs()[k];
        const double step = 1e-5 * std::max(input.value, 1e-3);
        const double up = evaluate(graph, {{{input.node, input.value + step}}}).value[result];
        const double down = evaluate(graph, {{{input.node, input.value - step}}}).value[result];
        REQUIRE_THAT(slope[input.node],
                     Catch::WithinAbs((up - down) / (2.0 * step), 1e-8 * at.value[result]));
    }
}
