// Electricity: upstream twice, voltage, hydro turbines, residual mixes, both views.
#include <catch2/catch.hpp>

#include "check_study_files.h"

namespace {

using namespace deckle_test;
using Catch::Matchers::WithinAbs;

constexpr const char* upstream =
    "  upstream: {title: Upstream of electricity, kind: fuel_supply, per: 1 kWh, climate: {fossil: "
    "0.03 kg, biogenic: 0 kg, "
    "land_use: 0 kg, characterization: ar6_100}, water: {withdrawn: 0 L, consumed: 0 L}}";

StudyFiles with_grid(const std::string& title, const std::string& keys = "") {
    StudyFiles study;
    study.change("factors.yaml",
                 "    title: Electricity used at medium voltage\n    kind: electricity\n",
                 "    title: " + title + "\n    kind: electricity\n" + keys);
    return study;
}

}  // namespace

TEST_CASE("electricity-upstream-twice: a life-cycle intensity that brings upstream along (trap 2)",
          "[analysis][check]") {
    StudyFiles twice =
        with_grid("Life-cycle intensity of electricity used", "    brings: {upstream: 1 kWh}\n");
    twice.after("factors.yaml", "factors:", upstream);
    CHECK(has(twice.only("electricity-upstream-twice").message, "brings plain.upstream"));
    StudyFiles once =
        with_grid("Electricity used at medium voltage, direct", "    brings: {upstream: 1 kWh}\n");
    once.after("factors.yaml", "factors:", upstream);
    CHECK(once.findings("electricity-upstream-twice").empty());
}

TEST_CASE("electricity-upstream-twice: a supply for each kWh typed beside it",
          "[analysis][check]") {
    StudyFiles study = with_grid("Life-cycle intensity of electricity used");
    study.after("factors.yaml", "factors:", upstream)
        .after("mill.yaml", "      sheet: 1 t",
               "      upstream: {amount: 120 kWh, amount_is: metered}");
    CHECK(has(study.only("electricity-upstream-twice").message, "small.converting"));
}

TEST_CASE(
    "grid-withdrawal: Austria's 14 147.6 L/kWh count hydro turbines (trap 14, WRI guidance 2020)",
    "[analysis][check]") {
    StudyFiles study;
    study.change("factors.yaml",
                 "fossil: 0.3 kg, biogenic: 0 kg, land_use: 0 kg, characterization: ar6_100}\n    "
                 "water: {withdrawn: 5 L,",
                 "fossil: 0.3 kg, biogenic: 0 kg, land_use: 0 kg, characterization: ar6_100}\n    "
                 "water: {withdrawn: 14147.6 L,");
    const auto found = study.only("grid-withdrawal");
    CHECK_THAT(*found.measured, WithinAbs(14147.6, 1e-6));
    CHECK(found.unit == "L/kWh");
}

TEST_CASE(
    "grid-voltage: a mill does not buy at low voltage (trap 24, EU27 2019: 295, 298, 308 g/kWh)",
    "[analysis][check]") {
    CHECK(has(with_grid("Electricity used at low voltage").only("grid-voltage").message,
              "low voltage"));
    CHECK(with_grid("Electricity used at high voltage").findings("grid-voltage").empty());
}

TEST_CASE(
    "grid-voltage: what is produced lacks trade and losses (trap 24, Austria 2019: 153 and 240 "
    "g/kWh)",
    "[analysis][check]") {
    CHECK(has(with_grid("Electricity produced, net").only("grid-voltage").message, "as generated"));
    StudyFiles with_losses =
        with_grid("Electricity produced, net", "    brings: {upstream: 1 kWh}\n");
    with_losses.after("factors.yaml", "factors:", upstream);
    CHECK(with_losses.findings("grid-voltage").empty());
}

TEST_CASE("grid-voltage: power of a direct line has no grid between", "[analysis][check]") {
    StudyFiles study;
    study
        .after("factors.yaml", "factors:",
               "  sun: {title: \"Solar power, generation\", kind: electricity, per: 1 kWh, "
               "climate: {fossil: 0.02 kg, biogenic: 0 kg, land_use: 0 kg, "
               "characterization: ar6_100}, water: {withdrawn: 0 L, consumed: 0 L}}")
        .after("mill.yaml", "      sheet: 1 t",
               "      sun: {amount: 10 kWh, amount_is: metered, supply: {direct_line: {plant: a "
               "field beside the mill}}}");
    CHECK(study.check().findings.empty());
}

TEST_CASE("residual-mix-source: no table is cited (trap 15, Italy 2024: 332 and 441 g/kWh)",
          "[analysis][check]") {
    StudyFiles study;
    study.after("factors.yaml",
                "    title: Electricity that no certificate claims, used at medium voltage",
                "    source: {title: A summary, publisher: Somebody, year: 2024, edition: \"2\"}");
    CHECK(has(study.only("residual-mix-source").message, "names no table"));
}

TEST_CASE("source-undated: neither edition nor day (trap 1, Germany 2023: 371, 365 and 363 g/kWh)",
          "[analysis][check]") {
    const std::string source =
        "    source: {title: Intensities, publisher: Somebody, year: 2024, table: \"2\"";
    CHECK(has(with_grid("Electricity used", source + "}\n").only("source-undated").message,
              "plain.grid"));
    CHECK(with_grid("Electricity used", source + ", retrieved: 2026-04-29}\n")
              .findings("source-undated")
              .empty());
}

TEST_CASE("one-electricity-view: the study names no grid", "[analysis][check]") {
    StudyFiles study;
    study.change("study.yaml", "grids: {grid: {location: grid, residual: residual_mix}}\n", "");
    CHECK(has(study.only("one-electricity-view").message, "plain.grid"));
}

TEST_CASE("contract-without-certificate: found while loading, told by check", "[analysis][check]") {
    StudyFiles study;
    study.change("mill.yaml", "grid: {amount: 120 kWh,",
                 "grid: {amount: 120 kWh, supply: {contract: {grid: grid}},");
    CHECK(has(study.only("contract-without-certificate").message, "counts as residual mix"));
}
