// Sources, age and doubtful figures of the factors that a study uses. Shares are of climate: a
// tonne of tissue carries (450 x 1.0139 + 5 x 1.1 x 56.1 + 1020 x 0.3)/0.95 = 1127.1632 kg CO2e, of
// which pulp 480.26842, gas 324.78947 and grid 322.10526, and film 1000 x 4.2/78.4 = 53.571429:
// 1180.7346 in all.
#include <catch2/catch.hpp>

#include "check_study_files.h"

namespace {

using namespace deckle_test;
using Catch::Matchers::WithinAbs;
using deckle::Finding;

constexpr double all_kg = 1180.73458;
constexpr double pulp_percent = 100.0 * 480.26842 / all_kg;
constexpr double film_percent = 100.0 * 53.571429 / all_kg;
constexpr double grid_percent = 100.0 * 322.10526 / all_kg;

StudyFiles with_pulp(const std::string& keys) {
    StudyFiles study;
    study.after("factors.yaml", "    fibre: 0.9 t", keys);
    return study;
}

StudyFiles with_film(const std::string& keys) {
    StudyFiles study;
    study.after("factors.yaml", "    kind: packaging", keys);
    return study;
}

}  // namespace

TEST_CASE("factor-unconfirmed: its share of climate (by hand)", "[analysis][check]") {
    const Finding found =
        with_pulp("    confirmed: false\n    note: from memory").only("factor-unconfirmed");
    CHECK_THAT(*found.measured, WithinAbs(pulp_percent, 1e-4));
    CHECK(has(found.message, "plain.pulp"));
}

TEST_CASE("rating-contradicted: a time of 1 for data of 2015, where products are disclosed",
          "[analysis][check]") {
    StudyFiles study =
        with_pulp("    data_quality: {time: 1}\n    reference_period: 2015-01-01 .. 2015-12-31");
    CHECK(study.findings("rating-contradicted").empty());
    study.after("study.yaml", "electricity: location",
                "disclosure: {created: 2026-01-01, company: A, company_ids: [\"urn:company:a:1\"], "
                "standards: "
                "[X], country: AT, products: {bath: {ids: [\"urn:gtin:04012345000016\"]}}}");
    const Finding found = study.only("rating-contradicted");
    CHECK(has(found.message, "time 1"));  // over four years: 5, by the matrix of the guide
    CHECK_THAT(*found.measured, WithinAbs(pulp_percent, 1e-4));
}

TEST_CASE("scores-unconfirmed: the set that a study names for its spreads", "[analysis][check]") {
    const std::string set =
        "data_quality_spread: panel\ntitle: Panel\nsource: Invented\nnumbers: variances\nbasic: "
        "{other: 0.0006}\nscores: {time: [0, 0.0002, 0.002, 0.008, 0.04]}\n";
    StudyFiles study;
    study.change("study.yaml", "factors.yaml]", "factors.yaml, panel.yaml]")
        .after("study.yaml", "electricity: location", "data_quality_spread: panel")
        .file("panel.yaml", set);
    CHECK(study.findings("scores-unconfirmed").empty());
    study.file("panel.yaml", set + "confirmed: no\nnote: from memory\n");
    CHECK(has(study.only("scores-unconfirmed").message, "panel"));
}

TEST_CASE("factor-outdated: data of 2018 in a study of 2025 are six years old (by hand)",
          "[analysis][check]") {
    const Finding found =
        with_pulp("    reference_period: 2018-01-01 .. 2018-12-31").only("factor-outdated");
    CHECK_THAT(*found.measured, WithinAbs(6.0, 1e-6));
    CHECK(found.unit == "year");
    CHECK_THAT(*with_pulp("    reference_period: 2016 .. 2018").only("factor-outdated").measured,
               WithinAbs(6.0, 1e-6));
    CHECK(with_pulp("    reference_period: 2021-01-01 .. 2021-12-31")
              .findings("factor-outdated")
              .empty());
}

