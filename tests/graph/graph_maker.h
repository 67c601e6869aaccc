// Graphs for tests: a short way to write one by hand, and random ones that use every operation.
#pragma once

#include <random>
#include <string>
#include <vector>

#include "engine/graph/evaluate.h"
#include "engine/graph/graph.h"

namespace deckle::test {

/// Writes graphs with few words.
class Maker {
public:
    Graph graph;

    NodeId input(const std::string& address, double value) {
        return spread(address, value, SpreadKind::none, {});
    }

    /// `parameters`: in the order of spread.h; each becomes an input of its own.
    NodeId spread(const std::string& address, double value, SpreadKind kind,
                  std::vector<double> parameters, bool relative = false) {
        std::vector<NodeId> nodes;
        for (const double parameter : parameters) {
            nodes.push_back(input(address + ".spread" + std::string(nodes.size(), '2'), parameter));
        }
        return spread_by(address, value, kind, nodes, relative);
    }

    NodeId spread_by(const std::string& address, double value, SpreadKind kind,
                     const std::vector<NodeId>& nodes, bool relative = false) {
        Input made;
        made.addresses = {graph.text(address)};
        made.value = value;
        made.typed = graph.text(std::to_string(value));
        made.spread.kind = kind;
        made.spread.relative = relative;
        for (std::size_t k = 0; k < nodes.size(); ++k) made.spread.parameters[k] = nodes[k];
        made.bounds = {-1e6, 1e6};
        const NodeId node = graph.add_input(made, 0, {{}, graph.text("typed " + address)});
        graph.name(node, address);
        return node;
    }

    NodeId make(Operation operation, const std::vector<NodeId>& arguments) {
        return graph.make(operation, std::span<const NodeId>(arguments), 0,
                          {{}, graph.text("by hand")});
    }

    NodeId number(double value) { return graph.constant(value, 0, {}); }

    /// x_i = sum of coefficients x_j + b_i, one right-hand side a column; see Graph::solve.
    Solution solve(std::uint32_t size, const std::vector<Solve::Entry>& entries,
                   const std::vector<NodeId>& coefficients, std::uint32_t sides,
                   const std::vector<NodeId>& right_sides) {
        std::vector<TextId> unknowns, units(right_sides.size(), 0);
        for (std::uint32_t i = 0; i < size; ++i)
            unknowns.push_back(graph.text("product_" + std::to_string(i)));
        return graph.solve(size, entries, coefficients, sides, right_sides, unknowns, units,
                           {{}, graph.text("a loop")});
    }
};

/// The same numbers on every machine.
class Numbers {
public:
    explicit Numbers(std::uint64_t seed) : generator_(seed) {}
    double between(double low, double high) {
        return low + (high - low) * (static_cast<double>(generator_() >> 11U) * 0x1p-53);
    }
    std::size_t below(std::size_t count) { return generator_() % count; }
    std::uint64_t word() { return generator_(); }

private:
    std::mt19937_64 generator_;
};

struct RandomGraph {
    Maker maker;
    std::vector<NodeId> results;  ///< the last nodes made
    const Graph& graph() const { return maker.graph; }
};

enum class Steps : std::uint8_t {
    with,
    without
};  ///< whole, minimum and maximum, which have no slope somewhere

/// Every operation, loops of 2 to 9 products included, in a random net of about `size` nodes whose
/// values stay within 1e-3 to 1e3; every kind of spread, one of them with an uncertain parameter,
/// and two correlated groups.
[[nodiscard]] RandomGraph random_graph(std::uint64_t seed, std::size_t size,
                                       Steps steps = Steps::with);

/// A loop of `size` products with `sides` right-hand sides, about `per_row` entries a row, all
/// inputs lognormal; no product needs more than 0.9 of all others.
[[nodiscard]] RandomGraph random_loop(std::uint64_t seed, std::uint32_t size, std::uint32_t sides,
                                      std::uint32_t per_row);

}  // namespace deckle::test
