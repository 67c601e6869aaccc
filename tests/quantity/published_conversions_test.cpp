// Conversions as publications print them; each tolerance is half of the last printed digit.
#include <catch2/catch.hpp>

#include "engine/quantity/quantity.h"

using namespace deckle;

namespace {

double converted(const std::string& typed, std::string_view to) {
    const QuantityResult result = parse_quantity(typed);
    REQUIRE(result.quantity);
    const auto change = conversion(result.quantity->unit, known_unit(to));
    REQUIRE(change);
    return change->apply(result.quantity->value);
}

struct Row {
    std::string typed, to;
    double printed, half_digit;
};

void check(const Row& row) {
    CAPTURE(row.typed, row.to);
    CHECK_THAT(converted(row.typed, row.to), Catch::WithinAbs(row.printed, row.half_digit));
}

}  // namespace

TEST_CASE("conversion factors of NIST SP 811 (2008), appendix B.8 (figures from memory)",
          "[quantity][literature]") {
    check(GENERATE(values<Row>({
        {"1 Btu", "J", 1055.056, 0.0005},
        {"1 cal", "J", 4.1868, 5e-13},
        {"1 kcal", "J", 4186.8, 5e-10},
        {"1 kWh", "J", 3.6e6, 5e-10},
        {"1 Btu/h", "W", 0.2930711, 5e-8},
        {"1 Btu/lb", "J/kg", 2326.0, 5e-10},
        {"1 Btu/ft3", "J/m3", 3.725895e4, 5e-3},
        {"1 lb", "kg", 0.4535924, 5e-8},
        {"1 oz", "kg", 0.02834952, 5e-9},
        {"1 short_ton", "kg", 907.1847, 5e-5},
        {"1 long_ton", "kg", 1016.047, 5e-4},
        {"1 gal", "m3", 3.785412e-3, 5e-10},
        {"1 ft3", "m3", 0.02831685, 5e-9},
        {"1 ft2", "m2", 0.09290304, 5e-13},
        {"1 mile", "m", 1609.344, 5e-10},
        {"1 nautical_mile", "m", 1852.0, 5e-10},
        {"1 psi", "Pa", 6894.757, 5e-4},
        {"1 bar", "Pa", 1e5, 5e-10},
        {"1 ha", "m2", 1e4, 5e-10},
        {"1 lb/ft3", "kg/m3", 16.01846, 5e-6},
        {"1 lb/ft2", "kg/m2", 4.882428, 5e-7},
        {"1 d", "s", 8.64e4, 5e-10},
    })));
}

TEST_CASE(
    "US definitions: 1 mmBtu is 1.05505585262 GJ and 293.0711 kWh, 1 short ton-mile 1.459972 t km "
    "(from memory)",
    "[quantity][literature]") {
    CHECK(converted("1 MMBtu", "GJ") == 1.05505585262);
    check({"1 MMBtu", "kWh", 293.0711, 5e-5});
    check({"1 short_ton mile", "t km", 1.459972, 5e-7});
    CHECK(converted("1 therm", "MMBtu") == 0.1);
    check({"1 gal", "L", 3.785411784, 5e-10});
}

TEST_CASE(
    "heat content times factor (US EPA, Emission Factors for Greenhouse Gas Inventories, table 1)",
    "[quantity][literature]") {
    // MMBtu/short_ton and kg/MMBtu multiply to kg/short_ton, printed in whole kilograms.
    const Unit result = known_unit("MMBtu/short_ton") * known_unit("kg/MMBtu");
    CHECK(result.text == "kg/short_ton");
    const auto [heat, factor, printed] = GENERATE(table<double, double, double>(
        {{25.09, 103.69, 2602}, {24.93, 93.28, 2325}, {17.48, 93.80, 1640}}));
    CHECK_THAT(heat * factor, Catch::WithinAbs(printed, 0.5));
    const Unit gas = known_unit("MMBtu/scf") * known_unit("kg/MMBtu");
    CHECK(gas.text == "kg/scf");
    CHECK_THAT(0.001026 * 53.06, Catch::WithinAbs(0.05444, 5e-6));
}

TEST_CASE(
    "0.05444 kg/scf (US EPA, table 1) is 2.0320 kg/Nm3, as 60 degF gas 1.9225 kg/m3 (computed)",
    "[quantity][literature]") {
    check({"0.05444 kg/scf", "kg/Nm3", 2.0320, 5e-5});
    check({"0.05444 kg/ft3", "kg/m3", 1.9225, 5e-5});
    CHECK_FALSE(conversion(known_unit("kg/scf"), known_unit("kg/m3")));
}

