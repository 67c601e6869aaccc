// Steam and water against the computer-program verification tables of the release itself. Each
// expected figure stands as printed; the tolerance is half a unit of its last digit.
#include "engine/properties/steam.h"

#include <catch2/catch.hpp>
#include <cmath>

using namespace deckle;
using Catch::WithinAbs;

namespace {

/// Nine significant digits as the tables print them: 0.115331273e3 is {0.115331273, 3}.
auto as_printed(double digits, int exponent) {
    const double scale = std::pow(10.0, exponent);
    return WithinAbs(digits * scale, 0.5e-9 * scale);
}

}  // namespace

TEST_CASE("region 1 gives the enthalpies of Table 5 (IAPWS R7-97(2012))",
          "[properties][literature]") {
    CHECK_THAT(steam_h(3.0, 300.0), as_printed(0.115331273, 3));
    CHECK_THAT(steam_h(80.0, 300.0), as_printed(0.184142828, 3));
    CHECK_THAT(steam_h(3.0, 500.0), as_printed(0.975542239, 3));
}

TEST_CASE("region 1 gives the entropies of Table 5 (IAPWS R7-97(2012))",
          "[properties][literature]") {
    CHECK_THAT(steam_s(3.0, 300.0), as_printed(0.392294792, 0));
    CHECK_THAT(steam_s(80.0, 300.0), as_printed(0.368563852, 0));
    CHECK_THAT(steam_s(3.0, 500.0), as_printed(0.258041912, 1));
}

TEST_CASE("region 1 gives the heat capacities of Table 5 as slopes (IAPWS R7-97(2012))",
          "[properties][literature]") {
    CHECK_THAT(steam_h_slope(3.0, 300.0).by_t, as_printed(0.417301218, 1));
    CHECK_THAT(steam_h_slope(80.0, 300.0).by_t, as_printed(0.401008987, 1));
    CHECK_THAT(steam_h_slope(3.0, 500.0).by_t, as_printed(0.465580682, 1));
}

TEST_CASE("region 2 gives the enthalpies of Table 15 (IAPWS R7-97(2012))",
          "[properties][literature]") {
    CHECK_THAT(steam_h(0.0035, 300.0), as_printed(0.254991145, 4));
    CHECK_THAT(steam_h(0.0035, 700.0), as_printed(0.333568375, 4));
    CHECK_THAT(steam_h(30.0, 700.0), as_printed(0.263149474, 4));
}

TEST_CASE("region 2 gives the entropies of Table 15 (IAPWS R7-97(2012))",
          "[properties][literature]") {
    CHECK_THAT(steam_s(0.0035, 300.0), as_printed(0.852238967, 1));
    CHECK_THAT(steam_s(0.0035, 700.0), as_printed(0.101749996, 2));
    CHECK_THAT(steam_s(30.0, 700.0), as_printed(0.517540298, 1));
}

TEST_CASE("region 2 gives the heat capacities of Table 15 as slopes (IAPWS R7-97(2012))",
          "[properties][literature]") {
    CHECK_THAT(steam_h_slope(0.0035, 300.0).by_t, as_printed(0.191300162, 1));
    CHECK_THAT(steam_h_slope(0.0035, 700.0).by_t, as_printed(0.208141274, 1));
    CHECK_THAT(steam_h_slope(30.0, 700.0).by_t, as_printed(0.103505092, 2));
}

TEST_CASE("region 4 gives the saturation pressures of Table 35 (IAPWS R7-97(2012))",
          "[properties][literature]") {
    CHECK_THAT(boiling_p(300.0), as_printed(0.353658941, -2));
    CHECK_THAT(boiling_p(500.0), as_printed(0.263889776, 1));
    CHECK_THAT(boiling_p(600.0), as_printed(0.123443146, 2));
}

TEST_CASE("region 4 gives the saturation temperatures of Table 36 (IAPWS R7-97(2012))",
          "[properties][literature]") {
    CHECK_THAT(boiling_t(0.1), as_printed(0.372755919, 3));
    CHECK_THAT(boiling_t(1.0), as_printed(0.453035632, 3));
    CHECK_THAT(boiling_t(10.0), as_printed(0.584149488, 3));
}

