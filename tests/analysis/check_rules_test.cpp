// Exemptions, allocation, limits, periods, coverage, scarcity, and how amounts are known.
#include <catch2/catch.hpp>

#include "check_study_files.h"

namespace {

using namespace deckle_test;
using Catch::Matchers::WithinAbs;
using deckle::Finding;

StudyFiles with_study(const std::string& keys) {
    StudyFiles study;
    study.after("study.yaml", "electricity: location", keys);
    return study;
}

const std::string two_exemptions =
    "exempted:\n  - {what: Machines, why: Used for decades, highest_plausible: 2 %}\n"
    "  - {what: Offices, why: No part of making tissue, highest_plausible: ";

/// Converting shares its burdens between tissue and broke.
StudyFiles with_allocation(const std::string& keys) {
    StudyFiles study;
    study
        .change("mill.yaml",
                "makes: {tissue: {amount: 0.95 t, dryness: 95 %, composition: sheet, amount_is: "
                "metered}}",
                "makes: {tissue: {amount: 0.95 t, dryness: 95 %, composition: sheet}, broke: "
                "{amount: 0.05 t, dryness: 95 %, composition: sheet}}\n"
                "    allocation: mass" +
                    keys)
        .change("mill.yaml", "    returns: {broke: 0.05 t}\n", "");
    return study;
}

/// Scarcity of the river by a set of two regions and a part of one.
StudyFiles with_scarcity(const std::string& region, const std::string& use = "") {
    StudyFiles study;
    study
        .file("scarcity.yaml",
              "scarcity: places\ntitle: Scarcity of three places\nmodel: Of this test\nversion: "
              "\"1\"\n"
              "source: {title: Of this test, publisher: Press of the small study, year: 2025}\n"
              "regions:\n  north: {non_agricultural: 2.31, agricultural: 3.2}\n  united_states: "
              "{non_agricultural: 11.3}\n"
              "  us_arizona: {non_agricultural: 99.4}\n")
        .change("study.yaml", "factors: [climate.yaml, factors.yaml]",
                "scarcity: places\nfactors: [climate.yaml, factors.yaml, scarcity.yaml]")
        .change("mill.yaml", "region: north}",
                "region: " + region + (use.empty() ? "" : ", use: " + use) + "}");
    return study;
}

}  // namespace

TEST_CASE("output-above-made: rolls of 210 000 t from a mill of 30 000 t", "[analysis][check]") {
    // The mill of the study, a year of it: 30 000 t of sheet, of which 28 500 t of tissue.
    StudyFiles study;
    study.file("mill.yaml",
               "mill: small\ntitle: A small mill (invented)\nprocesses:\n  machine:\n    stage: "
               "papermaking\n    makes: {tissue: {amount: 30_000 t, dryness: 95 %}}\n    uses: "
               "{pulp: 31_700 ADt}\n");
    // 200 sheets of 2 x 16 g/m2, 125 mm x 98 mm: 78.4 g of tissue a roll.
    study.change("study.yaml", "1e6 roll", "382e6 roll");
    CHECK(study.findings("output-above-made").empty());  // 29 949 t
    study.change("study.yaml", "382e6 roll", "2678e6 roll");
    const deckle::Finding found = study.only("output-above-made");
    CHECK_THAT(*found.measured, Catch::Matchers::WithinAbs(100.0 * (209955.2 / 30000 - 1.0), 0.01));
}

TEST_CASE("packaging-unstated: a roll sold in nothing", "[analysis][check]") {
    StudyFiles study;
    study.change("products.yaml", "    packed:\n      pack: {rolls: 8, uses: {film: 14 g}}\n", "");
    CHECK(has(study.only("packaging-unstated").message, "bath"));
}

TEST_CASE("exemptions-above-cut-off: 2 and 1.5 % against 3 % (by hand)", "[analysis][check]") {
    const std::string rules = "rules: {id: own, version: \"1\", cut_off: 3 %}\n";
    const Finding found =
        with_study(rules + two_exemptions + "1.5 %}").only("exemptions-above-cut-off");
    CHECK_THAT(*found.measured, WithinAbs(3.5, 1e-12));
    CHECK(with_study(rules + two_exemptions + "0.9 %}").check().findings.empty());
}

TEST_CASE(
    "exemptions-above-cut-off: kg CO2e for a tonne against the least tonne of the study (by hand)",
    "[analysis][check]") {
    // 20 kg of 1180.73458 kg CO2e/t and 2 %.
    const std::string rules = "rules: {id: own, version: \"1\", cut_off: 3 %}\n";
    const Finding found =
        with_study(rules + two_exemptions + "20 kg CO2e/t}").only("exemptions-above-cut-off");
    CHECK_THAT(*found.measured, WithinAbs(2.0 + 100.0 * 20.0 / 1180.73458, 1e-4));
}

TEST_CASE("exemption-without-rules: nothing says how much may be left out", "[analysis][check]") {
    CHECK(
        has(with_study(two_exemptions + "1 %}").only("exemption-without-rules").message, "3.00 %"));
}

TEST_CASE("exemption-not-added-up: CO2e per something that no product has results per",
          "[analysis][check]") {
    const std::string rules = "rules: {id: own, version: \"1\", cut_off: 3 %}\n";
    const StudyFiles study = with_study(rules + two_exemptions + "1 kg CO2e/GJ}");
    CHECK(has(study.only("exemption-not-added-up").message, "cannot be added up"));
    CHECK(study.findings("exemption-without-rules").empty());
}

TEST_CASE("allocation-without-reason", "[analysis][check]") {
    CHECK(has(with_allocation("").only("allocation-without-reason").message,
              "small.converting shares its burdens by mass"));
    CHECK(with_allocation("\n    reason: tonne for tonne")
              .findings("allocation-without-reason")
              .empty());
}

