// Loops, co-products, returns and basins: what is made against what is used.
#include <catch2/catch.hpp>

#include "check_study_files.h"

namespace {

using namespace deckle_test;
using Catch::Matchers::WithinAbs;
using deckle::Finding;

/// Converting makes its broke in place of returning it.
StudyFiles with_broke_made(const std::string& broke) {
    StudyFiles study;
    study
        .change("mill.yaml",
                "makes: {tissue: {amount: 0.95 t, dryness: 95 %, composition: sheet, amount_is: "
                "metered}}",
                "makes: {tissue: {amount: 0.95 t, dryness: 95 %, composition: sheet}, broke: "
                "{amount: " +
                    broke +
                    ", dryness: 95 %, composition: sheet}}\n    allocation: mass\n    reason: "
                    "tonne for tonne")
        .change("mill.yaml", "    returns: {broke: 0.05 t}\n", "");
    return study;
}

}  // namespace

TEST_CASE("worked example: engine steam is made 1.05 : 1 to power and used 0.776 : 1 (by hand)",
          "[analysis][check]") {
    // For a run of the machine: steam 0.25 x 1.9 x (0.95/0.42 - 1) = 0.59940476 GJ; power 0.2 x
    // (930 + 133 + 5 x 1.8471453) kWh = 214.44714 kWh = 0.77200972 GJ. 0.59940476 / 0.77200972 =
    // 0.7764; made 0.42 / 0.40. Runs for the steam make 0.59940476 x 0.40/0.42 = 0.57086168 GJ of
    // power, 26.1 % less than is used.
    const auto report = check_shipped("worked_example");
    for (const Finding& finding : report.findings) {
        if (finding.code != "co-product-use") continue;
        CHECK(has(finding.message,
                  "engine_steam is made 1.05 : 1 to engine_power and used 0.776 : 1"));
        CHECK_THAT(*finding.measured, WithinAbs(100.0 * (1.0 - 0.57086168 / 0.77200972), 1e-4));
        CHECK_FALSE(finding.above_limit());
        return;
    }
    FAIL("no finding co-product-use");
}

TEST_CASE("worked example: broke is made as it is used, so no loop is open (by hand)",
          "[analysis][check]") {
    // 0.05 t of broke for 1 t of sheet converted, 0.05 t used for 1 t of sheet made.
    for (const Finding& finding : check_shipped("worked_example").findings)
        CHECK(finding.code != "loop-not-closed");
}

TEST_CASE("co-product-use: an engine whose power nobody needs in that amount (by hand)",
          "[analysis][check]") {
    // A run of the machine uses 5 GJ of steam and 1020 kWh = 3.672 GJ of power, converting
    // included. Made 1 : 1, used 1.362 : 1. Share by energy: equal, so steam, first by name of
    // those with the largest, is not main: both have one half. Apart: (5 - 3.672) / 5 = 26.56 %.
    StudyFiles study;
    study
        .change("mill.yaml", "makes: {steam: {amount: 1 GJ, kind: heat}}\n    losses: 9.09 %\n",
                "makes: {power: {amount: 1 GJ, kind: electricity}, steam: {amount: 1 GJ, kind: "
                "heat}}\n    allocation: energy\n"
                "    reason: both are energy\n    losses: 9.09 %\n")
        .change("mill.yaml", "amount: 1.1 GJ LHV", "amount: 2.2 GJ LHV")
        .change("mill.yaml", "grid: {amount: 900 kWh,", "power: {amount: 900 kWh,")
        .change("mill.yaml", "grid: {amount: 120 kWh,", "power: {amount: 120 kWh,");
    const Finding found = study.only("co-product-use");
    CHECK_THAT(*found.measured, WithinAbs(100.0 * (5.0 - 3.672) / 5.0, 1e-9));
    CHECK(has(found.message, "power is made 1.00 : 1 to steam and used 0.734 : 1"));
}

