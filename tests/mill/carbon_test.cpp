// What a mill's products are made of, and the carbon they hold: told by what they are, never by
// what went in. Carbon dioxide is 44/12 of carbon (EN 16449:2014, atomic weights 44 and 12);
// cellulose, C6H10O5, holds 0.444 of carbon (atomic weights).
#include <catch2/catch.hpp>

#include <string>

#include "tests/mill/mill_study.h"

namespace {

using namespace deckle;
using namespace deckle::test;

MillText sheet_with(const std::string& sheet, const std::string& more = "") {
    return {factor("pulp", "fibre", "ADt", 450.0, "biogenic_carbon: 405 kg"),
            "processes:\n  machine:\n    stage: papermaking\n    makes: {sheet: {" + sheet +
                "}}\n    uses: {pulp: 1.2 ADt}\n" + more};
}

double carbon(const MillText& text, const char* of = "sheet", const char* per = "t") {
    return MillStudy(text).result(of, per, "biogenic_carbon");
}

Coverage covered(const MillText& text) {
    return MillStudy(text).study.result("sheet", "t", "biogenic_carbon")->coverage;
}

const std::string cellulose = "carbon: {biogenic: 0.444 kg/kg of fibre}";

}  // namespace

TEST_CASE(
    "a tonne of 94.6 % fibre holds 420.024 kg of carbon, 1540.088 kg of carbon dioxide (EN "
    "16449:2014 for 44/12)",
    "[mill][literature]") {
    const MillText text = sheet_with(
        "amount: 1 t, dryness: 95 %, composition: {fibre: 94.6 %, resin: 0.4 %, moisture: 5 %}, " +
        cellulose);
    CHECK_THAT(carbon(text), exactly(946.0 * 0.444));
    // What went in, 1.2 ADt with 405 kg of carbon each, says nothing of what came out.
    CHECK_THAT(MillStudy(text).result("sheet", "t", "climate_with_uptake"),
               exactly(1.2 * 450.0 - 946.0 * 0.444 * 44.0 / 12.0));
    CHECK_THAT(MillStudy(text).climate("sheet", "t"), exactly(540.0));
}

TEST_CASE(
    "carbon of dry fibre at 5 % of moisture: 0.43, 0.444 and 0.46 give 1497, 1546 and 1602 kg "
    "CO2 (EN 16449:2014, 44.01/12.011 as tabulated is 0.07 % less)",
    "[mill][literature]") {
    // Tabulated with 44.01/12.011: 1496.8, 1545.5, 1601.2. 44/12 is 1.000688 of it.
    struct Row {
        double fraction, tabulated;
    };
    const Row row = GENERATE(Row{0.43, 1496.8}, Row{0.444, 1545.5}, Row{0.46, 1601.2});
    const double held = carbon(sheet_with(fmt::format(
        "amount: 1 t, composition: {{fibre: 95 %, moisture: 5 %}}, carbon: {{biogenic: {} "
        "kg/kg of fibre}}",
        row.fraction)));
    const double ratio = (44.0 / 12.0) / (44.01 / 12.011);
    CHECK_THAT(held * 44.0 / 12.0, printed(row.tabulated * ratio, 0.06));
}

TEST_CASE("carbon per kilogram as it is, per dry kilogram, and of several outputs (by hand)",
          "[mill]") {
    CHECK_THAT(carbon(sheet_with("amount: 1 t, carbon: {biogenic: 0.42 kg/kg}")), exactly(420.0));
    CHECK_THAT(
        carbon(sheet_with("amount: 1 t, dryness: 95 %, carbon: {biogenic: 0.444 kg/kg dry}")),
        exactly(950.0 * 0.444));
    CHECK_THAT(carbon(sheet_with("amount: 52_000 t, composition: {fibre: 90 %, filler: 10 %}, " +
                                 cellulose)),
               exactly(900.0 * 0.444));
    CHECK_THAT(
        carbon(sheet_with("amount: 1 t dry, kind: sheet, carbon: {biogenic: 0.444 kg/kg dry}"),
               "sheet", "t_dry"),
        exactly(444.0));
}

TEST_CASE("composition: ID says that a product is made of the same, over several steps", "[mill]") {
    const std::string chain =
        "  converting:\n    makes: {tissue: {amount: 0.95 t, composition: sheet}, broke: {amount: "
        "0.05 "
        "t}}\n    allocation: mass\n    uses: {sheet: 1 t}\n"
        "  packing:\n    makes: {packed: {amount: 0.9 t, composition: tissue}}\n    uses: {tissue: "
        "0.9 "
        "t}\n";
    const MillText text =
        sheet_with("amount: 1 t, composition: {fibre: 95 %, moisture: 5 %}, " + cellulose, chain);
    CHECK_THAT(carbon(text), exactly(950.0 * 0.444));
    CHECK_THAT(carbon(text, "tissue"), exactly(950.0 * 0.444));
    CHECK_THAT(carbon(text, "packed"), exactly(950.0 * 0.444));
    const MillStudy study(text);
    CHECK(study.study.result("broke", "t", "biogenic_carbon")->coverage == Coverage::not_covered);
}

TEST_CASE("carbon that nobody states is not covered, what holds none says 0", "[mill]") {
    CHECK(covered(sheet_with("amount: 1 t, dryness: 95 %")) == Coverage::not_covered);
    CHECK(covered(sheet_with("amount: 1 t, composition: {fibre: 95 %, moisture: 5 %}")) ==
          Coverage::not_covered);
    CHECK(covered(sheet_with("amount: 1 t, carbon: {fossil: 0.1 kg/kg}")) == Coverage::not_covered);
    CHECK(covered(sheet_with("amount: 1 t, carbon: {biogenic: 0 kg/kg}")) == Coverage::complete);
    const MillStudy none(sheet_with("amount: 1 t, carbon: {biogenic: 0 kg/kg}"));
    CHECK(none.result("sheet", "t", "biogenic_carbon") == 0.0);
}

TEST_CASE(
    "biogenic carbon dioxide of a stack is told apart and counts in no climate line (New Zealand, "
    "guidance of 2006, wood)",
    "[mill][literature]") {
    // 1.26 kg CO2 are left out of 0.0178 kg CO2e. CH4 0.00361 and N2O 0.0142 kg CO2e a kilogram of
    // wood as printed; methane weighs 30 here.
    const MillStudy study(
        {"  wood: {title: X, kind: fuel, per: 1 kg, releases: {co2_biogenic: 1.26 kg, "
         "ch4_biogenic: "
         "0.12033333333333333 g, co2_fossil: 0.0142 kg}}\n",
         "processes:\n  boiler: {makes: {service: 1 piece}, uses: {wood: 1 kg}}\n"});
    CHECK_THAT(study.climate("service", "piece"), printed(0.0178, 5e-5));
    CHECK_THAT(study.result("service", "piece", "biogenic_co2_released"), exactly(1.26));
}
