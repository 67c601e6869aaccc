// Scenarios on scenarios, what they share with today, what is refused, and what reports say of
// them.
#include <catch2/catch.hpp>

#include <algorithm>
#include <cmath>
#include <string>
#include <vector>

#include "engine/analysis/breakout.h"
#include "engine/study/model.h"
#include "tests/study/scenario_studies.h"

using namespace deckle;
using namespace deckle::test;

// --- scenarios on scenarios ---------------------------------------------------------------------

TEST_CASE("parents come first, from left to right, each once, the latest wins", "[scenario]") {
    const std::string set = "{set: vellomere.tissue_machine.uses.electricity, to: ";
    const std::string scale =
        "{scale: vellomere.tissue_machine.uses.electricity, by: 50 %, reason: halved}";
    const std::string text =
        "scenarios:\n"
        "  base: {title: t, changes: [" +
        set +
        "800 kWh/t, reason: first}]}\n"
        "  left: {title: t, on: base, changes: [" +
        scale +
        "]}\n"
        "  right: {title: t, on: base, changes: [" +
        set +
        "600 kWh/t, reason: second}]}\n"
        "  left_right: {title: t, on: [left, right]}\n"
        "  right_left: {title: t, on: [right, left], changes: [" +
        scale +
        "]}\n"
        "  of_today: {title: t, on: [today], changes: [" +
        set + "600 kWh/t, reason: r}]}\n";
    const Loaded loaded(with_scenarios(example(), text));
    const auto climate = [&](const std::string& id) {
        return loaded.value("results@" + id + ".base_sheet.t.climate");
    };
    const auto by_hand = [](const char* amount) {
        return Loaded(edited(example(), {{"mill.yaml", "electricity: 930 kWh/t",
                                          std::string("electricity: ") + amount}}))
            .value("results.base_sheet.t.climate");
    };
    check_near(climate("left"), by_hand("400 kWh/t"));
    check_near(climate("left_right"), by_hand("600 kWh/t"));  // base, left, right
    check_near(climate("right_left"), by_hand("150 kWh/t"));  // base, right, left, its own
    CHECK(climate("of_today") == climate("right"));
    std::vector<std::string> reasons;
    for (const Scenario::Step& step : loaded.scenario("left_right").steps)
        reasons.push_back(step.scenario + " " + step.reason);
    CHECK(reasons == std::vector<std::string>{"base first", "left halved", "right second"});
}

// --- sharing ------------------------------------------------------------------------------------

TEST_CASE("what a scenario leaves as it is, is the same node", "[scenario]") {
    const Loaded loaded =
        changed({"{set: products.bath_3ply_long.roll.diameter, to: 121 mm, reason: r}"});
    for (const Result& result : loaded.study.results) {
        if (!result.scenario.empty() || result.of == "bath_3ply_long" || result.of == "all")
            continue;
        const Result* same = loaded.study.result(result.of, result.per,
                                                 loaded.study.indicators[result.indicator].id, "s");
        INFO(result.address);
        REQUIRE(same != nullptr);
        CHECK(same->node == result.node);
        CHECK(same->market == result.market);
        CHECK(same->location == result.location);
    }
    const Loaded heat =
        changed({"{set: vellomere.figures.heat_per_water, to: 1.8 GJ/t, reason: r}"});
    for (const char* untouched :
         {"steam.GJ.climate", "boiler_steam.GJ.climate", "electricity.kWh.climate"})
        CHECK(heat.study.graph.find(std::string("results@s.") + untouched) ==
              heat.study.graph.find(std::string("results.") + untouched));
    CHECK(heat.study.graph.size() < 2 * Loaded(example()).study.graph.size());
}

TEST_CASE("scenarios that are not asked for are not built", "[scenario]") {
    const std::string text =
        "scenarios:\n"
        "  one: {title: t, changes: [{set: vellomere.figures.press_dryness, to: 44 %, reason: "
        "r}]}\n"
        "  two: {title: t, on: one, changes: [{set: vellomere.figures.heat_per_water, to: 1.8 "
        "GJ/t, "
        "reason: r}]}\n";
    const Texts texts = with_scenarios(example(), text);
    const Loaded none(texts, {.all = false, .ids = {"today"}});
    CHECK(none.study.scenarios.empty());
    CHECK(none.study.graph.size() == Loaded(example()).study.graph.size());
    const Loaded two(texts, {.all = false, .ids = {"two"}});
    REQUIRE(two.study.scenarios.size() == 1);
    CHECK(two.study.scenarios[0].on == std::vector<std::string>{"one"});
    const Loaded all(texts);
    CHECK(all.value("results@two.bath_3ply.roll.climate") ==
          two.value("results@two.bath_3ply.roll.climate"));
}

