// Warming potentials over 100 years: the shipped sets against the figures of IPCC AR4, AR5 (without
// feedback) and AR6 as the open compilation globalwarmingpotentials (openclimatedata, CC0, 26 March
// 2026) prints them, which cites the reports; methane of AR6 by origin from AR6 WG1, table 7.15.
#include <fmt/format.h>
#include <catch2/catch.hpp>

#include <array>

#include "engine/study/model.h"
#include "tests/tables/table_study.h"

namespace {

using namespace deckle;
using namespace deckle::test;

struct Gas {
    const char* id;
    double ar4, ar5, ar6;
};
constexpr std::array published{
    Gas{"co2_fossil", 1, 1, 1},         Gas{"co2_land_use", 1, 1, 1},
    Gas{"ch4_fossil", 25, 28, 29.8},    Gas{"ch4_biogenic", 25, 28, 27.0},
    Gas{"n2o_fossil", 298, 265, 273},   Gas{"n2o_biogenic", 298, 265, 273},
    Gas{"sf6", 22800, 23500, 25200},    Gas{"nf3", 17200, 16100, 17400},
    Gas{"hfc_23", 14800, 12400, 14600}, Gas{"hfc_32", 675, 677, 771},
    Gas{"hfc_125", 3500, 3170, 3740},   Gas{"hfc_134a", 1430, 1300, 1530},
    Gas{"hfc_143a", 4470, 4800, 5810},  Gas{"hfc_152a", 124, 138, 164},
    Gas{"hfc_227ea", 3220, 3350, 3600}, Gas{"hfc_245fa", 1030, 858, 962},
    Gas{"hcfc_22", 1810, 1760, 1960},   Gas{"cfc_12", 10900, 10200, 12500},
    Gas{"cf4", 7390, 6630, 7380},       Gas{"c2f6", 12200, 11100, 12400},
};

/// One kilogram of each gas.
std::string one_of_each() {
    std::string text;
    for (const Gas& gas : published)
        text +=
            fmt::format("  f_{}: {{title: X, kind: other, per: 1 piece, releases: {{{}: 1 kg}}}}\n",
                        gas.id, gas.id);
    return text;
}

Questions uses_of_each() {
    Questions questions;
    for (const Gas& gas : published)
        questions.emplace_back(fmt::format("g_{}", gas.id), fmt::format("f_{}: 1 piece", gas.id));
    return questions;
}

}  // namespace

TEST_CASE("warming potentials: the three shipped sets give the published figure of every gas",
          "[tables][literature]") {
    const std::string set = GENERATE("ar4_100", "ar5_100", "ar6_100");
    const Answers answers({.own = one_of_each(), .characterization = set}, uses_of_each());
    for (const Gas& gas : published) {
        CAPTURE(set, gas.id);
        const double weight = set == "ar4_100" ? gas.ar4 : set == "ar5_100" ? gas.ar5 : gas.ar6;
        CHECK(answers.of(fmt::format("g_{}", gas.id)) == weight);
        // and it stands in the line that the end of its id says
        const std::string_view id = gas.id;
        CHECK(answers.of(fmt::format("g_{}", id), "climate_biogenic") ==
              (id.ends_with("_biogenic") ? weight : 0.0));
        CHECK(answers.of(fmt::format("g_{}", id), "climate_land_use") ==
              (id.ends_with("_land_use") ? weight : 0.0));
    }
    // and no gas without a published figure above
    const Characterization* weights = answers.study.model->tables.characterization(set);
    REQUIRE(weights != nullptr);
    CHECK(weights->gases.size() == published.size());
}

