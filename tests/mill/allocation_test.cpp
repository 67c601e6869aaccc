// How the burdens of a process are shared, against published shares of heat and power. Methods are
// named by their formula: two of them are called "efficiency method" in public and move in opposite
// directions.
#include <catch2/catch.hpp>

#include <string>

#include "tests/mill/mill_study.h"

namespace {

using namespace deckle;
using namespace deckle::test;

/// A plant of 100 MWh of gas (LHV, 56.1 kg CO2/GJ: 100 x 3.6 x 56.1 = 20 196 kg) that makes heat
/// and power [MWh].
MillStudy plant(double heat, double power, const std::string& allocation,
                const std::string& steam = "", const std::string& more = "") {
    return MillStudy(
        {factor("gas", "fuel", "GJ LHV", 56.1),
         fmt::format("processes:\n  plant:\n    stage: energy\n    makes: {{heat: {{amount: {} "
                     "MWh, kind: heat{}}}, power: {{amount: {} MWh, kind: electricity}}}}\n"
                     "    uses: {{gas: 360 GJ LHV}}\n    allocation: {}\n{}",
                     heat, steam, power, allocation, more)});
}

constexpr double gas_kg = 100.0 * 3.6 * 56.1;

double power_share(const MillStudy& study, double power) {
    return study.climate("power", "MWh") * power / gas_kg;
}
double heat_share(const MillStudy& study, double heat) {
    return study.climate("heat", "MWh") * heat / gas_kg;
}

std::string references(const char* heat, const char* power) {
    return fmt::format("{{reference_efficiencies: {{heat: {}, power: {}}}}}", heat, power);
}

/// Saturated steam of a pressure whose condensate comes back at 90 degC.
std::string saturated(const char* pressure) {
    return fmt::format(
        ", pressure: {}, condensate: {{return: 100 %, temperature: 90 degC}}, make_up: 15 degC",
        pressure);
}

}  // namespace

TEST_CASE(
    "shares of power at efficiencies of 30 and 50 %: 0.375 by energy, 0.519 by references of 50 "
    "and 90 % (U. Krien, documentation of an open energy-system library, 2016-2021)",
    "[mill][literature]") {
    CHECK_THAT(power_share(plant(50, 30, "energy"), 30), printed(0.375, 5e-4));
    CHECK_THAT(power_share(plant(50, 30, references("90 %", "50 %")), 30), printed(0.519, 5e-4));
}

TEST_CASE("share of power by exergy: 0.667 where heat has a quality of 0.3 (U. Krien, as above)",
          "[mill][literature]") {
    // Steam of 6 bar over condensate of 90 degC delivers at a mean of 427.40 K (IAPWS-IF97); with
    // surroundings of 0.7 x 427.40 = 299.18 K its quality is 1 - 0.7.
    const auto study =
        plant(50, 30, "exergy", saturated("6 bar"), "    exergy: {ambient: 26.03 degC}\n");
    CHECK_THAT(power_share(study, 30), printed(0.667, 5e-4));
}

TEST_CASE(
    "heat by its mean temperature of delivery: 414.02, 427.40, 445.10 and 451.63 K at 4, 6, 10 and "
    "12 bar over 90 degC (IAPWS-IF97 by python3-iapws 1.5.3)",
    "[mill][literature]") {
    // T = (h - h(90 degC)) / (s - s(90 degC)), enthalpies 2738.06, 2756.14, 2777.12, 2783.77 less
    // 376.99 kJ/kg, entropies 6.89542, 6.75917, 6.58498, 6.52169 less 1.19263 kJ/(kg K).
    // Quality 1 - 273.15/T: 0.3402, 0.3609, 0.3863, 0.3952.
    struct Row {
        const char* pressure;
        double quality;
    };
    const Row row = GENERATE(Row{"4 bar", 0.3402}, Row{"6 bar", 0.3609}, Row{"10 bar", 0.3863},
                             Row{"12 bar", 0.3952});
    CAPTURE(row.pressure);
    const auto study = plant(50, 30, "exergy", saturated(row.pressure));
    const double exergy = row.quality * 50.0;
    // Half a digit of the quality, 5e-5, moves the share by 5e-5 x 50 x 30 / 48^2 = 3.3e-5.
    CHECK_THAT(heat_share(study, 50), printed(exergy / (30.0 + exergy), 3.4e-5));
    CHECK_THAT(heat_share(study, 50) + power_share(study, 30), exactly(1.0));
}

