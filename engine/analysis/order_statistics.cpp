#include "engine/analysis/order_statistics.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>

namespace deckle {
namespace {

constexpr std::size_t bins = 2048;
constexpr std::size_t few_values = 64;  ///< so few are sorted at once
constexpr std::size_t fullest = 8;      ///< a bin with more than 1/8 of the values helps little

struct Range {
    double low, high;
};

/// Eight ranges side by side, so that the compiler can use wide instructions.
Range range_of(std::span<const double> values) {
    std::array<double, 8> low{}, high{};
    low.fill(values[0]);
    high.fill(values[0]);
    std::size_t i = 0;
    for (; i + 8 <= values.size(); i += 8) {
        for (std::size_t k = 0; k < 8; ++k) {
            const double value = values[i + k];
            low[k] = value < low[k] ? value : low[k];
            high[k] = value > high[k] ? value : high[k];
        }
    }
    for (; i < values.size(); ++i) {
        low[0] = std::min(low[0], values[i]);
        high[0] = std::max(high[0], values[i]);
    }
    return {*std::ranges::min_element(low), *std::ranges::max_element(high)};
}

/// Without a histogram: each rank splits what the one before left above it.
std::vector<double> by_splitting(std::span<const double> values,
                                 std::span<const std::uint64_t> ranks, std::vector<double>& copy) {
    copy.assign(values.begin(), values.end());
    std::vector<double> found;
    auto from = copy.begin();
    for (const std::uint64_t rank : ranks) {
        const auto at = copy.begin() + static_cast<std::ptrdiff_t>(rank);
        if (at >= from) std::nth_element(from, at, copy.end());
        found.push_back(*at);
        from = std::max(from, at);
    }
    return found;
}

}  // namespace

void Selector::count_bins(std::span<const double> values, double low, double scale) {
    bin_of_.resize(values.size());
    for (std::size_t i = 0; i < values.size(); ++i)
        bin_of_[i] =
            static_cast<std::uint16_t>(static_cast<std::int32_t>((values[i] - low) * scale));
    // two histograms by turns: equal neighbours need not wait for each other
    counts_.assign(2 * bins, 0);
    std::size_t i = 0;
    for (; i + 2 <= values.size(); i += 2) {
        ++counts_[bin_of_[i]];
        ++counts_[bins + bin_of_[i + 1]];
    }
    if (i < values.size()) ++counts_[bin_of_[i]];
    for (std::size_t b = 0; b < bins; ++b) counts_[b] += counts_[bins + b];
}

std::vector<double> Selector::at_ranks(std::span<const double> values,
                                       std::span<const std::uint64_t> ranks) {
    if (values.size() <= few_values) return by_splitting(values, ranks, few_);
    const auto [low, high] = range_of(values);
    if (low == high) return std::vector<double>(ranks.size(), low);
    const double scale = (static_cast<double>(bins) - 0.5) / (high - low);
    if (!std::isfinite(scale) || !std::isfinite(high - low))
        return by_splitting(values, ranks, few_);
    count_bins(values, low, scale);

    // where the wanted bins' values go: the first value of each has the bin's first rank
    constexpr std::uint32_t unwanted = std::numeric_limits<std::uint32_t>::max();
    struct Wanted {
        std::uint64_t first_rank;
        std::uint32_t start, count;
    };
    std::vector<Wanted> wanted;
    std::vector<std::size_t> bin_of_rank;
    starts_.assign(bins, unwanted);
    std::uint64_t before = 0;
    std::uint32_t held = 0;
    std::size_t next = 0;
    for (std::size_t b = 0; b < bins && next < ranks.size(); before += counts_[b], ++b) {
        if (ranks[next] >= before + counts_[b]) continue;
        if (counts_[b] > values.size() / fullest) return by_splitting(values, ranks, few_);
        wanted.push_back({before, held, counts_[b]});
        starts_[b] = held;
        held += counts_[b];
        for (; next < ranks.size() && ranks[next] < before + counts_[b]; ++next)
            bin_of_rank.push_back(wanted.size() - 1);
    }
    few_.resize(held);
    for (std::size_t i = 0; i < values.size(); ++i) {
        std::uint32_t& start = starts_[bin_of_[i]];
        if (start != unwanted) few_[start++] = values[i];
    }
    for (const Wanted& one : wanted)
        std::sort(few_.begin() + one.start, few_.begin() + one.start + one.count);
    std::vector<double> found;
    for (std::size_t k = 0; k < ranks.size(); ++k) {
        const Wanted& one = wanted[bin_of_rank[k]];
        found.push_back(few_[one.start + (ranks[k] - one.first_rank)]);
    }
    return found;
}

WindowShare WindowShare::of(std::span<const double> values, Window window) {
    WindowShare share;
    std::uint64_t below = 0, at_low = 0, at_high = 0, inside = 0;
    for (const double value : values) {
        below += value < window.low ? 1U : 0U;
        at_low += value == window.low ? 1U : 0U;
        at_high += value == window.high ? 1U : 0U;
        inside += ((value > window.low) & (value < window.high)) ? 1U : 0U;
    }
    share.below = below;
    share.at_low = at_low;
    share.at_high = window.low == window.high ? 0 : at_high;
    share.inside.reserve(inside);
    if (inside == 0) return share;
    for (const double value : values) {
        if (value > window.low && value < window.high) share.inside.push_back(value);
    }
    return share;
}

void WindowContents::add(const WindowShare& share) {
    below_ += share.below;
    at_low_ += share.at_low;
    at_high_ += share.at_high;
    inside_.insert(inside_.end(), share.inside.begin(), share.inside.end());
}

void WindowContents::close() { std::ranges::sort(inside_); }

std::optional<double> WindowContents::at(std::uint64_t rank) const {
    if (rank < below_) return std::nullopt;
    rank -= below_;
    if (rank < at_low_) return window_.low;
    rank -= at_low_;
    if (rank < inside_.size()) return inside_[rank];
    rank -= inside_.size();
    return rank < at_high_ ? std::optional(window_.high) : std::nullopt;
}

}  // namespace deckle
