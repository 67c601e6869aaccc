// What the benchmarks of the graph work on, made here from fixed seeds: a large supply network, a
// graph of the size of a study, and a mill with many products under uncertainty. All numbers are
// invented.
#pragma once

#include <cstdint>
#include <vector>

#include "engine/graph/graph.h"

namespace deckle::bench {

/// A network of processes, one product each: x = C x + b. The first `loop` products feed each
/// other, all others buy from lower numbers only: 35 % of it from 40 hubs, 45 % from near numbers,
/// the rest anywhere.
struct Network {
    struct Purchase {
        std::uint32_t buyer, seller;
        double amount;
    };
    std::uint32_t processes = 20'000, loop = 500, indicators = 12;
    std::vector<Purchase> purchases;  ///< by buyer
    std::vector<double> direct;       ///< processes x indicators, row by row
};

[[nodiscard]] Network make_network();

struct NetworkGraph {
    Graph graph;
    std::vector<NodeId> results;  ///< one an indicator, of the last process
};

[[nodiscard]] NetworkGraph build_network(const Network& network);

/// About `size` nodes in the mix of a study: inputs, conversions, quotients, sums of products of
/// four terms, and a loop of 12 products with 6 indicators.
struct StudyGraph {
    Graph graph;
    std::vector<NodeId> inputs;
    NodeId result = no_node;
};

[[nodiscard]] StudyGraph build_study(std::size_t size);

/// 60 uncertain inputs of a mill with two loops, and `products` products, each with 10 uncertain
/// amounts of what the mill makes; 6 indicators a product.
struct MillGraph {
    /// What stands in a loop, for a peer: places among the shared inputs.
    struct Loop {
        struct Entry {
            std::uint32_t row, column;
            std::size_t input;  ///< times `scale`
        };
        std::uint32_t size = 0;
        double scale = 0.0;
        std::vector<Entry> entries;
        std::vector<std::size_t> right_sides;  ///< row by row, 6 each
    };
    static constexpr double factor = 1.1;  ///< from value / factor to value × factor: 95 %
    Graph graph;
    std::vector<double> shared,
        own;  ///< values of the inputs: of the mill, of product after product
    std::vector<Loop> loops;
    std::vector<NodeId> made;                   ///< of the mill, shared by all products
    std::vector<std::vector<NodeId>> products;  ///< indicators of each
};

[[nodiscard]] MillGraph build_mill(std::size_t products);

}  // namespace deckle::bench