TEST_CASE(
    "100 MWh of gas to 50 of heat and 30 of power, kg CO2 per MWh by each method (WRI and WBCSD, "
    "guidance on CHP, 2006, Defra 2012, annex 2)",
    "[mill][literature]") {
    // Figures worked out from the formulas. Reference efficiencies of 80 and 35 % (guidance of
    // 2006, from memory), 87 and 53 % (EU 2015/2402, from memory), 90 and 52.5 % (EU 2019/331,
    // annex VII, from memory). Power twice as heavy as heat, H / (H + 2 E), is the same as
    // references of 100 and 50 %.
    struct Row {
        std::string allocation;
        double share, heat, power;
    };
    const Row row = GENERATE(Row{"energy", 0.6250, 252.45, 252.45},
                             Row{references("80 %", "35 %"), 0.4217, 170.33, 389.32},
                             Row{references("87 %", "53 %"), 0.5038, 203.50, 334.04},
                             Row{references("90 %", "52.5 %"), 0.4930, 199.12, 341.34},
                             Row{references("100 %", "50 %"), 0.4545, 183.60, 367.20});
    CAPTURE(row.allocation);
    const auto study = plant(50, 30, row.allocation);
    CHECK_THAT(heat_share(study, 50), printed(row.share, 5e-5));
    CHECK_THAT(study.climate("heat", "MWh"), printed(row.heat, 5e-3));
    CHECK_THAT(study.climate("power", "MWh"), printed(row.power, 5e-3));
    CHECK_THAT(heat_share(study, 50) + power_share(study, 30), exactly(1.0));
}

TEST_CASE(
    "heat made at a fixed efficiency of 90 % carries 50/0.9/100 of the fuel, as typed shares (UK "
    "and "
    "EU practice, formula H / (e F))",
    "[mill]") {
    const auto study = plant(50, 30, "{heat: 50/90, power: 1 - 50/90}");
    CHECK_THAT(study.climate("heat", "MWh"), printed(224.40, 5e-3));
    CHECK_THAT(study.climate("power", "MWh"), printed(299.20, 5e-3));
}

TEST_CASE(
    "more heat leaves power less of the fuel by reference efficiencies (formula of the guidance of "
    "2006)",
    "[mill]") {
    // The other "efficiency method", eta_h / (eta_e + eta_h) to power, does the reverse.
    const double less_heat = power_share(plant(40, 30, references("80 %", "35 %")), 30);
    const double more_heat = power_share(plant(55, 30, references("80 %", "35 %")), 30);
    CHECK_THAT(less_heat, exactly(30 / 0.35 / (30 / 0.35 + 40 / 0.8)));
    CHECK_THAT(more_heat, exactly(30 / 0.35 / (30 / 0.35 + 55 / 0.8)));
    CHECK(more_heat < less_heat);
}

TEST_CASE(
    "W8: 30 units of power and 45 of steam of 100 units of gas (US EPA, Methods for calculating "
    "CHP "
    "efficiency)",
    "[mill][literature]") {
    // Printed: apart they need 98 and 56 units. Gas at 53.06 kg/MMBtu (US EPA 2021, higher heating
    // value): 5 306 kg. Shares, kg and kg per unit worked out from the printed inputs; 1 MMBtu =
    // 293.0711 kWh.
    struct Row {
        std::string allocation;
        double heat_percent, heat_kg, power_kg, per_heat, per_kwh;
    };
    const Row row =
        GENERATE(Row{references("45/56", "30/98"), 36.36, 1929.5, 3376.5, 42.88, 0.3840},
                 Row{references("80 %", "35 %"), 39.62, 2102.4, 3203.6, 46.72, 0.3644},
                 Row{references("100 %", "50 %"), 42.86, 2274.0, 3032.0, 50.53, 0.3449},
                 Row{references("90 %", "52.5 %"), 46.67, 2476.1, 2829.9, 55.03, 0.3219},
                 Row{"energy", 60.00, 3183.6, 2122.4, 70.75, 0.2414});
    CAPTURE(row.allocation);
    const MillStudy study(
        {factor("gas", "fuel", "MMBtu HHV", 53.06),
         "processes:\n  plant:\n    stage: energy\n    makes: {steam: {amount: 45 MMBtu, kind: "
         "heat}, power: {amount: 30 MMBtu, kind: electricity}}\n"
         "    uses: {gas: 100 MMBtu HHV}\n    allocation: " +
             row.allocation + "\n"});
    const double steam = study.climate("steam", "MMBtu");
    const double power = study.climate("power", "MMBtu");
    CHECK_THAT(100.0 * 45.0 * steam / 5306.0, printed(row.heat_percent, 5e-3));
    CHECK_THAT(45.0 * steam, printed(row.heat_kg, 0.05));
    CHECK_THAT(30.0 * power, printed(row.power_kg, 0.05));
    CHECK_THAT(steam, printed(row.per_heat, 5e-3));
    CHECK_THAT(power / 293.0711, printed(row.per_kwh, 5e-5));
    CHECK_THAT(45.0 * steam + 30.0 * power, exactly(5306.0));
}

