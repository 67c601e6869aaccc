// Scenarios, products and production lines side by side, against arithmetic by hand. What the trade
// says of technologies stands in trade_test.cpp.
#include <algorithm>
#include <catch2/catch.hpp>

#include "engine/analysis/breakeven.h"
#include "tests/analysis/compare_study.h"

namespace {

using namespace deckle;
using namespace deckle::test;
using Catch::Contains;
using Catch::Matchers::WithinAbs;
using Catch::Matchers::WithinRel;

}  // namespace

TEST_CASE("a fuel switch by hand: climate, scopes, cost with carbon price, cost of what is avoided",
          "[analysis][compare]") {
    const MemoryStudy study = mill_with_scenarios(scenarios);
    ComparisonQuestion question;
    question.scenarios = {"today", "electric"};
    question.products = {"sheet"};
    question.equal = "t";
    const Compared all = compare(study.study, study.at, question);
    // today: 4.5 GJ of steam take 5 GJ of gas. 5 × 56 + 1000 × 0.2 + 0.95 × 400 = 860 kg.
    CHECK_THAT(figure(all, 0, "climate").value, WithinRel(860.0, 1e-12));
    CHECK_THAT(all.rows[0].location[0], WithinRel(280.0, 1e-12));
    CHECK_THAT(all.rows[0].location[1], WithinRel(200.0, 1e-12));
    CHECK_THAT(all.rows[0].location[2], WithinRel(380.0, 1e-12));
    // electric: 5 GJ × 0.90 / 0.99 = 4.5454... GJ = 1262.6263 kWh more. 1262.6263 × 0.2 =
    // 252.52526.
    const double power = 5.0 * 0.90 / 0.99 / 3.6 * 1000.0;
    CHECK_THAT(figure(all, 1, "climate").value, WithinRel(580.0 + 0.2 * power, 1e-12));
    CHECK_THAT(*figure(all, 1, "climate").index,
               WithinRel(100.0 * (580.0 + 0.2 * power) / 860.0, 1e-12));
    // cost: 5 × 10 + 1000 × 0.1 + 0.95 × 600 + 0.28 t × 80 − 4.5 GJ × 0.02 × 80 = 735.2.
    CHECK_THAT(figure(all, 0, "cost").value, WithinRel(735.2, 1e-12));
    CHECK_THAT(figure(all, 0, "cost_marginal").value, WithinRel(725.2, 1e-12));
    // electric, marginal: 40 of gas and 22.4 of carbon less, 0.1 × 1262.6263 more.
    REQUIRE(all.rows[1].step);
    CHECK_THAT(*all.rows[1].step->cost, WithinRel(0.1 * power - 62.4, 1e-10));
    const double avoided = (280.0 - 0.2 * power) / 1000.0;
    CHECK_THAT(*all.rows[1].step->per_tonne_avoided,
               WithinRel((0.1 * power - 62.4) / avoided, 1e-10));
}

TEST_CASE("rows made under different rules are refused, or stand side by side without an index",
          "[analysis][compare]") {
    const MemoryStudy study = mill_with_scenarios(scenarios);
    ComparisonQuestion question;
    question.scenarios = {"today", "under_market"};
    question.products = {"sheet"};
    question.equal = "t";
    CHECK(code_of(study, question) == "unlike-rules");
    question.other_rules = true;
    const Compared all = compare(study.study, study.at, question);
    REQUIRE(all.rules_differ.size() == 1);
    CHECK(all.rules_differ[0].find("electricity") != std::string::npos);
    CHECK_FALSE(figure(all, 1, "climate").index);
    // the grid says nothing of a residual mix: the same figure
    CHECK_FALSE(figure(all, 0, "climate").percent_apart);
    CHECK_THAT(*figure(all, 1, "climate").percent_apart, WithinAbs(0.0, 1e-12));
    question.other_rules = false;
    question.scenarios = {"today", "electric"};
    question.references = {"sheet@nowhere"};
    CHECK(code_of(study, question) == "unknown-reference");
    question.references = {};
    question.indicators = {"climat"};
    CHECK(code_of(study, question) == "unknown-indicator");
}

