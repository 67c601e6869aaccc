// Exponential and logarithm made of + - * / and integer moves alone, so that a figure has the same
// bits on every processor, compiler and vector width; and the few other functions that every walk
// shares. Written once for any number: `Math` names the number (a double here, a vector of doubles
// in the lanes, which are compiled apart), its integer of the same width, its square root, and
// `all`, whether a condition holds in every lane. A comparison of vectors picks lane by lane in
// `?:`. Nothing of the standard library may be included here but <cstdint>: the wide lanes include
// this file.
#pragma once

#include <cstdint>

namespace deckle {

/// The numbers of scalar evaluation.
struct ScalarMath {
    using Real = double;
    using Word = std::uint64_t;
    static Real root(Real x) noexcept { return __builtin_sqrt(x); }
    static bool all(bool condition) noexcept { return condition; }
};

namespace elementary {

inline constexpr double shifter =
    0x1.8p52;  ///< x + shifter - shifter rounds |x| < 2^51 to a whole number
inline constexpr double infinity = __builtin_inf();
inline constexpr double log2_e = 0x1.71547652b82fep+0;
inline constexpr double ln2_high =
    0x1.62e42fef00000p-1;  ///< 33 bits: k * ln2_high is exact, |k| < 2^20
inline constexpr double ln2_low = 0x1.473de6af278edp-34;

/// (e^r - 1 - r) / r^2 for |r| <= 0.3467, constant term first; interpolated at Chebyshev nodes in
/// 60-digit arithmetic, error below 3e-18.
inline constexpr double exponential_terms[] = {
    0x1.0000000000000p-1,  0x1.5555555555557p-3,  0x1.5555555555556p-5,  0x1.11111111100d3p-7,
    0x1.6c16c16c162cfp-10, 0x1.a01a01abeccc3p-13, 0x1.a01a01a6db488p-16, 0x1.71de02225a2f3p-19,
    0x1.27e4db5bb725ap-22, 0x1.af4e092e1705bp-26, 0x1.1f7315649f2d7p-29};

/// (log((1 + s) / (1 - s)) / s - 2) / z with z = s^2 <= 0.0295; made the same way, error below
/// 4e-16.
inline constexpr double logarithm_terms[] = {
    0x1.5555555555558p-1, 0x1.99999999951f5p-2, 0x1.2492492e0b70cp-2, 0x1.c71c62c42db89p-3,
    0x1.7462be245eae3p-3, 0x1.39fd25d62ab23p-3, 0x1.2b6776a1bf0b9p-3};

template <class To, class From>
To same_bits(From from) {
    return __builtin_bit_cast(To, from);
}

/// Terms First to First + Count - 1 of a polynomial, divided by x^First: the lower half of the
/// terms plus x^half times the upper half, half a power of two. `squares`: x, x^2, x^4, x^8.
template <unsigned First, unsigned Count, class Real, unsigned Terms>
Real polynomial_part(const double (&coefficients)[Terms], const Real (&squares)[4]) {
    if constexpr (Count == 1) {
        return Real{} + coefficients[First];
    } else if constexpr (Count == 2) {
        return squares[0] * coefficients[First + 1] + coefficients[First];
    } else {
        constexpr unsigned level = Count <= 4 ? 1 : (Count <= 8 ? 2 : 3);
        constexpr unsigned half = 1U << level;
        return polynomial_part<First + half, Count - half>(coefficients, squares) * squares[level] +
               polynomial_part<First, half>(coefficients, squares);
    }
}

/// Coefficients constant term first, at most 16. Halving keeps the chains of operations short.
template <class Real, unsigned Terms>
Real polynomial(const double (&coefficients)[Terms], Real x) {
    const Real second = x * x;
    const Real fourth = second * second;
    const Real squares[4] = {x, second, fourth, fourth * fourth};
    return polynomial_part<0, Terms>(coefficients, squares);
}

/// 2^k for whole k from -1022 to 1023: the exponent's bits alone.
template <class Math>
typename Math::Real two_to(typename Math::Real k) {
    using Word = typename Math::Word;
    const Word bits = same_bits<Word>(k + shifter);
    return same_bits<typename Math::Real>((bits << 52U) + (std::uint64_t{1023} << 52U));
}

}  // namespace elementary

/// e^x, error below 1 unit in the last place; 0 and infinity beyond the range of doubles.
template <class Math>
typename Math::Real exponential(typename Math::Real x) {
    using namespace elementary;
    using Real = typename Math::Real;
    const auto ordinary = (x < 708.0) & (x > -708.0);
    if (!Math::all(ordinary)) {
        const Real highest = Real{} + 710.0;
        const Real lowest = Real{} - 746.0;
        x = x > 710.0 ? highest : x;
        x = x < -746.0 ? lowest : x;
    }
    const Real k = (x * log2_e + shifter) - shifter;
    const Real r_high = x - k * ln2_high;
    const Real r_low = k * ln2_low;
    const Real r = r_high - r_low;
    const Real rest = (r_high - r) - r_low;
    const Real e_to_r = 1.0 + (r + (r * r * polynomial(exponential_terms, r) + rest));
    if (Math::all(ordinary))
        return e_to_r * two_to<Math>(k);  // exact: the result is an ordinary number
    const Real half = (k * 0.5 + shifter) - shifter;
    return e_to_r * two_to<Math>(half) * two_to<Math>(k - half);
}

/// Natural logarithm of an ordinary number, 2^-1022 <= x < infinity; error below 1 unit in the last
/// place.
template <class Math>
typename Math::Real logarithm_of_ordinary(typename Math::Real x) {
    using namespace elementary;
    using Real = typename Math::Real;
    using Word = typename Math::Word;
    constexpr std::uint64_t half_root = 0x3FE6A09E667F3BCDULL;  // sqrt(1/2)
    constexpr std::uint64_t one = 0x3FF0000000000000ULL;
    const Word moved = same_bits<Word>(x) + (one - half_root);
    // x = 2^k m with m in [sqrt(1/2), sqrt(2)); k comes out of the exponent by way of 2^52 + k +
    // 1023
    const Real k = same_bits<Real>((moved >> 52U) | 0x4330000000000000ULL) - (0x1p52 + 1023.0);
    const Real m = same_bits<Real>((moved & 0x000FFFFFFFFFFFFFULL) + half_root);
    const Real f = m - 1.0;
    const Real s = f / (f + 2.0);
    const Real z = s * s;
    const Real half_square = 0.5 * f * f;
    const Real series = z * polynomial(logarithm_terms, z);
    return k * ln2_high - ((half_square - (s * (half_square + series) + k * ln2_low)) - f);
}

/// Natural logarithm; -infinity of 0, not a number below 0.
template <class Math>
typename Math::Real logarithm(typename Math::Real x) {
    using namespace elementary;
    using Real = typename Math::Real;
    if (Math::all((x >= 0x1p-1022) & (x < infinity))) return logarithm_of_ordinary<Math>(x);
    const Real scaled = x * 0x1p54;
    const auto tiny = x < 0x1p-1022;
    const Real of_tiny = logarithm_of_ordinary<Math>(scaled) - 54.0 * (ln2_high + ln2_low);
    const Real ordinary = tiny ? of_tiny : logarithm_of_ordinary<Math>(x);
    const Real not_infinite = x < infinity ? ordinary : x;
    const Real of_zero = Real{} - infinity;
    const Real of_negative = of_zero * 0.0;
    const Real not_negative = x > 0.0 ? not_infinite : of_negative;
    return x == 0.0 ? of_zero : not_negative;
}

/// Largest whole number not above x; x itself from 2^51 on.
template <class Math>
typename Math::Real round_down(typename Math::Real x) {
    using Real = typename Math::Real;
    const Real nearest = (x + elementary::shifter) - elementary::shifter;
    const Real below = nearest > x ? nearest - 1.0 : nearest;
    const Real small_enough = x < 0x1p51 ? below : x;
    return x > -0x1p51 ? small_enough : x;
}

/// `whole` rounds down a * (1 + 1e-9): a count that misses a whole number by rounding alone is that
/// number.
inline constexpr double almost_whole = 1.000000001;

/// x^n by squaring: the factors x, x^2, x^4, ... of n's binary digits, lowest first; 1 / x^-n below
/// 0.
template <class Math>
typename Math::Real whole_power(typename Math::Real x, int n) {
    using Real = typename Math::Real;
    Real result = Real{} + 1.0;
    Real factor = x;
    for (int digits = n < 0 ? -n : n; digits != 0; digits /= 2) {
        if (digits % 2 != 0) result = result * factor;
        factor = factor * factor;
    }
    return n < 0 ? 1.0 / result : result;
}

/// The largest |exponent| for which a whole power is multiplied out.
inline constexpr double largest_whole_power = 1048576.0;

/// Whether x^b is multiplied out. A template so that the wide lanes keep their own copy.
template <class Math>
bool is_multiplied_out(double b) {
    if (!(b >= -largest_whole_power && b <= largest_whole_power)) return false;
    return static_cast<double>(static_cast<int>(b)) == b;
}

/// x^b: multiplied out, else e^(b log x).
template <class Math>
typename Math::Real power_of(typename Math::Real x, double b, bool multiplied_out) {
    if (multiplied_out) return whole_power<Math>(x, static_cast<int>(b));
    return exponential<Math>(b * logarithm<Math>(x));
}

}  // namespace deckle
