// Matrix inventories written as mills: processes that feed each other, a loop that cannot be
// solved, and what keeps a mix whole (`rest`, `losses`). The matrix method is that of Heijungs and
// Suh, The Computational Structure of Life Cycle Assessment (Kluwer 2002): s = A^-1 f, g = B s.
#include <catch2/catch.hpp>

#include <string>

#include "engine/graph/evaluate.h"
#include "tests/mill/mill_study.h"

namespace {

using namespace deckle;
using namespace deckle::test;

const std::string sulphur_and_crude =
    "indicators: {so2: {title: Sulphur dioxide, unit: kg}, crude: {title: Crude oil, unit: L}}\n";

/// A factor that brings one of an own indicator per one of `per`.
std::string counts(const std::string& id, const std::string& per, const std::string& indicator) {
    return fmt::format(
        "  {}: {{title: X, kind: other, per: 1 {}, releases: {{co2_fossil: 0 kg}}, indicators: "
        "{{{}: 1 {}}}}}\n",
        id, per, indicator, per);
}

/// Two processes (chapter 2 of the book, numbers from memory): 2 L of fuel give 10 kWh, 1 kg CO2
/// and 0.1 kg SO2; 50 L of crude oil give 100 L of fuel, 10 kg CO2 and 2 kg SO2. `power_of_fuel`
/// kWh go into making those 100 L.
MillText two_processes(const std::string& power_of_fuel, const std::string& fuel = "2 L") {
    return {counts("sulphur", "kg", "so2") + counts("crude_oil", "L", "crude"),
            "processes:\n"
            "  power_plant:\n    makes: {power: {amount: 10 kWh, kind: electricity}}\n"
            "    uses: {fuel: " +
                fuel +
                ", sulphur: 0.1 kg}\n    releases: {co2_fossil: 1 kg}\n"
                "  refinery:\n    makes: {fuel: 100 L}\n    uses: {crude_oil: 50 L, power: " +
                power_of_fuel + ", sulphur: 2 kg}\n    releases: {co2_fossil: 10 kg}\n",
            "", sulphur_and_crude};
}

}  // namespace

TEST_CASE(
    "two processes for 1000 kWh: 120 kg CO2, 14 kg SO2, 100 L of crude oil (Heijungs and Suh "
    "2002, ch. 2, from memory, recomputed)",
    "[mill][literature]") {
    const MillStudy study(two_processes("0 kWh"));
    CHECK_THAT(1000.0 * study.climate("power", "kWh"), exactly(120.0));
    CHECK_THAT(1000.0 * study.result("power", "kWh", "so2"), exactly(14.0));
    CHECK_THAT(1000.0 * study.result("power", "kWh", "crude"), exactly(100.0));
    // Intensities of a litre of fuel: 0.1 kg, 0.02 kg and 0.5 L.
    CHECK_THAT(study.climate("fuel", "L"), exactly(0.1));
    CHECK_THAT(study.result("fuel", "L", "so2"), exactly(0.02));
    CHECK_THAT(study.result("fuel", "L", "crude"), exactly(0.5));
}

TEST_CASE(
    "the same with fuel that takes 20 kWh to make: 125 kg, 175/12 kg, 104.1666 L "
    "(constructed, s = (1000/9.6, 20/9.6))",
    "[mill][literature]") {
    const MillStudy study(two_processes("20 kWh"));
    const double plant = 1000.0 / 9.6, refinery = 20.0 / 9.6;
    CHECK_THAT(1000.0 * study.climate("power", "kWh"), exactly(plant + 10.0 * refinery));
    CHECK_THAT(1000.0 * study.climate("power", "kWh"), exactly(125.0));
    CHECK_THAT(1000.0 * study.result("power", "kWh", "so2"), exactly(175.0 / 12.0));
    CHECK_THAT(1000.0 * study.result("power", "kWh", "crude"), exactly(50.0 * refinery));
    CHECK_THAT(study.climate("fuel", "L"), exactly(0.125));
    CHECK_THAT(study.result("fuel", "L", "so2"), exactly(0.0229166666666666667));
    CHECK_THAT(study.result("fuel", "L", "crude"), exactly(0.520833333333333333));
}