TEST_CASE("co-products that leave the mill are sold and not judged", "[analysis][check]") {
    StudyFiles study;
    study
        .change("mill.yaml", "makes: {steam: {amount: 1 GJ, kind: heat}}\n    losses: 9.09 %\n",
                "makes: {steam: {amount: 1 GJ, kind: heat}, sold_heat: {amount: 0.5 GJ, "
                "kind: heat, amount_is: metered}}\n    allocation: energy\n"
                "    reason: both are heat\n    losses: 9.09 %\n")
        .change("mill.yaml", "amount: 1.1 GJ LHV", "amount: 1.65 GJ LHV");
    CHECK(study.check().findings.empty());
}

TEST_CASE("loop-not-closed: broke returned 0.08 t and used 0.05 t (by hand)", "[analysis][check]") {
    StudyFiles study;
    study.change("mill.yaml", "amount: 0.95 t", "amount: 0.92 t")
        .change("mill.yaml", "broke: 0.05 t}", "broke: 0.08 t}");
    const Finding found = study.only("loop-not-closed");
    CHECK_THAT(*found.measured, WithinAbs(37.5, 1e-9));
}

TEST_CASE("loop-not-closed: broke made 0.02 t and used 0.05 t (by hand)", "[analysis][check]") {
    // By mass: a tonne of tissue needs (1 + used)/0.97 runs, used = 0.05 x runs: runs = 1/0.92,
    // used = 0.05/0.92. Runs for the tissue alone, 1/0.95, make 0.02/0.95 of broke.
    const Finding found = with_broke_made("0.02 t").only("loop-not-closed");
    CHECK_THAT(*found.measured, WithinAbs(100.0 * (1.0 - (0.02 / 0.95) / (0.05 / 0.92)), 1e-9));
    CHECK(with_broke_made("0.05 t").findings("loop-not-closed").empty());
}

TEST_CASE("return-unused: broke that no process takes back", "[analysis][check]") {
    StudyFiles study;
    study.change("mill.yaml", "      broke: {amount: 0.05 t, dryness: 95 %, amount_is: metered}\n",
                 "");
    CHECK(has(study.only("return-unused").message, "small.converting returns broke"));
}

TEST_CASE("basin-receives-more: 9.00 m3 given for 8.80 m3 taken are 2.27 % more (by hand)",
          "[analysis][check]") {
    StudyFiles study;
    study.change("mill.yaml", "7.58 m3", "9.00 m3");
    const Finding found = study.only("basin-receives-more");
    CHECK_THAT(*found.measured, WithinAbs(100.0 * 0.2 / 8.8, 1e-9));
    CHECK(has(found.message, "valley"));
}

TEST_CASE("basin-receives-more: a basin from which nothing comes but zero", "[analysis][check]") {
    StudyFiles study;
    study.change("mill.yaml", "river: {amount: 8.80 m3,", "river: {amount: 0 m3,");
    CHECK(has(study.only("basin-receives-more").message, "gives 0 m3"));
}

TEST_CASE("mix-scaled: a scenario takes a fifth less of a mix and names no source that swings",
          "[analysis][check]") {
    StudyFiles study;
    study
        .change("mill.yaml", "      steam: {amount: 5.0 GJ, amount_is: metered}",
                "      mixed: {amount: 5.0 GJ, amount_is: metered}")
        .change("mill.yaml", "  machine:\n",
                "  spare_boiler:\n    stage: energy\n    makes: {spare: {amount: 1 GJ, kind: "
                "heat}}\n    uses: {gas: 1.1 GJ LHV}\n  header:\n    stage: energy\n    makes: "
                "{mixed: {amount: 5 GJ, kind: heat}}\n    uses: {steam: 3 GJ, spare: 2 GJ}\n  "
                "machine:\n")
        .after("study.yaml", "products: products.yaml", "scenarios: scenarios.yaml");
    const auto scenario = [&](const std::string& more) {
        study.file("scenarios.yaml",
                   "scenarios:\n  less: {title: Less heat, changes: [{set: "
                   "small.machine.uses.mixed, to: 4 GJ, reason: a trial}" +
                       more + "]}\n");
    };
    scenario("");
    const Finding found = study.only("mix-scaled");
    CHECK(has(found.message, "less: demand on mixed of small changes by -20"));
    CHECK(has(found.hint, "meet_change_of: mixed"));
    scenario(", {meet_change_of: mixed, with: spare, reason: the first boiler runs on}");
    CHECK(study.findings("mix-scaled").empty());
}
