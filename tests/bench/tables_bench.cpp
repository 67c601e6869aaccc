// Ten thousand factors read from YAML, every key, kind and unit checked; beside it yaml-cpp's own
// tree of the same text, which checks nothing. The table is made here, 3.3 MB.
#include <benchmark/benchmark.h>
#include <fmt/format.h>
#include <yaml-cpp/yaml.h>

#include <string>

#include "engine/tables/factor.h"
#include "engine/text/problem.h"

namespace {

using namespace deckle;

constexpr int factor_count = 10'000;

const std::string& table_text() {
    static const std::string text = [] {
        std::string all =
            "table: large\ntitle: A large table\nsource: {title: Made for a benchmark, year: "
            "2026}\n"
            "factors:\n";
        for (int i = 0; i < factor_count; ++i) {
            all += fmt::format(
                "  factor_{}:\n    title: Factor number {} of a large table\n    kind: chemical\n"
                "    per: 1 kg\n    climate: {{fossil: {:.3f} kg, biogenic: 0.01 kg, land_use: 0 "
                "kg, "
                "characterization: ar6_100}}\n"
                "    water: {{withdrawn: {} L, consumed: {} L, region: north}}\n"
                "    energy: {{renewable: 2.1 MJ, non_renewable: {} MJ}}\n    region: europe\n",
                i, i, 1.0 + i * 0.001, 10 + i % 7, 1 + i % 3, 20 + i % 11);
        }
        return all;
    }();
    return text;
}

void factors_from_yaml(benchmark::State& state) {
    for (auto _ : state) {
        Files files;
        Problems problems;
        Tables tables;
        read_table_file(files, files.add("large.yaml", table_text()), tables, problems);
        problems.throw_if_any();
        benchmark::DoNotOptimize(tables.factors.front().factors.size());
    }
    state.counters["MB"] = static_cast<double>(table_text().size()) / 1e6;
}
BENCHMARK(factors_from_yaml)->Unit(benchmark::kMillisecond);

void peer_yaml_tree(benchmark::State& state) {
    for (auto _ : state) benchmark::DoNotOptimize(YAML::Load(table_text()).size());
}
BENCHMARK(peer_yaml_tree)->Unit(benchmark::kMillisecond);

}  // namespace
