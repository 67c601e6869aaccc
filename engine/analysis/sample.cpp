#include "engine/analysis/sample.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdlib>
#include <limits>

namespace deckle {
namespace {

constexpr int most_digits = 6;
constexpr double infinite = std::numeric_limits<double>::infinity();

double joined(const std::array<double, 8>& part) {
    return ((part[0] + part[4]) + (part[2] + part[6])) +
           ((part[1] + part[5]) + (part[3] + part[7]));
}

/// Steps of rank that one standard deviation of the share p of `draws` draws is.
std::uint64_t rank_deviation(std::uint64_t draws, double p) {
    const double steps = std::sqrt(static_cast<double>(draws) * p * (1.0 - p));
    return static_cast<std::uint64_t>(std::ceil(steps));
}

constexpr double low_share = (1.0 - coverage_probability) / 2.0;

/// The ranks that a Summary and its errors need. Of a symmetric interval its ends and one standard
/// deviation to both sides of them; the median; of a shortest one all of both tails.
struct Ranks {
    IntervalRanks interval;
    std::uint64_t low_less, low_more, high_less, high_more, middle_low, middle_high;

    explicit Ranks(std::uint64_t draws)
        : interval(interval_ranks(draws)), middle_low((draws - 1) / 2), middle_high(draws / 2) {
        const std::uint64_t step = rank_deviation(draws, low_share);
        const auto less = [&](std::uint64_t rank) { return rank - std::min(rank, step); };
        const auto more = [&](std::uint64_t rank) { return std::min(rank + step, draws - 1); };
        low_less = less(interval.low);
        low_more = more(interval.low);
        high_less = less(interval.high);
        high_more = more(interval.high);
    }
};

/// Mean, standard uncertainty and their errors.
void add_moments(Sample& sample, const PowerSums& sums, double centre) {
    const auto n = static_cast<double>(sample.draws);
    const double shift = sums.one / n;
    sample.summary.mean = centre + shift;
    if (sample.draws < 2) return;
    const double variance = std::max(0.0, (sums.two - sums.one * shift) / (n - 1.0));
    sample.summary.standard_uncertainty = std::sqrt(variance);
    sample.errors.mean = std::sqrt(variance / n);
    if (variance == 0.0) return;
    const double square = shift * shift;
    const double fourth = sums.four / n - 4.0 * shift * sums.three / n +
                          6.0 * square * sums.two / n - 3.0 * square * square;
    sample.errors.standard_uncertainty =
        std::sqrt(std::max(0.0, fourth - variance * variance) / (4.0 * variance * n));
}

/// Median and interval from a function that knows the value at a rank.
template <class At>
void add_order_statistics(Sample& sample, IntervalKind kind, const At& at) {
    const Ranks ranks(sample.draws);
    Summary& summary = sample.summary;
    summary.median = ranks.middle_low == ranks.middle_high
                         ? at(ranks.middle_low)
                         : (at(ranks.middle_low) + at(ranks.middle_high)) / 2.0;
    if (kind == IntervalKind::symmetric) {
        summary.low = at(ranks.interval.low);
        summary.high = at(ranks.interval.high);
        sample.errors.low = (at(ranks.low_more) - at(ranks.low_less)) / 2.0;
        sample.errors.high = (at(ranks.high_more) - at(ranks.high_less)) / 2.0;
        return;
    }
    summary.low = at(0);
    summary.high = at(ranks.interval.span);
    for (std::uint64_t r = 1; r + ranks.interval.span < sample.draws; ++r) {
        const double low = at(r), high = at(r + ranks.interval.span);
        if (high - low >= summary.high - summary.low) continue;
        summary.low = low;
        summary.high = high;
    }
}

struct Missed {};

}  // namespace

double StandardErrors::largest() const {
    return std::max(std::max(mean, standard_uncertainty), std::max(low, high));
}

double numerical_tolerance(double uncertainty, int digits) {
    const std::string rounded = fmt::format("{:.{}e}", uncertainty, digits - 1);
    const int exponent = std::atoi(rounded.c_str() + rounded.find('e') + 1);
    return std::strtod(fmt::format("5e{}", exponent - digits).c_str(), nullptr);
}

int digits_that_hold(const Summary& summary, const StandardErrors& errors) {
    if (summary.standard_uncertainty == 0.0) return most_digits;
    int digits = 0;
    while (digits < most_digits &&
           2.0 * errors.largest() < numerical_tolerance(summary.standard_uncertainty, digits + 1))
        ++digits;
    return digits;
}

bool bears_out(const Sample& sample, int digits) {
    const double drawn = sample.summary.standard_uncertainty;
    if (drawn == 0.0) return true;
    const double unsettled = 2.0 * std::max(sample.errors.low, sample.errors.high);
    return digits_that_hold(sample.summary, sample.errors) >= digits &&
           unsettled < numerical_tolerance(drawn, 1) / 5.0;
}

IntervalRanks interval_ranks(std::uint64_t draws) {
    if (draws < 2) return {0, 0, 0};
    // whole numbers only: q = pM if whole, else the whole part of pM + 1/2
    const std::uint64_t q = (draws * 19 % 20 == 0) ? draws * 19 / 20 : (draws * 38 + 20) / 40;
    const std::uint64_t rest = draws - q;
    const std::uint64_t r = std::max<std::uint64_t>(1, rest % 2 == 0 ? rest / 2 : (rest + 1) / 2);
    const std::uint64_t high = std::min(r + q, draws);
    return {r - 1, high - 1, std::min(q, draws - 1)};
}

PowerSums PowerSums::of(std::span<const double> values, double centre) {
    std::array<double, 8> one{}, two{}, three{}, four{};
    const auto take = [&](std::size_t k, double value) {
        const double d = value - centre;
        const double square = d * d;
        one[k] += d;
        two[k] += square;
        three[k] += square * d;
        four[k] += square * square;
    };
    std::size_t i = 0;
    for (; i + 8 <= values.size(); i += 8) {
        for (std::size_t k = 0; k < 8; ++k) take(k, values[i + k]);
    }
    for (std::size_t k = 0; i + k < values.size(); ++k) take(k, values[i + k]);
    return {joined(one), joined(two), joined(three), joined(four)};
}

void PowerSums::add(const PowerSums& other) {
    one += other.one;
    two += other.two;
    three += other.three;
    four += other.four;
}

std::vector<Window> windows_around(std::span<const double> first_tile, IntervalKind kind,
                                   double deviations, Selector& selector) {
    const std::uint64_t draws = first_tile.size();
    const bool shortest = kind == IntervalKind::shortest;
    struct Shares {
        double low, high;
    };
    const std::array<Shares, 3> shares{
        {{shortest ? 0.0 : low_share, shortest ? 2.0 * low_share : low_share},
         {0.5, 0.5},
         {shortest ? 1.0 - 2.0 * low_share : 1.0 - low_share, shortest ? 1.0 : 1.0 - low_share}}};
    std::vector<Window> windows;
    for (const Shares& share : shares) {
        const auto reach = [&](double p) {
            return deviations * std::sqrt(static_cast<double>(draws) * p * (1.0 - p)) + 2.0;
        };
        const auto n = static_cast<double>(draws);
        const double first = share.low * n - reach(share.low);
        const double last = share.high * n + reach(share.high);
        const bool open_low = first < 0.0 || share.low == 0.0;
        const bool open_high = last >= n - 1.0 || share.high == 1.0;
        const std::array<std::uint64_t, 2> ranks{
            open_low ? 0 : static_cast<std::uint64_t>(first),
            open_high ? draws - 1 : static_cast<std::uint64_t>(last)};
        const auto ends = selector.at_ranks(first_tile, ranks);
        const double low = open_low ? -infinite : ends[0];
        const double high = open_high ? infinite : ends[1];
        windows.push_back({low, high});
    }
    return windows;
}

std::vector<Window> windows_without_ends() { return {{-infinite, infinite}}; }

Sample sample_of(std::span<const double> values, double centre, IntervalKind kind,
                 Selector& selector) {
    Sample sample;
    sample.draws = values.size();
    add_moments(sample, PowerSums::of(values, centre), centre);
    if (kind == IntervalKind::shortest) {
        std::vector<double> sorted(values.begin(), values.end());
        std::ranges::sort(sorted);
        add_order_statistics(sample, kind, [&](std::uint64_t rank) { return sorted[rank]; });
        return sample;
    }
    const Ranks r(sample.draws);
    std::array<std::uint64_t, 8> ranks{r.low_less,    r.interval.low, r.low_more,      r.middle_low,
                                       r.middle_high, r.high_less,    r.interval.high, r.high_more};
    std::ranges::sort(ranks);
    const auto found = selector.at_ranks(values, ranks);
    add_order_statistics(sample, kind, [&](std::uint64_t rank) {
        return found[static_cast<std::size_t>(std::ranges::find(ranks, rank) - ranks.begin())];
    });
    return sample;
}

std::optional<Sample> sample_of(std::span<const TileRecord> tiles, std::span<const Window> windows,
                                double centre, IntervalKind kind) {
    Sample sample;
    PowerSums sums;
    std::vector<WindowContents> contents(windows.begin(), windows.end());
    for (const TileRecord& tile : tiles) {
        sample.draws += tile.draws;
        sums.add(tile.sums);
        for (std::size_t w = 0; w < contents.size(); ++w) contents[w].add(tile.shares[w]);
    }
    for (WindowContents& one : contents) one.close();
    add_moments(sample, sums, centre);
    try {
        add_order_statistics(sample, kind, [&](std::uint64_t rank) {
            for (const WindowContents& one : contents) {
                if (const auto value = one.at(rank)) return *value;
            }
            throw Missed();
        });
    } catch (const Missed&) {
        return std::nullopt;
    }
    return sample;
}

bool is_settled(std::span<const TileRecord> tiles, double centre, int digits) {
    if (tiles.size() < 2) return false;
    Sample all;
    PowerSums sums;
    for (const TileRecord& tile : tiles) {
        all.draws += tile.draws;
        sums.add(tile.sums);
    }
    add_moments(all, sums, centre);
    if (all.summary.standard_uncertainty == 0.0) return true;
    const double tolerance = numerical_tolerance(all.summary.standard_uncertainty, digits);
    const auto h = static_cast<double>(tiles.size());
    for (const auto member :
         {&Summary::mean, &Summary::standard_uncertainty, &Summary::low, &Summary::high}) {
        double average = 0.0, squares = 0.0;
        for (const TileRecord& tile : tiles) average += tile.summary.*member;
        average /= h;
        for (const TileRecord& tile : tiles) {
            const double off = tile.summary.*member - average;
            squares += off * off;
        }
        if (2.0 * std::sqrt(squares / (h * (h - 1.0))) >= tolerance) return false;
    }
    return true;
}

}  // namespace deckle