TEST_CASE(
    "elasticities of the loop: 5/24 to the fuel a plant burns, 1/24 to the power of the "
    "refinery, -25/24 to the power made (constructed, adjoint formula)",
    "[mill][literature]") {
    // A loop gives an elasticity beyond 1; over all coefficients of the technology they add to -1.
    const MillStudy study(two_processes("20 kWh"));
    const NodeId result = study.study.result("power", "kWh", "climate")->node;
    const auto slopes = derivatives(study.study.graph, study.at, result);
    const auto elasticity = [&](const char* address) {
        const NodeId input = study.study.graph.find(address);
        REQUIRE(input != no_node);
        return slopes[input] * study.at.value[input] / study.at.value[result];
    };
    CHECK_THAT(elasticity("m.power_plant.uses.fuel"), exactly(5.0 / 24.0));
    CHECK_THAT(elasticity("m.refinery.makes.fuel"), exactly(-5.0 / 24.0));
    CHECK_THAT(elasticity("m.power_plant.makes.power"), exactly(-25.0 / 24.0));
    CHECK_THAT(elasticity("m.refinery.uses.power"), exactly(1.0 / 24.0));
}

TEST_CASE(
    "other coefficients: fuel 1.8 L gives 118 kg, 13.6 kg, 90 L, with 20 kWh as well "
    "122.4066390, 14.1078838, 93.3609959 (constructed)",
    "[mill][literature]") {
    const MillStudy less(two_processes("0 kWh", "1.8 L"));
    CHECK_THAT(1000.0 * less.climate("power", "kWh"), exactly(118.0));
    CHECK_THAT(1000.0 * less.result("power", "kWh", "so2"), exactly(13.6));
    CHECK_THAT(1000.0 * less.result("power", "kWh", "crude"), exactly(90.0));
    const MillStudy both(two_processes("20 kWh", "1.8 L"));
    CHECK_THAT(1000.0 * both.climate("power", "kWh"), printed(122.4066390, 5e-8));
    CHECK_THAT(1000.0 * both.result("power", "kWh", "so2"), printed(14.1078838, 5e-8));
    CHECK_THAT(1000.0 * both.result("power", "kWh", "crude"), printed(93.3609959, 5e-8));
}

TEST_CASE(
    "near its limit of 500 kWh the loop takes ten, a hundred, a thousand times as much "
    "(constructed)",
    "[mill][literature]") {
    // s = 1000 / (10 - 0.02 p) runs of the plant for 1000 kWh; CO2 is 1.2 of it.
    struct Row {
        const char* power;
        double kg, tolerance;
    };
    const Row row = GENERATE(Row{"450 kWh", 1200.0, 1e-13}, Row{"495 kWh", 12000.0, 1e-12},
                             Row{"499.5 kWh", 120000.0, 1e-11});
    CAPTURE(row.power);
    const MillStudy study(two_processes(row.power));
    CHECK_THAT(1000.0 * study.climate("power", "kWh"),
               Catch::Matchers::WithinRel(row.kg, row.tolerance));
}

TEST_CASE(
    "a loop that needs all it makes, or more, has no answer and names its members "
    "(constructed, Hawkins and Simon)",
    "[mill][literature]") {
    const std::string power = GENERATE("500 kWh", "600 kWh");
    CAPTURE(power);
    const Problem problem = no_answer(two_processes(power));
    CHECK(problem.code == "unsolvable-loop");
    CHECK(problem.message.find("m.power_plant.makes.power") != std::string::npos);
    CHECK(problem.message.find("m.refinery.makes.fuel") != std::string::npos);
}

TEST_CASE(
    "two sectors that use their own output (Miller and Blair, Input-Output Analysis, ch. 2, "
    "from memory, recomputed)",
    "[mill][literature]") {
    // Z = (150, 500; 200, 100), x = (1000, 2000): A = (0.15, 0.25; 0.20, 0.05), the determinant of
    // I - A is 0.85 x 0.95 - 0.25 x 0.20 = 0.7575. An own indicator counts the output of each.
    const MillStudy study(
        {counts("of_one", "t", "gross_one") + counts("of_two", "t", "gross_two"),
         "processes:\n"
         "  sector_one: {makes: {one: 1000 t}, uses: {one: 150 t, two: 200 t, of_one: 1000 t}}\n"
         "  sector_two: {makes: {two: 2000 t}, uses: {one: 500 t, two: 100 t, of_two: 2000 t}}\n",
         "", "indicators: {gross_one: {title: A, unit: t}, gross_two: {title: B, unit: t}}\n"});
    const double determinant = 0.7575;
    const auto total = [&](const char* of, const char* indicator) {
        return study.result(of, "t", indicator);
    };
    CHECK_THAT(total("one", "gross_one"), exactly(0.95 / determinant));
    CHECK_THAT(total("one", "gross_two"), exactly(0.20 / determinant));
    CHECK_THAT(total("two", "gross_one"), exactly(0.25 / determinant));
    CHECK_THAT(total("two", "gross_two"), exactly(0.85 / determinant));
    CHECK_THAT(total("one", "gross_one"), printed(1.2541254125, 5e-11));
    CHECK_THAT(total("two", "gross_two"), printed(1.1221122112, 5e-11));
    CHECK_THAT(600.0 * total("one", "gross_one") + 1500.0 * total("two", "gross_one"),
               printed(1247.524752475, 5e-10));
    CHECK_THAT(600.0 * total("one", "gross_two") + 1500.0 * total("two", "gross_two"),
               printed(1841.584158416, 5e-10));
}

