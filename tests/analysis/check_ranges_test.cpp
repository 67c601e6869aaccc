// Mills and results outside published ranges. The ranges and their sources stand with the rules; a
// test changes one meter so that one range is left.
#include <catch2/catch.hpp>

#include "check_study_files.h"

namespace {

using namespace deckle_test;
using Catch::Matchers::WithinAbs;
using Catch::Matchers::WithinRel;
using deckle::Finding;

}  // namespace

TEST_CASE("range-evaporation: 0.60 m3/t driven off mean 59.4 % dryness after the press (by hand)",
          "[analysis][check]") {
    // s_in = s_out / (1 + e) = 95 / 1.6; presses reach about 45 % (process.md, from memory).
    StudyFiles study;
    study.change("mill.yaml", "vapour: 1.262 m3", "vapour: 0.60 m3");
    CHECK_THAT(*study.only("range-evaporation").measured, WithinAbs(95.0 / 1.6, 1e-9));
}

TEST_CASE(
    "range-heat: 9 GJ/t on a pressed sheet, published 4.5 to 7.5 (Ciambellotti 2025, Reczulski "
    "2023)",
    "[analysis][check]") {
    StudyFiles study;
    study.change("mill.yaml", "amount: 5.0 GJ", "amount: 9.0 GJ");
    const Finding found = study.only("range-heat");
    CHECK_THAT(*found.measured, WithinAbs(9.0, 1e-9));
    CHECK(found.unit == "GJ/t");
    CHECK(has(found.hint, "145014"));
    CHECK(has(found.hint, "from memory"));
}

TEST_CASE(
    "range-heat: 9 GJ/t are usual for a through-air dried sheet (EU Ecolabel 10.8, from memory)",
    "[analysis][check]") {
    // From 27 to 95 %: 95/27 - 1 = 2.5185 t of water.
    StudyFiles study;
    study.change("mill.yaml", "amount: 5.0 GJ", "amount: 9.0 GJ")
        .change("mill.yaml", "vapour: 1.262 m3", "vapour: 2.5185 m3");
    CHECK(study.findings("range-heat").empty());
    CHECK(study.findings("range-evaporation").empty());
}

TEST_CASE("no published heat is held against a sheet between pressed and through-air dried",
          "[analysis][check]") {
    // 95/1.794 = 53 is no such sheet; 34 % into the dryer is: e = 95/34 - 1 = 1.7941.
    StudyFiles study;
    study.change("mill.yaml", "amount: 5.0 GJ", "amount: 8.0 GJ")
        .change("mill.yaml", "vapour: 1.262 m3", "vapour: 1.7941 m3");
    CHECK(study.findings("range-heat").empty());
}

TEST_CASE(
    "range-heat-per-water: less than evaporation itself takes (IAPWS-IF97, 2424 kJ/kg from 60 to "
    "100 degC)",
    "[analysis][check]") {
    StudyFiles study;
    study.change("mill.yaml", "amount: 5.0 GJ", "amount: 1.9 GJ");
    CHECK_THAT(*study.only("range-heat-per-water").measured, WithinAbs(1.9 / 1.262, 1e-9));
}

TEST_CASE("range-heat-per-water: once-through drying air takes 12.1 GJ/t (trap 17)",
          "[analysis][check]") {
    StudyFiles study;
    study.change("mill.yaml", "amount: 5.0 GJ", "amount: 12.1 GJ");
    CHECK_THAT(*study.only("range-heat-per-water").measured, WithinAbs(12.1 / 1.262, 1e-9));
}

TEST_CASE("range-electricity: 2000 kWh/t on a pressed sheet, published 600 to 1100",
          "[analysis][check]") {
    StudyFiles study;
    study.change("mill.yaml", "amount: 900 kWh", "amount: 2000 kWh");
    CHECK_THAT(*study.only("range-electricity").measured, WithinAbs(2000.0, 1e-9));
}

TEST_CASE("range-effluent: 30 m3/t given back, BAT 5 knows 3.5 to 20 (from memory)",
          "[analysis][check]") {
    StudyFiles study;
    study.change("mill.yaml", "7.58 m3", "30 m3").change("mill.yaml", "8.80 m3", "31.22 m3");
    CHECK_THAT(*study.only("range-effluent").measured, WithinAbs(30.0, 1e-9));
}

