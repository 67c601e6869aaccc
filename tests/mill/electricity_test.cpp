// Bought and own electricity: both totals, what a certificate is worth, what its sale costs; and
// which stage and scope each kind of thing falls in. Rules: WRI and WBCSD, GHG Protocol Scope 2
// Guidance (2015), chapters 4 and 6, and Corporate Standard (2004), chapter 4 (from memory): the
// market view takes certificates, then contracts, then the residual mix; the location view the mix
// of the grid; a certificate that was sold takes its claim along.
#include <catch2/catch.hpp>

#include <map>
#include <string>

#include "tests/mill/mill_study.h"

namespace {

using namespace deckle;
using namespace deckle::test;

// g CO2 per kWh, all different: what grid power is typed as, its mix, what nobody claims, wind.
const std::string powers = factor("north", "electricity", "kWh", 0.300) +
                           factor("north_mix", "electricity", "kWh", 0.200) +
                           factor("north_residual", "electricity", "kWh", 0.400) +
                           factor("south", "electricity", "kWh", 0.700) +
                           factor("south_residual", "electricity", "kWh", 0.900) +
                           factor("wind", "electricity", "kWh", 0.010) +
                           factor("gas", "fuel", "GJ LHV", 50.0);
const std::string one_grid = "grids: {north: {location: north_mix, residual: north_residual}}\n";
const std::string two_grids =
    "grids: {north: {location: north_mix, residual: north_residual}, south: {residual: "
    "south_residual}}\n";
const std::string certificate =
    "certificate: {kind: guarantee_of_origin, cancelled_for: the mill, market: north, document: "
    "statement 7}";

MillText powered_by(const std::string& uses, const std::string& grids = one_grid) {
    return {powers,
            "processes:\n  machine:\n    stage: papermaking\n    makes: {sheet: 1 t}\n    uses: " +
                uses + "\n",
            grids};
}

using Rows = std::map<std::string, double>;
void same(const Rows& found, const Rows& expected) {
    for (const auto& [name, value] : expected) {
        CAPTURE(name);
        REQUIRE(found.contains(name));
        CHECK_THAT(found.at(name), exactly(value));
    }
    CHECK(found.size() == expected.size());
}

}  // namespace

TEST_CASE("market- and location-based kg CO2 of 1000 kWh by its supply", "[mill][literature]") {
    struct Row {
        std::string use;
        double market, location;
    };
    const Row row = GENERATE(
        // From the grid: the residual mix against the mix of the grid.
        Row{"{north: 1000 kWh}", 400, 200},
        Row{"{north: {amount: 1000 kWh, supply: grid}}", 400, 200},
        // By contract with its certificate: the plant; without: nobody's.
        Row{"{wind: {amount: 1 MWh, supply: {contract: {grid: north, " + certificate + "}}}}", 10,
            200},
        Row{"{wind: {amount: 1 MWh, supply: {contract: {" + certificate + "}}}}", 10, 200},
        Row{"{wind: {amount: 1 MWh, supply: {contract: {grid: north}}}}", 400, 200},
        // Past the grid: the plant in both.
        Row{"{wind: {amount: 1 MWh, supply: {direct_line: {plant: beside the mill}}}}", 10, 10},
        Row{"{wind: {amount: 1 MWh, supply: {own: {certificates_sold: no}}}}", 10, 10},
        // Own, its certificates sold: the residual mix besides, in the market view.
        Row{"{wind: {amount: 1 MWh, supply: {own: {certificates_sold: yes}}}}", 410, 10},
        // Both in one process, 400 and 600 kWh.
        Row{"{north: 400 kWh, wind: {amount: 600 kWh, supply: {contract: {" + certificate + "}}}}",
            0.4 * 400 + 0.6 * 10, 200});
    CAPTURE(row.use);
    const MillStudy study(powered_by(row.use));
    CHECK_THAT(study.market("sheet", "t"), exactly(row.market));
    CHECK_THAT(study.location("sheet", "t"), exactly(row.location));
    CHECK_FALSE(study.study.head.one_electricity_view);
}

