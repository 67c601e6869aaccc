// Order statistics of many values: of values at hand (a histogram finds the few that come into
// question), and of a stream of which only windows around the wanted ranks are kept. Both are
// exact. Percentiles are order statistics as in JCGM 101:2008, 7.7, never interpolated.
#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <vector>

namespace deckle {

/// Finds order statistics of values at hand; keeps its storage from one call to the next.
class Selector {
public:
    /// The values at `ranks` [from 0, ascending, below the number of values] of the sorted values.
    [[nodiscard]] std::vector<double> at_ranks(std::span<const double> values,
                                               std::span<const std::uint64_t> ranks);

private:
    void count_bins(std::span<const double> values, double low, double scale);

    std::vector<std::uint16_t> bin_of_;
    std::vector<std::uint32_t> counts_, starts_;
    std::vector<double> few_;
};

/// A range of values of which a stream keeps all, with the number of those below it. Equal values
/// at its ends are counted, not kept, so that a figure of few distinct values needs little memory.
struct Window {
    double low, high;
};

/// What one part of a stream had in a window.
struct WindowShare {
    std::uint64_t below = 0, at_low = 0, at_high = 0;
    std::vector<double> inside;  ///< low < value < high, in the order of the stream

    [[nodiscard]] static WindowShare of(std::span<const double> values, Window window);
};

/// A window and all that the parts of a stream had in it.
class WindowContents {
public:
    explicit WindowContents(Window window) : window_(window) {}
    void add(const WindowShare& share);
    /// Sorts what is inside; afterwards `at` may be asked.
    void close();
    /// The value at a rank [from 0] of the whole sorted stream; none when it lies outside.
    [[nodiscard]] std::optional<double> at(std::uint64_t rank) const;

private:
    Window window_;
    std::uint64_t below_ = 0, at_low_ = 0, at_high_ = 0;
    std::vector<double> inside_;
};

}  // namespace deckle