// --- what keeps a mix whole ---------------------------------------------------------------------

TEST_CASE("the rest of a mix is output / (1 - losses) less the others (by hand)", "[mill]") {
    const auto header = [](const std::string& losses, const std::string& engine) {
        return MillText{
            factor("engine", "heat", "GJ", 50.0) + factor("boiler", "heat", "GJ", 70.0),
            "processes:\n  header:\n    stage: energy\n    makes: {steam: {amount: 1 GJ, "
            "kind: heat}}\n    uses: {engine: " +
                engine + ", boiler: rest}\n" + losses};
    };
    const MillStudy lossy(header("    losses: 2 %\n", "0.25 GJ"));
    CHECK_THAT(lossy.value("m.header.uses.boiler"), exactly(1.0 / 0.98 - 0.25));
    CHECK_THAT(lossy.climate("steam", "GJ"), exactly(50.0 * 0.25 + 70.0 * (1.0 / 0.98 - 0.25)));
    const MillStudy tight(header("", "900 MJ"));
    CHECK_THAT(tight.climate("steam", "GJ"), exactly(50.0 * 0.9 + 70.0 * 0.1));
    // Nothing left is an answer, less than nothing is none.
    CHECK_THAT(MillStudy(header("", "1 GJ")).climate("steam", "GJ"), exactly(50.0));
    const Problem problem = no_answer(header("", "1.01 GJ"));
    CHECK(problem.code == "negative-rest");
    CHECK(problem.message.find("m.header.uses.boiler") != std::string::npos);
}

TEST_CASE("the rest of a furnish is counted on the product's basis, fibre for fibre (by hand)",
          "[mill]") {
    const auto stock = [](const char* made, const char* first, const char* second) {
        return MillStudy(
            {factor("softwood", "fibre", "ADt", 500.0) +
                 factor("eucalyptus", "fibre", "ADt", 400.0) +
                 factor("recovered", "recovered_fibre", "t", 100.0, "dryness: 90 %") +
                 factor("resin", "chemical", "kg dry", 3.0),
             fmt::format("processes:\n  stock:\n    stage: stock\n    makes: {{stock: {{{}, kind: "
                         "fibre}}}}\n    uses: {{{}, {}: rest, resin: 4 kg dry}}\n",
                         made, first, second)});
    };
    // A dry tonne less 0.3 ADt, 0.27 t dry, leaves 0.73 t dry: 0.73/0.9 ADt, or as many tonnes at
    // 90 %. The resin is no fibre and takes nothing off.
    CHECK_THAT(stock("amount: 1 t dry", "softwood: 0.3 ADt", "eucalyptus")
                   .value("m.stock.uses.eucalyptus"),
               exactly(0.73 / 0.9));
    CHECK_THAT(
        stock("amount: 1 t dry", "softwood: 0.3 ADt", "recovered").value("m.stock.uses.recovered"),
        exactly(0.73 / 0.9));
    // A tonne at 95 %: 0.95 t dry less 0.27.
    CHECK_THAT(stock("amount: 1 t, dryness: 95 %", "softwood: 0.3 ADt", "recovered")
                   .value("m.stock.uses.recovered"),
               exactly((0.95 - 0.27) / 0.9));
    CHECK_THAT(stock("amount: 1 t, dryness: 95 %", "recovered: 0.3 t", "eucalyptus")
                   .value("m.stock.uses.eucalyptus"),
               exactly((0.95 - 0.27) / 0.9));
}

TEST_CASE("losses without a rest change no footprint", "[mill]") {
    const auto boiler = [](const std::string& losses) {
        return MillStudy(
            {factor("gas", "fuel", "GJ LHV", 56.1),
             "processes:\n  boiler: {makes: {steam: {amount: 1 GJ, kind: heat}}, uses: "
             "{gas: 1.1 GJ LHV}" +
                 losses + "}\n"});
    };
    CHECK_THAT(boiler(", losses: 9 %").climate("steam", "GJ"), exactly(1.1 * 56.1));
    CHECK_THAT(boiler("").climate("steam", "GJ"), exactly(1.1 * 56.1));
}

