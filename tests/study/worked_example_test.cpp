// The worked example: a whole small study whose answers were computed independently of Deckle, by
// hand-set linear algebra in double precision, and printed to thirteen digits. A loop (broke), two
// co-product processes, formulas, heating values, mass bases, freight, brought factors, a rest, a
// winding.
#include <catch2/catch.hpp>

#include <cmath>
#include <map>
#include <string>

#include "engine/analysis/breakout.h"
#include "engine/analysis/trace.h"
#include "engine/study/study.h"

namespace {

using namespace deckle;

struct WorkedExample {
    Study study;
    Evaluation at;
    WorkedExample() {
        load_study(std::string(DECKLE_SOURCE_DIR) + "/inventories/worked_example", study);
        at = evaluate(study.graph);
    }
    const Result& result(const std::string& of, const std::string& per,
                         const std::string& indicator) const {
        const Result* found = study.result(of, per, indicator);
        REQUIRE(found != nullptr);
        return *found;
    }
    double value(const std::string& of, const std::string& per,
                 const std::string& indicator) const {
        return at.value[result(of, per, indicator).node];
    }
    std::map<std::string, double> by(const std::string& of, const std::string& per,
                                     BreakoutBy what) const {
        const Result& asked = result(of, per, "climate");
        std::map<std::string, double> rows;
        for (const auto& row : break_out(study, at, asked, asked.node, what).rows)
            rows[row.name] = row.value;
        return rows;
    }
};

const WorkedExample& worked_example() {
    static const WorkedExample loaded;
    return loaded;
}

constexpr double printed =
    1e-11;  // thirteen digits are printed; thousands of roundings lie between

void check(double found, double expected) {
    if (expected == 0.0) CHECK(found == 0.0);
    else CHECK_THAT(found, Catch::Matchers::WithinRel(expected, printed));
}

}  // namespace

TEST_CASE(
    "worked example: footprints per unit of mill and consumer products (independent linear "
    "algebra)",
    "[study][golden]") {
    struct Row {
        const char *of, *per;
        double climate, fossil, biogenic, land_use, withdrawn, consumed, fibre;
    };
    const Row row = GENERATE(
        Row{"steam", "GJ", 73.98971673569, 73.98663510304, 0.003081632653061, 0, 0.03335896465904,
            0.005354424091588, 0},
        Row{"electricity", "kWh", 0.2548306243902, 0.2540306243902, 0.0008, 0, 0.007762634146341,
            0.001120790243902, 0},
        Row{"base_sheet", "t", 1117.286245798, 1095.226552555, 15.68074587489, 6.378947368421,
            50.13431932868, 5.717527422255, 956.8421052632},
        Row{"converted_tissue", "t", 1151.178718842, 1129.012625599, 15.78714587489, 6.378947368421,
            51.16674967014, 5.866592524694, 956.8421052632},
        Row{"bath_3ply", "t", 1253.976391457, 1228.50017514, 18.56159440659, 6.91462191054,
            52.69449346427, 6.022525655923, 956.8421052632},
        Row{"bath_3ply", "roll", 0.1295871742696, 0.1269544365992, 0.001918173727571,
            0.0007145639428571, 0.005445501649091, 0.0006223738238087, 0.09888102},
        Row{"bath_3ply", "sheet", 0.0007004712122681, 0.0006862401978334, 1.036850663552e-05,
            3.862507799228e-06, 2.943514404914e-05, 3.364182831398e-06, 0.000534492},
        Row{"bath_3ply", "pack", 1.036697394157, 1.015635492793, 0.01534538982057,
            0.005716511542857, 0.04356401319273, 0.00497899059047, 0.79104816},
        Row{"bath_3ply", "case", 7.256881759098, 7.109448449554, 0.107417728744, 0.0400155808,
            0.3049480923491, 0.03485293413329, 5.53733712},
        Row{"bath_3ply_long", "t", 1214.437828154, 1190.75695896, 17.30192182576, 6.378947368421,
            51.90541811323, 5.948033248757, 956.8421052632},
        Row{"bath_3ply_long", "roll", 0.1411040739278, 0.1383526221532, 0.002010289534629,
            0.00074116224, 0.006030828244074, 0.0006910948455332, 0.111174336},
        Row{"bath_3ply_long", "sheet", 0.0006783849708069, 0.000665156837275, 9.664853531868e-06,
            3.56328e-06, 2.899436655805e-05, 3.322571372756e-06, 0.000534492},
        Row{"bath_3ply_long", "pack", 2.257665182845, 2.213641954451, 0.03216463255406,
            0.01185859584, 0.09649325190519, 0.01105751752853, 1.778789376});
    CAPTURE(row.of, row.per);
    const WorkedExample& e = worked_example();
    check(e.value(row.of, row.per, "climate"), row.climate);
    check(e.value(row.of, row.per, "climate_fossil"), row.fossil);
    check(e.value(row.of, row.per, "climate_biogenic"), row.biogenic);
    check(e.value(row.of, row.per, "climate_land_use"), row.land_use);
    check(e.value(row.of, row.per, "water_withdrawn"), row.withdrawn);
    check(e.value(row.of, row.per, "water_consumed"), row.consumed);
    check(e.value(row.of, row.per, "fibre"), row.fibre);
}