TEST_CASE(
    "power and heat share one plant, and what each part brings adds up (constructed on the "
    "combined process of Heijungs and Suh 2002, ch. 3)",
    "[mill][literature]") {
    // 2 L of fuel give 10 kWh, 18 MJ and 1 kg CO2; 100 L of fuel bring 10 kg CO2. By energy 36 MJ
    // of power and 18 of heat. For 1000 kWh: 80 kg, or 96 at a share of 0.8; for 1800 MJ 40, or 24.
    struct Row {
        const char* allocation;
        double power_kg, heat_kg;
    };
    const Row row =
        GENERATE(Row{"energy", 80.0, 40.0}, Row{"{power: 80 %, heat: 20 %}", 96.0, 24.0},
                 Row{"price", 96.0, 24.0});
    CAPTURE(row.allocation);
    // 10 kWh at 0.40 EUR are 4 EUR, 18 MJ at 1/18 EUR are 1: 80 and 20 %.
    const MillStudy study(
        {"",
         fmt::format("processes:\n  refinery:\n    makes: {{fuel: 100 L}}\n    releases: "
                     "{{co2_fossil: 10 kg}}\n"
                     "  plant:\n    makes: {{power: {{amount: 10 kWh, kind: electricity, price: "
                     "0.40 EUR_2025/kWh}}, heat: {{amount: 18 MJ, kind: heat, price: "
                     "0.0555555555555555556 EUR_2025/MJ}}}}\n    allocation: {}\n"
                     "    uses: {{fuel: 2 L}}\n    releases: {{co2_fossil: 1 kg}}\n",
                     row.allocation)});
    CHECK_THAT(1000.0 * study.climate("power", "kWh"), exactly(row.power_kg));
    CHECK_THAT(1800.0 * study.climate("heat", "MJ"), exactly(row.heat_kg));
}

TEST_CASE("sheet and broke of unlike dryness share by dry mass (exact algebra)", "[mill]") {
    const std::string broke = GENERATE("", ", dryness: 90 %");
    const MillStudy study(
        {factor("pulp", "fibre", "ADt", 1000.0),
         "processes:\n  machine:\n    stage: papermaking\n    makes: {sheet: {amount: 0.95 t, "
         "dryness: 95 %}, broke: {amount: 0.05 t" +
             broke + "}}\n    uses: {pulp: 1 ADt}\n    allocation: mass\n"});
    // 0.95 x 0.95 t and 0.05 x 0.90 t of dry mass; as they are where one dryness is not known.
    const double share = broke.empty() ? 0.95 : 0.95 * 0.95 / (0.95 * 0.95 + 0.05 * 0.90);
    CHECK_THAT(0.95 * study.climate("sheet", "t"), exactly(1000.0 * share));
    CHECK_THAT(0.05 * study.climate("broke", "t"), exactly(1000.0 * (1.0 - share)));
}

TEST_CASE(
    "A5: a process that does not say how its products share is refused by name (constructed: three "
    "rows, two columns, no solution)",
    "[mill]") {
    const Problem problem = refused(
        {"",
         "processes:\n  refinery:\n    makes: {fuel: 100 L}\n    releases: {co2_fossil: 10 kg}\n"
         "  plant:\n    makes: {power: {amount: 10 kWh, kind: electricity}, heat: {amount: 18 MJ, "
         "kind: heat}}\n    uses: {fuel: 2 L}\n"});
    CHECK(problem.code == "missing-allocation");
    CHECK(problem.message.find("plant makes 2 products") != std::string::npos);
}
