// Power, freight and water services of the shipped tables against what the publications print in
// other units, and published calculations with their inputs.
#include <fmt/format.h>
#include <catch2/catch.hpp>

#include "engine/quantity/unit.h"
#include "tests/tables/table_study.h"

namespace {

using namespace deckle;
using namespace deckle::test;

}  // namespace

TEST_CASE("power: grids of Europe 2019 at each voltage ((EU) 2022/996, Annex IX, g CO2e/kWh)",
          "[tables][literature]") {
    struct Row {
        const char* area;
        double produced, high, medium, low;
    };
    const Row row =
        GENERATE(Row{"eu27", 288, 295, 298, 308}, Row{"austria", 153, 238, 240, 245},
                 Row{"estonia", 654, 468, 471, 485}, Row{"france", 74, 81, 82, 86},
                 Row{"germany", 389, 386, 388, 398}, Row{"italy", 352, 331, 333, 343},
                 Row{"lithuania", 79, 291, 294, 305}, Row{"poland", 742, 715, 720, 741},
                 Row{"portugal", 268, 282, 285, 299}, Row{"spain", 245, 248, 251, 263},
                 Row{"sweden", 20, 25, 25, 26}, Row{"finland", 105, 127, 128, 130},
                 Row{"norway", 12, 20, 20, 21}, Row{"turkiye", 487, 508, 516, 546},
                 Row{"united_kingdom", 271, 277, 280, 292}, Row{"kosovo", 1099, 1067, 1097, 1224});
    const std::string area = row.area;
    CAPTURE(area);
    const Answers answers({.shipped = {"grids_eu"}, .characterization = "ar4_100"},
                          {{"produced", area + "_produced: 1 MWh"},
                           {"high", area + "_high_voltage: 1 MWh"},
                           {"medium", area + "_medium_voltage: 1 MWh"},
                           {"low", area + "_low_voltage: 1 MWh"}});
    CHECK_THAT(answers.of("produced"), equals(row.produced));
    CHECK_THAT(answers.of("high"), equals(row.high));
    CHECK_THAT(answers.of("medium"), equals(row.medium));
    CHECK_THAT(answers.of("low"), equals(row.low));
}

TEST_CASE(
    "power: losses that the columns of (EU) 2022/996 imply, from high to medium and low voltage",
    "[tables][literature]") {
    struct Row {
        const char* area;
        double medium, low;  // %, worked out from the columns
    };
    const Row row = GENERATE(
        Row{"germany", 0.5, 3.1}, Row{"france", 1.2, 6.2}, Row{"italy", 0.6, 3.6},
        Row{"spain", 1.2, 6.0}, Row{"portugal", 1.1, 6.0}, Row{"poland", 0.7, 3.6},
        Row{"finland", 0.8, 2.4}, Row{"united_kingdom", 1.1, 5.4}, Row{"turkiye", 1.6, 7.5});
    const std::string area = row.area;
    CAPTURE(area);
    const Answers answers({.shipped = {"grids_eu"}, .characterization = "ar4_100"},
                          {{"high", area + "_high_voltage: 1 kWh"},
                           {"medium", area + "_medium_voltage: 1 kWh"},
                           {"low", area + "_low_voltage: 1 kWh"}});
    CHECK_THAT(100 * (answers.of("medium") / answers.of("high") - 1), printed(row.medium, 0.05));
    CHECK_THAT(100 * (answers.of("low") / answers.of("high") - 1), printed(row.low, 0.05));
}

TEST_CASE("power: g per MJ of 2020 as g per kWh, × 3.6 ((EU) 2023/1185, part C, table A)",
          "[tables][literature]") {
    struct Row {
        const char* area;
        double per_mj, per_kwh;
    };
    const Row row = GENERATE(Row{"austria", 39.7, 142.9}, Row{"belgium", 56.7, 204.1},
                             Row{"estonia", 139.8, 503.3}, Row{"germany", 99.3, 357.5},
                             Row{"italy", 92.3, 332.3}, Row{"malta", 133.9, 482.0},
                             Row{"poland", 196.5, 707.4}, Row{"sweden", 4.1, 14.8});
    CAPTURE(row.area);
    const Answers answers({.shipped = {"grids_eu_2020"}, .characterization = "ar4_100"},
                          {{"mj", fmt::format("{}_generated_2020: 1 MJ", row.area)},
                           {"kwh", fmt::format("{}_generated_2020: 1 kWh", row.area)}});
    CHECK_THAT(answers.of("mj") * 1000, equals(row.per_mj));
    CHECK_THAT(answers.of("kwh") * 1000, printed(row.per_kwh, 0.05));
}

