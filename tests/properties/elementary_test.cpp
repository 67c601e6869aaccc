// The exponential and the logarithm against the 64-bit significands of long double (glibc) and
// against SLEEF, a library of elementary functions with proven bounds (Shibata, Petrogalli, IEEE
// Transactions on Parallel and Distributed Systems 31 (2020) 1316-1327), in its variants that give
// the same bits everywhere.
#include "engine/properties/elementary.h"

#include <sleef.h>

#include <catch2/catch.hpp>
#include <cmath>
#include <limits>
#include <random>

using namespace deckle;

namespace {

double own_exp(double x) { return exponential<ScalarMath>(x); }
double own_log(double x) { return logarithm<ScalarMath>(x); }

/// Distance from a better value in units of the last place of that value.
double units_off(double found, long double better) {
    const double rounded = std::fabs(static_cast<double>(better));
    const long double unit = static_cast<long double>(std::nextafter(rounded, INFINITY)) -
                             static_cast<long double>(rounded);
    return static_cast<double>(std::fabs(static_cast<long double>(found) - better) / unit);
}

class Numbers {
public:
    double between(double low, double high) {
        return low + (high - low) * (static_cast<double>(generator_() >> 11U) * 0x1p-53);
    }

private:
    std::mt19937_64 generator_{20250101};
};

}  // namespace

TEST_CASE("the exponential is within 1 unit in the last place of long double",
          "[properties][property]") {
    Numbers numbers;
    double worst = 0.0;
    for (int i = 0; i < 1'000'000; ++i) {
        const double scale = std::pow(10.0, numbers.between(-8.0, 2.84));
        const double x = numbers.between(-1.0, 1.0) * scale;
        worst = std::max(worst, units_off(own_exp(x), std::exp(static_cast<long double>(x))));
    }
    CHECK(worst < 1.0);
}

TEST_CASE("the logarithm is within 1 unit in the last place of long double",
          "[properties][property]") {
    Numbers numbers;
    double worst = 0.0;
    for (int i = 0; i < 1'000'000; ++i) {
        const double near_one =
            1.0 + numbers.between(-1.0, 1.0) * std::pow(10.0, numbers.between(-9.0, -0.4));
        const double anywhere = std::exp(numbers.between(-708.0, 709.0));
        for (const double x : {near_one, anywhere}) {
            worst = std::max(worst, units_off(own_log(x), std::log(static_cast<long double>(x))));
        }
    }
    CHECK(worst < 1.0);
}

TEST_CASE("exponential and logarithm agree with SLEEF's reproducible ones to both their bounds",
          "[properties][property]") {
    Numbers numbers;
    for (int i = 0; i < 200'000; ++i) {
        const double x = numbers.between(-700.0, 700.0);
        REQUIRE(units_off(own_exp(x), static_cast<long double>(Sleef_cinz_expd1_u10purec(x))) <=
                2.0);
        const double y = std::exp(x);
        REQUIRE(units_off(own_log(y), static_cast<long double>(Sleef_cinz_logd1_u10purec(y))) <=
                2.0);
    }
}

TEST_CASE("exponential and logarithm at the ends of the doubles (IEEE 754)", "[properties]") {
    constexpr double infinity = std::numeric_limits<double>::infinity();
    constexpr double least = std::numeric_limits<double>::denorm_min();
    CHECK(own_exp(0.0) == 1.0);
    CHECK(own_exp(710.0) == infinity);
    CHECK(own_exp(1e300) == infinity);
    CHECK(own_exp(infinity) == infinity);
    CHECK(own_exp(-746.0) == 0.0);
    CHECK(own_exp(-infinity) == 0.0);
    CHECK(own_exp(-744.0) == least * 2.0);  // e^-744 = 1.55 x 2^-1074
    CHECK(std::isnan(own_exp(std::nan(""))));
    CHECK(own_log(1.0) == 0.0);
    CHECK(own_log(0.0) == -infinity);
    CHECK(own_log(infinity) == infinity);
    CHECK(std::isnan(own_log(-1.0)));
    CHECK(std::isnan(own_log(std::nan(""))));
    CHECK(units_off(own_log(least), std::log(static_cast<long double>(least))) < 1.0);
    CHECK(units_off(own_log(1e-310), std::log(1e-310L)) < 1.5);  // 1e-310 is rounded to 50 bits
}

TEST_CASE("rounding down agrees with the library's below 2^51", "[properties][property]") {
    Numbers numbers;
    const auto own = [](double x) { return round_down<ScalarMath>(x); };
    for (int i = 0; i < 100'000; ++i) {
        const double x = numbers.between(-1.0, 1.0) * std::pow(10.0, numbers.between(-3.0, 15.3));
        REQUIRE(own(x) == std::floor(x));
        REQUIRE(own(std::floor(x)) == std::floor(x));
    }
}

TEST_CASE("whole powers are multiplied out, others go through the logarithm",
          "[properties][property]") {
    Numbers numbers;
    for (int i = 0; i < 20'000; ++i) {
        const double x = numbers.between(0.2, 5.0);
        const int n = static_cast<int>(numbers.between(-12.0, 12.0));
        const double b = numbers.between(-4.0, 4.0);
        const double multiplied = power_of<ScalarMath>(x, n, is_multiplied_out<ScalarMath>(n));
        const double general = power_of<ScalarMath>(x, b, is_multiplied_out<ScalarMath>(b));
        REQUIRE_THAT(multiplied, Catch::WithinRel(std::pow(x, n), 1e-14));
        REQUIRE_THAT(general, Catch::WithinRel(std::pow(x, b), 1e-14));
    }
    CHECK(power_of<ScalarMath>(-2.0, 3.0, is_multiplied_out<ScalarMath>(3.0)) == -8.0);
    CHECK(power_of<ScalarMath>(-2.0, -2.0, is_multiplied_out<ScalarMath>(-2.0)) == 0.25);
    CHECK(power_of<ScalarMath>(0.0, 0.0, is_multiplied_out<ScalarMath>(0.0)) == 1.0);
    CHECK(std::isnan(power_of<ScalarMath>(-2.0, 0.5, is_multiplied_out<ScalarMath>(0.5))));
}