TEST_CASE("rows made under another set of rules are refused by its name", "[analysis][compare]") {
    const MemoryStudy study = mill_with_scenarios(
        "scenarios:\n  customer: {title: A customer's, changes: [{rule: rules, is: {id: theirs, "
        "version: '2', indicators: [climate_removals]}, reason: by hand}]}\n");
    ComparisonQuestion question;
    question.scenarios = {"today", "customer"};
    question.products = {"sheet"};
    question.equal = "t";
    CHECK(code_of(study, question) == "unlike-rules");
    question.other_rules = true;
    const Compared all = compare(study.study, study.at, question);
    CHECK(all.rules_differ ==
          std::vector<std::string>{"rules: today has none, customer has theirs 2"});
    CHECK_FALSE(figure(all, 1, "climate").index);
}

TEST_CASE(
    "other rules: a line for a difference and scenario, whatever the products, and the "
    "difference in % of the same product",
    "[analysis][compare]") {
    const MemoryStudy study = of_mill(
        "scenarios: [sc.yaml]\nproducts: [products.yaml]\n",
        {{"sc.yaml",
          "scenarios:\n  weight: {title: Another weight, changes: [{set: w.gases.co2_fossil, to: 2 "
          "kg, reason: by hand}]}\n  market: {title: Market-based, changes: [{rule: electricity, "
          "is: market, reason: by hand}]}\n"},
         {"products.yaml",
          "products:\n" + towel("one", "9.4") + towel("two", "9.4") + towel("three", "9.4")}});
    ComparisonQuestion question;
    question.scenarios = {"today", "market", "weight"};
    question.products = {"one", "two", "three"};
    question.equal = "roll";
    question.indicators = {"climate", "fibre"};
    question.other_rules = true;
    const Compared all = compare(study.study, study.at, question);
    REQUIRE(all.rules_differ.size() == 2);
    CHECK(all.rules_differ[0] == "electricity: today has location, market has market");
    CHECK_THAT(all.rules_differ[1], Contains("characterization: today has w, weight has w with"));
    // per tonne 860 kg, 280 of them of gas: with twice the weight of its CO2 1140
    REQUIRE(all.rows.size() == 9);
    for (const std::size_t product : {0U, 1U, 2U}) {
        CHECK_FALSE(figure(all, 3 * product, "climate").percent_apart);
        CHECK_THAT(*figure(all, 3 * product + 2, "climate").percent_apart,
                   WithinRel(100.0 * (1140.0 / 860.0 - 1.0), 1e-9));
        CHECK_THAT(*figure(all, 3 * product + 2, "fibre").percent_apart, WithinAbs(0.0, 1e-9));
    }
}

TEST_CASE("renewable energy stands beside the rest, and an indicator that no row has is refused",
          "[analysis][compare]") {
    const MemoryStudy study = with_products(towel("one", "9.4"));
    ComparisonQuestion question;
    const Compared all = compare(study.study, study.at, question);
    std::vector<std::string> names;
    for (const Indicator* one : all.indicators) names.push_back(one->id);
    const auto renewable = std::ranges::find(names, "energy_renewable");
    REQUIRE(renewable != names.end());
    CHECK(*(renewable - 1) == "energy_non_renewable");
    const MemoryStudy without({{"study.yaml",
                                "study: s\ntitle: S\ncharacterization: w\nfactors: [w.yaml, "
                                "f.yaml]\nmills: [m.yaml]\n"},
                               {"w.yaml", weights},
                               {"f.yaml", factors},
                               {"m.yaml", mill}});
    question.products = {"sheet"};
    question.indicators = {"climate", "cost"};
    CHECK(code_of(without, question) == "no-such-result");
    question.indicators = {"climate"};
    CHECK(code_of(without, question).empty());
}

TEST_CASE("absorbencies compare at one dryness and by methods that are stated",
          "[analysis][compare]") {
    const MemoryStudy study = with_products(
        towel("dry", "9.4") + towel("moist", "9.4", "one method", "80 %") +
        towel("bare", "9.4", "") + towel("bare_too", "9.4", "") + towel("as_dry", "9.4"));
    ComparisonQuestion question;
    question.equal = "absorbed_water";
    question.products = {"dry", "as_dry"};
    CHECK(code_of(study, question).empty());
    question.products = {"dry", "moist"};
    CHECK(code_of(study, question) == "unlike-function");
    try {
        (void)compare(study.study, study.at, question);
    } catch (const InputError& error) {
        CHECK_THAT(error.problems.front().message, Contains("dry has 95.00 %, moist has 80.00 %"));
    }
    question.products = {"bare", "bare_too"};
    CHECK(code_of(study, question) == "unlike-function");
}

