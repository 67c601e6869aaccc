#include "engine/graph/student.h"

#include <cmath>

#include "engine/graph/spread.h"
#include "engine/properties/elementary.h"

namespace deckle {
namespace {

constexpr double half_root_inverse_pi = 0.56418958354775628695;  ///< 1 / sqrt(pi)
constexpr double nearly_normal = 1e4;  ///< from here on the expansion at the normal is used
constexpr int most_terms = 1000;       ///< of the fraction; the slowest case takes about fifty
constexpr int most_steps = 60;         ///< of the inverse; two or three are taken

/// Gamma(a + 1/2) / Gamma(a). Upwards to a >= 40 by the recurrence, there by its asymptotic series
/// (Abramowitz, Stegun 6.1.49 gives the first terms; error of the seven below 1e-16).
double gamma_ratio(double a) {
    constexpr double terms[] = {1.0,
                                -1.0 / 8.0,
                                1.0 / 128.0,
                                5.0 / 1024.0,
                                -21.0 / 32768.0,
                                -399.0 / 262144.0,
                                869.0 / 4194304.0,
                                39325.0 / 33554432.0};
    double product = 1.0;
    for (; a < 40.0; a = a + 1.0) product = product * (a / (a + 0.5));
    return product * std::sqrt(a) * elementary::polynomial(terms, 1.0 / a);
}

/// log(1 + u) for u >= 0 without loss where u is small (Kahan's quotient).
double log_above_one(double u) {
    const double w = 1.0 + u;
    return w == 1.0 ? u : logarithm<ScalarMath>(w) * (u / (w - 1.0));
}

/// The continued fraction of the incomplete beta function (Abramowitz, Stegun 26.5.8), by the
/// modified method of Lentz.
double beta_fraction(double a, double b, double x) {
    double d = 1.0 / (1.0 - (a + b) * x / (a + 1.0));
    double c = 1.0;
    double result = d;
    for (int k = 1; k < most_terms; ++k) {
        const double m = k;
        const double even = m * (b - m) * x / ((a + 2.0 * m - 1.0) * (a + 2.0 * m));
        d = 1.0 / (1.0 + even * d);
        c = 1.0 + even / c;
        result = result * (d * c);
        const double odd = -(a + m) * (a + b + m) * x / ((a + 2.0 * m) * (a + 2.0 * m + 1.0));
        d = 1.0 / (1.0 + odd * d);
        c = 1.0 + odd / c;
        result = result * (d * c);
        if (std::fabs(d * c - 1.0) < 0x1p-52) break;
    }
    return result;
}

}  // namespace

Student::Student(double degrees_of_freedom)
    : freedom_(degrees_of_freedom),
      peak_(gamma_ratio(0.5 * degrees_of_freedom) * half_root_inverse_pi /
            std::sqrt(degrees_of_freedom)) {}

double Student::density(double t) const {
    return peak_ *
           exponential<ScalarMath>(-0.5 * (freedom_ + 1.0) * log_above_one(t * t / freedom_));
}

/// The fraction converges fast on one side of t² = 3 v / (v + 2): there it gives the tail, on the
/// other what lies between 0 and t.
Student::Excess Student::excess(double t, double wanted) const {
    const double square = t * t;
    const double at = density(t);
    if (square * (freedom_ + 2.0) > 3.0 * freedom_) {
        const double above =
            at * t / freedom_ * beta_fraction(0.5 * freedom_, 0.5, freedom_ / (freedom_ + square));
        return {at, above, above - wanted};
    }
    const double below = at * t * beta_fraction(0.5, 0.5 * freedom_, square / (freedom_ + square));
    return {at, 0.5 - below, (0.5 - wanted) - below};
}

/// Four terms of the expansion in 1 / v (Abramowitz, Stegun 26.7.5); where the fraction would lose
/// digits, the rest of it is below 1e-14.
double Student::near_normal(double z) const {
    const double s = z * z, v = 1.0 / freedom_;
    const double first = (s + 1.0) / 4.0;
    const double second = ((5.0 * s + 16.0) * s + 3.0) / 96.0;
    const double third = (((3.0 * s + 19.0) * s + 17.0) * s - 15.0) / 384.0;
    const double fourth = ((((79.0 * s + 776.0) * s + 1482.0) * s - 1920.0) * s - 945.0) / 92160.0;
    return z + z * v * (first + v * (second + v * (third + v * fourth)));
}

double Student::tail(double t) const { return excess(t, 0.0).tail; }

/// From the first two terms of its expansion at the normal. Far away, a step of Newton on
/// tail^(-1/v), which is all but straight in a tail that falls as a power; near by, a step of third
/// order.
double Student::quantile(double p) const {
    const double wanted = p < 0.5 ? p : 1.0 - p;
    const double z = -normal_of(wanted);
    if (freedom_ > nearly_normal) return p < 0.5 ? -near_normal(z) : near_normal(z);
    double t = z * (1.0 + (z * z + 1.0) / (4.0 * freedom_));
    for (int k = 0; k < most_steps && t > 0.0; ++k) {
        const Excess here = excess(t, wanted);
        const double apart = logarithm<ScalarMath>(here.tail / wanted);
        double step = here.over / here.density;
        if (std::fabs(apart) > 0.2)
            step = freedom_ * here.tail / here.density *
                   (exponential<ScalarMath>(apart / freedom_) - 1.0);
        else step = step * (1.0 + step * t * (freedom_ + 1.0) / (2.0 * (freedom_ + t * t)));
        t = t + step;
        if (std::fabs(step) < 1e-5 * t) break;
    }
    return p < 0.5 ? -t : t;
}

}  // namespace deckle
