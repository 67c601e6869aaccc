// Published worked calculations carried through whole studies, each with its source beside it.
#include <fmt/format.h>
#include <catch2/catch.hpp>

#include <string>

#include "tests/study/memory_study.h"

namespace {

using namespace deckle;
using deckle::test::MemoryStudy;

const std::string weights = R"(characterization: ar5_100
title: AR5 without feedbacks
source: {title: "IPCC AR5 Working Group I, table 8.A.1", year: 2013}
gases: {co2_fossil: 1 kg, ch4_fossil: 28 kg, n2o_fossil: 265 kg}
)";
const std::string head = R"(study: published
title: Published calculations
characterization: ar5_100
factors: [weights.yaml, factors.yaml]
mills: [mill.yaml]
)";

/// One process that makes `makes` and uses `uses`, over one table of factors.
MemoryStudy one_process(const std::string& factors, const std::string& makes,
                        const std::string& uses, const std::string& rest = "") {
    return MemoryStudy(
        {{"study.yaml", head},
         {"weights.yaml", weights},
         {"factors.yaml",
          "table: t\ntitle: T\nsource: {title: Cited beside each test, year: 2026}\nfactors:\n" +
              factors},
         {"mill.yaml", fmt::format("mill: m\ntitle: M\nprocesses:\n  p:\n    stage: energy\n    "
                                   "makes: {}\n    uses: {}\n{}",
                                   makes, uses, rest)}});
}

std::string gases(const char* id, const char* kind, const char* per, const char* releases,
                  const char* more = "") {
    return fmt::format("  {}: {{title: X, kind: {}, per: {}, releases: {}{}}}\n", id, kind, per,
                       releases, more);
}

auto half_last_digit(double printed, double half) {
    return Catch::Matchers::WithinAbs(printed, half);
}

}  // namespace

TEST_CASE(
    "allocation by price: 10 000 t CO2e over values 500 / 10 / 400 gives 5 494.5 / 109.9 / 4 395.6 "
    "t (PACT How-to Guide V3, 2026)",
    "[study][literature]") {
    const auto study =
        one_process(gases("burnt", "fuel", "1 t", "{co2_fossil: 1 t}"),
                    "{first: {amount: 1 t, price: 500 EUR_2025/t}, second: {amount: 1 t, price: 10 "
                    "EUR_2025/t}, third: {amount: 1 t, price: 400 EUR_2025/t}}",
                    "{burnt: 10_000 t}", "    allocation: price\n    reason: ratio of values 50\n");
    CHECK_THAT(study.result("first", "t", "climate") / 1000, half_last_digit(5494.5, 0.05));
    CHECK_THAT(study.result("second", "t", "climate") / 1000, half_last_digit(109.9, 0.05));
    CHECK_THAT(study.result("third", "t", "climate") / 1000, half_last_digit(4395.6, 0.05));
}

TEST_CASE(
    "W7: a bill to emissions: 1 000 kWh of gas at 0.185 kg CO2/kWh are 185 kg (Carbon Trust "
    "conversion "
    "factors, 2008)",
    "[study][literature]") {
    const auto study = one_process(gases("gas", "fuel", "1 kWh HHV", "{co2_fossil: 0.185 kg}"),
                                   "{service: 1 piece}", "{gas: 1_000 kWh HHV}");
    CHECK_THAT(study.result("service", "piece", "climate"), half_last_digit(185.0, 1e-12));
}