namespace {

// Two alternatives on a shared base, one on wood without a price, one that changes no amount.
const std::string measures = R"(scenarios:
  dry: {title: A drier sheet, changes: [{scale: m.machine.uses.steam, by: 90 %, reason: by hand}]}
  electric:
    title: The boiler's heat by power
    on: [dry]
    changes:
      - {shifts: {from: m.boiler.uses.gas, to: power, useful_heat: all, efficiency: {from: 90 %, to: 99 %}}, reason: by hand}
  wood:
    title: The boiler's heat by wood
    on: [dry]
    changes:
      - {shifts: {from: m.boiler.uses.gas, to: wood, useful_heat: all, efficiency: {from: 90 %, to: 84 %}}, reason: by hand}
  other_weight:
    title: Another weight of a gas
    changes: [{set: w.gases.co2_fossil, to: 2 kg, reason: by hand}]
)";
const std::string with_wood =
    factors +
    "  wood: {title: Wood, kind: fuel, per: 1 GJ LHV, releases: {co2_biogenic: 100 kg}, water: "
    "{withdrawn: 0 L, consumed: 0 L}}\n";

std::string without_price_of(const std::string& thing) {
    std::string text = prices;
    const auto at = text.find("\n" + thing + ":");
    REQUIRE(at != std::string::npos);
    return text.erase(at, text.find('\n', at + 1) - at);
}

MemoryStudy with_measures(const std::string& price_list = prices) {
    return MemoryStudy({{"study.yaml", head("scenarios: [sc.yaml]\n")},
                        {"w.yaml", weights},
                        {"f.yaml", with_wood},
                        {"p.yaml", price_list},
                        {"m.yaml", mill},
                        {"sc.yaml", measures}});
}

Compared of_sheet(const MemoryStudy& study, const std::vector<std::string>& of_scenarios) {
    ComparisonQuestion question;
    question.scenarios = of_scenarios;
    question.products = {"sheet"};
    question.equal = "t";
    return compare(study.study, study.at, question);
}

using Names = std::vector<std::string>;

}  // namespace

TEST_CASE("a measure is counted against the nearest row that it stands on, else the reference",
          "[analysis][compare]") {
    const MemoryStudy study = with_measures();
    const Compared all = of_sheet(study, {"today", "dry", "electric", "wood"});
    CHECK_FALSE(all.rows[0].step);
    CHECK(all.rows[1].step->against.empty());
    CHECK(all.rows[2].step->against == "dry");
    CHECK(all.rows[3].step->against == "dry");  // not what the electric boiler left
    CHECK(all.rows[3].bundles.empty());
    // both take their heat from what the drier sheet leaves: not to be added
    CHECK(all.rows[2].apart_from.empty());
    CHECK(all.rows[3].apart_from == Names{"electric"});
    // 4.05 GJ of steam take 4.5 GJ of gas, 252 kg; wood releases no fossil CO2
    CHECK_THAT(*all.rows[3].step->climate, WithinRel(-252.0, 1e-12));
    // parents without a row come along
    const Compared two = of_sheet(study, {"today", "electric"});
    CHECK(two.rows[1].step->against.empty());
    CHECK(two.rows[1].bundles == Names{"dry"});
    // alternatives alone: against the reference, and in place of it
    const Compared rivals = of_sheet(study, {"electric", "wood"});
    CHECK(rivals.rows[0].bundles == Names{"dry"});
    CHECK(rivals.rows[1].step->against == "electric");
    CHECK(rivals.rows[1].step->instead == Names{"electric"});
    CHECK(rivals.rows[1].bundles.empty());
    CHECK(rivals.rows[1].apart_from.empty());  // one change alone
    CHECK_THAT(
        *rivals.rows[1].step->climate,
        WithinRel(figure(rivals, 1, "climate").value - figure(rivals, 0, "climate").value, 1e-12));
}