TEST_CASE("power: eGRID 2022 in lb/MWh (US EPA, the extract used 0.453592 kg a pound)",
          "[tables][literature]") {
    struct Row {
        const char* id;
        double pounds;
    };
    const Row row = GENERATE(Row{"aznm", 779.4}, Row{"camx", 499.3}, Row{"erct", 774.3},
                             Row{"mroe", 1488.7}, Row{"newe", 540.5}, Row{"nyup", 275.4},
                             Row{"rfcm", 1224.2}, Row{"srmw", 1380.2}, Row{"srvc", 625.9});
    CAPTURE(row.id);
    const Answers answers({.shipped = {"grids_us"}},
                          {{"x", fmt::format("egrid_{}: 1 MWh", row.id)}});
    const double pounds = conversion(known_unit("kg"), known_unit("lb"))->apply(answers.of("x"));
    CHECK_THAT(pounds, printed(row.pounds, 0.05 + 0.002));  // 0.453592 for 0.45359237
}

TEST_CASE(
    "W10: power: components of New Zealand's grid add to the printed sum (Measuring Emissions "
    "Guide, "
    "table 5.2: 2012 and 2024)",
    "[tables][literature]") {
    struct Row {
        double co2, ch4, n2o, sum;
    };
    const Row row = GENERATE(Row{0.1686935231, 0.0039810528, 0.0003064544, 0.1729810303},
                             Row{0.0981990601, 0.0027303581, 0.0001895301, 0.1011189484});
    // Printed are the parts in CO2e and no mass of a gas: the masses are those parts over AR5's 28
    // and 265, so that the potentials cancel and the check is of the sum.
    const Answers answers(
        {.own = fmt::format(
             "  grid: {{title: X, kind: electricity, per: 1 kWh, releases: {{co2_fossil: {} kg, "
             "ch4_fossil: {} kg, n2o_fossil: {} kg}}}}\n",
             row.co2, row.ch4 / 28, row.n2o / 265)},
        {{"x", "grid: 1 kWh"}});
    CHECK_THAT(answers.of("x"), printed(row.sum, 1.01e-10));  // one in the tenth decimal
    const Answers shipped({.shipped = {"new_zealand"}}, {{"x", "grid_nz_2024: 1 kWh"}});
    CHECK_THAT(shipped.of("x"), equals(0.1011189484));
}

TEST_CASE(
    "W10: water: components of New Zealand's supply add to the printed sum (table 9.2, editions "
    "2025 "
    "and "
    "2026), and 1 000 m3 are 48.549 kg",
    "[tables][literature]") {
    // The parts are CO2, CH4 and N2O in CO2e, as printed; here they stand in the three lines of a
    // factor, since the check is of their sum.
    const Answers answers(
        {.shipped = {"new_zealand"},
         .own =
             "  parts: {title: X, kind: water_supply, per: 1 m3, climate: {fossil: 0.0471473099 "
             "kg, "
             "biogenic: 0.0013108989 kg, land_use: 0.0000909972 kg, characterization: ar5_100}}\n"},
        {{"added", "parts: 1 m3"},
         {"sum", "water_supply_nz_2025: 1 m3"},
         {"many", "water_supply_nz_2025: 1000 m3"},
         {"later", "water_supply_nz_2026: 1 m3"}});
    CHECK_THAT(answers.of("added"), printed(0.048549206, 5e-12));
    CHECK_THAT(answers.of("sum"), equals(0.048549206));
    CHECK_THAT(answers.of("many"), printed(48.549, 5e-4));
    CHECK_THAT(answers.of("later"), printed(0.0365414 + 0.00115538 + 0.0000589379, 5e-8));
}

