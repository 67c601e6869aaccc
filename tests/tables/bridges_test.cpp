// Heating values, density and dryness as steps from what was metered to what the factor is per,
// against published properties of fuels and the definitions of air-dry pulp.
#include <fmt/format.h>
#include <catch2/catch.hpp>

#include "tests/tables/table_study.h"

namespace {

using namespace deckle;
using namespace deckle::test;

/// A factor of 1 kg CO2 per `per`, so that a result is the amount in this unit.
std::string counted(const std::string& per, const std::string& more,
                    const std::string& kind = "fuel") {
    return fmt::format("  f: {{title: X, kind: {}, per: {}, releases: {{co2_fossil: 1 kg}}{}}}\n",
                       kind, per, more);
}

double amount(const std::string& used, const std::string& per, const std::string& more,
              const std::string& kind = "fuel") {
    return Answers({.own = counted(per, more, kind)}, {{"x", "f: " + used}}).of("x");
}

// JEC Well-to-Tank report v5 (2020), appendix 2, section 4.1: natural gas, notional EU mix
const std::string eu_gas = ", heating_value: {LHV: 36.4 MJ/Nm3}, density: 0.782 kg/Nm3";

}  // namespace

TEST_CASE(
    "bridges: a cubic metre of gas in kg and GJ (JEC v5: 0.782 kg/Nm3, 36.4 MJ/Nm3, a kilogram "
    "is 46.55 MJ, printed 46.59)",
    "[tables][literature]") {
    CHECK_THAT(amount("1 Nm3", "1 GJ LHV", eu_gas), equals(0.0364));
    CHECK_THAT(amount("1 Nm3", "1 kg", eu_gas), equals(0.782));
    CHECK_THAT(amount("1 t", "1 GJ LHV", eu_gas), equals(36.4 / 0.782));
    CHECK_THAT(amount("1 t", "1 GJ LHV", eu_gas),
               printed(46.59, 0.05));  // the density has 3 digits
    CHECK_THAT(amount("1 GJ LHV", "1 kg", eu_gas), equals(0.782 / 0.0364));
    CHECK_THAT(amount("1 kWh LHV", "1 Nm3", eu_gas), equals(3.6 / 36.4));
}

TEST_CASE(
    "bridges: gas of the EU mix piped in 2016, 10.02 kWh/Nm3 (JEC v5, table 37), and LPG, 29.18 "
    "kWh/Nm3 and 46.0 MJ/kg",
    "[tables][literature]") {
    CHECK_THAT(amount("1000 Nm3", "1 MWh LHV", ", heating_value: {LHV: 10.02 kWh/Nm3}"),
               equals(10.02));
    // 1 Nm3 of LPG: 29.18 · 3.6 / 46.0 = 2.2837 kg, by a density worked out from the two
    CHECK_THAT(
        amount("1 Nm3", "1 GJ LHV", ", heating_value: {LHV: 46.0 MJ/kg}, density: 2.2837 kg/Nm3"),
        printed(29.18 * 3.6e-3, 0.005 * 3.6e-3));
}

TEST_CASE(
    "bridges: normal, standard and US standard cubic metres differ by temperature alone (ideal "
    "gas, ISO 13443 names 15 degC)",
    "[tables][literature]") {
    CHECK_THAT(amount("1 Sm3", "1 Nm3", ""), equals(273.15 / 288.15));
    CHECK_THAT(amount("1 scf", "1 Nm3", ""),
               equals(0.028316846592 * 273.15 / ((60 + 459.67) * 5 / 9)));
    using Codes = std::vector<std::string>;
    CHECK(problems_of({.own = counted("1 Nm3", "")}, {{"x", "f: 1 m3"}}) == Codes{"wrong-unit"});
}

TEST_CASE("bridges: one heating value never stands for the other", "[tables]") {
    using Codes = std::vector<std::string>;
    struct Row {
        const char *used, *per;
    };
    for (const Row& row : {Row{"1 GJ HHV", "1 GJ LHV"}, Row{"1 GJ LHV", "1 GJ HHV"},
                           Row{"1 GJ", "1 GJ LHV"}, Row{"1 GJ LHV", "1 GJ"}}) {
        CAPTURE(row.used, row.per);
        CHECK(problems_of({.own = counted(row.per, ", heating_value: {LHV: 36 MJ/Nm3}")},
                          {{"x", std::string("f: ") + row.used}}) == Codes{"wrong-unit"});
    }
    const std::string both = ", heating_value: {LHV: 36 MJ/Nm3, HHV: 40 MJ/Nm3}";
    CHECK_THAT(amount("2.5 GJ HHV", "1 GJ LHV", both), equals(2.25));
    CHECK_THAT(amount("2.25 GJ LHV", "1 GJ HHV", both), equals(2.5));
    CHECK_THAT(amount("1 Nm3", "1 GJ HHV", both), equals(0.040));
}