TEST_CASE(
    "warming potentials: blends by their composition (mass shares from memory, published "
    "weights of their gases)",
    "[tables][literature]") {
    struct Row {
        const char* set;
        double r_410a, r_404a, r_407c;
    };
    const Row row =
        GENERATE(Row{"ar4_100", 2087.5, 3921.6, 1773.9}, Row{"ar5_100", 1923.5, 3942.8, 1624.2},
                 Row{"ar6_100", 2255.5, 4728.0, 1907.9});
    CAPTURE(row.set);
    const Answers answers({.shipped = {"refrigerants"}, .characterization = row.set},
                          {{"r_410a", "r_410a_leak: 1 kg"},
                           {"r_404a", "r_404a_leak: 1 kg"},
                           {"r_407c", "r_407c_leak: 1 kg"}});
    CHECK_THAT(answers.of("r_410a"), printed(row.r_410a, 0.05));
    CHECK_THAT(answers.of("r_404a"), printed(row.r_404a, 0.05));
    CHECK_THAT(answers.of("r_407c"), printed(row.r_407c, 0.05));
}

TEST_CASE(
    "warming potentials: biogenic CO2 has a line of its own and its equal uptake, and "
    "enters no total",
    "[tables]") {
    const Answers answers(
        {.own = "  wood: {title: X, kind: fuel, per: 1 kg, releases: {co2_biogenic: 1.26 kg, "
                "ch4_biogenic: 1 g}}\n",
         .characterization = "ar6_100"},
        {{"burnt", "wood: 2 kg"}});
    CHECK_THAT(answers.of("burnt"), equals(2 * 0.001 * 27.0));
    CHECK_THAT(answers.of("burnt", "climate_biogenic"), equals(2 * 0.001 * 27.0));
    CHECK_THAT(answers.of("burnt", "biogenic_co2_released"), equals(2 * 1.26));
    CHECK_THAT(answers.of("burnt", "biogenic_co2_taken_up"), equals(-2 * 1.26));
}

TEST_CASE("warming potentials: a gas that the set does not weigh is an error, near names are told",
          "[tables]") {
    const Questions use{{"x", "leak: 1 kg"}};
    const auto leak = [](const char* gas) {
        return Book{
            .own = fmt::format(
                "  leak: {{title: X, kind: other, per: 1 kg, releases: {{{}: 1 kg}}}}\n", gas)};
    };
    using Codes = std::vector<std::string>;
    CHECK(problems_of(leak("hfc_43_10mee"), use) == Codes{"unknown-gas"});
    CHECK(problems_of(leak("ch4"), use) == Codes{"unknown-gas"});  // of which origin?
    CHECK(problems_of(leak("hfc_134a"), use).empty());
    try {
        (void)Answers(leak("ch4"), use);
    } catch (const InputError& error) {  // not cf4, the nearest by letters
        CHECK(error.problems.at(0).hint == "say its origin: ch4_fossil or ch4_biogenic");
    }
}

TEST_CASE("warming potentials: every set that a result rests on is named, the study's own first",
          "[tables]") {
    const auto sets = [](const std::string& used, const std::string& own = {}) {
        return Answers({.shipped = {"new_zealand", "grids_eu"},
                        .own = own,
                        .characterization = "ar6_100"},
                       {{"x", used}})
            .study.head.gwp_sets;
    };
    using Sets = std::vector<std::string>;
    CHECK(sets("natural_gas_nz: 1 GJ HHV") == Sets{"ar6_100"});  // gases, weighed by the study's
    CHECK(sets("natural_gas_nz: 1 GJ HHV, grid_nz_2024: 1 kWh") == Sets{"ar6_100", "ar5_100"});
    CHECK(sets("grid_nz_2024: 1 kWh, germany_medium_voltage: 1 kWh") ==
          Sets{"ar6_100", "ar4_100", "ar5_100"});
    // a set comes in with what is brought along too
    CHECK(sets("power: 1 kWh",
               "  power: {title: X, kind: electricity, per: 1 kWh, releases: {co2_fossil: 1 kg}, "
               "brings: {germany_medium_voltage: 1 kWh}}\n") == Sets{"ar6_100", "ar4_100"});
}
