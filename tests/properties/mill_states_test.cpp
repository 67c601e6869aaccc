// States of steam and water as mills meter them. The figures were computed with the library
// python3-iapws 1.5.3 (IAPWS-IF97) and are printed to two decimals (kJ/kg) and five (kJ/(kg K));
// bar is absolute.
#include "engine/properties/steam.h"

#include <catch2/catch.hpp>

using namespace deckle;
using Catch::WithinAbs;

namespace {

constexpr double kelvin(double celsius) { return celsius + 273.15; }

struct Saturated {
    double bar, celsius, liquid_h, vapour_h, liquid_s, vapour_s;
};

constexpr Saturated saturated[] = {{1.01325, 99.97, 418.99, 2675.53, 1.30672, 7.35439},
                                   {2, 120.21, 504.68, 2706.24, 1.53010, 7.12686},
                                   {3, 133.53, 561.46, 2724.89, 1.67176, 6.99157},
                                   {4, 143.61, 604.72, 2738.06, 1.77660, 6.89542},
                                   {5, 151.84, 640.19, 2748.11, 1.86060, 6.82058},
                                   {6, 158.83, 670.50, 2756.14, 1.93110, 6.75917},
                                   {8, 170.41, 721.02, 2768.30, 2.04599, 6.66154},
                                   {10, 179.89, 762.68, 2777.12, 2.13843, 6.58498},
                                   {12, 187.96, 798.50, 2783.77, 2.21630, 6.52169},
                                   {15, 198.30, 844.72, 2791.01, 2.31468, 6.44305},
                                   {16, 201.38, 858.61, 2792.88, 2.34381, 6.42002},
                                   {20, 212.38, 908.62, 2798.38, 2.44702, 6.33916}};

struct Single {
    double bar, celsius, h, s;
};

constexpr Single superheated[] = {
    {4, 160, 2775.19, 6.98282},  {4, 200, 2860.99, 7.17237},  {6, 180, 2806.04, 6.87197},
    {6, 200, 2850.66, 6.96835},  {10, 200, 2828.27, 6.69549}, {10, 220, 2875.55, 6.79338},
    {10, 250, 2943.22, 6.92662}, {12, 220, 2865.73, 6.69367}, {16, 250, 2919.94, 6.67535},
    {20, 250, 2903.23, 6.54742}, {20, 300, 3024.25, 6.76852}};

constexpr Single liquid[] = {
    {1.01325, 10, 42.12, 0.15108},  {1.01325, 15, 63.08, 0.22446},  {1.01325, 20, 84.01, 0.29648},
    {1.01325, 25, 104.93, 0.36723}, {1.01325, 60, 251.22, 0.83117}, {1.01325, 70, 293.08, 0.95495},
    {1.01325, 80, 334.99, 1.07536}, {1.01325, 90, 376.99, 1.19263}, {1.01325, 95, 398.03, 1.25017},
    {1.5, 105, 440.23, 1.36314},    {10, 105, 440.86, 1.36245},     {16, 105, 441.31, 1.36197},
    {20, 105, 441.60, 1.36164}};

struct Evaporation {
    double celsius, h_fg;
};

constexpr Evaporation evaporation[] = {
    {25, 2441.71}, {40, 2406.00}, {60, 2357.69}, {80, 2308.07}, {100, 2256.47}};

}  // namespace

TEST_CASE("saturated steam from 1 to 20 bar (IAPWS-IF97 by python3-iapws 1.5.3)",
          "[properties][literature]") {
    for (const Saturated& state : saturated) {
        INFO(state.bar << " bar");
        const double p = state.bar / 10.0;
        CHECK_THAT(boiling_t(p) - 273.15, WithinAbs(state.celsius, 0.00501));
        CHECK_THAT(liquid_h(p), WithinAbs(state.liquid_h, 0.00501));
        CHECK_THAT(vapour_h(p), WithinAbs(state.vapour_h, 0.00501));
        CHECK_THAT(liquid_s(p), WithinAbs(state.liquid_s, 0.00000501));
        CHECK_THAT(vapour_s(p), WithinAbs(state.vapour_s, 0.00000501));
    }
}

TEST_CASE("superheated steam (IAPWS-IF97 by python3-iapws 1.5.3)", "[properties][literature]") {
    for (const Single& state : superheated) {
        INFO(state.bar << " bar " << state.celsius << " degC");
        CHECK_THAT(steam_h(state.bar / 10.0, kelvin(state.celsius)), WithinAbs(state.h, 0.00501));
        CHECK_THAT(steam_s(state.bar / 10.0, kelvin(state.celsius)),
                   WithinAbs(state.s, 0.00000501));
    }
}

TEST_CASE("fresh water, condensate and feed water (IAPWS-IF97 by python3-iapws 1.5.3)",
          "[properties][literature]") {
    for (const Single& state : liquid) {
        INFO(state.bar << " bar " << state.celsius << " degC");
        CHECK_THAT(steam_h(state.bar / 10.0, kelvin(state.celsius)), WithinAbs(state.h, 0.00501));
        CHECK_THAT(steam_s(state.bar / 10.0, kelvin(state.celsius)),
                   WithinAbs(state.s, 0.00000501));
    }
}

TEST_CASE("heat of evaporation from 25 to 100 degC (IAPWS-IF97 by python3-iapws 1.5.3)",
          "[properties][literature]") {
    for (const Evaporation& row : evaporation) {
        INFO(row.celsius << " degC");
        const double p = boiling_p(kelvin(row.celsius));
        CHECK_THAT(vapour_h(p) - liquid_h(p), WithinAbs(row.h_fg, 0.00501));
    }
}