TEST_CASE("the order of scenarios and of keys moves no bit", "[scenario]") {
    const std::string one =
        "  one:\n    title: t\n    changes:\n      - {set: vellomere.figures.press_dryness, to: 44 "
        "%, reason: r}\n      - {use: biogas, instead_of: natural_gas, share: 20 %, in: "
        "vellomere.boiler_house, reason: r}\n";
    const std::string one_turned =
        "  one:\n    changes:\n      - {reason: r, to: 44 %, set: "
        "vellomere.figures.press_dryness}\n      - {in: vellomere.boiler_house, share: 20 %, "
        "reason: r, instead_of: natural_gas, use: biogas}\n    title: t\n";
    const std::string two =
        "  two: {title: t, on: one, changes: [{meet_change_of: steam, with: boiler_steam, reason: "
        "r}]}\n";
    const Loaded plain(with_scenarios(example(), "scenarios:\n" + one + two));
    Texts turned = with_scenarios(example(), "scenarios:\n" + two + one_turned);
    // two processes of the mill, and two uses of each, the other way round
    const std::string& mill = turned.at("mill.yaml");
    const std::size_t boiler = mill.find("  boiler_house:"), engine = mill.find("  gas_engine:"),
                      machine = mill.find("  tissue_machine:");
    turned["mill.yaml"] = mill.substr(0, boiler) + mill.substr(machine) +
                          mill.substr(engine, machine - engine) +
                          mill.substr(boiler, engine - boiler);
    turned = edited(std::move(turned),
                    {{"mill.yaml", "uses: {natural_gas: 1.10 GJ LHV, electricity: 5 kWh}",
                      "uses: {electricity: 5 kWh, natural_gas: 1.10 GJ LHV}"},
                     {"mill.yaml", "uses: {engine_steam: 0.25 GJ, boiler_steam: rest}",
                      "uses: {boiler_steam: rest, engine_steam: 0.25 GJ}"}});
    const Loaded other(turned);
    for (const Result& result : plain.study.results) {
        INFO(result.address);
        CHECK(plain.value(result.address) == other.value(result.address));
    }
}

// --- what is refused ----------------------------------------------------------------------------