TEST_CASE("worked example: winding, whole sheets and carbon held (independent, ten digits)",
          "[study][golden]") {
    const WorkedExample& e = worked_example();
    const auto near = [](double found, double expected, double half_last_digit) {
        CHECK_THAT(found, Catch::Matchers::WithinAbs(expected, half_last_digit));
    };
    const Subject& roll = *e.study.subject("bath_3ply");
    near(e.at.value[e.study.graph.find("products.bath_3ply.wound_length")], 23.2147162, 5e-8);
    near(e.at.value[roll.exact_count], 185.71773, 5e-6);
    CHECK(e.at.value[roll.whole_count] == 185.0);
    near(e.at.value[e.study.graph.find("products.bath_3ply.tissue_mass")], 0.103341e-3, 1e-18);
    near(e.value("bath_3ply", "roll", "biogenic_carbon"), 0.0434057002, 5e-11);
    near(e.value("bath_3ply", "roll", "climate_with_uptake"), -0.0295670597, 5e-11);
    const Subject& longer = *e.study.subject("bath_3ply_long");
    near(e.at.value[longer.exact_count], 208.932446, 5e-7);
    CHECK(e.at.value[longer.whole_count] == 208.0);
    near(e.value("bath_3ply_long", "roll", "biogenic_carbon"), 0.0488020845, 5e-11);
    near(e.value("bath_3ply_long", "roll", "climate_with_uptake"), -0.0378369027, 5e-11);
    near(e.value("base_sheet", "t", "biogenic_carbon"), 420.024, 1e-10);  // 0.946 x 0.444 x 1000
}

TEST_CASE("worked example: per period and all products together (independent)", "[study][golden]") {
    const WorkedExample& e = worked_example();
    CHECK_THAT(e.value("bath_3ply", "period", "climate"),
               Catch::Matchers::WithinAbs(5183486.97, 0.005));
    CHECK_THAT(e.value("bath_3ply_long", "period", "climate"),
               Catch::Matchers::WithinAbs(1269936.67, 0.005));
    CHECK_THAT(e.value("all", "period", "climate"), Catch::Matchers::WithinAbs(6453423.64, 0.005));
}

TEST_CASE("worked example: climate by scope, stage and user adds up (independent, twelve digits)",
          "[study][golden]") {
    const WorkedExample& e = worked_example();
    const auto same = [](const std::map<std::string, double>& found,
                         const std::map<std::string, double>& expected, double margin) {
        for (const auto& [name, value] : expected) {
            CAPTURE(name);
            REQUIRE(found.contains(name));
            CHECK_THAT(found.at(name), Catch::Matchers::WithinAbs(value, margin));
        }
        CHECK(found.size() == expected.size());
    };
    same(e.by("base_sheet", "t", BreakoutBy::scope),
         {{"1", 345.417891062}, {"2", 174.441241338}, {"3", 597.427113399}}, 5e-10);
    same(e.by("base_sheet", "t", BreakoutBy::stage),
         {{"raw_materials", 468.105263158},
          {"energy", 455.038166851},
          {"papermaking", 133.003657895},
          {"inbound", 61.1391578947}},
         5e-10);
    same(e.by("base_sheet", "t", BreakoutBy::user),
         {{"bleached_pulp", 491.89},
          {"electricity", 236.99},
          {"steam", 177.40},
          {"natural_gas", 142.55},
          {"broke", 57.56},
          {"wet_strength_resin", 10.89}},
         5e-3);
    same(e.by("bath_3ply", "roll", BreakoutBy::scope),
         {{"1", 0.0363735460902}, {"2", 0.0204349429667}, {"3", 0.0727786852127}}, 5e-14);
    same(e.by("bath_3ply", "roll", BreakoutBy::stage),
         {{"energy", 0.0505265812574},
          {"raw_materials", 0.048374466},
          {"papermaking", 0.0137447310105},
          {"packaging", 0.0106232142857},
          {"inbound", 0.006318181716}},
         5e-14);
}