TEST_CASE(
    "the slope of enthalpy to pressure is v (1 - T beta), here by dh = T ds + v dp (v of Tables 5 "
    "and 15)",
    "[properties][literature]") {
    // v = (dh/dp - T ds/dp) at constant T; 1 MPa m3/kg is 1000 kJ/kg
    const auto volume = [](double p, double t) {
        return (steam_h_slope(p, t).by_p - t * steam_s_slope(p, t).by_p) / 1000.0;
    };
    CHECK_THAT(volume(3.0, 300.0), as_printed(0.100215168, -2));
    CHECK_THAT(volume(80.0, 300.0), as_printed(0.971180894, -3));
    CHECK_THAT(volume(3.0, 500.0), as_printed(0.120241800, -2));
    CHECK_THAT(volume(0.0035, 300.0), as_printed(0.394913866, 2));
    CHECK_THAT(volume(0.0035, 700.0), as_printed(0.923015898, 2));
    CHECK_THAT(volume(30.0, 700.0), as_printed(0.542946619, -2));
}

TEST_CASE("slopes along the saturation line agree with differences of the values",
          "[properties][property]") {
    const auto difference = [](auto function, double at) {
        const double step = at * 1e-5;
        return (function(at + step) - function(at - step)) / (2.0 * step);
    };
    for (const double p : {0.002, 0.05, 0.4, 1.0, 2.0, 6.0, 12.0, 16.0}) {
        INFO("p " << p << " MPa");
        CHECK_THAT(liquid_h_slope(p), Catch::WithinRel(difference(liquid_h, p), 1e-6));
        CHECK_THAT(vapour_h_slope(p),
                   WithinAbs(difference(vapour_h, p), 1e-6 * std::fabs(vapour_h(p)) / p));
        CHECK_THAT(liquid_s_slope(p), Catch::WithinRel(difference(liquid_s, p), 1e-6));
        CHECK_THAT(vapour_s_slope(p), Catch::WithinRel(difference(vapour_s, p), 1e-6));
        CHECK_THAT(boiling_t_slope(p), Catch::WithinRel(difference(boiling_t, p), 1e-6));
        CHECK_THAT(boiling_p_slope(boiling_t(p)),
                   Catch::WithinRel(difference(boiling_p, boiling_t(p)), 1e-6));
    }
}

TEST_CASE("outside regions 1, 2 and 4 there is no value, never a wrong one", "[properties]") {
    CHECK(std::isnan(steam_h(20.0, 640.0)));  // region 3
    CHECK(std::isnan(steam_h(1.0, 273.0)));   // ice
    CHECK(std::isnan(steam_h(1.0, 1100.0)));  // region 5
    CHECK(std::isnan(steam_h(101.0, 300.0)));
    CHECK(std::isnan(steam_h(0.0, 400.0)));
    CHECK(std::isnan(steam_s(-1.0, 400.0)));
    CHECK(std::isnan(liquid_h(17.0)));
    CHECK(std::isnan(vapour_s(0.0006)));
    CHECK(std::isnan(boiling_t(22.1)));
    CHECK(std::isnan(boiling_t(0.0)));
    CHECK(std::isnan(boiling_p(273.0)));
    CHECK(std::isnan(boiling_p(648.0)));
    CHECK(std::isnan(steam_h(std::nan(""), 400.0)));
}

TEST_CASE("flash steam on let-down of saturated condensate (enthalpy balance, by hand)",
          "[properties]") {
    // x = (h_liquid(p1) - h_liquid(p2)) / h_fg(p2), from the printed enthalpies 762.68, 418.99 and
    // 2256.54
    const double x =
        (liquid_h(1.0) - liquid_h(0.101325)) / (vapour_h(0.101325) - liquid_h(0.101325));
    CHECK_THAT(x, WithinAbs((762.68 - 418.99) / 2256.54, 1e-5));
}
