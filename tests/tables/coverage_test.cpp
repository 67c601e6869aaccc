// What is expected of a factor and not stated is not covered, and never zero in silence. The rules
// are this project's own: each row is one of them.
#include <fmt/format.h>
#include <catch2/catch.hpp>

#include "tests/tables/table_study.h"

namespace {

using namespace deckle;
using namespace deckle::test;
using enum deckle::Coverage;

/// One factor of a kind, used once.
Answers using_factor(const std::string& kind, const std::string& states,
                     const std::string& more = {}) {
    return Answers({.own = fmt::format("  f: {{title: X, kind: {}, per: 1 piece{}{}}}\n", kind,
                                       states.empty() ? "" : ", ", states),
                    .more = more},
                   {{"x", "f: 1 piece"}});
}

constexpr const char* full_climate =
    "climate: {fossil: 1 kg, biogenic: 0 kg, land_use: 0 kg, characterization: ar5_100}";

}  // namespace

TEST_CASE("coverage: climate by gases, by one number, or by three lines", "[tables]") {
    struct Row {
        const char* states;
        Coverage climate, fossil, biogenic, land_use;
    };
    const Row row =
        GENERATE(Row{"releases: {co2_fossil: 1 kg}", complete, complete, complete, complete},
                 Row{"releases: {ch4_biogenic: 1 g}", complete, complete, complete, complete},
                 Row{"releases: {co2_fossil: 0 kg}", complete, complete, complete, complete},
                 Row{full_climate, complete, complete, complete, complete},
                 Row{"climate: {total: 1 kg, characterization: ar5_100}", complete, complete,
                     not_covered, not_covered},
                 Row{"climate: {fossil: 1 kg, characterization: ar5_100}", at_least, complete,
                     not_covered, not_covered},
                 Row{"climate: {fossil: 1 kg, land_use: 0 kg, characterization: ar5_100}", at_least,
                     complete, not_covered, complete},
                 Row{"climate: {biogenic: 1 kg, characterization: ar5_100}", at_least, not_covered,
                     complete, not_covered},
                 Row{"", not_covered, not_covered, not_covered, not_covered});
    CAPTURE(row.states);
    const Answers answers = using_factor("other", row.states);
    CHECK(answers.coverage("x", "climate") == row.climate);
    CHECK(answers.coverage("x", "climate_fossil") == row.fossil);
    CHECK(answers.coverage("x", "climate_biogenic") == row.biogenic);
    CHECK(answers.coverage("x", "climate_land_use") == row.land_use);
}

TEST_CASE("coverage: one number counts in the fossil line, which says so, the others are at least",
          "[tables]") {
    const Answers answers(
        {.own = fmt::format(
             "  number: {{title: X, kind: chemical, per: 1 kg, climate: {{total: 2.6 kg, "
             "characterization: ar5_100}}}}\n  lines: {{title: X, kind: other, per: 1 kg, "
             "climate: {{fossil: 1 kg, biogenic: 0.5 kg, land_use: 0.25 kg, "
             "characterization: ar5_100}}}}\n")},
        {{"x", "number: 1 kg, lines: 1 kg"}, {"y", "lines: 1 kg"}});
    CHECK_THAT(answers.of("x"), equals(2.6 + 1 + 0.5 + 0.25));
    CHECK_THAT(answers.of("x", "climate_fossil"), equals(3.6));
    CHECK(answers.study.result("x", "piece", "climate_fossil")->one_number);
    CHECK_FALSE(answers.study.result("y", "piece", "climate_fossil")->one_number);
    CHECK(answers.coverage("x", "climate") == complete);
    CHECK(answers.coverage("x", "climate_biogenic") == at_least);
    CHECK(answers.coverage("x", "climate_land_use") == at_least);
    CHECK(answers.of("x", "climate_biogenic") == 0.5);
    CHECK(answers.coverage("y", "climate_biogenic") == complete);
}