TEST_CASE("a scenario that cannot be meant is refused", "[scenario]") {
    const std::map<std::string, std::string> code_of{
        {"{set: vellomere.figures.pres_dryness, to: 44 %, reason: r}", "unknown-address"},
        {"{scale: products.bath_3ply_long.grammage.x, by: 2, reason: r}", "unknown-address"},
        {"{set: vellomere.figures.press_dryness, to: 44 kg, reason: r}", "wrong-unit"},
        {"{set: example.natural_gas.releases.co2_fossil, to: 56 kg/t, reason: r}", "wrong-unit"},
        {"{set: example.natural_gas.releases.co2_fossil, to: 56 kg CO2e/GJ LHV, reason: r}",
         "wrong-unit"},
        {"{add: 3 kWh, to: vellomere.figures.heat_per_water, reason: r}", "wrong-unit"},
        {"{set: example.natural_gas.releases.co2_fossil, to: press_dryness, reason: r}",
         "not-a-quantity"},
        {"{set: vellomere.figures.reel_dryness, to: evaporated + 0.1, reason: r}",
         "circular-formula"},
        {"{add: -1000 kWh/t, to: vellomere.tissue_machine.uses.electricity, reason: r}",
         "negative-amount"},
        {"{set: study.output.bath_3ply, to: 5e6 pack, reason: r}", "wrong-unit"},
        {"{add: 5e6 pack, to: study.output.bath_3ply, reason: r}", "wrong-unit"},
        {"{use: biogas, instead_of: coal, reason: r}", "unknown-address"},
        {"{use: biogaz, instead_of: natural_gas, reason: r}", "unknown-use"},
        {"{use: film, instead_of: natural_gas, in: vellomere.gas_engine, reason: r}", "wrong-unit"},
        {"{use: biogas, instead_of: vellomere.boiler_house.uses.natural_gas, in: "
         "vellomere.gas_engine, reason: r}",
         "unknown-address"},
        {"{use: film, instead_of: products.bath_3ply.packed.pack.uses.film, reason: r}",
         "unknown-address"},
        {"{use: wind, instead_of: vellomere.switchboard.uses.grid, share: 20 %, reason: r}",
         "rest-of-several"},
        {"{use: electricity, amount: 2 kWh/t, in: vellomere.tissue_machine, reason: r}",
         "duplicate-name"},
        {"{process: vellomere.boiler_house, is: {makes: {x: {amount: 1 GJ, kind: heat}}}, reason: "
         "r}",
         "duplicate-id"},
        {"{process: vellomere.x, in_place_of: vellomere.boilerhouse, is: {makes: {x: {amount: 1 "
         "GJ, kind: heat}}}, reason: r}",
         "unknown-process"},
        {"{meet_change_of: steam, with: grid, reason: r}", "unknown-address"},
        {"{meet_change_of: heat, with: grid, reason: r}", "unknown-product"},
        {"{meet_change_of: base_sheet, with: electricity, reason: r}", "not-a-mix"},
        {"{rule: characterization, is: ar7_100, reason: r}", "unknown-set"},
        {"{rule: electricity, is: green, reason: r}", "unknown-word"},
        {"{rule: rules, is: other_rules, reason: r}", "not-a-mapping"},
        {"{rule: rules, is: {id: other}, reason: r}", "missing-key"},
        {"{rule: rules, is: {id: other, version: '1', limits: {balance_water: 2 %}}, reason: r}",
         "unknown-key"},
        {"{rule: rules, is: {id: other, version: '1', indicators: [climat]}, reason: r}",
         "unknown-indicator"},
        {"{rule: rules, is: {id: other, version: '1', cut_off: 3 kg}, reason: r}", "wrong-unit"},
        {"{rule: electricity, is: location, reason: r}", "nothing-changed"},
        {"{rule: characterization, is: ar6_100, reason: r}", "nothing-changed"},
        {"{rule: allocation, is: price, in: vellomere.boiler_house, reason: r}", "nothing-changed"},
        {"{rule: allocation, is: exergy, reason: r}", "nothing-changed"},
        {"{rule: allocation, is: banana, in: vellomere.gas_engine, reason: r}", "unknown-word"},
        {"{rule: allocation, is: reference_efficiencies, reason: r}", "unknown-word"},
        {"{rule: allocation, is: energy, in: vellomere.converting, reason: r}", "wrong-unit"},
        {"{rule: allocation, is: [mass], reason: r}", "not-a-mapping"},
        {"{add: 2 %, to: vellomere.figures.press_dryness, reason: r}", "bare-percent"},
        {"{add: 0 kWh/t, to: vellomere.tissue_machine.uses.electricity, reason: r}",
         "nothing-changed"},
        {"{add: 5 degC, to: vellomere.figures.press_dryness, reason: r}", "offset-unit"},
        {"{scale: vellomere.figures.press_dryness, by: 100 %, reason: r}", "nothing-changed"},
        {"{scale: vellomere.switchboard.uses.grid, by: 90 %, reason: r}", "rest-of-several"},
        {"{set: vellomere.figures.press_dryness, to: 0.42, reason: r}", "nothing-changed"},
        {"{use: wind, instead_of: vellomere.switchboard.uses.grid, supply: grid, reason: r}",
         "unknown-grid"},
        {"{rule: prices, is: x, in: vellomere, reason: r}", "unknown-key"},
        {"{lift: vellomere.figures.press_dryness, to: 44 %, reason: r}", "unknown-change"},
        {"{set: vellomere.figures.press_dryness, to: 44 %}", "missing-key"},
        {"{shifts: {from: vellomere.tissue_machine.uses.natural_gas, to: electricity as pump, "
         "useful_heat: 9 GJ, efficiency: {from: 90 %, to: 3}}, reason: r}",
         "negative-rest"},
    };
    for (const auto& [change, code] : code_of) {
        INFO(change);
        const Problem problem = refused(with_scenarios(example(), one_scenario({change})));
        INFO(problem.message << " / " << problem.hint);
        CHECK(problem.code == code);
        CHECK_FALSE(problem.hint.empty());
    }
}