TEST_CASE("factor-outdated: the rules may ask for younger data than the usual four years",
          "[analysis][check]") {
    StudyFiles study = with_pulp("    reference_period: 2021-01-01 .. 2021-12-31");
    study.after("study.yaml", "electricity: location",
                "rules: {id: own, version: \"1\", limits: {factor_outdated: 2 year}}");
    CHECK(study.only("factor-outdated").above_limit());
}

TEST_CASE("factor-expired: valid to the end of 2023, the study begins in 2025",
          "[analysis][check]") {
    CHECK_THAT(*with_pulp("    valid: 2020-01-01 .. 2023-12-31").only("factor-expired").measured,
               WithinAbs(pulp_percent, 1e-4));
    CHECK(with_pulp("    valid: 2024-01-01 .. 2025-06-30").findings("factor-expired").empty());
}

TEST_CASE("factor-invented: its share of climate (by hand)", "[analysis][check]") {
    const Finding found = with_film("    source: {title: Invented for this test, year: 2026}")
                              .only("factor-invented");
    CHECK_THAT(*found.measured, WithinAbs(film_percent, 1e-4));
}

TEST_CASE("factor-doubtful: a score of 4 of 5", "[analysis][check]") {
    CHECK_THAT(
        *with_pulp("    data_quality: {technology: 4, time: 2}").only("factor-doubtful").measured,
        WithinAbs(pulp_percent, 1e-4));
    CHECK(with_pulp("    data_quality: {technology: 3, time: 2}")
              .findings("factor-doubtful")
              .empty());
}

TEST_CASE("source-thin: neither publisher nor address", "[analysis][check]") {
    CHECK_THAT(
        *with_film("    source: {title: A leaflet, year: 2020}").only("source-thin").measured,
        WithinAbs(film_percent, 1e-4));
}

TEST_CASE(
    "source-without-table: an act without the place in it (trap 21: 9.7 and 12.7 g/MJ in one act)",
    "[analysis][check]") {
    const std::string act =
        "    source: {title: Delegated Regulation (EU) 2023/1185, publisher: European Union, year: "
        "2023";
    CHECK(has(with_film(act + "}").only("source-without-table").message, "plain.film"));
    CHECK(with_film(act + ", table: part B}").findings("source-without-table").empty());
}

TEST_CASE("gwp-sets-mixed: the share that rests on another set (by hand)", "[analysis][check]") {
    StudyFiles study;
    study.change(
        "factors.yaml",
        "climate: {fossil: 0.3 kg, biogenic: 0 kg, land_use: 0 kg, characterization: ar6_100}",
        "climate: {fossil: 0.3 kg, biogenic: 0 kg, land_use: 0 kg, characterization: ar4_100}");
    const Finding found = study.only("gwp-sets-mixed");
    CHECK_THAT(*found.measured, WithinAbs(grid_percent, 1e-4));
    CHECK(has(found.message, "ar4_100 in place of ar6_100"));
    CHECK_FALSE(has(found.hint, "did you mean"));
}

TEST_CASE("gwp-sets-mixed: a set that lacks a letter of one that is there", "[analysis][check]") {
    const std::string zero = "land_use: 0 kg, characterization: ";
    const auto hint = [&](const std::string& set) {
        StudyFiles study;
        study.change("factors.yaml",
                     "climate: {fossil: 0.3 kg, biogenic: 0 kg, " + zero + "ar6_100",
                     "climate: {fossil: 0.3 kg, biogenic: 0 kg, " + zero + set);
        return study.only("gwp-sets-mixed").hint;
    };
    for (const std::string set : {"ar6_10", "r6_100", "ar6_1000", "ar66_100"})
        CHECK(has(hint(set), "did you mean ar6_100?"));
    for (const std::string set : {"ar5_100", "ar6_20", "ar6_500"})
        CHECK_FALSE(has(hint(set), "did you mean"));
}