TEST_CASE("allocation-outside-rules: mass where the rules list energy and price",
          "[analysis][check]") {
    StudyFiles study = with_allocation("\n    reason: tonne for tonne");
    study.after("study.yaml", "electricity: location",
                "rules: {id: own, version: \"1\", allocation_order: [energy, price]}");
    CHECK(has(study.only("allocation-outside-rules").message, "mass, which own does not list"));
}

TEST_CASE("indicator-not-covered: the rules ask for energy, and no factor states it",
          "[analysis][check]") {
    const Finding found =
        with_study(
            "rules: {id: own, version: \"1\", indicators: [climate, fibre, energy_renewable]}")
            .only("indicator-not-covered");
    CHECK(has(found.message, "energy_renewable, not covered"));
}

TEST_CASE("period-differs: a mill metered in another year", "[analysis][check]") {
    StudyFiles study;
    study.change("mill.yaml", "period: 2025-01-01 .. 2025-12-31",
                 "period: 2024-01-01 .. 2024-12-31");
    CHECK(has(study.only("period-differs").message, "2024-01-01"));
}

TEST_CASE("limits that no finding can meet are refused, all at once", "[analysis][check]") {
    const auto problems = with_study(
                              "rules: {id: own, version: \"1\", limits: {balance_watr: 2 %, "
                              "balance_energy: 3 kWh, heating_values: 120 kg, return_unused: 2 %, "
                              "balance_water: 2 %, factor_outdated: 2 year}}")
                              .refused_limits();
    REQUIRE(problems.size() == 4);
    for (const deckle::Problem& one : problems) CHECK(one.where.known());
    CHECK(problems[0].code == "unknown-key");
    CHECK(has(problems[0].message, "balance_watr"));
    CHECK(problems[0].hint == "did you mean balance_water?");
    CHECK(problems[1].code == "wrong-unit");
    CHECK(has(problems[1].message, "3 kWh is not in %"));
    CHECK(has(problems[2].message, "120 kg is not in a plain number"));
    CHECK(problems[3].code == "unknown-key");  // a finding that measures nothing
    CHECK(has(problems[3].message, "return_unused"));
    CHECK(with_study("rules: {id: own, version: \"1\", limits: {balance_water: 2 %}}")
              .refused_limits()
              .empty());
}

TEST_CASE("scarcity-annual: an annual account says that it does not see the season (trap 13)",
          "[analysis][check]") {
    CHECK(has(with_scarcity("north").only("scarcity-annual").message, "places"));
    CHECK(has(with_scarcity("north").only("scarcity-annual").message, "an annual account"));
    StudyFiles month = with_scarcity("north");
    month.change("study.yaml", "2025-01-01 .. 2025-12-31", "2025-06-01 .. 2025-06-30");
    CHECK(has(month.only("scarcity-annual").message, "less than a year must not use them"));
    CHECK(StudyFiles().findings("scarcity-annual").empty());
}

TEST_CASE("scarcity-use: a mill's use is no agriculture (trap 11, United States 33.7 and 11.3)",
          "[analysis][check]") {
    CHECK(has(with_scarcity("north", "agricultural").only("scarcity-use").message,
              "small.waters.river"));
    CHECK(with_scarcity("north", "non_agricultural").findings("scarcity-use").empty());
}

TEST_CASE(
    "scarcity-region: a whole country where its parts are known (trap 12, United States 11.3, "
    "Arizona 99.4)",
    "[analysis][check]") {
    CHECK(has(with_scarcity("united_states").only("scarcity-region").message, "united_states"));
    CHECK(with_scarcity("us_arizona").findings("scarcity-region").empty());
}

TEST_CASE("scarcity-out-of-bounds: AWARE cuts its factors off at 0.1 and 100 (WULCA)",
          "[analysis][check]") {
    const auto aware = [](const char* factor) {
        return with_scarcity("us_arizona")
            .change("scarcity.yaml", "Of this test\nversion", "AWARE\nversion")
            .change("scarcity.yaml", "99.4", factor);
    };
    CHECK(has(aware("100.5").only("scarcity-out-of-bounds").message, "us_arizona"));
    CHECK(has(aware("0.09").only("scarcity-out-of-bounds").message, "0.09"));
    CHECK(aware("100").findings("scarcity-out-of-bounds").empty());
    CHECK(aware("0.1").findings("scarcity-out-of-bounds").empty());
    CHECK(with_scarcity("us_arizona")  // another model has bounds of its own
              .change("scarcity.yaml", "99.4", "250")
              .findings("scarcity-out-of-bounds")
              .empty());
}

TEST_CASE("amount-unstated: 120 kWh of converting move climate by 3.2 % (by hand)",
          "[analysis][check]") {
    // 120 x 0.3 / 0.95 of 1180.73458 kg CO2e/t.
    StudyFiles study;
    study.change("mill.yaml", "grid: {amount: 120 kWh, amount_is: metered}", "grid: 120 kWh");
    const Finding found = study.only("amount-unstated");
    CHECK_THAT(*found.measured, WithinAbs(100.0 * 37.894737 / 1180.73458, 1e-4));
    CHECK(has(found.message, "1 of"));
    CHECK(has(found.message, "small.converting.uses.grid"));
}

TEST_CASE("amount-estimated: the same amount, estimated", "[analysis][check]") {
    StudyFiles study;
    study.change("mill.yaml", "grid: {amount: 120 kWh, amount_is: metered}",
                 "grid: {amount: 120 kWh, amount_is: estimated}");
    CHECK_THAT(*study.only("amount-estimated").measured,
               WithinAbs(100.0 * 37.894737 / 1180.73458, 1e-4));
}