TEST_CASE(
    "fuel by volume and mass: factor × heating value × density (EU 2018/2066 annex VI, JEC "
    "well-to-tank v5, 2020, UK and IPCC 2006 vol. 2)",
    "[study][literature]") {
    // factors per TJ of net heat (EU 2018/2066), heating values (IPCC 2006), densities (JEC v5);
    // results recomputed by hand
    const auto diesel = one_process(gases("diesel", "fuel", "1 TJ LHV", "{co2_fossil: 74_100 kg}",
                                          ", heating_value: {LHV: 43.0 MJ/kg}, density: 832 kg/m3"),
                                    "{service: 1 piece}", "{diesel: 1 L}");
    CHECK_THAT(diesel.result("service", "piece", "climate"), half_last_digit(2.65100, 5e-6));
    const auto oil = one_process(gases("oil", "fuel", "1 TJ LHV", "{co2_fossil: 77_400 kg}",
                                       ", heating_value: {LHV: 40.4 MJ/kg}, density: 970 kg/m3"),
                                 "{service: 1 piece}", "{oil: 1 L}");
    CHECK_THAT(oil.result("service", "piece", "climate"), half_last_digit(3.03315, 5e-6));
    const auto lpg = one_process(gases("lpg", "fuel", "1 TJ LHV", "{co2_fossil: 63_100 kg}",
                                       ", heating_value: {LHV: 47.3 MJ/kg}"),
                                 "{service: 1 piece}", "{lpg: 1 kg}");
    CHECK_THAT(lpg.result("service", "piece", "climate"), half_last_digit(2.98463, 5e-6));
    // natural gas net to gross at the round ratio of the Guidelines, 0.90: 56.1 kg/GJ net is 50.49
    // kg/GJ gross
    const auto gas = one_process(gases("gas", "fuel", "1 GJ LHV", "{co2_fossil: 56.1 kg}",
                                       ", heating_value: {LHV: 36.0 MJ/Nm3, HHV: 40.0 MJ/Nm3}"),
                                 "{service: 1 piece}", "{gas: 1 GJ HHV}");
    CHECK_THAT(gas.result("service", "piece", "climate"), half_last_digit(50.49, 1e-12));
}

TEST_CASE(
    "W10: electricity by its gases: New Zealand 2024 adds up to the printed 0.1011189484 kg "
    "CO2e/kWh "
    "(Measuring Emissions Guide, 2025)",
    "[study][literature]") {
    // CO2 0.0981990601, CH4 0.0027303581 and N2O 0.0001895301 kg CO2e/kWh as printed; their sum is
    // 1e-10 lower
    const auto study = one_process(
        "  power: {title: X, kind: electricity, per: 1 kWh, climate: {total: 0.1011189484 kg, "
        "characterization: ar5_100}}\n"
        "  parts: {title: X, kind: electricity, per: 1 kWh, releases: {co2_fossil: 0.0981990601 "
        "kg, ch4_fossil: 0.0000975127893 kg, n2o_fossil: 0.000000715207925 kg}}\n",
        "{service: 1 piece}", "{parts: 1 kWh}");
    CHECK_THAT(study.result("service", "piece", "climate"), half_last_digit(0.1011189484, 2e-10));
}

TEST_CASE(
    "W10: water supply: 1 000 m3 at 0.048549206 kg CO2e/m3 are 48.549 kg (Measuring Emissions "
    "Guide, "
    "table 9.2, 2025)",
    "[study][literature]") {
    const auto study = one_process(
        "  water: {title: X, kind: water_supply, per: 1 m3, climate: {total: 0.048549206 kg, "
        "characterization: ar5_100}}\n",
        "{service: 1 piece}", "{water: 1_000 m3}");
    CHECK_THAT(study.result("service", "piece", "climate"), half_last_digit(48.549, 5e-4));
}

TEST_CASE(
    "W11: three gases: 100 000 GJ of gas at 51.4, 0.1, 0.03 kg CO2e/GJ are 5 140 + 10 + 3 = 5 153 "
    "t "
    "(National Greenhouse Accounts Factors, figures from memory)",
    "[study][literature]") {
    // The source states CO2e; the masses of CH4 and N2O are 0.1 and 0.03 kg over 28 and 265 here.
    const auto study = one_process(gases("gas", "fuel", "1 GJ HHV",
                                         "{co2_fossil: 51.4 kg, ch4_fossil: 3.5714285714285716 g, "
                                         "n2o_fossil: 0.11320754716981132 g}"),
                                   "{service: 1 piece}", "{gas: 100_000 GJ HHV}");
    CHECK_THAT(study.result("service", "piece", "climate") / 1000, half_last_digit(5153.0, 1e-9));
}

TEST_CASE(
    "lorry per tonne-kilometre: 0.448 L/km × 2.63 kg/L over 25 t is 0.0471 kg (UK guideline table "
    "of 2007)",
    "[study][literature]") {
    const auto study = one_process(
        "  diesel: {title: X, kind: freight, per: 1 L, climate: {total: 2.63 kg, characterization: "
        "ar5_100}}\n"
        "  lorry: {title: X, kind: freight, per: 25 t km, climate: {total: 0 kg, characterization: "
        "ar5_100}, brings: {diesel: 0.448 L}}\n",
        "{service: 1 piece}", "{lorry: 1 t km}");
    CHECK_THAT(study.result("service", "piece", "climate"), half_last_digit(0.0471, 5e-5));
}