TEST_CASE("the study says which view is its headline, and both are there", "[mill]") {
    const MillStudy by_market(powered_by("{north: 1000 kWh}", one_grid + "electricity: market\n"));
    const MillStudy by_location(
        powered_by("{north: 1000 kWh}", one_grid + "electricity: location\n"));
    CHECK_THAT(by_market.climate("sheet", "t"), exactly(400));
    CHECK_THAT(by_location.climate("sheet", "t"), exactly(200));
    CHECK_THAT(by_market.value("results.sheet.t.climate.location"), exactly(200));
    CHECK_THAT(by_location.value("results.sheet.t.climate.market"), exactly(400));
}

TEST_CASE(
    "what a study does not name of a grid, the factor used stands for, and the result says so",
    "[mill]") {
    struct Row {
        const char* grids;
        double market, location;
    };
    const Row row =
        GENERATE(Row{"", 300, 300}, Row{"grids: {north: {location: north_mix}}\n", 300, 200},
                 Row{"grids: {north: {residual: north_residual}}\n", 400, 300});
    CAPTURE(row.grids);
    const MillStudy study(powered_by("{north: 1000 kWh}", row.grids));
    CHECK_THAT(study.market("sheet", "t"), exactly(row.market));
    CHECK_THAT(study.location("sheet", "t"), exactly(row.location));
    const auto& head = study.study.head;
    CHECK(head.one_electricity_view == (row.market == row.location));
    REQUIRE(head.stand_ins.size() == 1);
    CHECK(head.stand_ins[0].factor == "t.north");
    CHECK(head.stand_ins[0].market == (row.market == 300));
    CHECK(head.stand_ins[0].location == (row.location == 300));
}

TEST_CASE("a factor of no grid stands for itself beside a grid whose views differ", "[mill]") {
    const MillStudy study(powered_by("{north: 500 kWh, wind: 500 kWh}"));
    CHECK_THAT(study.market("sheet", "t"), exactly(0.5 * 400 + 0.5 * 10));
    CHECK_THAT(study.location("sheet", "t"), exactly(0.5 * 200 + 0.5 * 10));
    CHECK_FALSE(study.study.head.one_electricity_view);
    REQUIRE(study.study.head.stand_ins.size() == 1);
    CHECK(study.study.head.stand_ins[0].factor == "t.wind");
}

TEST_CASE(
    "a contract without its certificate is a finding, and counts as the grid where no residual "
    "mix is named",
    "[mill]") {
    const MillStudy study(powered_by("{wind: {amount: 1 MWh, supply: {contract: {grid: north}}}}",
                                     "grids: {north: {location: north_mix}}\n"));
    CHECK_THAT(study.market("sheet", "t"), exactly(200));
    REQUIRE(study.study.findings.size() == 1);
    CHECK(study.study.findings[0].code == "contract-without-certificate");
}

TEST_CASE("power costs what is bought, whatever stands for it in a view", "[mill]") {
    // EUR for 1000 kWh: the grid's price, the contract's with and without its certificate, nothing
    // for a mix that stands beside own power; the mixes' own prices are never asked.
    const std::string priced =
        factor("north", "electricity", "kWh", 0.300, "cost: 0.09 EUR_2025") +
        factor("north_mix", "electricity", "kWh", 0.200, "cost: 7 EUR_2025") +
        factor("north_residual", "electricity", "kWh", 0.400, "cost: 8 EUR_2025") +
        factor("wind", "electricity", "kWh", 0.010, "cost: 0.11 EUR_2025");
    struct Row {
        std::string use;
        double cost;
    };
    const Row row = GENERATE(
        Row{"{north: 1000 kWh}", 90},
        Row{"{wind: {amount: 1000 kWh, supply: {contract: {grid: north, " + certificate + "}}}}",
            110},
        Row{"{wind: {amount: 1000 kWh, supply: {contract: {grid: north}}}}", 110},
        Row{"{wind: {amount: 1000 kWh, supply: {own: {certificates_sold: yes, grid: north}}}}",
            110});
    CAPTURE(row.use);
    MillText text = powered_by(row.use);
    text.factors = priced;
    const MillStudy study(text);
    const Result& cost = *study.study.result("sheet", "t", "cost");
    CHECK(cost.market == cost.location);
    CHECK_THAT(study.at.value[cost.node], exactly(row.cost));
}