TEST_CASE("no change of cost where what is used in another amount has no price",
          "[analysis][compare]") {
    // gas to wood, and wood has no price: not 45 EUR earned
    const MemoryStudy no_wood = with_measures();
    const Compared wood = of_sheet(no_wood, {"dry", "wood"});
    REQUIRE(wood.rows[1].step);
    CHECK_FALSE(wood.rows[1].step->cost);
    CHECK_FALSE(wood.rows[1].step->per_tonne_avoided);
    CHECK(wood.rows[1].step->cost_lacks == Names{"f.wood"});
    // power has no price in either, and one takes more of it
    const MemoryStudy no_power = with_measures(without_price_of("power"));
    const Compared power = of_sheet(no_power, {"today", "dry", "electric"});
    REQUIRE(power.rows[2].step);
    CHECK_FALSE(power.rows[2].step->cost);
    CHECK_FALSE(power.rows[2].step->per_tonne_avoided);
    CHECK(power.rows[2].step->cost_lacks == Names{"f.power"});
    // a drier sheet takes as much power as before: a tenth of 5 GJ of gas at 8, less carbon at
    // 80 EUR/t and free allocation
    REQUIRE(power.rows[1].step->cost);
    CHECK_THAT(*power.rows[1].step->cost,
               WithinRel(-0.5 * 8.0 - 0.028 * 80.0 + 0.45 * 0.02 * 80.0, 1e-9));
}

TEST_CASE("another weight of a gas, and another allocation of a process put in, are other rules",
          "[analysis][compare]") {
    const MemoryStudy study = with_measures();
    ComparisonQuestion question;
    question.scenarios = {"today", "other_weight"};
    question.products = {"sheet"};
    question.equal = "t";
    CHECK(code_of(study, question) == "unlike-rules");
    BreakevenQuestion meets;
    meets.result = "results.sheet.t.climate";
    meets.equal_to = "results@other_weight.sheet.t.climate";
    meets.along = {{"m.machine.uses.power", "", ""}};
    try {
        (void)breakeven(study.study, study.at, meets);
        FAIL("figures under different rules were held against each other");
    } catch (const InputError& error) {
        CHECK(error.problems.front().code == "unlike-rules");
    }
    const std::string turbine = R"(mill: m
title: A mill (invented)
processes:
  turbine: {stage: energy, makes: {steam: {amount: 9 GJ, kind: heat}, own_power: {amount: 500 kWh, kind: electricity}}, uses: {gas: 12 GJ LHV}, allocation: energy}
  machine: {stage: papermaking, makes: {sheet: {amount: 1 t, dryness: 95 %}}, uses: {steam: 4.5 GJ, own_power: 250 kWh, pulp: 0.95 t dry}}
)";
    const std::string another = R"(scenarios:
  newer:
    title: A newer turbine
    changes:
      - {process: m.newer_turbine, is: {stage: energy, makes: {steam: {amount: 9 GJ, kind: heat}, own_power: {amount: 500 kWh, kind: electricity}}, uses: {gas: 11 GJ LHV}, allocation: {steam: 60 %, own_power: 40 %}}, in_place_of: m.turbine, reason: by hand}
)";
    std::string without_free_allocation(prices);  // it names the boiler
    without_free_allocation.erase(without_free_allocation.find("free_allocation"),
                                  std::string("free_allocation: {m.boiler: 0.02 t/GJ}\n").size());
    const MemoryStudy shared({{"study.yaml", head("scenarios: [sc.yaml]\n")},
                              {"w.yaml", weights},
                              {"f.yaml", factors},
                              {"p.yaml", without_free_allocation},
                              {"m.yaml", turbine},
                              {"sc.yaml", another}});
    question.scenarios = {"today", "newer"};
    CHECK(code_of(shared, question) == "unlike-rules");
    question.other_rules = true;
    const Compared side_by_side = compare(shared.study, shared.at, question);
    REQUIRE(side_by_side.rules_differ.size() == 1);
    CHECK(side_by_side.rules_differ[0].find("energy") != std::string::npos);
    CHECK(side_by_side.rules_differ[0].find("shares") != std::string::npos);
    REQUIRE(side_by_side.allocations.size() == 1);
    CHECK(side_by_side.allocations[0].process == "m.turbine");
}