TEST_CASE(
    "bridges: liquid fuel by volume, mass and heat (JEC v5: diesel 832 kg/m3, 43.1 MJ/kg, heavy "
    "fuel oil 970, 40.5, gasoline 743, 43.2)",
    "[tables][literature]") {
    struct Row {
        double density, heat;
    };
    const Row row = GENERATE(Row{832, 43.1}, Row{970, 40.5}, Row{743, 43.2});
    const std::string more =
        fmt::format(", density: {} kg/m3, heating_value: {{LHV: {} MJ/kg}}", row.density, row.heat);
    CHECK_THAT(amount("1 m3", "1 GJ LHV", more), equals(row.density * row.heat / 1000));
    CHECK_THAT(amount("1 GJ LHV", "1 L", more), equals(1e6 / (row.density * row.heat)));
    CHECK_THAT(amount("1 t", "1 m3", more), equals(1000 / row.density));
    CHECK_THAT(amount("1 gal", "1 kg", more), equals(3.785411784e-3 * row.density));
}

TEST_CASE(
    "bridges: an air-dry tonne of pulp is 900 kg of dry fibre (Briggs, Forest Products "
    "Measurements and Conversion Factors, chapter 8, ISO 801)",
    "[tables][literature]") {
    CHECK_THAT(amount("1 ADt", "1 t dry", "", "fibre"), equals(0.9));
    CHECK_THAT(amount("1 t dry", "1 ADt", "", "fibre"), equals(1 / 0.9));
    CHECK_THAT(amount("1 ADt", "1 t", ", dryness: 90 %", "fibre"), equals(1.0));
    CHECK_THAT(amount("1 t", "1 ADt", ", dryness: 93 %", "fibre"), equals(0.93 / 0.9));
    // wet pulp of 50 %: two tonnes hold the fibre of 1.111 ADt
    CHECK_THAT(amount("{amount: 2 t, dryness: 50 %}", "1 ADt", ", dryness: 90 %", "fibre"),
               equals(1 / 0.9));
    using Codes = std::vector<std::string>;
    CHECK(problems_of({.own = counted("1 ADt", "", "fibre")}, {{"x", "f: 1 t"}}) ==
          Codes{"wrong-unit"});
    CHECK(problems_of({.own = counted("1 t", "", "chemical")}, {{"x", "f: 1 t dry"}}) ==
          Codes{"wrong-unit"});
}

TEST_CASE("bridges: a liquor by volume, density and dryness at once (arithmetic)", "[tables]") {
    // 1 m3 of caustic soda of 50 %: 1.525 t as it is, 0.7625 t dry
    CHECK_THAT(amount("1 m3", "1 t dry", ", density: 1525 kg/m3, dryness: 50 %", "chemical"),
               equals(1.525 * 0.5));
    CHECK_THAT(amount("1 t dry", "1 L", ", density: 1525 kg/m3, dryness: 50 %", "chemical"),
               equals(1000 / 0.5 / 1.525));
}

TEST_CASE(
    "bridges: wood as fired by its moisture, LHV 18.5 MJ/kg dry less 2.443 for each kg of water "
    "(12.22 MJ/kg at 30 %, 9.08 at 45 %, formula from memory)",
    "[tables]") {
    CHECK_THAT(
        amount("1 kg", "1 MJ LHV",
               fmt::format(", heating_value: {{LHV: {} MJ/kg}}", 18.5 * 0.70 - 2.443 * 0.30)),
        printed(12.22, 0.005));
    // on dry mass, the dryness is a step of its own
    CHECK_THAT(amount("1 t", "1 GJ LHV", ", dryness: 70 %, heating_value: {LHV: 18.5 MJ/kg dry}"),
               equals(0.70 * 18.5));
}
