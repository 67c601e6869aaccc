#include "tests/bench/networks.h"

#include <fmt/format.h>

#include <algorithm>
#include <random>

#include "engine/graph/evaluate.h"

namespace deckle::bench {
namespace {

class Numbers {
public:
    explicit Numbers(std::uint64_t seed) : generator_(seed) {}
    double between(double low, double high) {
        return low + (high - low) * (static_cast<double>(generator_() >> 11U) * 0x1p-53);
    }
    std::uint32_t below(std::uint64_t count) {
        return static_cast<std::uint32_t>(generator_() % count);
    }

private:
    std::mt19937_64 generator_;
};

NodeId add_input(Graph& graph, const std::string& address, double value, Spread spread = {}) {
    Input input;
    input.addresses = {graph.text(address)};
    input.value = value;
    input.spread = spread;
    input.bounds = {-1e300, 1e300};
    return graph.add_input(std::move(input), 0, {});
}

/// Hubs are products of the loop. In the loop near numbers lie on both sides, round its end.
std::uint32_t seller_of(std::uint32_t buyer, const Network& network, Numbers& numbers) {
    const double kind = numbers.between(0.0, 1.0);
    if (kind < 0.35) return numbers.below(40) * (network.loop / 40);
    const bool near = kind < 0.80;
    if (buyer < network.loop) {
        const std::uint32_t from = near ? buyer + network.loop - 50 : 0;
        return (from + numbers.below(near ? 100 : network.loop)) % network.loop;
    }
    return near ? buyer - 1 - numbers.below(std::min(buyer, 100U)) : numbers.below(buyer);
}

}  // namespace

Network make_network() {
    Network network;
    Numbers numbers(20240501);
    for (std::uint32_t buyer = 0; buyer < network.processes; ++buyer) {
        const std::uint32_t count = 9 + numbers.below(6);
        const double total = numbers.between(0.2, 0.9);
        for (std::uint32_t k = 0; k < count; ++k) {
            network.purchases.push_back({buyer, seller_of(buyer, network, numbers), total / count});
        }
    }
    for (std::uint32_t k = 0; k < network.processes * network.indicators; ++k) {
        network.direct.push_back(numbers.between(0.0, 1.0));
    }
    return network;
}

NetworkGraph build_network(const Network& network) {
    NetworkGraph made;
    Graph& graph = made.graph;
    const std::size_t sides = network.indicators;
    std::vector<NodeId> amounts, direct, x(network.processes * sides);
    for (std::size_t k = 0; k < network.purchases.size(); ++k) {
        const auto& [buyer, seller, amount] = network.purchases[k];
        amounts.push_back(
            add_input(graph, fmt::format("network.p{}.uses.p{}.{}", buyer, seller, k), amount));
    }
    for (std::size_t k = 0; k < network.direct.size(); ++k) {
        direct.push_back(graph.constant(network.direct[k], 0,
                                        {{1, static_cast<std::uint32_t>(k + 1), 1, 1}, 0}));
    }
    const NodeId one = graph.constant(1.0, 0, {});

    std::size_t first = 0;
    std::vector<Solve::Entry> entries;
    for (; network.purchases[first].buyer < network.loop; ++first) {
        entries.push_back({network.purchases[first].buyer, network.purchases[first].seller});
    }
    const std::vector<TextId> unknowns(network.loop, 0), units(network.loop * sides, 0);
    const std::span<const NodeId> all_amounts(amounts), all_direct(direct);
    const Solution loop =
        graph.solve(network.loop, entries, all_amounts.first(first), network.indicators,
                    all_direct.first(units.size()), unknowns, units, {});
    std::ranges::copy(loop.parts, x.begin());

    std::vector<NodeId> pairs;
    for (std::uint32_t process = network.loop; process < network.processes; ++process) {
        std::size_t last = first;
        while (last < network.purchases.size() && network.purchases[last].buyer == process) ++last;
        for (std::size_t s = 0; s < sides; ++s) {
            pairs.assign({direct[process * sides + s], one});
            for (std::size_t k = first; k < last; ++k) {
                pairs.insert(pairs.end(), {amounts[k], x[network.purchases[k].seller * sides + s]});
            }
            x[process * sides + s] =
                graph.make(Operation::sum_of_products, std::span<const NodeId>(pairs), 0, {});
        }
        first = last;
    }
    made.results.assign(x.end() - static_cast<std::ptrdiff_t>(sides), x.end());
    return made;
}

namespace {

/// A loop whose products take at most 0.8 of the others; coefficients and right sides from
/// `amounts`.
Solution add_loop(Graph& graph, std::uint32_t size, std::uint32_t sides,
                  const std::vector<NodeId>& amounts, Numbers& numbers, MillGraph::Loop& loop) {
    const auto any = [&] { return std::size_t{numbers.below(amounts.size())}; };
    loop.size = size;
    loop.scale = 0.2 / size;
    const NodeId scale = graph.constant(loop.scale, 0, {{1, size, 1, 1}, 0});
    std::vector<Solve::Entry> entries;
    std::vector<NodeId> coefficients, right_sides;
    for (std::uint32_t row = 0; row < size; ++row) {
        for (std::uint32_t k = 0; k < 4; ++k) {
            entries.push_back({row, numbers.below(size)});
            loop.entries.push_back({row, entries.back().column, any()});
            coefficients.push_back(
                graph.make(Operation::product, {amounts[loop.entries.back().input], scale}, 0, {}));
        }
    }
    for (std::uint32_t k = 0; k < size * sides; ++k) {
        loop.right_sides.push_back(any());
        right_sides.push_back(amounts[loop.right_sides.back()]);
    }
    const std::vector<TextId> unknowns(size, 0), units(right_sides.size(), 0);
    return graph.solve(size, entries, coefficients, sides, right_sides, unknowns, units, {});
}

}  // namespace

StudyGraph build_study(std::size_t size) {
    StudyGraph made;
    Graph& graph = made.graph;
    Numbers numbers(7);
    for (std::size_t k = 0; k < size / 3; ++k) {
        made.inputs.push_back(
            add_input(graph, fmt::format("study.input.{}", k), numbers.between(0.5, 1.5)));
    }
    std::vector<NodeId> nodes = made.inputs;
    MillGraph::Loop of_study;
    const Solution loop = add_loop(graph, 12, 6, made.inputs, numbers, of_study);
    nodes.insert(nodes.end(), loop.parts.begin(), loop.parts.end());
    const NodeId tenth = graph.constant(0.1, 0, {});
    const auto recent = [&] {
        return nodes[nodes.size() - 1 - numbers.below(std::min<std::size_t>(nodes.size(), 4000))];
    };
    while (graph.size() < size) {
        const std::uint32_t kind = numbers.below(10);
        NodeId node = no_node;
        if (kind == 0) node = graph.convert(recent(), {3.6, 4.0, 0, 0}, 0, {});
        else if (kind == 1)
            node = graph.make(Operation::quotient,
                              {recent(), made.inputs[numbers.below(made.inputs.size())]}, 0, {});
        else if (kind == 2)
            node = graph.make(Operation::product,
                              {recent(), made.inputs[numbers.below(made.inputs.size())]}, 0, {});
        else {
            std::vector<NodeId> pairs = {recent(), tenth};
            for (int k = 0; k < 3; ++k) pairs.insert(pairs.end(), {recent(), tenth});
            node = graph.make(Operation::sum_of_products, std::span<const NodeId>(pairs), 0, {});
        }
        nodes.push_back(node);
    }
    std::vector<NodeId> last(nodes.end() - 500, nodes.end());
    made.result = graph.make(Operation::sum, std::span<const NodeId>(last), 0, {});
    return made;
}

MillGraph build_mill(std::size_t products) {
    MillGraph made;
    Graph& graph = made.graph;
    Numbers numbers(11);
    const Spread spread{SpreadKind::lognormal,
                        false,
                        {add_input(graph, "mill.spread", MillGraph::factor), no_node, no_node}};
    std::vector<NodeId> shared;
    for (int k = 0; k < 60; ++k) {
        made.shared.push_back(numbers.between(0.5, 1.5));
        shared.push_back(
            add_input(graph, fmt::format("mill.input.{}", k), made.shared.back(), spread));
    }
    for (const std::uint32_t size : {8U, 12U}) {
        const Solution loop = add_loop(graph, size, 6, shared, numbers, made.loops.emplace_back());
        made.made.insert(made.made.end(), loop.parts.begin(), loop.parts.end());
    }
    for (std::size_t p = 0; p < products; ++p) {
        std::vector<NodeId> own;
        for (int k = 0; k < 10; ++k) {
            made.own.push_back(numbers.between(0.5, 1.5));
            own.push_back(add_input(graph, fmt::format("products.p{}.amount.{}", p, k),
                                    made.own.back(), spread));
        }
        std::vector<NodeId> indicators;
        for (std::size_t side = 0; side < 6; ++side) {
            std::vector<NodeId> pairs;
            for (std::size_t k = 0; k < own.size(); ++k) {
                pairs.insert(pairs.end(), {own[k], made.made[(p + k) % 20 * 6 + side]});
            }
            indicators.push_back(
                graph.make(Operation::sum_of_products, std::span<const NodeId>(pairs), 0, {}));
        }
        made.products.push_back(std::move(indicators));
    }
    return made;
}

}  // namespace deckle::bench
