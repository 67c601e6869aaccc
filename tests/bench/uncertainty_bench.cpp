// Whole uncertainty runs: draws, evaluation and statistics (mean, standard uncertainty, median,
// both ends of the 95 % interval, their errors). The peer in peers.py does the same sums with
// numpy. Run by the script `run`; each row is a process of its own, so that its peak memory is its
// own.
#include <benchmark/benchmark.h>

#include "engine/analysis/uncertainty.h"
#include "tests/bench/networks.h"

namespace {

using namespace deckle;

/// 60 shared and 10 own lognormal inputs a product, loops of 8 and 12, 6 indicators.
void run(benchmark::State& state, std::size_t products, std::uint64_t draws, LaneWidth width) {
    if (!has_lane_width(width)) return state.SkipWithError("this processor lacks that width");
    const bench::MillGraph mill = bench::build_mill(products);
    const Evaluation base = evaluate(mill.graph);
    std::vector<UncertainGroup> groups;
    for (const auto& indicators : mill.products) {
        UncertainGroup& group = groups.emplace_back();
        for (const NodeId node : indicators) group.push_back({node, no_node});
    }
    UncertaintyQuestion question;
    question.draws = draws;
    question.threads = static_cast<unsigned>(state.range(0));
    question.width = width;
    for (auto _ : state)
        benchmark::DoNotOptimize(uncertainty(mill.graph, base, groups, question).data());
}

void mill_of_500(benchmark::State& state, LaneWidth width) { run(state, 500, 10'000, width); }
BENCHMARK_CAPTURE(mill_of_500, avx512, LaneWidth::avx512)
    ->Arg(1)
    ->Arg(2)
    ->Unit(benchmark::kMillisecond)
    ->UseRealTime();
BENCHMARK_CAPTURE(mill_of_500, avx2, LaneWidth::avx2)
    ->Arg(1)
    ->Arg(2)
    ->Unit(benchmark::kMillisecond)
    ->UseRealTime();
BENCHMARK_CAPTURE(mill_of_500, sse2, LaneWidth::sse2)
    ->Arg(1)
    ->Arg(2)
    ->Unit(benchmark::kMillisecond)
    ->UseRealTime();

void many_products(benchmark::State& state) { run(state, 10'000, 10'000, chosen_lane_width()); }
BENCHMARK(many_products)->Arg(2)->Unit(benchmark::kMillisecond)->UseRealTime();

void many_draws(benchmark::State& state) { run(state, 20, 1'000'000, chosen_lane_width()); }
BENCHMARK(many_draws)->Arg(2)->Unit(benchmark::kMillisecond)->UseRealTime();

}  // namespace
