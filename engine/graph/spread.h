// What a spread makes of a number: one row a shape, with the names of its parameters and the kind
// of number it is made of; the value below which a share of the draws lies; mean and standard
// deviation. The lanes make the same values of the same numbers (random.h). Which draw takes which
// number is said in draws.h.
#pragma once

#include <array>
#include <span>
#include <string_view>

#include "engine/graph/graph.h"

namespace deckle {

/// What the draws of a shape are made of: a number in (0, 1), a standard normal, a Student t.
enum class NumberKind : std::uint8_t { chance, normal, student };

struct SpreadRow {
    SpreadKind kind = SpreadKind::none;
    std::string_view name;  ///< as in files: "curvilinear_trapezoid"
    NumberKind numbers = NumberKind::chance;
    std::size_t count = 0;                         ///< of its parameters
    std::array<std::string_view, 3> parameters{};  ///< keys of files: "low", "high", "inexact_by"
    std::size_t open = 3;                          ///< from this one on, parameters may be left out
};

[[nodiscard]] std::span<const SpreadRow> all_spreads() noexcept;  ///< `none` too, by number
[[nodiscard]] const SpreadRow& row_of(SpreadKind kind);

/// A spread with the values of its parameters; one that is left out is the lowest or highest
/// double.
struct SpreadValues {
    SpreadKind kind = SpreadKind::none;
    bool relative = false;
    double value = 0.0;
    std::array<double, 3> parameters{};
};

/// `values`: one a node.
[[nodiscard]] SpreadValues spread_values(const Input& input, std::span<const double> values);

/// The value that a number of the row's kind gives.
[[nodiscard]] double spread_value(const SpreadValues& spread, double number);

/// The value below which the share p of the draws lies, 0 < p < 1.
[[nodiscard]] double spread_quantile(const SpreadValues& spread, double p);

/// Expectation and standard deviation [unit of the input].
struct Moments {
    double mean = 0.0, deviation = 0.0;
};

/// Mean and standard deviation, exact. Sources: JCGM 101:2008, table 1 and clause 6.4; of the
/// truncated normal Johnson, Kotz, Balakrishnan, Continuous Univariate Distributions 1
/// (1994), 13.10.
[[nodiscard]] Moments spread_moments(const SpreadValues& spread);

/// The same of an input, its own value where it has no spread. `values`: one a node.
[[nodiscard]] double value_at(const Input& input, std::span<const double> values, double p);
[[nodiscard]] Moments moments_of(const Input& input, std::span<const double> values);

/// The standard normal whose distribution is p at it, 0 < p < 1. Relative error below 1e-15.
[[nodiscard]] double normal_of(double p);

/// Distribution of the standard normal at z, kept inside (0, 1) as the numbers of draws are.
[[nodiscard]] double chance_of(double z);

/// The t of Student's distribution with this many degrees of freedom, above 2, whose distribution
/// is p at it, 0 < p < 1. Relative error about 1e-14.
[[nodiscard]] double student_of(double p, double degrees_of_freedom);

}  // namespace deckle
