#include "engine/analysis/histogram.h"

#include <algorithm>

namespace deckle {
namespace {

Histogram histogram_of(std::span<const double> values, std::size_t bins) {
    const auto [low, high] = std::ranges::minmax(values);
    Histogram made{low, high, {}};
    made.counts.assign(low < high ? bins : 1, 0);
    const double width = (high - low) / static_cast<double>(bins);
    for (const double value : values) {
        const double place = low < high ? (value - low) / width : 0.0;
        const auto bin = static_cast<std::size_t>(place);
        ++made.counts[std::min(bin, made.counts.size() - 1)];
    }
    return made;
}

}  // namespace

std::vector<Histogram> histograms(const Graph& graph, const Evaluation& base,
                                  std::span<const NodeId> nodes, std::uint64_t seed,
                                  std::uint64_t draws, std::size_t bins, unsigned threads) {
    const LanePlan plan(graph, base, {.wanted = nodes});
    std::vector<std::vector<double>> values(nodes.size(), std::vector<double>(draws));
    evaluate_draws(
        plan, DrawKey{seed}, draws, threads, [&](std::uint64_t first, const Block& block) {
            for (std::size_t k = 0; k < nodes.size(); ++k) {
                std::ranges::copy(block.lanes(k),
                                  values[k].begin() + static_cast<std::ptrdiff_t>(first));
            }
        });
    std::vector<Histogram> made;
    for (const auto& one : values) made.push_back(histogram_of(one, bins));
    return made;
}

}  // namespace deckle
