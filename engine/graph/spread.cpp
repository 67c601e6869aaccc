#include "engine/graph/spread.h"

#include <limits>

#include "engine/graph/random.h"
#include "engine/graph/student.h"

namespace deckle {
namespace {

constexpr std::array<SpreadRow, 9> spread_rows{{
    {SpreadKind::none, "none", NumberKind::chance, 0, {}},
    {SpreadKind::normal, "normal", NumberKind::normal, 1, {"half_width"}},
    {SpreadKind::lognormal, "lognormal", NumberKind::normal, 1, {"factor"}},
    {SpreadKind::triangular, "triangular", NumberKind::chance, 2, {"low", "high"}},
    {SpreadKind::uniform, "uniform", NumberKind::chance, 2, {"low", "high"}},
    {SpreadKind::arcsine, "arcsine", NumberKind::chance, 2, {"low", "high"}},
    {SpreadKind::curvilinear_trapezoid,
     "curvilinear_trapezoid",
     NumberKind::chance,
     3,
     {"low", "high", "inexact_by"}},
    {SpreadKind::student_t, "student_t", NumberKind::student, 2, {"scale", "degrees_of_freedom"}},
    {SpreadKind::truncated_normal,
     "truncated_normal",
     NumberKind::chance,
     3,
     {"half_width", "low", "high"},
     1},
}};

constexpr double unbounded = std::numeric_limits<double>::max();
constexpr double root_two_pi_inverse = 0.39894228040143267794;  ///< 1 / sqrt(2 pi)

double sigma_of(const SpreadValues& s) {
    if (s.kind == SpreadKind::lognormal)
        return logarithm<ScalarMath>(s.parameters[0]) / random::half_width_95;
    const double half_width = s.relative ? s.parameters[0] * s.value : s.parameters[0];
    return half_width / random::half_width_95;
}

/// A standard normal cut at both ends: share of the draws between them, and densities there.
Moments truncated_moments(const SpreadValues& s) {
    const double sigma = sigma_of(s);
    const auto end = [&](double at) {
        const double z = (at - s.value) / sigma;
        return z < -40.0 ? -40.0 : (z > 40.0 ? 40.0 : z);
    };
    const auto density = [](double z) {
        return root_two_pi_inverse * exponential<ScalarMath>(-0.5 * z * z);
    };
    const double low = end(s.parameters[1]), high = end(s.parameters[2]);
    const double kept =
        random::normal_chance<ScalarMath>(high) - random::normal_chance<ScalarMath>(low);
    const double shift = (density(low) - density(high)) / kept;
    const double square = 1.0 + (low * density(low) - high * density(high)) / kept - shift * shift;
    return {s.value + sigma * shift, sigma * ScalarMath::root(square)};
}

}  // namespace

std::span<const SpreadRow> all_spreads() noexcept { return spread_rows; }

const SpreadRow& row_of(SpreadKind kind) { return spread_rows.at(static_cast<std::size_t>(kind)); }

SpreadValues spread_values(const Input& input, std::span<const double> values) {
    const Spread& spread = input.spread;
    SpreadValues made{spread.kind, spread.relative, values[input.node], {}};
    for (std::size_t k = 0; k < row_of(spread.kind).count; ++k) {
        const NodeId parameter = spread.parameters[k];
        const double open = k == 1 ? -unbounded : unbounded;
        made.parameters[k] = parameter == no_node ? open : values[parameter];
    }
    return made;
}

// One branch a shape.
double spread_value(const SpreadValues& s, double number) {
    const auto& [first, second, third] = s.parameters;
    switch (s.kind) {
        case SpreadKind::none: return s.value;
        case SpreadKind::normal:
            return random::normal_spread<ScalarMath>(s.value, sigma_of(s), number);
        case SpreadKind::lognormal:
            return random::lognormal_spread<ScalarMath>(s.value, sigma_of(s), number);
        case SpreadKind::triangular:
            return random::triangular_spread<ScalarMath>(first, s.value, second, number);
        case SpreadKind::uniform: return random::uniform_spread<ScalarMath>(first, second, number);
        case SpreadKind::arcsine: return random::arcsine_spread<ScalarMath>(first, second, number);
        case SpreadKind::curvilinear_trapezoid:
            return random::trapezoid_spread<ScalarMath>(first, second, third, number);
        case SpreadKind::student_t:
            return random::normal_spread<ScalarMath>(s.value, first, number);
        case SpreadKind::truncated_normal: {
            const double sigma = sigma_of(s);
            const double p =
                random::truncated_chance<ScalarMath>(s.value, sigma, second, third, number);
            return random::truncated_spread<ScalarMath>(s.value, sigma, second, third,
                                                        normal_of(p));
        }
    }
    return s.value;
}

double spread_quantile(const SpreadValues& spread, double p) {
    switch (row_of(spread.kind).numbers) {
        case NumberKind::normal: return spread_value(spread, normal_of(p));
        case NumberKind::student: return spread_value(spread, student_of(p, spread.parameters[1]));
        case NumberKind::chance: break;
    }
    return spread_value(spread, p);
}

// One branch a shape.
Moments spread_moments(const SpreadValues& s) {
    const auto& [first, second, third] = s.parameters;
    const double middle = 0.5 * first + 0.5 * second, width = second - first;
    const auto root = [](double x) { return ScalarMath::root(x); };
    switch (s.kind) {
        case SpreadKind::none: return {s.value, 0.0};
        case SpreadKind::normal: {
            const double sigma = sigma_of(s);  // below zero of a share of a negative value
            return {s.value, sigma < 0.0 ? -sigma : sigma};
        }
        case SpreadKind::lognormal: {
            const double variance = sigma_of(s) * sigma_of(s);
            const double mean = s.value * exponential<ScalarMath>(0.5 * variance);
            const double deviation = mean * root(exponential<ScalarMath>(variance) - 1.0);
            return {mean, deviation < 0.0 ? -deviation : deviation};
        }
        case SpreadKind::triangular: {
            const double left = s.value - first, right = second - s.value;
            return {(first + s.value + second) / 3.0,
                    root((left * left + left * right + right * right) / 18.0)};
        }
        case SpreadKind::uniform: return {middle, width / root(12.0)};
        case SpreadKind::arcsine: return {middle, width / root(8.0)};
        case SpreadKind::curvilinear_trapezoid:
            return {middle, root(width * width / 12.0 + third * third / 9.0)};
        case SpreadKind::student_t: return {s.value, first * root(second / (second - 2.0))};
        case SpreadKind::truncated_normal: return truncated_moments(s);
    }
    return {s.value, 0.0};
}

double value_at(const Input& input, std::span<const double> values, double p) {
    return spread_quantile(spread_values(input, values), p);
}

Moments moments_of(const Input& input, std::span<const double> values) {
    return spread_moments(spread_values(input, values));
}

double normal_of(double p) {
    const double q = p - 0.5;
    if (q <= random::central_half && q >= -random::central_half)
        return random::normal_of_centre<ScalarMath>(p);
    const double depth = random::depth_of_tail<ScalarMath>(p);
    return depth > random::far_tail ? random::normal_of_far_tail<ScalarMath>(p, depth)
                                    : random::normal_of_near_tail<ScalarMath>(p, depth);
}

double chance_of(double z) { return random::open_chance<ScalarMath>(z); }

double student_of(double p, double degrees_of_freedom) {
    return Student(degrees_of_freedom).quantile(p);
}

}  // namespace deckle