TEST_CASE("worked example: what is covered, and what is not", "[study]") {
    const WorkedExample& e = worked_example();
    const auto coverage = [&](const char* of, const char* per, const char* indicator) {
        return e.result(of, per, indicator).coverage;
    };
    CHECK(coverage("base_sheet", "t", "climate") == Coverage::complete);
    CHECK(coverage("base_sheet", "t", "fibre") == Coverage::complete);
    CHECK(coverage("base_sheet", "t", "water_consumed") == Coverage::complete);
    CHECK(coverage("base_sheet", "t", "climate_biogenic") ==
          Coverage::at_least);  // the resin's CO2e is one number
    CHECK(coverage("base_sheet", "t", "climate_land_use") == Coverage::at_least);
    CHECK(coverage("base_sheet", "t", "climate_fossil") == Coverage::complete);
    CHECK(e.result("base_sheet", "t", "climate_fossil").one_number);
    CHECK_FALSE(e.result("steam", "GJ", "climate_fossil").one_number);
    for (const char* none : {"energy_renewable", "energy_non_renewable", "water_scarcity"}) {
        CHECK(coverage("base_sheet", "t", none) == Coverage::not_covered);
    }
    CHECK(coverage("bath_3ply", "roll", "biogenic_carbon") ==
          Coverage::at_least);  // the core's board states none
    CHECK(coverage("base_sheet", "t", "biogenic_carbon") == Coverage::complete);
    CHECK(e.study.head.one_electricity_view);
}

TEST_CASE("worked example: every break-out adds up to its result (Euler)", "[study][property]") {
    const WorkedExample& e = worked_example();
    for (const Result& result : e.study.results) {
        for (const BreakoutBy by : {BreakoutBy::stage, BreakoutBy::process, BreakoutBy::use,
                                    BreakoutBy::factor, BreakoutBy::gas, BreakoutBy::scope}) {
            const Breakout breakout = break_out(e.study, e.at, result, result.node, by);
            double sum = 0.0, absolute = 0.0;
            for (const auto& row : breakout.rows) {
                sum += row.value;
                absolute += std::abs(row.value);
            }
            CAPTURE(result.address, name_of(by));
            CHECK(std::abs(sum - breakout.total) <=
                  1e-12 * std::max(absolute, std::abs(breakout.total)));
        }
    }
}

TEST_CASE("worked example: a trace leads to file, line and source of each leaf", "[study]") {
    const WorkedExample& e = worked_example();
    const Trace found = trace(e.study, e.at, "results.bath_3ply.roll.climate", {});
    CHECK(found.nodes.front().value == e.value("bath_3ply", "roll", "climate"));
    bool gas = false;
    for (const TraceNode& node : found.nodes) {
        if (node.operation != "input") continue;
        CHECK(node.at.known());
        CHECK_FALSE(node.typed.empty());
        if (node.address == "example.natural_gas.releases.co2_fossil") {
            gas = true;
            CHECK(node.typed == "56.1 kg");
            CHECK(node.source.find("2006 IPCC Guidelines") != std::string::npos);
            CHECK(e.study.files.where(node.at).find("factors.yaml") != std::string::npos);
        }
    }
    CHECK(gas);
    const Trace input = trace(e.study, e.at, "vellomere.tissue_machine.uses.natural_gas", {});
    CHECK(std::find(input.used_by.begin(), input.used_by.end(), "results.bath_3ply.roll.climate") !=
          input.used_by.end());
}