TEST_CASE("changes act on what stands after those before them", "[scenario]") {
    const std::string all =
        "{shifts: {from: vellomere.tissue_machine.uses.natural_gas, to: electricity as hood, "
        "useful_heat: all, efficiency: {from: 90 %, to: 96 %}}, reason: r}";
    const std::string scale =
        "{scale: vellomere.tissue_machine.uses.natural_gas, by: 50 %, reason: r}";
    const std::string boilers =
        "{process: vellomere.boiler_house, in_place_of: vellomere.boiler_house, is: {stage: "
        "energy, makes: {boiler_steam: {amount: 1 GJ, kind: heat}}, uses: {natural_gas: 1.05 GJ "
        "LHV}}, reason: r}";
    const std::string lost =
        "{set: vellomere.boiler_house.uses.natural_gas, to: 2 GJ LHV, reason: r}";
    const auto code = [](const std::vector<std::string>& changes) {
        return refused(with_scenarios(example(), one_scenario(changes))).code;
    };
    CHECK(code({all, scale}) == "unknown-address");     // there is no gas any more
    CHECK(code({lost, boilers}) == "nothing-changed");  // other boilers stand there
    CHECK(changed({scale, all}).value("results@s.base_sheet.t.climate") > 0.0);
    CHECK(changed({boilers, lost}).value("results@s.boiler_steam.GJ.climate_fossil") >
          1.9 * changed({boilers}).value("results@s.boiler_steam.GJ.climate_fossil"));
}

TEST_CASE("a problem that a scenario brings names it and its change", "[scenario]") {
    const Problem problem =
        refused(with_scenarios(example(), one_scenario({"{set: vellomere.figures.reel_dryness, to: "
                                                        "94 %, reason: r}"})));
    CHECK(problem.code == "moisture-against-dryness");
    CHECK(problem.message.starts_with("in scenario s: "));
    REQUIRE(problem.related.size() == 1);
    CHECK(problem.where.line == 5);  // of scenarios.yaml
    CHECK(problem.related[0].file != problem.where.file);
}

TEST_CASE("a scenario that changes nothing, or stands on nothing known, is refused", "[scenario]") {
    const std::map<std::string, std::string> code_of{
        {"  s: {title: t}\n", "nothing-changed"},
        {"  s: {title: t, on: today, changes: []}\n", "nothing-changed"},
        {"  s: {title: t, on: r}\n", "unknown-scenario"},
        {"  s: {title: t, on: s}\n", "circular-scenario"},
        {"  today: {title: t}\n", "reserved-id"},
    };
    for (const auto& [text, code] : code_of) {
        INFO(text);
        CHECK(refused(with_scenarios(example(), "scenarios:\n" + text)).code == code);
    }
}

// --- what reports say ---------------------------------------------------------------------------

TEST_CASE("a step says in words what it took the place of", "[scenario]") {
    const Loaded loaded = changed(
        {"{set: vellomere.figures.heat_per_water, to: 1.8 GJ/t, reason: r}",
         "{set: vellomere.figures.evaporated, to: 1.2, reason: r}",
         "{set: vellomere.switchboard.uses.grid, to: 0.85 kWh, reason: r}",
         "{use: biogas as hood, instead_of: vellomere.tissue_machine.uses.natural_gas, share: 20 "
         "%, reason: r}"});
    std::vector<std::string> words;
    for (const Scenario::Step& step : loaded.scenario("s").steps) words.push_back(step.change);
    CHECK(words ==
          std::vector<std::string>{
              "vellomere.figures.heat_per_water: 1.8 GJ/t, was 1.9 GJ/t",
              "vellomere.figures.evaporated: 1.2, was the formula reel_dryness / press_dryness - 1",
              "vellomere.switchboard.uses.grid: 0.85 kWh, was the rest",
              "biogas as hood instead of 20 % of vellomere.tissue_machine.uses.natural_gas"});
}

