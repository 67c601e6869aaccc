// Findings that scenarios and rules of allocation bring up.
#include <catch2/catch.hpp>

#include "check_study_files.h"

namespace {

using namespace deckle_test;
using deckle::Finding;

/// The boiler's steam and steam bought from a neighbour, mixed in a header.
StudyFiles with_header() {
    StudyFiles study;
    study
        .after("factors.yaml", "factors:", R"(  neighbour_heat:
    title: Steam of a neighbour
    kind: heat
    per: 1 GJ
    climate: {fossil: 70 kg, biogenic: 0 kg, land_use: 0 kg, characterization: ar6_100}
    water: {withdrawn: 0 L, consumed: 0 L}
)")
        .change("mill.yaml", "makes: {steam: {amount: 1 GJ, kind: heat}}",
                "makes: {boiler_steam: {amount: 1 GJ, kind: heat}}")
        .change("mill.yaml", "  machine:\n", R"(  header:
    stage: energy
    makes: {steam: {amount: 5 GJ, kind: heat}}
    uses: {boiler_steam: 4 GJ, neighbour_heat: 1 GJ}
  machine:
)")
        .after("study.yaml", "electricity: location", "scenarios: [scenarios.yaml]");
    return study;
}

}  // namespace

TEST_CASE("a scenario that takes 10 % of the demand off a mix scales it as a whole, and says so",
          "[analysis][check]") {
    const std::string less_steam =
        "scenarios:\n  drier: {title: Drier, changes: [{scale: small.machine.uses.steam, by: 90 %, "
        "reason: a drier sheet}";
    StudyFiles study = with_header();
    study.file("scenarios.yaml", less_steam + "]}\n");
    const Finding finding = study.only("mix-scaled");
    CHECK(has(finding.message, "demand on steam of small changes by -10.0 %"));
    study.file("scenarios.yaml", less_steam +
                                     ", {meet_change_of: steam, with: boiler_steam, "
                                     "reason: the neighbour's share is contracted}]}\n");
    CHECK(study.findings("mix-scaled").empty());
}

TEST_CASE("a price changes and the marginal one beside it does not", "[analysis][check]") {
    StudyFiles study;
    study.after("study.yaml", "electricity: location",
                "prices: prices.yaml\nscenarios: [scenarios.yaml]");
    study.file("prices.yaml",
               "prices: list\ntitle: Prices\nsource: {title: Prices, year: 2025}\n"
               "gas: 10 EUR_2025/GJ LHV\nmarginal: {plain.gas: 8 EUR_2025/GJ LHV}\n");
    study.file("scenarios.yaml",
               "scenarios:\n  s: {title: Dear gas, changes: [{scale: list.gas, by: 150 %, reason: "
               "r}]}\n");
    CHECK(has(study.only("marginal-price-kept").hint, "list.marginal.plain.gas"));
}

TEST_CASE("balances are drawn up of the mills of scenarios, where they close less than today's",
          "[analysis][check]") {
    const auto with = [](const std::string& changes) {
        StudyFiles study;
        study.after("study.yaml", "electricity: location", "scenarios: [scenarios.yaml]");
        study.file("scenarios.yaml",
                   "scenarios:\n  s: {title: Less gas, changes: [" + changes + "]}\n");
        return study;
    };
    // a GJ of steam of 0.8 GJ of gas: 25 % more than comes in
    const Finding above =
        with("{set: small.boiler.uses.gas, to: 0.8 GJ LHV, reason: r}").only("energy-above-input");
    CHECK(has(above.message, "in scenario s: small.boiler"));
    CHECK(has(above.message, "25.0 % more than comes in"));
    // of 1.25 GJ: 20 % are lost, and 9.09 % stated
    const std::string more = "{set: small.boiler.uses.gas, to: 1.25 GJ LHV, reason: r}";
    CHECK(has(with(more).only("balance-energy").message, "losses of 20.0 %, stated are 9.09 %"));
    CHECK(with(more + ", {set: small.boiler.losses, to: 20 %, reason: r}")
              .findings("balance-energy")
              .empty());
}

TEST_CASE("allocation: value_ratio says which path it took", "[analysis][check]") {
    // 1 t of sheet at 1000 EUR and 0.05 t of trim at 100 EUR/t are worth 1000 and 5: 200 times, and
    // so shared by price; at 30 000 EUR/t of trim the ratio is 1.5, and mass shares.
    const auto study = [](const std::string& price) {
        StudyFiles files;
        files.change("mill.yaml", "      sheet:\n        amount: 1 t\n",
                     "      trim: {amount: 0.05 t, kind: sheet, dryness: 95 %, price: " + price +
                         "}\n      sheet:\n        amount: 1 t\n        price: 1000 EUR_2025/t\n");
        files.change("mill.yaml", "    uses:\n      pulp:",
                     "    allocation: value_ratio\n    reason: the rule\n    uses:\n      pulp:");
        return files.only("allocation-path").message;
    };
    CHECK(has(study("100 EUR_2025/t"),
              "is 200 times the lowest, above 5, so burdens are shared by "
              "price"));
    CHECK(has(study("30_000 EUR_2025/t"),
              "is 1.50 times the lowest, not above 5, so burdens are shared by mass"));
}

TEST_CASE("the rules of a scenario are held against what is left out, shared and covered",
          "[analysis][check]") {
    StudyFiles study;
    study.after("study.yaml", "electricity: location",
                "rules: {id: own, version: \"1\", cut_off: 3 %, indicators: [climate]}\n"
                "exempted: [{what: Buildings, why: By the rules., highest_plausible: 2 %}]\n"
                "scenarios: [scenarios.yaml]");
    study.file(
        "scenarios.yaml",
        "scenarios:\n"
        "  theirs: {title: A customer's rules, changes: [{rule: rules, is: {id: theirs, "
        "version: '2', cut_off: 1 %, indicators: [climate, energy_renewable]}, reason: r}]}\n"
        "  after: {title: On theirs, on: theirs}\n");
    CHECK(has(study.only("exemptions-above-cut-off").message,
              "in scenario theirs: what is left out adds up to 2.00 % of climate at most, theirs "
              "allows 1.00 %"));
    CHECK(has(study.only("indicator-not-covered").message,
              "in scenario theirs: theirs asks for energy_renewable"));
}
