// What comes along with a factor: supply of fuels, water and losses of power. The published totals
// are those of the whole chain, so that nothing is lost and nothing counted twice.
#include <fmt/format.h>
#include <catch2/catch.hpp>

#include "engine/analysis/breakout.h"
#include "tests/tables/table_study.h"

namespace {

using namespace deckle;
using namespace deckle::test;

/// Parts of a result by name.
double part(const Answers& answers, const std::string& of, BreakoutBy by, const std::string& name) {
    const Result& result = *answers.study.result(of, "piece", "climate");
    for (const Contribution& row :
         break_out(answers.study, answers.at, result, result.node, by).rows) {
        if (row.name == name) return row.value;
    }
    FAIL("no " << name);
    return 0.0;
}

std::string electricity(const std::string& id, double grams, const std::string& more = {}) {
    return fmt::format(
        "  {}: {{title: X, kind: electricity, per: 1 kWh, climate: {{fossil: {} g, "
        "biogenic: 0 g, land_use: 0 g, characterization: ar5_100}}{}}}\n",
        id, grams, more);
}

}  // namespace

TEST_CASE(
    "brings: combustion and supply of fuels add to the printed total ((EU) 2023/1185, Annex, part "
    "B, g CO2e/MJ: diesel 73.2 + 21.9 = 95.1, heavy fuel oil 80.6 + 13.6 = 94.2)",
    "[tables][literature]") {
    const Answers answers({.shipped = {"freight_eu"}, .characterization = "ar4_100"},
                          {{"diesel", "diesel_on_the_way: 1 MJ LHV"},
                           {"ship_fuel", "ship_fuel_on_the_way: 1 MJ LHV"}});
    CHECK_THAT(answers.of("diesel") * 1000, printed(95.1, 0.05));
    CHECK_THAT(answers.of("ship_fuel") * 1000, printed(94.2, 0.05));
    CHECK_THAT(part(answers, "diesel", BreakoutBy::factor, "freight_eu.diesel_on_the_way") * 1000,
               equals(73.2));
    CHECK_THAT(
        part(answers, "diesel", BreakoutBy::factor, "freight_eu.diesel_on_the_way_supply") * 1000,
        equals(21.9));
}

TEST_CASE(
    "brings: supply of each fuel, per MJ (EU 2023/1185, part B: gas 9.7, diesel 21.9, heavy fuel "
    "oil 13.6, gasoline 19.9, hard coal 16.2, lignite 1.7)",
    "[tables][literature]") {
    struct Row {
        const char *fuel, *supply;
        double grams;
    };
    const Row row = GENERATE(Row{"natural_gas", "natural_gas_supply", 9.7},
                             Row{"natural_gas_by_volume", "natural_gas_supply", 9.7},
                             Row{"gas_diesel_oil", "diesel_supply", 21.9},
                             Row{"residual_fuel_oil", "heavy_fuel_oil_supply", 13.6},
                             Row{"motor_gasoline", "gasoline_supply", 19.9},
                             Row{"anthracite", "hard_coal_supply", 16.2},
                             Row{"other_bituminous_coal", "hard_coal_supply", 16.2},
                             Row{"lignite", "lignite_supply", 1.7});
    CAPTURE(row.fuel);
    const Answers answers({.shipped = {"fuels_eu"}},
                          {{"x", fmt::format("{}: 1 MJ LHV", row.fuel)}});
    CHECK_THAT(
        part(answers, "x", BreakoutBy::factor, fmt::format("fuels_eu.{}", row.supply)) * 1000,
        equals(row.grams));
    // burned here, scope 1; brought along, scope 3, and in the stage of energy
    CHECK_THAT(part(answers, "x", BreakoutBy::scope, "3") * 1000, equals(row.grams));
    CHECK_THAT(part(answers, "x", BreakoutBy::scope, "1") + row.grams / 1000,
               equals(answers.of("x")));
}

TEST_CASE(
    "brings: life-cycle gas is combustion and supply, 202 + 25 = 227 kg CO2/MWh (Carbon Balance "
    "and Management, doi 10.1186/s13021-016-0046-9, 2016, table 1, oil 279 + 35, lignite 364 + 50)",
    "[tables][literature]") {
    struct Row {
        double burnt, supply, whole;
    };
    const Row row = GENERATE(Row{202, 25, 227}, Row{279, 35, 314}, Row{364, 50, 414});
    const Answers answers(
        {.own = fmt::format(
             "  fuel: {{title: X, kind: fuel, per: 1 MWh LHV, releases: {{co2_fossil: {} kg}}, "
             "brings: "
             "{{supply: 1 MWh LHV}}}}\n  supply: {{title: X, kind: fuel_supply, per: 1 MWh LHV, "
             "releases: {{co2_fossil: {} kg}}}}\n",
             row.burnt, row.supply)},
        {{"x", "fuel: 3.6 GJ LHV"}});
    CHECK_THAT(answers.of("x"), equals(row.whole));
}