TEST_CASE("range-effluent: cooling water that passes through is not counted", "[analysis][check]") {
    StudyFiles study;
    study
        .change("mill.yaml", "river: {from: surface, basin: valley, region: north}",
                "river: {from: surface, basin: valley, region: north}\n  brook: {from: surface, "
                "basin: valley, region: north}")
        .change("mill.yaml", "takes_in: {river: {amount: 8.80 m3, amount_is: metered}}",
                "takes_in: {river: {amount: 8.80 m3, amount_is: metered}, brook: {amount: 40 m3, "
                "purpose: cooling, amount_is: metered}}")
        .change("mill.yaml", "gives_back: {river: {amount: 7.58 m3, amount_is: metered}}",
                "gives_back: {river: {amount: 7.58 m3, amount_is: metered}, brook: {amount: 40 m3, "
                "purpose: cooling, amount_is: metered}}");
    CHECK(study.check().findings.empty());
}

TEST_CASE("range-boiler: a GJ of steam from 1.5 GJ of gas is 66.7 % (by hand)",
          "[analysis][check]") {
    StudyFiles study;
    study.change("mill.yaml", "amount: 1.1 GJ LHV", "amount: 1.5 GJ LHV");
    CHECK_THAT(*study.only("range-boiler").measured, WithinAbs(100.0 / 1.5, 1e-9));
}

TEST_CASE("range-carbon: 60 % of carbon in dry fibre (cellulose holds 44.45 %, by its formula)",
          "[analysis][check]") {
    StudyFiles study;
    study.change("mill.yaml", "0.444 kg/kg of fibre", "0.60 kg/kg of fibre");
    CHECK_THAT(*study.only("range-carbon").measured, WithinAbs(60.0, 1e-9));
}

TEST_CASE(
    "range-climate: 5.5 t CO2e for a tonne, published studies end at 3075 kg (Brito et al. 2023)",
    "[analysis][check]") {
    // A run: 4500 x 1.0139 + 5 x 1.1 x 56.1 + 1020 x 0.3 = 5177.1 kg for 0.95 t; film: 14 g/8 x 2.4
    // = 4.2 g CO2e for a roll of 2 x 16 x 0.125 x 0.098 x 200 = 78.4 g.
    StudyFiles study;
    study.change("factors.yaml", "fossil: 450 kg", "fossil: 4500 kg");
    const Finding found = study.only("range-climate");
    CHECK_THAT(*found.measured, WithinRel(5177.1 / 0.95 + 1000.0 * 4.2 / 78.4, 1e-9));
    CHECK(has(found.message, "bath"));
}

TEST_CASE(
    "W9: climate-implausible: a kilogram of tissue above 20 kg CO2e (568 kg printed for g, Gemechu "
    "et "
    "al. 2013)",
    "[analysis][check]") {
    // As above with 45 000 kg for a tonne of pulp.
    StudyFiles study;
    study.change("factors.yaml", "fossil: 450 kg", "fossil: 45000 kg");
    const Finding found = study.only("climate-implausible");
    CHECK_THAT(*found.measured, WithinRel((45000.0 * 1.0139 + 614.55) / 950.0 + 4.2 / 78.4, 1e-9));
    CHECK(study.findings("range-climate").empty());
}

TEST_CASE("climate-implausible: sheets of a study without consumer products are looked at too",
          "[analysis][check]") {
    StudyFiles study;
    study.change("study.yaml", "products: products.yaml\noutput: {bath: 1e6 roll}\n", "")
        .change("factors.yaml", "fossil: 450 kg", "fossil: 45000 kg");
    CHECK(study.findings("climate-implausible").size() == 2);  // sheet and tissue
}

TEST_CASE("range-grammage: 16.5 kg/m2 typed for 16.5 g/m2 (common practice, no published source)",
          "[analysis][check]") {
    StudyFiles study;
    CHECK(study.findings("range-grammage").empty());
    study.change("products.yaml", "g/m2", "kg/m2");
    CHECK_THAT(*study.only("range-grammage").measured, WithinAbs(16000.0, 1e-6));
}

TEST_CASE(
    "wound-above-caliper: wound 0.380 mm thick, caliper 0.36 mm (t = pi (D^2 - d^2) / (4 n l))",
    "[analysis][check]") {
    const auto with_caliper = [](const std::string& caliper) {
        StudyFiles study;
        study.after("products.yaml", "    roll: {diameter: 110 mm, count: 200}",
                    "    properties: {caliper: {value: " + caliper + ", method: ISO 12625-3}}");
        return study;
    };
    // pi x 110^2 / (4 x 200 x 125) = 0.380133 mm
    CHECK_THAT(*with_caliper("0.36 mm").only("wound-above-caliper").measured,
               WithinAbs(100.0 * (0.380133 / 0.36 - 1.0), 1e-3));
    CHECK(with_caliper("0.40 mm").findings("wound-above-caliper").empty());
}