// --- amounts belong together -------------------------------------------------------------------

TEST_CASE("a year's totals, one tonne, and amounts per tonne say the same (by hand)", "[mill]") {
    const auto machine = [](const char* made, const char* pulp, const char* power,
                            const char* release, const char* river, const char* back) {
        return MillStudy(
            {factor("pulp", "fibre", "ADt", 450.0) + factor("grid", "electricity", "kWh", 0.3),
             fmt::format(
                 "waters: {{river: {{from: surface, basin: valley}}}}\nprocesses:\n  machine:\n "
                 "   stage: papermaking\n    makes: {{sheet: {{amount: {}, dryness: 95 "
                 "%}}}}\n    uses: {{pulp: {}, grid: {}}}\n    releases: {{ch4_fossil: "
                 "{}}}\n    takes_in: {{river: {}}}\n    gives_back: {{river: {}}}\n",
                 made, pulp, power, release, river, back)});
    };
    // 1.03 x 450 + 930 x 0.3 + 0.02 x 30 = 743.1 kg; 8.8 m3 taken, 1.2 consumed.
    const auto year = machine("61_240 t", "63_077.2 ADt", "56_953.2 MWh", "1_224.8 kg",
                              "538_912 m3", "465_424 m3");
    const auto tonne = machine("1 t", "1.03 ADt", "930 kWh", "20 g", "8.8 m3", "7.6 m3");
    const auto per_tonne =
        machine("61_240 t", "1.03 ADt/t", "930 kWh/t", "20 g/t", "8.8 m3/t", "7.6 m3/t");
    for (const MillStudy* study : {&year, &tonne, &per_tonne}) {
        CHECK_THAT(study->climate("sheet", "t"), exactly(743.1));
        CHECK_THAT(study->result("sheet", "t", "water_withdrawn"), exactly(8.8));
        CHECK_THAT(study->result("sheet", "t", "water_consumed"), exactly(1.2));
    }
    // A tonne at the reel is 0.95 t dry: per dry tonne made, 1/0.95 of it.
    const auto per_dry = machine("1 t", "1.03 ADt", "930 kWh/t dry", "20 g", "8.8 m3", "7.6 m3");
    CHECK_THAT(per_dry.climate("sheet", "t"), exactly(1.03 * 450 + 930 * 0.95 * 0.3 + 0.6));
}

TEST_CASE(
    "a process counted for another output has the same footprints, loops and shares included "
    "(constructed)",
    "[mill][property]") {
    const auto mill = [](double times) {
        const auto n = [&](double amount) { return fmt::format("{:.17g}", amount * times); };
        return MillStudy(
            {factor("pulp", "fibre", "ADt", 450.0) + factor("grid", "electricity", "kWh", 0.3),
             "processes:\n  machine:\n    makes: {sheet: {amount: 1 t, dryness: 95 %}}\n    uses: "
             "{pulp: 1.01 ADt, broke: 0.05 t, power: 900 kWh}\n"
             "  board:\n    makes: {power: {amount: 1 kWh, kind: electricity}}\n    losses: 3 %\n  "
             "  "
             "uses: {grid: rest}\n"
             "  converting:\n    makes: {tissue: {amount: " +
                 n(0.95) + " t, dryness: 95 %}, broke: {amount: " + n(0.05) +
                 " t, dryness: 95 %}}\n    allocation: mass\n    uses: {sheet: " + n(1.0) +
                 " t, power: " + n(133.0) + " kWh}\n    releases: {co2_fossil: " + n(2.0) +
                 " kg}\n"});
    };
    const MillStudy one = mill(1.0), year = mill(31250.0);
    for (const char* of : {"sheet", "tissue", "broke"})
        CHECK_THAT(year.climate(of, "t"), Catch::Matchers::WithinRel(one.climate(of, "t"), 1e-13));
    // x = 454.5 + 900 p + 0.05 y; y = x + 133 p + 2 with p = 0.3/0.97 kg/kWh.
    const double p = 0.3 / 0.97;
    const double sheet = (1.01 * 450 + 900 * p + 0.05 * (133 * p + 2)) / 0.95;
    CHECK_THAT(one.climate("sheet", "t"), exactly(sheet));
    CHECK_THAT(one.climate("tissue", "t"), exactly(sheet + 133 * p + 2));
}