TEST_CASE(
    "fuel-carbon: residual fuel oil with the 74.1 of gas oil (trap 3, IPCC 2006 default 77.4)",
    "[analysis][check]") {
    const auto oil = [](const std::string& carbon) {
        StudyFiles study;
        study
            .change("factors.yaml", "title: Natural gas, burned",
                    "title: \"Residual fuel oil, burned\"")
            .change("factors.yaml", "co2_fossil: 56.1 kg", "co2_fossil: " + carbon);
        return study;
    };
    CHECK_THAT(*oil("74.1 kg").only("fuel-carbon").measured, WithinAbs(74.1, 1e-9));
    CHECK(oil("77.4 kg").findings("fuel-carbon").empty());
}

TEST_CASE("heating-values: the higher far above the lower (by hand)", "[analysis][check]") {
    StudyFiles study;
    study.change("factors.yaml", "HHV: 40.0 MJ/Nm3", "HHV: 54.0 MJ/Nm3");
    CHECK_THAT(*study.only("heating-values").measured, WithinAbs(54.0 / 36.0, 1e-9));
}

TEST_CASE("factor-implausible: film at 2400 kg CO2e a kilogram (by hand)", "[analysis][check]") {
    StudyFiles study;
    study.change("factors.yaml", "fossil: 2.4 kg", "fossil: 2400 kg");
    CHECK_THAT(*study.only("factor-implausible").measured, WithinAbs(2400.0, 1e-9));
}

TEST_CASE("freight-methane: 15 g per short ton-mile are 10.3 g per t km (trap 3)",
          "[analysis][check]") {
    // 0.907185 t x 1.609344 km (NIST Special Publication 811, appendix B.8)
    const auto road = [](const std::string& methane, const std::string& per = "1 t km") {
        StudyFiles study;
        study.change(
            "factors.yaml",
            "    per: 1 t km\n    climate: {fossil: 0.08 kg, biogenic: 0 kg, land_use: 0 "
            "kg, characterization: ar6_100}",
            "    per: " + per + "\n    releases: {co2_fossil: 80 g, ch4_fossil: " + methane + "}");
        study.change("mill.yaml", "pulp: {amount: 1.0139 ADt,",
                     "pulp: {amount: 1.0139 ADt, freight: [{by: truck, distance: 100 km}],");
        return study;
    };
    CHECK(has(road("15 g", "1.459972 t km").only("freight-methane").message, "10.3 g"));
    CHECK(road("0.0017 g").findings("freight-methane").empty());
}

TEST_CASE("factor-implausible: pulp is weighed dry, 45 000 kg for 900 kg are 50 (by hand)",
          "[analysis][check]") {
    StudyFiles study;
    study.change("factors.yaml", "fossil: 450 kg", "fossil: 45000 kg");
    CHECK_THAT(*study.only("factor-implausible").measured, WithinAbs(50.0, 1e-9));
}

TEST_CASE(
    "total-ignores-set: 529.7 g for NaOH close with CH4 25 and N2O 298 only ((EU) 2022/996, Annex "
    "IX)",
    "[analysis][check]") {
    // 485.5 + 1.45 x 25 + 0.0271 x 298 = 529.83; with 28 and 265: 533.28.
    const auto soda = [](const std::string& set) {
        StudyFiles study;
        study
            .after("factors.yaml", "factors:",
                   "  soda: {title: Sodium hydroxide, kind: chemical, per: 1 kg dry, climate: "
                   "{total: 529.7 g, characterization: " +
                       set +
                       "}, source: {title: Implementing Regulation (EU) 2022/996, table: Annex IX, "
                       "publisher: European Union, year: 2022}}")
            .after("mill.yaml", "      pulp: {amount: 1.0139 ADt, amount_is: metered}",
                   "      soda: {amount: 0.1 kg dry, amount_is: metered}");
        return study;
    };
    CHECK(has(soda("ar5_100").only("total-ignores-set").message, "not on ar5_100"));
    CHECK(soda("ar4_100").findings("total-ignores-set").empty());
}

