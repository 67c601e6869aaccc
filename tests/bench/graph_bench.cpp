// The calculation graph: a large network, a passing change, a gradient, random numbers and blocks
// of draws. Run by the script `run`, which puts the peers beside them.
#include <benchmark/benchmark.h>

#include <algorithm>
#include <atomic>
#include <thread>

#include "engine/graph/evaluate.h"
#include "engine/graph/lanes.h"
#include "tests/bench/networks.h"

namespace {

using namespace deckle;

void network_build(benchmark::State& state) {
    const bench::Network network = bench::make_network();
    for (auto _ : state) {
        const bench::NetworkGraph made = bench::build_network(network);
        benchmark::DoNotOptimize(made.graph.size());
    }
}
BENCHMARK(network_build)->Unit(benchmark::kMillisecond);

void network_evaluate(benchmark::State& state) {
    const bench::NetworkGraph made = bench::build_network(bench::make_network());
    Evaluation result = evaluate(made.graph);
    for (auto _ : state) {
        evaluate_into(made.graph, {}, {}, result);
        benchmark::DoNotOptimize(result.value.data());
    }
    state.counters["nodes"] = static_cast<double>(made.graph.size());
}
BENCHMARK(network_evaluate)->Unit(benchmark::kMillisecond);

constexpr std::size_t study_nodes = 10'000;

void what_if(benchmark::State& state) {
    const bench::StudyGraph made = bench::build_study(study_nodes);
    Evaluation result = evaluate(made.graph);
    Overlay overlay{{{made.inputs[5], 1.0}}};
    for (auto _ : state) {
        overlay.changes[0].value += 1e-6;
        evaluate_into(made.graph, overlay, {}, result);
        benchmark::DoNotOptimize(result.value[made.result]);
    }
}
BENCHMARK(what_if)->Unit(benchmark::kMillisecond);

void gradient(benchmark::State& state) {
    const bench::StudyGraph made = bench::build_study(study_nodes);
    const Evaluation at = evaluate(made.graph);
    for (auto _ : state) benchmark::DoNotOptimize(derivatives(made.graph, at, made.result).data());
}
BENCHMARK(gradient)->Unit(benchmark::kMillisecond);

/// Blocks of draws of lognormal inputs, and nothing else.
class Lognormals {
public:
    explicit Lognormals(LaneWidth width) : table_(lane_table(width)) {
        std::fill_n(value_, 8, 2.5);
        std::fill_n(sigma_, 8, 0.1);
    }
    void draw(std::uint64_t id, std::uint64_t block) {
        const Operand value{value_, 0}, sigma{sigma_, 0};
        DrawTask task{42, 0, 0, 0, -1e300, 1e300, value, sigma, sigma, sigma};
        task.id = id;
        task.block = block;
        table_.units(task, out_);
        table_.normals(out_);
        benchmark::DoNotOptimize(table_.lognormal(task, out_, block_draws));
        benchmark::DoNotOptimize(out_);
    }

private:
    const LaneTable& table_;
    alignas(64) double value_[8], sigma_[8];
    alignas(64) double out_[block_draws];
};

/// One lognormal input after the other, block after block; the time an item is that of one number.
void lognormal(benchmark::State& state, LaneWidth width) {
    if (!has_lane_width(width)) return state.SkipWithError("this processor lacks that width");
    Lognormals numbers(width);
    std::uint64_t id = 0;
    for (auto _ : state) {
        ++id;
        numbers.draw(id, id % 20);
    }
    state.SetItemsProcessed(static_cast<std::int64_t>(state.iterations() * block_draws));
}
BENCHMARK_CAPTURE(lognormal, avx512, LaneWidth::avx512);
BENCHMARK_CAPTURE(lognormal, avx2, LaneWidth::avx2);
BENCHMARK_CAPTURE(lognormal, sse2, LaneWidth::sse2);

/// A whole graph of a study's size for 512 draws, all its inputs lognormal.
void block_of_study(benchmark::State& state) {
    const bench::MillGraph made = bench::build_mill(500);
    const Evaluation base = evaluate(made.graph);
    std::vector<NodeId> wanted;
    for (const auto& product : made.products)
        wanted.insert(wanted.end(), product.begin(), product.end());
    const LanePlan plan(made.graph, base, {wanted});
    Block block(plan);
    std::uint64_t number = 0;
    for (auto _ : state) {
        block.evaluate({42, 0}, number++ % 1000);
        benchmark::DoNotOptimize(block.lanes(0).data());
    }
    state.counters["buffers"] = static_cast<double>(plan.buffer_count());
}
BENCHMARK(block_of_study)->Unit(benchmark::kMillisecond);

constexpr std::uint64_t run_draws = 10'000;
constexpr std::uint64_t run_blocks = (run_draws + block_draws - 1) / block_draws;

/// The lanes of what the mill makes, for every block of a run.
class SharedLanes {
public:
    SharedLanes(const LanePlan& plan, std::size_t count) : count_(count) {
        lanes_.resize(run_blocks * count * stride);
        Block block(plan);
        for (std::uint64_t g = 0; g < run_blocks; ++g) {
            block.evaluate({42, 0}, g);
            for (std::size_t k = 0; k < count; ++k) {
                const auto lanes = block.lanes(k);
                std::copy(lanes.begin(), lanes.end(),
                          lanes_.begin() + static_cast<std::ptrdiff_t>(place(g, k)));
            }
        }
    }
    [[nodiscard]] const double* at(std::uint64_t g, std::size_t k) const {
        return lanes_.data() + place(g, k);
    }

private:
    [[nodiscard]] std::size_t place(std::uint64_t g, std::size_t k) const {
        return (g * count_ + k) * stride;
    }
    static constexpr std::size_t stride = block_draws + 8;  ///< not a whole page, as in lanes.cpp
    std::size_t count_;
    std::vector<double> lanes_;
};

/// Draws and indicators of one product, to be read by statistics.
void run_product(const bench::MillGraph& mill, const Evaluation& base,
                 std::span<const std::uint8_t> varying, const SharedLanes& shared,
                 std::size_t product) {
    const LanePlan plan(mill.graph, base, {mill.products[product], mill.made, varying});
    Block block(plan);
    std::vector<const double*> given(mill.made.size());
    for (std::uint64_t g = 0; g < run_blocks; ++g) {
        for (std::size_t k = 0; k < given.size(); ++k) given[k] = shared.at(g, k);
        const auto count = std::min<std::uint64_t>(block_draws, run_draws - g * block_draws);
        block.evaluate({42, 0}, g, static_cast<std::uint32_t>(count), given);
        benchmark::DoNotOptimize(block.lanes(0).data());
    }
}

/// 60 shared and 500 x 10 own lognormal inputs, two loops, 6 indicators, 10,000 draws: random
/// numbers and evaluation, without statistics.
void draws_of_products(benchmark::State& state) {
    const bench::MillGraph mill = bench::build_mill(500);
    const Evaluation base = evaluate(mill.graph);
    const auto threads = static_cast<unsigned>(state.range(0));
    for (auto _ : state) {
        const SharedLanes shared(LanePlan(mill.graph, base, {mill.made}), mill.made.size());
        const auto varying = varying_nodes(mill.graph);
        std::atomic<std::size_t> next{0};
        const auto work = [&] {
            for (std::size_t p = next++; p < mill.products.size(); p = next++)
                run_product(mill, base, varying, shared, p);
        };
        {
            std::vector<std::jthread> helpers;
            for (unsigned t = 1; t < threads; ++t) helpers.emplace_back(work);
            work();
        }
    }
}
BENCHMARK(draws_of_products)->Arg(1)->Arg(2)->Unit(benchmark::kMillisecond)->UseRealTime();

/// The random numbers of such a run alone.
void numbers_of_products(benchmark::State& state, LaneWidth width) {
    if (!has_lane_width(width)) return state.SkipWithError("this processor lacks that width");
    constexpr std::uint64_t inputs = 60 + 500 * 10;
    const auto threads = static_cast<unsigned>(state.range(0));
    for (auto _ : state) {
        std::atomic<std::uint64_t> next{0};
        const auto work = [&] {
            Lognormals numbers(width);
            for (std::uint64_t id = next++; id < inputs; id = next++)
                for (std::uint64_t g = 0; g < run_blocks; ++g) numbers.draw(id, g);
        };
        std::vector<std::jthread> helpers;
        for (unsigned t = 1; t < threads; ++t) helpers.emplace_back(work);
        work();
    }
}
BENCHMARK_CAPTURE(numbers_of_products, avx512, LaneWidth::avx512)
    ->Arg(1)
    ->Arg(2)
    ->Unit(benchmark::kMillisecond)
    ->UseRealTime();
BENCHMARK_CAPTURE(numbers_of_products, avx2, LaneWidth::avx2)
    ->Arg(1)
    ->Arg(2)
    ->Unit(benchmark::kMillisecond)
    ->UseRealTime();
BENCHMARK_CAPTURE(numbers_of_products, sse2, LaneWidth::sse2)
    ->Arg(1)
    ->Arg(2)
    ->Unit(benchmark::kMillisecond)
    ->UseRealTime();

}  // namespace
