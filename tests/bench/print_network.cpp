// Writes the network of the benchmarks for the peer: processes, loop, indicators, purchases; then
// buyer, seller, amount of each purchase; the direct burdens row by row; the results of the last
// process.
#include <cstdio>

#include "engine/graph/evaluate.h"
#include "tests/bench/networks.h"

using namespace deckle;

int main() {
    const bench::Network network = bench::make_network();
    std::printf("%u %u %u %zu\n", network.processes, network.loop, network.indicators,
                network.purchases.size());
    for (const auto& [buyer, seller, amount] : network.purchases)
        std::printf("%u %u %.17g\n", buyer, seller, amount);
    for (const double value : network.direct) std::printf("%.17g\n", value);
    const bench::NetworkGraph made = bench::build_network(network);
    const Evaluation at = evaluate(made.graph);
    for (const NodeId result : made.results) std::printf("%.17g\n", at.value[result]);
}
