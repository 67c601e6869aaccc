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
    Graph graph;
    std::vector<NodeId> made;                   ///< of the mill, shared by all products
    std::vector<std::vector<NodeId>> products;  ///< indicators of each
};

[[nodiscard]] MillGraph build_mill(std::size_t products);

}  // namespace deckle::bench
