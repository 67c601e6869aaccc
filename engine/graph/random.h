// Random numbers made of + - * / sqrt and integer moves, so that a draw has the same bits on every
// machine: Philox4x32-10, numbers in (0, 1), the normal by its inverse distribution and back, and
// the spreads. Written once for any number (see properties/elementary.h); which draw takes which
// number is said in draws.h. Includes nothing of the standard library but <cstdint>: the wide lanes
// include this file. Sources: Salmon, Moraes, Dror, Shaw, "Parallel random numbers: as easy as 1,
// 2, 3", SC11 (2011); Wichura, "Algorithm AS 241: The percentage points of the normal
// distribution", Applied Statistics 37 (1988) 477-484; Shepherd, Laframboise, "Chebyshev
// approximation of (1 + 2x) exp(x^2) erfc x", Mathematics of Computation 36 (1981) 249-253 (the
// form; the coefficients are our own).
#pragma once

#include <cstdint>

#include "engine/properties/elementary.h"

namespace deckle::random {

inline constexpr std::uint64_t low_half = 0xFFFFFFFFULL;
inline constexpr std::uint32_t multiplier_0 = 0xD2511F53U, multiplier_1 = 0xCD9E8D57U;
inline constexpr std::uint32_t key_step_0 = 0x9E3779B9U, key_step_1 = 0xBB67AE85U;
inline constexpr int rounds = 10;

/// Half-width of the 95 % interval in standard deviations.
inline constexpr double half_width_95 = 1.959963984540054;

/// Four 32-bit words, each in the low half of a 64-bit one; what stands above them is of no
/// account.
template <class Math>
struct Words {
    typename Math::Word w0, w1, w2, w3;
};

/// Philox4x32-10 of several counters at once (two keep a processor busier than one), in place.
/// `Math::product(a, b)`: the 64-bit product of the low half of a with b; `Math::exclusive`: a ^ b
/// ^ c.
template <class Math, unsigned Count>
void philox(Words<Math> (&counters)[Count], std::uint32_t key_0, std::uint32_t key_1) {
    using Word = typename Math::Word;
    for (int round = 0; round < rounds; ++round) {
        for (Words<Math>& c : counters) {
            const Word product_0 = Math::product(c.w0, multiplier_0);
            const Word product_1 = Math::product(c.w2, multiplier_1);
            c = {Math::exclusive(product_1 >> 32U, c.w1, key_0), product_1,
                 Math::exclusive(product_0 >> 32U, c.w3, key_1), product_0};
        }
        key_0 += key_step_0;
        key_1 += key_step_1;
    }
}

/// (x + 1/2) / 2^52 of the upper 52 bits of (high, low): an odd multiple of 2^-53, never 0 or 1.
template <class Math>
typename Math::Real unit_number(typename Math::Word low, typename Math::Word high) {
    using namespace elementary;
    const typename Math::Word bits = (high << 20U) & 0x000FFFFFFFF00000ULL;
    const typename Math::Word rest = (low & low_half) >> 12U;
    const auto from_one = same_bits<typename Math::Real>(bits | rest | 0x3FF0000000000000ULL);
    return from_one - (1.0 - 0x1p-53);
}

// Coefficients of AS 241 (PPND16), constant term first.
inline constexpr double normal_a[] = {3.3871328727963666080e0, 1.3314166789178437745e2,
                                      1.9715909503065514427e3, 1.3731693765509461125e4,
                                      4.5921953931549871457e4, 6.7265770927008700853e4,
                                      3.3430575583588128105e4, 2.5090809287301226727e3};
inline constexpr double normal_b[] = {1.0,
                                      4.2313330701600911252e1,
                                      6.8718700749205790830e2,
                                      5.3941960214247511077e3,
                                      2.1213794301586595867e4,
                                      3.9307895800092710610e4,
                                      2.8729085735721942674e4,
                                      5.2264952788528545610e3};
inline constexpr double normal_c[] = {1.42343711074968357734e0,  4.63033784615654529590e0,
                                      5.76949722146069140550e0,  3.64784832476320460504e0,
                                      1.27045825245236838258e0,  2.41780725177450611770e-1,
                                      2.27238449892691845833e-2, 7.74545014278341407640e-4};
inline constexpr double normal_d[] = {1.0,
                                      2.05319162663775882187e0,
                                      1.67638483018380384940e0,
                                      6.89767334985100004550e-1,
                                      1.48103976427480074590e-1,
                                      1.51986665636164571966e-2,
                                      5.47593808499534494600e-4,
                                      1.05075007164441684324e-9};
inline constexpr double normal_e[] = {6.65790464350110377720e0,  5.46378491116411436990e0,
                                      1.78482653991729133580e0,  2.96560571828504891230e-1,
                                      2.65321895265761230930e-2, 1.24266094738807843860e-3,
                                      2.71155556874348757815e-5, 2.01033439929228813265e-7};
inline constexpr double normal_f[] = {1.0,
                                      5.99832206555887937690e-1,
                                      1.36929880922735805310e-1,
                                      1.48753612908506148525e-2,
                                      7.86869131145613259100e-4,
                                      1.84631831751005468180e-5,
                                      1.42151175831644588870e-7,
                                      2.04426310338993978564e-15};

inline constexpr double central_half = 0.425;  ///< |p - 1/2| up to here is the central part
inline constexpr double far_tail = 5.0;        ///< sqrt(-log p) above is the far tail

/// AS 241 where |p - 1/2| <= 0.425.
template <class Math>
typename Math::Real normal_of_centre(typename Math::Real p) {
    using Real = typename Math::Real;
    const Real q = p - 0.5;
    const Real r = 0.180625 - q * q;
    return q * elementary::polynomial(normal_a, r) / elementary::polynomial(normal_b, r);
}

/// The distance into a tail, sqrt(-log of the smaller of p and 1 - p).
template <class Math>
typename Math::Real depth_of_tail(typename Math::Real p) {
    using Real = typename Math::Real;
    const Real above = 1.0 - p;
    const Real least = p < 0.5 ? p : above;
    const Real minus = -logarithm_of_ordinary<Math>(least);
    return Math::root(minus);
}

template <class Math>
typename Math::Real normal_of_near_tail(typename Math::Real p, typename Math::Real depth) {
    using Real = typename Math::Real;
    const Real r = depth - 1.6;
    const Real z = elementary::polynomial(normal_c, r) / elementary::polynomial(normal_d, r);
    const Real minus = -z;
    return p < 0.5 ? minus : z;
}

template <class Math>
typename Math::Real normal_of_far_tail(typename Math::Real p, typename Math::Real depth) {
    using Real = typename Math::Real;
    const Real r = depth - 5.0;
    const Real z = elementary::polynomial(normal_e, r) / elementary::polynomial(normal_f, r);
    const Real minus = -z;
    return p < 0.5 ? minus : z;
}

/// (1 + x) exp(x^2 / 2) times the probability of more than x, x >= 0, as a Chebyshev series in
/// (x - 5) / (x + 5); from 70-digit arithmetic, the rest of the series below 5e-18.
inline constexpr double mills_terms[] = {
    0.4619742120721857,     -0.06516520239491264,   -0.005458781501136567,  0.01229619904556344,
    -0.006470872915703688,  0.0022407355224168305,  -0.0005638623774651974, 9.984031082925812e-05,
    -9.849514843168493e-06, -4.032494233045217e-07, 2.99023962013034e-07,   -3.032070748442814e-08,
    -4.617665713929027e-09, 1.3298288008382692e-09, 3.007242719019045e-11,  -4.4299537255328156e-11,
    1.3999857147018152e-12, 1.4718957028912571e-12, -9.325953119165372e-14, -5.294681169067695e-14,
    3.958188414414517e-15,  2.1048214642963194e-15, -1.345671286136144e-16, -9.097614914495833e-17};

/// Distribution of the standard normal; relative error in the lower tail below 2e-14 down to -9.
template <class Math>
typename Math::Real normal_chance(typename Math::Real z) {
    using Real = typename Math::Real;
    constexpr double farthest = 40.0;  // beyond, the tail is below every double
    const Real last = Real{} + farthest;
    const Real minus = -z;
    const Real distance = z < 0.0 ? minus : z;
    const Real x = distance < farthest ? distance : last;
    const Real t = (x - 5.0) / (x + 5.0);
    const Real twice = t + t;
    Real next{}, after{};
    for (int k = 23; k > 0; --k) {
        const Real here = twice * next - after + mills_terms[k];
        after = next;
        next = here;
    }
    const Real series = t * next - after + mills_terms[0];
    const Real tail = exponential<Math>(-0.5 * x * x) * series / (1.0 + x);
    const Real rest = 1.0 - tail;
    return z < 0.0 ? tail : rest;
}

inline constexpr double least_chance = 0x1p-53;  ///< of a draw; the greatest is 1 less this

/// The same, kept between the least and the greatest number of a draw.
template <class Math>
typename Math::Real open_chance(typename Math::Real z) {
    using Real = typename Math::Real;
    const Real p = normal_chance<Math>(z);
    const Real least = Real{} + least_chance;
    const Real greatest = Real{} + (1.0 - least_chance);
    const Real above = p < least_chance ? least : p;
    return above > 1.0 - least_chance ? greatest : above;
}

// The spreads. `sigma` of a normal is half-width / 1.959963984540054 (times the value where the
// half-width is a share of it), that of a lognormal ln k / 1.959963984540054.
template <class Math>
typename Math::Real normal_spread(typename Math::Real value, typename Math::Real sigma,
                                  typename Math::Real z) {
    return value + sigma * z;
}

template <class Math>
typename Math::Real lognormal_spread(typename Math::Real median, typename Math::Real sigma,
                                     typename Math::Real z) {
    return median * exponential<Math>(sigma * z);
}

template <class Math>
typename Math::Real triangular_spread(typename Math::Real low, typename Math::Real mode,
                                      typename Math::Real high, typename Math::Real p) {
    using Real = typename Math::Real;
    const Real width = high - low;
    const Real left = mode - low;
    const Real right = high - mode;
    const Real rising = low + Math::root(p * width * left);
    const Real falling = high - Math::root((1.0 - p) * width * right);
    return p * width < left ? rising : falling;
}

template <class Math>
typename Math::Real uniform_spread(typename Math::Real low, typename Math::Real high,
                                   typename Math::Real p) {
    return low + (high - low) * p;
}

inline constexpr double half_pi = 0x1.921fb54442d18p+0;

/// (sin x / x - 1) / x^2 for x up to pi / 4, as powers of x^2: 1 / n! of n = 3, 5, ... 17; what is
/// left out is below 1e-19.
inline constexpr double sine_terms[] = {
    -1.0 / 6.0,        1.0 / 120.0,        -1.0 / 5040.0,       1.0 / 362880.0,
    -1.0 / 39916800.0, 1.0 / 6227020800.0, -1.0 / 1307674368e3, 1.0 / 355687428096e3};

/// U-shaped (JCGM 101:2008, 6.4.6): low + width sin^2(pi p / 2), measured from the nearer end.
template <class Math>
typename Math::Real arcsine_spread(typename Math::Real low, typename Math::Real high,
                                   typename Math::Real p) {
    using Real = typename Math::Real;
    const Real above = 1.0 - p;
    const Real least = p < 0.5 ? p : above;
    const Real angle = half_pi * least;
    const Real square = angle * angle;
    const Real sine = angle + angle * square * elementary::polynomial(sine_terms, square);
    const Real from_end = (high - low) * (sine * sine);
    const Real rising = low + from_end;
    const Real falling = high - from_end;
    return p < 0.5 ? rising : falling;
}

/// d of 1 - (1 + d) e^-d = k, 0 < k < 1: near 0 by the series of the lower branch of Lambert's W
/// (Corless, Gonnet, Hare, Jeffrey, Knuth, Advances in Computational Mathematics 5 (1996), 4.22),
/// else by four steps of Newton on v - log v with v = 1 + d.
template <class Math>
typename Math::Real depth_of_slope(typename Math::Real k) {
    using Real = typename Math::Real;
    const Real s = Math::root(2.0 * k);
    const Real series =
        s * (1.0 + s * (1.0 / 3.0 +
                        s * (11.0 / 72.0 +
                             s * (43.0 / 540.0 + s * (769.0 / 17280.0 + s * (221.0 / 8505.0))))));
    const Real short_of_one = 1.0 - k;
    const Real rest = -logarithm_of_ordinary<Math>(short_of_one);
    Real v = 1.0 + Math::root(2.0 * rest) + rest * (2.0 / 3.0);
    for (int step = 0; step < 4; ++step)
        v = v * (logarithm_of_ordinary<Math>(v) + rest) / (v - 1.0);
    const Real solved = v - 1.0;
    return s < 0.02 ? series : solved;
}

/// log((1 + t) / (1 - t)) / t for 0 < t < 1.
template <class Math>
typename Math::Real log_ratio(typename Math::Real t) {
    using Real = typename Math::Real;
    const Real z = t * t;
    constexpr double terms[] = {2.0,       2.0 / 3.0,  2.0 / 5.0,  2.0 / 7.0,
                                2.0 / 9.0, 2.0 / 11.0, 2.0 / 13.0, 2.0 / 15.0};
    const Real series = elementary::polynomial(terms, z);
    const Real whole = logarithm_of_ordinary<Math>((1.0 + t) / (1.0 - t)) / t;
    return t < 0.05 ? series : whole;
}

/// Curvilinear trapezoid (JCGM 101:2008, 6.4.3): uniform between ends that are themselves uniform
/// within +- inexact_by, drawn by the inverse of its distribution in place of two numbers a draw.
/// Flat up to half - inexact_by from the middle; from there on the chance of more than y is
/// (outer - y - y log(outer / y)) / (4 inexact_by), outer = half + inexact_by.
template <class Math>
typename Math::Real trapezoid_spread(typename Math::Real low, typename Math::Real high,
                                     typename Math::Real inexact_by, typename Math::Real p) {
    using Real = typename Math::Real;
    const Real middle = 0.5 * low + 0.5 * high;
    const Real half = 0.5 * high - 0.5 * low;
    const Real outer = half + inexact_by;
    const Real above = 1.0 - p;
    const Real least = p < 0.5 ? p : above;
    const Real flat = (0.5 - least) * (4.0 * half) / log_ratio<Math>(inexact_by / half);
    const Real deep = depth_of_slope<Math>(4.0 * inexact_by * least / outer);
    const Real sloping = outer * exponential<Math>(-deep);
    const Real off = flat <= half - inexact_by ? flat : sloping;
    const Real left = middle - off;
    const Real right = middle + off;
    return p < 0.5 ? left : right;
}

/// The number that a normal between two ends is made of, in place of p.
template <class Math>
typename Math::Real truncated_chance(typename Math::Real value, typename Math::Real sigma,
                                     typename Math::Real low, typename Math::Real high,
                                     typename Math::Real p) {
    using Real = typename Math::Real;
    const Real below = normal_chance<Math>((low - value) / sigma);
    const Real up_to = normal_chance<Math>((high - value) / sigma);
    const Real chance = below + p * (up_to - below);
    const Real greatest = Real{} + (1.0 - least_chance);
    return chance > 1.0 - least_chance ? greatest : chance;
}

/// `z`: the normal of that number.
template <class Math>
typename Math::Real truncated_spread(typename Math::Real value, typename Math::Real sigma,
                                     typename Math::Real low, typename Math::Real high,
                                     typename Math::Real z) {
    using Real = typename Math::Real;
    const Real drawn = value + sigma * z;
    const Real above = drawn < low ? low : drawn;
    return above > high ? high : above;
}

}  // namespace deckle::random
