#include "engine/analysis/rank_correlation.h"

#include <algorithm>
#include <cmath>
#include <numeric>
#include <stdexcept>

namespace deckle {

std::vector<double> ranks_of(std::span<const double> values) {
    std::vector<std::size_t> order(values.size());
    std::iota(order.begin(), order.end(), std::size_t{0});
    std::ranges::sort(order, [&](std::size_t a, std::size_t b) {
        return values[a] != values[b] ? values[a] < values[b] : a < b;
    });
    std::vector<double> ranks(values.size());
    for (std::size_t from = 0, to = 0; from < order.size(); from = to) {
        while (to < order.size() && values[order[to]] == values[order[from]]) ++to;
        const double shared = (static_cast<double>(from + to) + 1.0) / 2.0;
        for (std::size_t k = from; k < to; ++k) ranks[order[k]] = shared;
    }
    return ranks;
}

double correlation_of_ranks(std::span<const double> ranks, std::span<const double> others) {
    if (ranks.size() != others.size())
        throw std::logic_error("ranks of as many values are correlated");
    const double mean = (static_cast<double>(ranks.size()) + 1.0) / 2.0;
    double both = 0.0, one = 0.0, other = 0.0;
    for (std::size_t k = 0; k < ranks.size(); ++k) {
        const double a = ranks[k] - mean, b = others[k] - mean;
        both += a * b;
        one += a * a;
        other += b * b;
    }
    return one == 0.0 || other == 0.0 ? 0.0 : both / std::sqrt(one * other);
}

}  // namespace deckle