TEST_CASE(
    "gas volumes are to each other as their absolute temperatures (ISO 13443:1996: 15 degC, DIN "
    "1343: 0 degC)",
    "[quantity][literature]") {
    CHECK_THAT(converted("1 Nm3", "Sm3"), Catch::WithinRel(288.15 / 273.15, 1e-15));
    CHECK_THAT(converted("1 scf", "Sm3"),
               Catch::WithinRel(0.028316846592 * 288.15 / (51967.0 / 180.0), 1e-15));
    CHECK_THAT(converted("1000 scf", "Nm3"),
               Catch::WithinRel(26.7911, 2e-6));  // 28.316846592 × 273.15 / 288.70556, by hand
}

TEST_CASE("W2: kg/mmBtu to kg/therm (US EIA, fuel emission coefficients, table 1)",
          "[quantity][literature]") {
    check({"53.06 kg/MMBtu", "kg/therm", 5.306, 5e-13});
    check({"54.71 kg/MMBtu", "kg/therm", 5.471, 5e-13});
}

TEST_CASE("W2: kg/mmBtu to lb/mmBtu (US EIA, fuel emission coefficients, table 1)",
          "[quantity][literature]") {
    check(GENERATE(values<Row>({
        {"53.06 kg/MMBtu", "lb/MMBtu", 117, 0.5},
        {"93.28 kg/MMBtu", "lb/MMBtu", 205.6, 0.05},
        {"97.72 kg/MMBtu", "lb/MMBtu", 215.4, 0.05},
        {"97.17 kg/MMBtu", "lb/MMBtu", 214.2, 0.05},
    })));
}

TEST_CASE(
    "W2: petroleum coke is printed 225.1 lb/mmBtu beside 102.41 kg/mmBtu, the two disagree (US "
    "EIA, "
    "same table)",
    "[quantity][literature]") {
    CHECK_THAT(converted("102.41 kg/MMBtu", "lb/MMBtu"), Catch::WithinAbs(225.78, 0.005));
    CHECK_THAT(converted("102.41 kg/MMBtu", "lb/MMBtu"), !Catch::WithinAbs(225.1, 0.05));
}

TEST_CASE(
    "W3: kg/TJ to kg/MWh, whole kilograms (2006 IPCC Guidelines, volume 2, defaults as printed in "
    "both "
    "units in 2016)",
    "[quantity][literature]") {
    check(GENERATE(values<Row>({
        {"101000 kg/TJ", "kg/MWh", 364, 0.5},
        {"77400 kg/TJ", "kg/MWh", 279, 0.5},
        {"56100 kg/TJ", "kg/MWh", 202, 0.5},
        {"112000 kg/TJ", "kg/MWh", 403, 0.5},
    })));
}

TEST_CASE("W4: t/TJ to g/kWh (SEAI, conversion and emission factors)", "[quantity][literature]") {
    check(GENERATE(values<Row>({
        {"76.0 t/TJ", "g/kWh", 273.6, 0.05},
        {"73.3 t/TJ", "g/kWh", 263.9, 0.05},
        {"94.6 t/TJ", "g/kWh", 340.6, 0.05},
        {"104.0 t/TJ", "g/kWh", 374.4, 0.05},
    })));
}

TEST_CASE("W4: t/TJ to g/kWh where the source held more decimals than it prints (SEAI, same table)",
          "[quantity][literature]") {
    // Half a printed digit of the input, 0.05 × 3.6, and of the result, 0.05.
    constexpr double hidden = 0.05 * 3.6 + 0.05;
    check(GENERATE(values<Row>({
        {"56.9 t/TJ", "g/kWh", 204.7, hidden},
        {"116.7 t/TJ", "g/kWh", 420.0, hidden},
        {"98.9 t/TJ", "g/kWh", 355.9, hidden},
        {"92.9 t/TJ", "g/kWh", 334.5, hidden},
        {"129.9 t/TJ", "g/kWh", 467.5, hidden},
    })));
}

TEST_CASE(
    "W5: kg/GJ to kg/kWh (New Zealand Ministry for the Environment, Measuring emissions, gas)",
    "[quantity][literature]") {
    // Half a printed digit of the input, 5e-9 × 0.0036, and of the result.
    check({"54.20775879 kg/GJ", "kg/kWh", 0.1951479317, 1.8e-11 + 5e-11});
    check({"52.1 kg/GJ", "kg/kWh", 0.188, 5e-4});
}

TEST_CASE("0.20 kWh of power is 0.00072 GJ (by hand)", "[quantity]") {
    CHECK_THAT(converted("0.20 kWh", "GJ"), Catch::WithinRel(0.00072, 1e-15));
}