TEST_CASE(
    "water: consumption of power plants in L/kWh from gal/MWh (Macknick et al. 2012, ERL 7, "
    "045802)",
    "[tables][literature]") {
    struct Row {
        const char* id;
        double litres;
    };
    const Row row =
        GENERATE(Row{"water_coal_tower", 2.601}, Row{"water_coal_once_through", 0.946},
                 Row{"water_gas_combined_cycle_tower", 0.776}, Row{"water_nuclear_tower", 2.544},
                 Row{"water_biomass_steam_tower", 2.093}, Row{"water_hydropower", 17.000},
                 Row{"water_solar_modules", 0.004});
    CAPTURE(row.id);
    const Answers answers({.shipped = {"power_water"}}, {{"x", fmt::format("{}: 1 kWh", row.id)}});
    CHECK_THAT(answers.of("x", "water_consumed") * 1000, printed(row.litres, 5e-4));
}

TEST_CASE(
    "freight: well to wheel of the EU standard values, fuel of (EU) 2023/1185 and exhaust of "
    "(EU) 2022/996 at AR5 (g CO2e/t km, worked out from the acts)",
    "[tables][literature]") {
    struct Row {
        const char* id;
        double grams;
    };
    const Row row = GENERATE(Row{"truck_40t_dry", 77.5}, Row{"truck_40t_light", 80.4},
                             Row{"truck_40t_liquid", 83.3}, Row{"truck_12t", 213.5},
                             Row{"rail_diesel_us", 24.2}, Row{"inland_ship", 33.1},
                             Row{"sea_handymax_grain", 9.4}, Row{"sea_handysize_chips", 24.5},
                             Row{"sea_handysize_300", 18.8}, Row{"sea_supramax_chips", 15.1},
                             Row{"sea_supramax_650", 6.6}, Row{"sea_chemical_tanker_small", 11.3},
                             Row{"rail_electric_eu27", 17.4}, Row{"rail_electric_germany", 22.6},
                             Row{"rail_electric_poland", 42.0}, Row{"rail_electric_france", 4.8},
                             Row{"rail_electric_sweden", 1.5});
    CAPTURE(row.id);
    const Answers answers({.shipped = {"freight_eu"}}, {{"x", fmt::format("{}: 1 t km", row.id)}});
    CHECK_THAT(answers.of("x") * 1000, printed(row.grams, 0.05));
}

TEST_CASE(
    "freight: short ton-miles in t km (US EPA, table 8, 2024: rail 0.022 kg CO2 is 0.0151, "
    "waterborne 0.082 is 0.0562)",
    "[tables][literature]") {
    const Answers answers({.shipped = {"freight_other"}},
                          {{"rail", "rail_us: 1 t km"}, {"water", "waterborne_us: 1 t km"}});
    CHECK_THAT(answers.of_gas("rail", "co2_fossil"), printed(0.0151, 5e-5));
    CHECK_THAT(answers.of_gas("water", "co2_fossil"), printed(0.0562, 5e-5));
}

TEST_CASE(
    "freight: an articulated lorry by its load, L/km × 2.63 kg CO2/L over a payload of 25 t (UK "
    "guideline table, House of Commons, 4 June 2007)",
    "[tables][literature]") {
    struct Row {
        double litres, load, per_km, per_tkm;
    };
    const Row row = GENERATE(Row{0.345, 0.25, 0.9073, 0.1452}, Row{0.379, 0.50, 0.9968, 0.0797},
                             Row{0.414, 0.75, 1.0888, 0.0581}, Row{0.448, 1.00, 1.1782, 0.0471});
    CAPTURE(row.load);
    const Answers answers(
        {.own = fmt::format(
             "  diesel: {{title: X, kind: freight, per: 1 L, releases: {{co2_fossil: 2.63 kg}}}}\n"
             "  lorry: {{title: X, kind: freight, per: {} t km, releases: {{co2_fossil: 0 kg}}, "
             "brings: "
             "{{diesel: {} L}}}}\n"
             "  with_return: {{title: X, kind: freight, per: 25 t km, releases: {{co2_fossil: 0 "
             "kg}}, brings: "
             "{{diesel: {} L}}}}\n",
             25 * row.load, row.litres, 0.448 + 0.311)},
        {{"one", "lorry: 1 t km"},
         {"whole", fmt::format("lorry: {} t km", 25 * row.load)},
         {"returned", "with_return: 1 t km"}});
    CHECK_THAT(answers.of("one"), printed(row.per_tkm, 5e-5));
    CHECK_THAT(answers.of("whole"), printed(row.per_km, 5e-5 + 1e-9));
    CHECK_THAT(answers.of("returned"), printed(0.0798, 5e-5));
}