TEST_CASE(
    "brings: losses from produced to used at low voltage, as a share that the grid brings (EU "
    "2022/996, Annex IX: EU27 295 at high and 308 at low voltage, 4.4 % more)",
    "[tables][literature]") {
    const Answers shipped({.shipped = {"grids_eu"}, .characterization = "ar4_100"},
                          {{"high", "eu27_high_voltage: 1 kWh"},
                           {"low", "eu27_low_voltage: 1 kWh"},
                           {"medium", "eu27_medium_voltage: 1 kWh"},
                           {"produced", "eu27_produced: 1 kWh"}});
    CHECK_THAT(shipped.of("produced") * 1000, equals(288.0));
    CHECK_THAT(100 * (shipped.of("low") / shipped.of("high") - 1), printed(4.4, 0.05));
    CHECK_THAT(100 * (shipped.of("medium") / shipped.of("high") - 1), printed(1.0, 0.05));
    // the same as generation, upstream and losses of 4.4 %: 295 + 295 · 0.044 = 308.0
    const Answers built(
        {.own = electricity("grid", 255, ", brings: {upstream: 1 kWh, losses: 1 kWh}") +
                electricity("upstream", 40) +
                "  losses: {title: X, kind: fuel_supply, per: 1 kWh, climate: {fossil: 0 "
                "g, biogenic: 0 g, land_use: 0 g, characterization: ar5_100}, brings: "
                "{lost: 0.044 kWh}}\n" +
                electricity("lost", 295)},
        {{"x", "grid: 1 kWh"}});
    CHECK_THAT(built.of("x") * 1000, printed(308, 0.5));
    CHECK_THAT(part(built, "x", BreakoutBy::factor, "own.lost") * 1000, equals(295 * 0.044));
}

TEST_CASE(
    "brings: water of grid power comes along (World Resources Institute 2020, appendices 1 and 2: "
    "Spain 1.6402 gal/kWh, 6.209 L, Germany 0.5143, 1.947 L)",
    "[tables][literature]") {
    const Answers answers({.shipped = {"grids_eu"}, .characterization = "ar4_100"},
                          {{"spain", "spain_medium_voltage: 1000 kWh"},
                           {"germany", "germany_high_voltage: 1 kWh"},
                           {"austria", "austria_low_voltage: 1 kWh"},
                           {"finland", "finland_medium_voltage: 1 kWh"}});
    CHECK_THAT(answers.of("spain", "water_consumed"), printed(6.209, 5e-4));
    CHECK_THAT(answers.of("germany", "water_consumed") * 1000, printed(1.947, 5e-4));
    CHECK_THAT(answers.of("austria", "water_consumed") * 1000, printed(5.722, 5e-4));
    CHECK_THAT(answers.of("finland", "water_consumed") * 1000, printed(4.529, 5e-4));
    // the source's withdrawal is not taken: it says so
    CHECK(answers.coverage("spain", "water_consumed") == Coverage::complete);
    CHECK(answers.coverage("spain", "water_withdrawn") != Coverage::complete);
}

TEST_CASE("brings: chains multiply their amounts, in other units and over bridges (arithmetic)",
          "[tables]") {
    // 2 kWh bring 2 · 0.3 = 0.6 kg of gas, these 0.6 · 50 = 30 MJ of supply at 4 g/MJ
    const Answers answers(
        {.own =
             "  power: {title: X, kind: electricity, per: 1 kWh, releases: {co2_fossil: 0 kg}, "
             "brings: "
             "{gas: 300 g}}\n"
             "  gas: {title: X, kind: fuel_supply, per: 1 kg, releases: {co2_fossil: 2.75 kg}, "
             "heating_value: {LHV: 50 MJ/kg}, brings: {supply: 1 kg}}\n"
             "  supply: {title: X, kind: fuel_supply, per: 1 GJ LHV, releases: {co2_fossil: 4 kg}, "
             "heating_value: {LHV: 50 MJ/kg}}\n"},
        {{"x", "power: 7.2 MJ"}});
    CHECK_THAT(answers.of("x"), equals(0.6 * 2.75 + 30 * 0.004));
    CHECK_THAT(part(answers, "x", BreakoutBy::factor, "own.supply"), equals(30 * 0.004));
    CHECK_THAT(answers.value("own.power.brings.gas"), equals(300.0));
}

TEST_CASE("brings: circles, unknown factors, other units and endless chains are errors",
          "[tables]") {
    using Codes = std::vector<std::string>;
    const auto supply = [](const std::string& id, const std::string& brings) {
        return fmt::format(
            "  {}: {{title: X, kind: fuel_supply, per: 1 kWh, releases: {{co2_fossil: 1 "
            "kg}}, brings: {}}}\n",
            id, brings);
    };
    const Questions use{{"x", "a: 1 kWh"}};
    CHECK(problems_of({.own = supply("a", "{b: 1 kWh}") + supply("b", "{a: 1 kWh}")}, use) ==
          Codes{"circular-brings"});
    CHECK(problems_of({.own = supply("a", "{a: 1 kWh}")}, use) == Codes{"circular-brings"});
    CHECK(problems_of({.own = supply("a", "{c: 1 kWh}")}, use) == Codes{"unknown-factor"});
    CHECK(problems_of({.own = supply("a", "{b: 1 t}") + supply("b", "{}")}, use) ==
          Codes{"wrong-unit"});
    CHECK(problems_of({.own = supply("a", "{b: 1 kWh}") + supply("b", "{}")},
                      {{"x", "a: 1 kWh, b: 1 kWh"}}) == Codes{"brought-twice"});
}