TEST_CASE("with two grids a contract and sold certificates go by the one they name", "[mill]") {
    struct Row {
        std::string supply;
        double market, location;
    };
    // The study names no mix of the south: the contract's factor stands for its location view.
    const Row row = GENERATE(Row{"{contract: {grid: north}}", 400, 200},
                             Row{"{contract: {grid: south}}", 900, 10},
                             Row{"{own: {certificates_sold: yes, grid: north}}", 410, 10},
                             Row{"{own: {certificates_sold: yes, grid: south}}", 910, 10},
                             Row{"{own: {certificates_sold: no}}", 10, 10});
    CAPTURE(row.supply);
    const MillStudy study(
        powered_by("{wind: {amount: 1000 kWh, supply: " + row.supply + "}}", two_grids));
    CHECK_THAT(study.market("sheet", "t"), exactly(row.market));
    CHECK_THAT(study.location("sheet", "t"), exactly(row.location));
}

TEST_CASE("with two grids a supply that names none is asked which", "[mill]") {
    const std::string supply = GENERATE("{contract: {}}", "{own: {certificates_sold: yes}}");
    CAPTURE(supply);
    const Problem problem =
        refused(powered_by("{wind: {amount: 1000 kWh, supply: " + supply + "}}", two_grids));
    CHECK(problem.code == "unknown-grid");
    CHECK(problem.hint == "grid: north or south");
}

TEST_CASE(
    "own power from a stack whose certificates were sold: scope 1 stays, scope 2 comes besides "
    "in the market view",
    "[mill][literature]") {
    // 1000 kWh of power from 9 GJ of gas: 450 kg; as bought, 400 kg of the residual mix.
    const MillStudy study(
        {powers,
         "processes:\n  engine:\n    stage: energy\n    makes: {power: {amount: 1000 kWh, kind: "
         "electricity}}\n    uses: {gas: 9 GJ LHV}\n"
         "  machine:\n    stage: papermaking\n    makes: {sheet: 1 t}\n    uses: {power: {amount: "
         "1000 kWh, supply: {own: {certificates_sold: yes}}}}\n",
         one_grid});
    CHECK_THAT(study.location("sheet", "t"), exactly(450));
    CHECK_THAT(study.market("sheet", "t"), exactly(850));
    same(study.by(BreakoutBy::scope, "sheet", "t"), {{"1", 450}});
    same(study.by(BreakoutBy::scope, "sheet", "t", true), {{"1", 450}, {"2", 400}});
    same(study.by(BreakoutBy::factor, "sheet", "t", true),
         {{"t.gas", 450}, {"t.north_residual", 400}});
}

TEST_CASE("own power given as a factor counts where it is released, bought power in scope 2",
          "[mill][literature]") {
    const auto scopes = [](const std::string& supply, const std::string& scope) {
        MillText text = powered_by("{plant: {amount: 1000 kWh, supply: " + supply + "}}");
        text.factors += factor("plant", "electricity", "kWh", 0.05, scope);
        return MillStudy(text).by(BreakoutBy::scope, "sheet", "t", true);
    };
    same(scopes("{own: {certificates_sold: no}}", ""), {{"1", 50}});
    same(scopes("{own: {certificates_sold: yes}}", ""), {{"1", 50}, {"2", 400}});
    same(scopes("{direct_line: {plant: beside the mill}}", ""), {{"2", 50}});
    // Modules release nothing here; what making them released is upstream.
    same(scopes("{own: {certificates_sold: yes}}", "scope: \"3\""), {{"3", 50}, {"2", 400}});
}