TEST_CASE("coverage: 0 kg is known, unstated is not", "[tables]") {
    const Answers zero = using_factor(
        "other",
        "climate: {fossil: 0 kg, biogenic: 0 kg, land_use: 0 kg, characterization: ar5_100}, "
        "water: {withdrawn: 0 L, consumed: 0 L}");
    for (const char* indicator : {"climate", "water_withdrawn", "water_consumed"}) {
        CHECK(zero.coverage("x", indicator) == complete);
        CHECK(zero.of("x", indicator) == 0.0);
    }
    const Answers unstated = using_factor("other", "");
    for (const char* indicator : {"climate", "water_withdrawn", "water_consumed"})
        CHECK(unstated.coverage("x", indicator) == not_covered);
    const auto missing =
        uncovered(unstated.study, *unstated.study.result("x", "piece", "water_consumed"));
    REQUIRE(missing.size() == 1);
    CHECK(missing[0].subject == "own.f");
    CHECK(missing[0].uses == std::vector<std::string>{"m.p_x: f"});
}

TEST_CASE("coverage: what each kind is expected to state", "[tables]") {
    struct Row {
        const char* kind;
        bool water, fibre, energy;
    };
    const Row row =
        GENERATE(Row{"fuel", true, false, true}, Row{"fuel_supply", true, false, false},
                 Row{"electricity", true, false, true}, Row{"heat", true, false, true},
                 Row{"fibre", true, true, true}, Row{"recovered_fibre", true, true, true},
                 Row{"chemical", true, false, false}, Row{"packaging", true, false, false},
                 Row{"freight", false, false, false}, Row{"water_supply", true, false, false},
                 Row{"waste", true, false, false}, Row{"other", true, false, false});
    CAPTURE(row.kind);
    const Answers answers = using_factor(row.kind, full_climate);
    CHECK(answers.coverage("x", "climate") == complete);
    CHECK(answers.coverage("x", "water_withdrawn") == (row.water ? not_covered : complete));
    CHECK(answers.coverage("x", "water_consumed") == (row.water ? not_covered : complete));
    CHECK(answers.coverage("x", "fibre") == (row.fibre ? not_covered : complete));
    CHECK(answers.coverage("x", "energy_renewable") == (row.energy ? not_covered : complete));
    CHECK(answers.coverage("x", "energy_non_renewable") == (row.energy ? not_covered : complete));
}

TEST_CASE("coverage: consumed without withdrawn leaves withdrawal not covered, and the other way",
          "[tables]") {
    const Answers consumed =
        using_factor("other", std::string(full_climate) + ", water: {consumed: 2 L}");
    CHECK(consumed.coverage("x", "water_consumed") == complete);
    CHECK(consumed.coverage("x", "water_withdrawn") == not_covered);
    CHECK_THAT(consumed.of("x", "water_consumed"), equals(0.002));
    const Answers withdrawn =
        using_factor("other", std::string(full_climate) + ", water: {withdrawn: 2 L}");
    CHECK(withdrawn.coverage("x", "water_consumed") == not_covered);
    CHECK(withdrawn.coverage("x", "water_withdrawn") == complete);
    // of two waters, one states no consumption: at least what the other does
    const Answers two =
        using_factor("other", std::string(full_climate) +
                                  ", water: [{withdrawn: 2 L, consumed: 1 L}, {withdrawn: 3 L}]");
    CHECK(two.coverage("x", "water_consumed") == at_least);
    CHECK(two.coverage("x", "water_withdrawn") == complete);
    CHECK_THAT(two.of("x", "water_withdrawn"), equals(0.005));
}

TEST_CASE("coverage: more consumed than withdrawn is an error, as much is not", "[tables]") {
    const auto water = [](const char* stated) {
        return Book{
            .own = fmt::format("  f: {{title: X, kind: other, per: 1 kg, water: {}}}\n", stated)};
    };
    using Codes = std::vector<std::string>;
    CHECK(problems_of(water("{withdrawn: 1 L, consumed: 1001 mL}"), {{"x", "not_used: 1 kg"}}) ==
          Codes{"consumed-above-withdrawn"});
    CHECK(problems_of(water("{consumed: 2 m3, withdrawn: 1 m3}"), {{"x", "not_used: 1 kg"}}) ==
          Codes{"consumed-above-withdrawn"});
    CHECK(problems_of(water("{withdrawn: 1 L, consumed: 1000 mL}"), {{"x", "not_used: 1 kg"}})
              .empty());
}