TEST_CASE("a rule of allocation names the processes that it does not fit", "[scenario]") {
    const Loaded loaded =
        changed({"{rule: allocation, is: {reference_efficiencies: {heat: 90 %, "
                 "power: 50 %}}, in: vellomere, reason: r}"});
    CHECK(loaded.scenario("s").steps[0].change ==
          "allocation: reference_efficiencies (heat 90 %, power 50 %) in vellomere, but not in "
          "vellomere.converting, whose products it does not fit");
    const Process* converting = loaded.scenario("s").assembly->mills[0].process("converting");
    CHECK(converting->allocation->method == "mass");
    const Loaded by_mass = changed({"{rule: allocation, is: mass, reason: r}",
                                    "{rule: allocation, is: price, in: "
                                    "vellomere.converting, reason: r}",
                                    "{rule: allocation, is: energy, reason: r}"});
    const Process* priced = by_mass.scenario("s").assembly->mills[0].process("converting");
    CHECK(priced->allocation->method == "price");
}

TEST_CASE("the rules of a scenario are those that its reports name", "[scenario]") {
    const Loaded loaded = changed({"{rule: characterization, is: ar5_100, reason: r}",
                                   "{rule: electricity, is: market, reason: r}"});
    const StudyHead& today = loaded.study.head_of("");
    const StudyHead& then = loaded.study.head_of("s");
    CHECK(today.characterization == "ar6_100");
    CHECK(then.characterization == "ar5_100");
    CHECK(today.gwp_sets == std::vector<std::string>{"ar6_100"});
    CHECK(then.gwp_sets == std::vector<std::string>{"ar5_100", "ar6_100"});  // factors in CO2e
    CHECK(today.headline == ElectricityView::location);
    CHECK(then.headline == ElectricityView::market);
}

TEST_CASE("under other rules a scenario counts what a study of these rules counts", "[scenario]") {
    const Texts files = edited(
        example(),
        {{"factors.yaml", "climate: {fossil: 410 kg, biogenic: 14 kg, land_use: 6 kg, ",
          "climate: {fossil: 410 kg, biogenic: 14 kg, land_use: 6 kg, land_management: 20 kg, "
          "removals: 3 kg, "}});
    for (const char* const indicators :
         {"[climate, climate_land_management]", "[climate_removals]",
          "[climate_land_management, climate_removals, fibre]", "[climate]"}) {
        INFO(indicators);
        const std::string rules =
            std::string("{id: other, version: '1', indicators: ") + indicators + "}";
        const Loaded scenario(
            with_scenarios(files, one_scenario({"{rule: rules, is: " + rules + ", reason: r}"})));
        const Loaded by_hand(edited(files, {{"study.yaml", "\nproducts: products.yaml",
                                             "\nproducts: products.yaml\nrules: " + rules}}));
        std::size_t compared = 0;
        for (const Result& expected : by_hand.study.results) {
            const Result* found = scenario.study.result(
                expected.of, expected.per, by_hand.study.indicators[expected.indicator].id, "s");
            INFO(expected.address);
            REQUIRE(found != nullptr);
            CHECK(scenario.at.value[found->market] == by_hand.at.value[expected.market]);
            CHECK(scenario.at.value[found->location] == by_hand.at.value[expected.location]);
            CHECK(found->coverage == expected.coverage);
            ++compared;
        }
        CHECK(compared > 100);
        CHECK(scenario.study.head_of("s").rules.line() == by_hand.study.head.rules.line());
    }
}

TEST_CASE("removals count in climate under the rules that list them, and alone", "[scenario]") {
    const Loaded loaded(
        with_scenarios(edited(example(), {{"factors.yaml", "land_use: 6 kg, ",
                                           "land_use: 6 kg, "
                                           "removals: 3 kg, "}}),
                       one_scenario({"{rule: rules, is: {id: other, version: '1', indicators: "
                                     "[climate_removals]}, reason: r}"})));
    const double counted = loaded.value("results@s.base_sheet.t.climate") -
                           loaded.value("results.base_sheet.t.climate");
    CHECK(counted < 0.0);
    CHECK(std::abs(counted - loaded.value("results.base_sheet.t.climate_removals")) <
          rounding * loaded.value("results.base_sheet.t.climate"));
    const Result& result = *loaded.study.result("base_sheet", "t", "climate", "s");
    double sum = 0.0;
    for (const Contribution& part :
         break_out(loaded.study, loaded.at, result, result.node, BreakoutBy::user).rows)
        sum += part.value;
    check_near(sum, loaded.at.value[result.node]);
    CHECK(loaded.study.head_of("s").rules.line() ==
          "other 1: counted in climate too: land removals");
    CHECK(loaded.study.head.rules.id.empty());
}
