// Random numbers made of + - * / and integer moves, so that a draw has the same bits on every
// machine: Philox4x32-10, numbers in (0, 1), the normal by its inverse distribution, and the
// spreads. Written once for any number (see properties/elementary.h); which draw takes which number
// is said in draws.h. Includes nothing of the standard library but <cstdint>: the wide lanes
// include this file. Sources: Salmon, Moraes, Dror, Shaw, "Parallel random numbers: as easy as 1,
// 2, 3", SC11 (2011); Wichura, "Algorithm AS 241: The percentage points of the normal
// distribution", Applied Statistics 37 (1988) 477-484.
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

}  // namespace deckle::random
