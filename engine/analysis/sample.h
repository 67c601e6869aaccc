// What many draws of one figure say about it: mean, standard uncertainty, median, coverage
// interval, and how far each of these is settled by so many draws. Tiles of a run are taken one by
// one and joined in the order of their numbers, so that the bits depend on the draws alone. Terms
// and rules: JCGM 101:2008 (Supplement 1 to the GUM), clauses 7.6, 7.7 and 7.9.
#pragma once

#include <cstdint>
#include <span>
#include <vector>

#include "engine/analysis/order_statistics.h"

namespace deckle {

enum class IntervalKind : std::uint8_t {
    symmetric,  ///< as many draws below as above
    shortest
};

inline constexpr double coverage_probability = 0.95;

/// Of one figure, in its unit.
struct Summary {
    double mean = 0.0;
    double standard_uncertainty = 0.0;  ///< standard deviation of the draws
    double median = 0.0;
    double low = 0.0, high = 0.0;  ///< ends of the 95 % interval
};

/// Standard deviations that the numbers of a Summary themselves have after so many draws; 0 where
/// not known: the ends of a shortest interval lie where its width is smallest, which is flat, so
/// they settle with the cube root of the draws, and the scatter of parts of a run says too little
/// of the whole (J. Kim and D. Pollard, Annals of Statistics 18, 1990, 191, from memory).
struct StandardErrors {
    double mean = 0.0, standard_uncertainty = 0.0, low = 0.0, high = 0.0;

    [[nodiscard]] double largest() const;
};

/// Half of one unit in the last of `digits` significant digits of an uncertainty (JCGM 101, 7.9.2):
/// 0.00035 with two digits gives 0.000005.
[[nodiscard]] double numerical_tolerance(double uncertainty, int digits);

/// How many significant digits of the standard uncertainty hold in mean, uncertainty and, of a
/// symmetric interval, both ends: twice every standard error is below the tolerance. 0 to 6; a
/// figure without spread has 6.
[[nodiscard]] int digits_that_hold(const Summary& summary, const StandardErrors& errors);

/// Ranks [from 0] of the ends of the 95 % symmetric interval among `draws` (JCGM 101, 7.7.2), and
/// how many steps a shortest one reaches over.
struct IntervalRanks {
    std::uint64_t low, high, span;
};
[[nodiscard]] IntervalRanks interval_ranks(std::uint64_t draws);

/// Sums of the powers of the deviations from a centre, over the draws of one tile.
struct PowerSums {
    double one = 0.0, two = 0.0, three = 0.0, four = 0.0;

    /// Eight partial sums by place modulo 8, joined as ((0+4)+(2+6))+((1+5)+(3+7)).
    [[nodiscard]] static PowerSums of(std::span<const double> values, double centre);
    void add(const PowerSums& other);
};

/// What is kept of one tile of one figure.
struct TileRecord {
    std::uint64_t draws = 0;
    PowerSums sums;
    std::vector<WindowShare> shares;  ///< one a window of the figure
    Summary summary;                  ///< of this tile alone, where asked for
};

/// Windows around the ranks that a Summary needs, from the first tile: wide enough that an order
/// statistic of all draws falls outside once in 1e10 runs.
[[nodiscard]] std::vector<Window> windows_around(std::span<const double> first_tile,
                                                 IntervalKind kind, double deviations,
                                                 Selector& selector);
/// The windows that hold everything.
[[nodiscard]] std::vector<Window> windows_without_ends();

struct Sample {
    std::uint64_t draws = 0;
    Summary summary;
    StandardErrors errors;
};

/// Of values that are all at hand.
[[nodiscard]] Sample sample_of(std::span<const double> values, double centre, IntervalKind kind,
                               Selector& selector);

/// Of tiles in the order of their numbers; none when a window missed (then take wider ones).
[[nodiscard]] std::optional<Sample> sample_of(std::span<const TileRecord> tiles,
                                              std::span<const Window> windows, double centre,
                                              IntervalKind kind);

/// Whether a sample bears `digits` digits out, as digits_that_hold counts them, and lets clause 8
/// of JCGM 101 judge the first order: its ends within a fifth of the tolerance of one digit (8.2).
[[nodiscard]] bool bears_out(const Sample& sample, int digits);

/// Whether the draws so far suffice for `digits` digits, by the adaptive procedure of JCGM 101,
/// 7.9.4: mean, uncertainty and both ends of the tiles scatter little enough.
[[nodiscard]] bool is_settled(std::span<const TileRecord> tiles, double centre, int digits);

}  // namespace deckle