// --- stage and scope ----------------------------------------------------------------------------

namespace {

/// One unit of each kind, 1, 2, 4 ... kg, so that any sum tells which it is of; own releases of
/// 0.5.
MillStudy every_kind(const std::string& runner) {
    std::string factors, uses;
    double kg = 1.0;
    for (const char* kind :
         {"fuel", "fuel_supply", "electricity", "heat", "fibre", "recovered_fibre", "chemical",
          "packaging", "water_supply", "waste", "other"}) {
        factors += factor(fmt::format("a_{}", kind), kind, "kg", kg);
        uses += fmt::format("a_{}: 1 kg, ", kind);
        kg *= 2.0;
    }
    factors += factor("a_freight", "freight", "t km", kg);
    return MillStudy(
        {factors, fmt::format("processes:\n  machine:\n    stage: papermaking\n    run_by: {}\n    "
                              "makes: {{sheet: 1 t}}\n    uses: {{{}a_freight: 1 t km}}\n    "
                              "releases: {{co2_fossil: 0.5 kg}}\n",
                              runner, uses)});
}

constexpr double fuel = 1, fuel_supply = 2, electricity = 4, heat = 8, fibre = 16, recovered = 32,
                 chemical = 64, packaging = 128, water = 256, waste = 512, other = 1024,
                 freight = 2048, released = 0.5;

}  // namespace

TEST_CASE("scope: released on the site by who runs it, bought energy 2, all else 3",
          "[mill][literature]") {
    const double upstream =
        fuel_supply + fibre + recovered + chemical + packaging + water + waste + other + freight;
    same(every_kind("own").by(BreakoutBy::scope, "sheet", "t"),
         {{"1", fuel + released}, {"2", electricity + heat}, {"3", upstream}});
    same(every_kind("energy_supplier").by(BreakoutBy::scope, "sheet", "t"),
         {{"2", fuel + released + electricity + heat}, {"3", upstream}});
    same(every_kind("other").by(BreakoutBy::scope, "sheet", "t"),
         {{"2", electricity + heat}, {"3", upstream + fuel + released}});
}

TEST_CASE("stage: by the kind of what is bought, else that of the process", "[mill]") {
    same(every_kind("own").by(BreakoutBy::stage, "sheet", "t"),
         {{"raw_materials", fibre + recovered + chemical},
          {"packaging", packaging},
          {"inbound", freight},
          {"energy", fuel_supply + electricity + heat},
          {"waste", waste},
          {"papermaking", fuel + water + other + released}});
}

TEST_CASE("a factor's own scope goes before its kind's", "[mill]") {
    const MillStudy study({factor("gas", "fuel", "GJ LHV", 50.0, "scope: \"3\"") +
                               factor("steam", "heat", "GJ", 70.0, "scope: \"1\""),
                           "processes:\n  machine:\n    makes: {sheet: 1 t}\n    uses: {gas: 1 GJ "
                           "LHV, steam: 1 GJ}\n"});
    same(study.by(BreakoutBy::scope, "sheet", "t"), {{"3", 50}, {"1", 70}});
}

TEST_CASE("a fuel is burned in the process that uses it, and its supply comes along in scope 3",
          "[mill][literature]") {
    const MillStudy study(
        {factor("gas", "fuel", "GJ LHV", 56.1, "brings: {gas_supply: 1 GJ LHV}") +
             factor("gas_supply", "fuel_supply", "GJ LHV", 7.2),
         "processes:\n  hood: {stage: papermaking, makes: {sheet: 1 t}, uses: {gas: 2 GJ LHV}}\n"});
    same(study.by(BreakoutBy::scope, "sheet", "t"), {{"1", 112.2}, {"3", 14.4}});
    same(study.by(BreakoutBy::stage, "sheet", "t"), {{"papermaking", 112.2}, {"energy", 14.4}});
}