TEST_CASE("coverage: releases and climate, total and parts, CO2e without its set are errors",
          "[tables]") {
    const auto stating = [](const char* states) {
        return problems_of(
            Book{.own = fmt::format("  f: {{title: X, kind: other, per: 1 kg, {}}}\n", states)},
            {{"x", "f: 1 kg"}});
    };
    using Codes = std::vector<std::string>;
    CHECK(stating(
              "releases: {co2_fossil: 1 kg}, climate: {total: 1 kg, characterization: ar5_100}") ==
          Codes{"releases-and-climate"});
    CHECK(stating("climate: {total: 1 kg, land_use: 0 kg, characterization: ar5_100}") ==
          Codes{"total-and-parts"});
    CHECK(stating("climate: {total: 1 kg}") == Codes{"missing-characterization"});
}

TEST_CASE("coverage: land management is expected only when the rules list it", "[tables]") {
    const Answers silent = using_factor("other", full_climate);
    CHECK(silent.coverage("x", "climate") == complete);
    const std::string rules =
        "rules: {id: r, version: \"1\", indicators: [climate_land_management]}\n";
    const Answers asked = using_factor("other", full_climate, rules);
    CHECK(asked.coverage("x", "climate_land_management") == not_covered);
    CHECK(asked.coverage("x", "climate") == at_least);
    const Answers stated = using_factor(
        "other",
        "climate: {fossil: 1 kg, biogenic: 0 kg, land_use: 0 kg, land_management: 0.5 kg, "
        "characterization: ar5_100}",
        rules);
    CHECK(stated.coverage("x", "climate") == complete);
    CHECK_THAT(stated.of("x"), equals(1.5));
    // stated and not asked for, it counts all the same
    const Answers unasked = using_factor(
        "other",
        "climate: {fossil: 1 kg, biogenic: 0 kg, land_use: 0 kg, land_management: 0.5 kg, "
        "characterization: ar5_100}");
    CHECK(unasked.coverage("x", "climate") == complete);
    CHECK_THAT(unasked.of("x"), equals(1.5));
}

TEST_CASE("coverage: every burden counts, so that one gap among many makes it at least",
          "[tables]") {
    const Answers answers(
        {.own = fmt::format(
             "  full: {{title: X, kind: other, per: 1 kg, {}}}\n  empty: {{title: X, kind: "
             "other, per: 1 kg}}\n",
             full_climate)},
        {{"x", "full: 1 kg, empty: 1 kg"}});
    CHECK(answers.coverage("x", "climate") == at_least);
    CHECK(answers.of("x") == 1.0);
}

TEST_CASE("coverage: an indicator of a table's own has results where a factor states it",
          "[tables]") {
    // indicators are declared by the table; nothing in the engine is written for one of them
    const MemoryStudy study(
        {{"study.yaml",
          "study: s\ntitle: S\ncharacterization: c\nfactors: [c.yaml, f.yaml]\nmills: [m.yaml]\n"},
         {"c.yaml",
          "characterization: c\ntitle: C\nsource: {title: By definition, year: 2026}\ngases: "
          "{co2_fossil: 1 kg}\n"},
         {"f.yaml",
          "table: t\ntitle: T\nsource: {title: Invented, year: 2026}\nindicators: {dust: {title: "
          "Dust, unit: g}}\nfactors:\n  f: {title: X, kind: other, per: 1 kg, releases: "
          "{co2_fossil: 1 kg}, indicators: {dust: 3 mg}}\n"},
         {"m.yaml",
          "mill: m\ntitle: M\nprocesses: {p: {stage: energy, makes: {x: 1 piece}, uses: {f: 2 "
          "kg}}}\n"}});
    CHECK_THAT(study.result("x", "piece", "dust"), equals(0.006));
}