TEST_CASE("air-dry-paper: a sheet counted in air-dry tonnes (90 % for pulp, 94 % for paper)",
          "[analysis][check]") {
    StudyFiles study;
    study.change("mill.yaml", "amount: 1 t\n        dryness: 95 %",
                 "amount: 1.0556 ADt\n        dryness: 95 %");
    CHECK(has(study.only("air-dry-paper").message, "small.machine.makes.sheet"));
}

TEST_CASE("stack-twice: carbon dioxide of the stack beside that of the fuel", "[analysis][check]") {
    StudyFiles study;
    study.after("mill.yaml", "    losses: 9.09 %", "    releases: {co2_fossil: 61.7 kg}");
    CHECK(has(study.only("stack-twice").message, "small.boiler"));
}

TEST_CASE("supply-twice: the factor of a water taken in is used too", "[analysis][check]") {
    const auto town = [](const std::string& use) {
        StudyFiles study;
        study
            .after("factors.yaml", "factors:",
                   "  works_water: {title: Water of a works, kind: water_supply, per: 1 m3, "
                   "releases: {co2_fossil: 0.3 kg}}\n"
                   "  other_water: {title: Water of another, kind: water_supply, per: 1 m3, "
                   "releases: {co2_fossil: 0.3 kg}}")
            .after("mill.yaml", "waters:", "  works: {from: supply, factor: works_water}")
            .after("mill.yaml", "    losses: 9.09 %", "    takes_in: {works: 5 m3}")
            .after("mill.yaml", "gas: {amount: 1.1 GJ LHV, amount_is: metered}", use);
        return study;
    };
    CHECK(has(town("      works_water: 5 m3").only("supply-twice").message, "small.boiler"));
    CHECK(town("      other_water: 5 m3").findings("supply-twice").empty());
}

TEST_CASE("freight-twice: freight typed for a pulp that is delivered", "[analysis][check]") {
    const auto pulp = [](const std::string& title) {
        StudyFiles study;
        study.change("factors.yaml", "Bleached pulp at the pulp mill's gate", title)
            .change("mill.yaml", "pulp: {amount: 1.0139 ADt,",
                    "pulp: {amount: 1.0139 ADt, freight: [{by: truck, distance: 100 km}],");
        return study;
    };
    CHECK(has(pulp("Bleached pulp delivered to a northern port").only("freight-twice").message,
              "small.machine"));
    CHECK(pulp("Bleached pulp at the pulp mill's gate").findings("freight-twice").empty());
    CHECK(pulp("Pulp as delivered at ninety per cent").findings("freight-twice").empty());
}

TEST_CASE("supplier-deprecated and supplier-second-edition: what a footprint says of itself",
          "[analysis][check]") {
    CHECK_THAT(*with_pulp("    supplier_footprint: {edition: 3.0.3, status: deprecated}")
                    .only("supplier-deprecated")
                    .measured,
               WithinAbs(pulp_percent, 1e-4));
    CHECK(with_pulp("    supplier_footprint: {edition: 3.0.3, status: active}")
              .findings("supplier-deprecated")
              .empty());
    const Finding second =
        with_pulp("    supplier_footprint: {edition: 2.2.0, not_carried: its ratings}")
            .only("supplier-second-edition");
    CHECK_THAT(*second.measured, WithinAbs(pulp_percent, 1e-4));
    CHECK(has(second.message, "its ratings"));
    CHECK(has(with_pulp("    supplier_footprint: {edition: 3.0.3, not_carried: freight}")
                  .only("supplier-not-carried")
                  .message,
              "freight"));
    CHECK(with_pulp("    supplier_footprint: {edition: 3.0.3}")
              .findings("supplier-second-edition")
              .empty());
}
