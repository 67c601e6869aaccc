// Writes the mill of the benchmarks for the peer, as JSON: values of the inputs and their 95 %
// factor, the loops, and of every indicator of every product the mean and standard uncertainty of
// 10,000 draws, so that the peer can show that it does the same sums.
#include <fmt/format.h>
#include <fmt/ranges.h>

#include <cstdio>

#include "engine/analysis/uncertainty.h"
#include "tests/bench/networks.h"

using namespace deckle;

namespace {

void print_loop(const bench::MillGraph::Loop& loop, const char* before) {
    fmt::print("{}{{\"size\": {}, \"scale\": {}, \"entries\": [", before, loop.size, loop.scale);
    for (std::size_t k = 0; k < loop.entries.size(); ++k) {
        const auto& [row, column, input] = loop.entries[k];
        fmt::print("{}[{}, {}, {}]", k == 0 ? "" : ", ", row, column, input);
    }
    fmt::print("], \"right_sides\": {}}}", loop.right_sides);
}

}  // namespace

int main() {
    constexpr std::size_t products = 500;
    const bench::MillGraph mill = bench::build_mill(products);
    std::vector<UncertainGroup> groups;
    for (const auto& indicators : mill.products) {
        UncertainGroup& group = groups.emplace_back();
        for (const NodeId node : indicators) group.push_back({node, no_node});
    }
    UncertaintyQuestion question;
    question.draws = 10'000;
    std::vector<double> means, uncertainties;
    for (const auto& group : uncertainty(mill.graph, evaluate(mill.graph), groups, question)) {
        for (const FigureUncertainty& figure : group) {
            means.push_back(figure.sample.summary.mean);
            uncertainties.push_back(figure.sample.summary.standard_uncertainty);
        }
    }
    fmt::print("{{\"factor\": {}, \"draws\": {}, \"shared\": {}, \"own\": {},\n\"loops\": [",
               bench::MillGraph::factor, question.draws, mill.shared, mill.own);
    for (std::size_t k = 0; k < mill.loops.size(); ++k)
        print_loop(mill.loops[k], k == 0 ? "" : ",\n");
    fmt::print("],\n\"means\": {}, \"uncertainties\": {}}}\n", means, uncertainties);
}
