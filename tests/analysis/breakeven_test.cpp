// Break-evens whose answers follow by hand from the study's own figures: lines, hyperbolas,
// quadratics, whole sheets, claims turned round, two inputs, and questions without an answer.
#include "engine/analysis/breakeven.h"

#include <fmt/format.h>

#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>

#include "engine/graph/evaluate.h"
#include "tests/analysis/compare_study.h"
#include "tests/study/memory_study.h"

using namespace deckle;
using Catch::Contains;
using Catch::WithinAbs;
using Catch::WithinRel;

namespace {

// Per tonne: a = 900 g + 100, b = 400 g + 300, c = 100 g ((x - 2) (x - 6) + 5), d = 400 g + 120 /
// y, e = a with a chemical that states no climate, f = 200 g max(x, 3); g = 0.3 kg CO2e/kWh, x = 1,
// y = 2.
const test::MemoryStudy& small() {
    static const test::MemoryStudy study(
        test::MemoryStudy::Texts{{"study.yaml", R"(study: turning
title: Break-evens by hand
period: 2025
boundary: cradle_to_gate
characterization: w
electricity: location
factors: [factors.yaml, climate.yaml]
mills: [mill.yaml]
products: products.yaml
output: {bath: 1e6 roll}
)"},
                                 {"climate.yaml", R"(characterization: w
title: Weights
source: {title: By hand, year: 2025}
gases: {co2_fossil: 1 kg}
)"},
                                 {"factors.yaml", R"(table: hand
title: Factors by hand
source: {title: By hand, year: 2025}
factors:
  grid: {title: Power, kind: electricity, per: 1 kWh, climate: {fossil: 0.3 kg ×÷ 1.5, biogenic: 0 kg, land_use: 0 kg, characterization: w}, water: {withdrawn: 0 L, consumed: 0 L}}
  odd: {title: A chemical, kind: chemical, per: 1 kg, water: {withdrawn: 0 L, consumed: 0 L}}
)"},
                                 {"mill.yaml", R"yaml(mill: m
title: A mill (invented)
figures:
  x: 1
  y: 2
  once: 100 kWh
  burnt: 120 kg
  ten: 200 kWh
processes:
  pa: {stage: papermaking, makes: {a: {amount: 1 t, kind: sheet}}, uses: {grid: 900 kWh}, releases: {co2_fossil: 100 kg}}
  pb: {stage: papermaking, makes: {b: {amount: 1 t, kind: sheet}}, uses: {grid: 400 kWh}, releases: {co2_fossil: 300 kg}}
  pc: {stage: papermaking, makes: {c: {amount: 1 t, kind: sheet}}, uses: {grid: "once * ((x - 2) * (x - 6) + 5)"}}
  pd: {stage: papermaking, makes: {d: {amount: 1 t, kind: sheet}}, uses: {grid: 400 kWh}, releases: {co2_fossil: "burnt / y"}}
  pe: {stage: papermaking, makes: {e: {amount: 1 t, kind: sheet}}, uses: {grid: 900 kWh, odd: 1 kg}, releases: {co2_fossil: 100 kg}}
  pf: {stage: papermaking, makes: {f: {amount: 1 t, kind: sheet}}, uses: {grid: "ten * max(x, 3)"}}
)yaml"},
                                 {"products.yaml", R"(products:
  bath:
    title: Bathroom tissue
    from: a
    plies: 2
    grammage: 16 g/m2
    sheet: {length: 125 mm, width: 98 mm}
    roll: {diameter: 110 mm, wound_thickness: 0.33 mm}
    core: {outside: 40 mm}
)"}});
    return study;
}

BreakevenQuestion question(const std::string& result, const std::string& equal_to,
                           const std::string& input, const std::string& from = "",
                           const std::string& to = "") {
    BreakevenQuestion asked;
    asked.result = result;
    asked.equal_to = equal_to;
    asked.along = {{input, from, to}};
    return asked;
}

Breakeven ask(const BreakevenQuestion& asked) {
    return breakeven(small().study, small().at, asked);
}

Problem refusal(const BreakevenQuestion& asked) {
    try {
        (void)ask(asked);
    } catch (const InputError& error) {
        return error.problems.front();
    } catch (const NoAnswer& error) {
        return error.problem;
    }
    return {};
}

constexpr const char* grid = "hand.grid.climate.fossil";

}  // namespace

TEST_CASE("two lines meet at 0.4 kg CO2e/kWh: 900 g + 100 = 400 g + 300 (by hand)", "[analysis]") {
    const Breakeven found = ask(question("results.a.t.climate", "results.b.t.climate", grid));
    REQUIRE(found.equalities.size() == 1);
    const Equality& one = found.equalities[0];
    CHECK(one.crossing.kind == CrossingKind::smooth);
    CHECK_THAT(one.crossing.at, WithinRel(0.4, 1e-14));
    CHECK_THAT(one.result, WithinRel(460.0, 1e-13));
    CHECK_THAT(one.target, WithinRel(460.0, 1e-13));
    CHECK(one.crossing.low <= 0.4);
    CHECK(one.crossing.high >= 0.4 * (1.0 - 1e-15));
    CHECK(one.in_interval);  // 0.2 to 0.45
    CHECK(found.along.range.from == 0.0);
    CHECK_THAT(found.along.range.to, WithinRel(1.5, 1e-15));  // five times the value
    CHECK_THAT(*found.now.result, WithinRel(370.0, 1e-14));
    CHECK_THAT(*found.now.target, WithinRel(420.0, 1e-14));
    CHECK_FALSE(found.stepped);
}

TEST_CASE("a value with its unit, on its own and per tonne", "[analysis]") {
    for (const char* value : {"280 kg CO2e", "0.28 t CO2e", "280 kg CO2e/t"}) {
        const Breakeven found = ask(question("results.a.t.climate", value, grid));
        REQUIRE(found.equalities.size() == 1);
        CHECK_THAT(found.equalities[0].crossing.at, WithinRel(0.2, 1e-13));
        CHECK(found.target.value == 280.0);
    }
}

TEST_CASE("a hyperbola: 120 / y + 120 = 150 at y = 4 (by hand)", "[analysis]") {
    const Breakeven found = ask(question("results.d.t.climate", "150 kg CO2e", "m.figures.y"));
    REQUIRE(found.equalities.size() == 1);
    CHECK_THAT(found.equalities[0].crossing.at, WithinRel(4.0, 1e-13));
    REQUIRE(found.gaps.size() <= 1);  // nothing at y = 0
}

TEST_CASE("a quadratic has two roots, touches at its lowest point, or has none (by hand)",
          "[analysis]") {
    const auto along_x = [](const char* value) {
        return question("results.c.t.climate", value, "m.figures.x", "0", "10.1");
    };
    const Breakeven two = ask(along_x("150 kg CO2e"));  // (x - 2) (x - 6) = 0
    REQUIRE(two.equalities.size() == 2);
    CHECK_THAT(two.equalities[0].crossing.at, WithinRel(2.0, 1e-13));
    CHECK_THAT(two.equalities[1].crossing.at, WithinRel(6.0, 1e-13));
    const Breakeven touch = ask(along_x("30 kg CO2e"));  // its lowest, at x = 4
    REQUIRE(touch.equalities.size() == 1);
    CHECK(touch.equalities[0].crossing.kind == CrossingKind::touch);
    CHECK_THAT(touch.equalities[0].crossing.at, WithinAbs(4.0, 1e-5));
    const Problem none = refusal(along_x("29 kg CO2e"));
    CHECK(none.code == "no-equality");
    CHECK_THAT(none.message, Contains("at 0 it is 510.0 against 29.00 kg CO2e"));
    CHECK_THAT(none.hint, Contains("no value near the range"));
}

TEST_CASE("a kink is no step: 60 max(x, 3) = 240 at x = 4, and 180 all the way to 3 (by hand)",
          "[analysis]") {
    const Breakeven found =
        ask(question("results.f.t.climate", "240 kg CO2e", "m.figures.x", "0", "10"));
    REQUIRE(found.equalities.size() == 1);
    CHECK_THAT(found.equalities[0].crossing.at, WithinRel(4.0, 1e-13));
    CHECK(found.stepped);
    const Breakeven flat =
        ask(question("results.f.t.climate", "180 kg CO2e", "m.figures.x", "0", "10"));
    REQUIRE(flat.equalities.size() == 1);
    CHECK(flat.equalities[0].crossing.kind == CrossingKind::stretch);
    CHECK(flat.equalities[0].crossing.low == 0.0);
    CHECK_THAT(flat.equalities[0].crossing.high, WithinRel(3.0, 1e-12));
}

TEST_CASE(
    "sheets: a roll's and a year's figure run on the unrounded count (L = pi (D^2 - d^2) / 4 t)",
    "[analysis]") {
    // n sheets of 125 mm of 2 x 16 g/m2 and 98 mm; a year of 1e6 rolls at 370 kg CO2e/t
    const auto year = [](double sheets) {
        return sheets * 0.125 * 0.098 * 0.032 * 370.0 / 1e3 * 1e6;
    };
    const double length = M_PI * (0.110 * 0.110 - 0.040 * 0.040) / 4.0;
    for (const auto& [per, rolls] : {std::pair("roll", 1.0), std::pair("period", 1e6)}) {
        INFO(per);
        const Breakeven found =
            ask(question(std::string("results.bath.") + per + ".climate",
                         fmt::format("{} kg CO2e", year(200.5) / 1e6 * rolls),
                         "products.bath.roll.wound_thickness", "0.3 mm", "0.4 mm"));
        CHECK(found.asked.unrounded);
        CHECK(found.asked.result->per == std::string(per) + "_unrounded");
        REQUIRE(found.equalities.size() == 1);
        const Crossing& crossing = found.equalities[0].crossing;
        CHECK(crossing.kind == CrossingKind::smooth);
        CHECK_FALSE(found.stepped);
        CHECK_THAT(crossing.at, WithinRel(1e3 * length / (200.5 * 0.125), 1e-5));
    }
}

TEST_CASE("a claim turned round: 93 against 100 needs 179/528 kg CO2e/kWh (by hand)",
          "[analysis]") {
    BreakevenQuestion asked = question("results.a.t.climate", "", grid);
    asked.index = "93";
    asked.against = {"results.b.t.climate"};
    const Breakeven found = ask(asked);  // 900 g + 100 = 0.93 (400 g + 300)
    REQUIRE(found.equalities.size() == 1);
    CHECK_THAT(found.equalities[0].crossing.at, WithinRel(179.0 / 528.0, 1e-13));
    CHECK(found.target.index == 93.0);
    asked.index = "20";  // 900 g + 100 = 0.2 (400 g + 300): g = -40/820
    const Problem impossible = refusal(asked);
    CHECK(impossible.code == "no-equality");
    CHECK_THAT(impossible.hint, Contains("-0.04878") && Contains("which this input cannot be"));
    asked.index = "ninety";
    CHECK(refusal(asked).code == "bad-index");
    asked.index = "-93";
    CHECK(refusal(asked).code == "bad-index");
}

TEST_CASE("a claim against the mean of several references (by hand)", "[analysis]") {
    // c = 1000 g at x = 1; the mean of 900 g + 100 and 400 g + 300 is 650 g + 200
    BreakevenQuestion asked = question("results.c.t.climate", "", grid);
    asked.index = "90";
    asked.against = {"results.a.t.climate", "results.b.t.climate"};
    const Breakeven found = ask(asked);
    REQUIRE(found.equalities.size() == 1);
    CHECK_THAT(found.equalities[0].crossing.at, WithinRel(180.0 / 415.0, 1e-12));
    CHECK_THAT(found.equalities[0].target, WithinRel(1000.0 * 180.0 / 415.0, 1e-12));
    CHECK(found.both_rest);
    CHECK_THAT(found.target.value, WithinRel(395.0, 1e-14));  // at g = 0.3
    asked.against = {"results.a.t.climate", "results.a.t.climate"};
    CHECK(refusal(asked).code == "same-result");
}

TEST_CASE("an equality outside the range that was asked for is named", "[analysis]") {
    const Problem none = refusal(question("results.a.t.climate", "results.b.t.climate", grid,
                                          "0 kg CO2e/kWh", "0.39 kg CO2e/kWh"));
    CHECK(none.code == "no-equality");
    CHECK_THAT(none.hint, Contains("0.4000 kg CO2e/kWh") && Contains("widen"));
}

TEST_CASE("a value that leaves a published range is said so: ten times the drives of a machine",
          "[analysis]") {
    Study study;
    load_study(std::string(DECKLE_SOURCE_DIR) + "/inventories/demonstration", study);
    const Evaluation at = evaluate(study.graph);
    const char* drives = "fennaby.bath_machine.uses.drives";
    const Input& input = asked_input(study, drives);
    const AskedResult result = asked_result(study, "results.bath_2ply.t.climate");
    const double tenfold = 10.0 * input.value;
    const double there = evaluate(study.graph, {{{input.node, tenfold}}}).value[result.node];
    BreakevenQuestion asked = question(result.address, std::to_string(there) + " kg CO2e", drives,
                                       "0 MWh", std::to_string(2.0 * tenfold) + " MWh");
    const Breakeven found = breakeven(study, at, asked);
    REQUIRE(found.equalities.size() == 1);
    CHECK_THAT(found.equalities[0].crossing.at, WithinRel(tenfold, 1e-8));  // as many digits typed
    CHECK_FALSE(found.equalities[0].in_interval);                           // metered to 2 %
    const auto electricity = [](const Equality::Outside& one) {
        return one.finding.code == "range-electricity" && !one.now;
    };
    CHECK(std::ranges::any_of(found.equalities[0].outside, electricity));
    // at the value as it is nothing is outside, and nothing moves
    asked.equal_to = std::to_string(at.value[result.node]) + " kg CO2e";
    CHECK(breakeven(study, at, asked).equalities[0].outside.empty());
}

namespace {

// Per tonne: 0.2 x power + 364 of gas and 388 of pulp (56 x 6.5, 400 x 0.97). Nothing says how dry
// the sheets come to the dryer, so that the ranges of pressed ones hold: 600 to 1100 kWh/t, 4.5 to
// 7.5 GJ/t. Another mill far outside them has no part in it.
test::MemoryStudy with_power(const std::string& power) {
    const auto mill = [](const std::string& id, const std::string& uses) {
        return "mill: " + id + "\ntitle: A mill (invented)\nprocesses:\n  machine: {stage: " +
               "papermaking, makes: {" + id +
               "_sheet: {amount: 1 t, kind: sheet, dryness: 95 %}}, uses: {gas: 6.5 GJ LHV, pulp: "
               "0.97 t dry, power: " +
               uses + "}}\n";
    };
    return test::MemoryStudy(
        {{"study.yaml",
          "study: s\ntitle: S\ncharacterization: w\nfactors: [w.yaml, f.yaml]\nmills: [a.yaml, "
          "b.yaml]\nscenarios: [scenarios.yaml]\n"},
         {"w.yaml", test::weights},
         {"f.yaml", test::factors},
         {"a.yaml", mill("a", power)},
         {"b.yaml", mill("b", "3000 kWh")},
         {"scenarios.yaml",
          "scenarios:\n  more: {title: More power, changes: [{set: a.machine.uses.power, to: 2000 "
          "kWh, reason: by hand}]}\n  same: {title: Other gas, changes: [{set: "
          "f.gas.releases.co2_fossil, to: 50 kg, reason: by hand}]}\n"}});
}

Breakeven ask_of(const test::MemoryStudy& study, const BreakevenQuestion& asked) {
    return breakeven(study.study, study.at, asked);
}

}  // namespace

TEST_CASE(
    "a mill outside a published range as it is: what is needed lies outside too, and both are "
    "said",
    "[analysis]") {
    // 752 + 0.2 p = 2080: p = 6640 kWh
    const BreakevenQuestion asked = question("results.a.a_sheet.t.climate", "2080 kg CO2e",
                                             "a.machine.uses.power", "0 kWh", "9000 kWh");
    for (const auto& [power, now] : {std::pair("1101 kWh", true), std::pair("1000 kWh", false)}) {
        INFO(power);
        const Breakeven found = ask_of(with_power(power), asked);
        REQUIRE(found.equalities.size() == 1);
        CHECK_THAT(found.equalities[0].crossing.at, WithinRel(6640.0, 1e-12));
        REQUIRE(found.equalities[0].outside.size() == 1);  // b is another mill's
        CHECK(found.equalities[0].outside[0].now == now);
        CHECK_THAT(found.equalities[0].outside[0].finding.message,
                   Contains("6640 kWh/t") && Contains("600 to 1100") && !Contains("in scenario"));
    }
    // beyond five times the value nothing is found, but it is said what it would take
    const test::MemoryStudy small_power = with_power("1101 kWh");
    try {
        (void)ask_of(small_power, question("results.a.a_sheet.t.climate", "2080 kg CO2e",
                                           "a.machine.uses.power"));
        FAIL("found within five times the value");
    } catch (const NoAnswer& none) {
        CHECK_THAT(none.problem.hint, Contains("6640 kWh") &&
                                          Contains("outside a published range, as it is now: a, "));
    }
    // 752 + 0.2 p = 932: p = 900 kWh, inside; the heat does not move with it
    BreakevenQuestion inside = asked;
    inside.equal_to = "932 kg CO2e";
    const Breakeven found = ask_of(with_power("1101 kWh"), inside);
    REQUIRE(found.equalities.size() == 1);
    CHECK(found.equalities[0].outside.empty());
    CHECK(found.equalities[0].inside == std::vector<std::string>{"electricity"});
    // no range moves with what a kWh burdens, but the mill's power stays outside
    const Breakeven burden =
        ask_of(with_power("1101 kWh"),
               question("results.a.a_sheet.t.climate", "862.1 kg CO2e", "f.power.climate.fossil"));
    REQUIRE(burden.equalities.size() == 1);
    CHECK_THAT(burden.equalities[0].crossing.at, WithinRel(0.1, 1e-9));
    CHECK(burden.equalities[0].inside.empty());
    REQUIRE(burden.equalities[0].outside.size() == 1);
    CHECK(burden.equalities[0].outside[0].now);
}

TEST_CASE(
    "what a change of a scenario would have to be is held against published ranges in that "
    "scenario",
    "[analysis]") {
    const test::MemoryStudy study = with_power("1000 kWh");
    const Breakeven found =
        ask_of(study, question("results@more.a.a_sheet.t.climate", "2080 kg CO2e",
                               "scenarios.more.changes.1.to", "0 kWh", "9000 kWh"));
    REQUIRE(found.equalities.size() == 1);
    CHECK_THAT(found.equalities[0].crossing.at, WithinRel(6640.0, 1e-12));
    REQUIRE(found.equalities[0].outside.size() == 1);
    CHECK(found.equalities[0].outside[0].now);  // 2000 kWh
    CHECK_THAT(found.equalities[0].outside[0].finding.message,
               Contains("in scenario more: a, for 1 t") && Contains("6640 kWh/t"));
    // check: today b alone, in the scenario that alters it a too, and nothing of the one that
    // alters no mill
    std::vector<std::string> said;
    for (const Finding& one : check_study(study.study, study.at).findings) {
        if (one.code == "range-electricity") said.push_back(one.message);
    }
    REQUIRE(said.size() == 2);
    std::ranges::sort(said);
    CHECK_THAT(said[0], Contains("b, for 1 t") && Contains("3000 kWh/t"));
    CHECK_THAT(said[1], Contains("in scenario more: a, for 1 t") && Contains("2000 kWh/t"));
}

TEST_CASE("two inputs: y = 120 / (340 - 400 g) along g gives a line of equality (by hand)",
          "[analysis]") {
    BreakevenQuestion asked =
        question("results.d.t.climate", "340 kg CO2e", "m.figures.y", "0.01", "10");
    asked.along.push_back({grid, "0.1 kg CO2e/kWh", "0.6 kg CO2e/kWh"});
    const Breakeven found = ask(asked);
    REQUIRE(found.line);
    REQUIRE(found.line->steps.size() == 21);
    CHECK(found.line->steps.front().value == 0.1);
    CHECK(found.line->steps.back().value == 0.6);
    for (const auto& step : found.line->steps) {
        INFO("g = " << step.value);
        REQUIRE(step.equalities.size() == 1);
        CHECK_THAT(step.equalities[0].at, WithinRel(120.0 / (340.0 - 400.0 * step.value), 1e-12));
    }
}

TEST_CASE("questions that make no sense are refused with their reason", "[analysis]") {
    const auto code = [](const BreakevenQuestion& asked) { return refusal(asked).code; };
    CHECK(code(question("results.a.t.climate", "results.b.t.water_consumed", grid)) ==
          "unlike-results");
    CHECK(code(question("results.a.t.climate", "results.e.t.climate", grid)) == "unlike-coverage");
    CHECK(code(question("results.a.t.climate", "results.a.t.climate", grid)) == "same-result");
    CHECK(code(question("results.a.t.climate", "results.zz.t.climate", grid)) == "unknown-result");
    CHECK(code(question("results.a.t.climate", "280 m3", grid)) == "wrong-unit");
    CHECK(code(question("results.a.t.climate", "280", grid)) == "missing-unit");
    CHECK(code(question("results.a.t.climate", "280 kg CO2e ± 3 %", grid)) != "");
    CHECK(code(question("results.a.t.climate", "280 kg CO2e ± 3 kg CO2e", grid)) ==
          "spread-not-wanted");
    CHECK(code(question("results.a.t.climate", "280 kg CO2e", "hand.grid.climate.fossl")) ==
          "unknown-input");
    CHECK(code(question("results.a.t.climate", "280 kg CO2e", "m.pc.uses.grid")) == "not-an-input");
    CHECK(code(question("results.a.t.climate", "280 kg CO2e", "m.figures.x")) ==
          "does-not-rest-on");
    CHECK(code(question("results.a.t.climate", "280 kg CO2e", grid, "1 kg CO2e/kWh",
                        "0.5 kg CO2e/kWh")) == "bad-range");
    CHECK(code(question("results.a.t.climate", "280 kg CO2e", grid, "-1 kg CO2e/kWh",
                        "0.5 kg CO2e/kWh")) == "range-outside-bounds");
    BreakevenQuestion against = question("results.a.t.climate", "", grid);
    against.index = "90";
    against.against = {"results.a.t.water_consumed"};
    CHECK(code(against) == "unlike-results");
    against.result = "results.b.t.water_consumed";  // both are 0
    CHECK(code(against) == "reference-not-positive");
    BreakevenQuestion twice = question("results.a.t.climate", "280 kg CO2e", grid);
    twice.along.push_back(twice.along.front());
    CHECK(code(twice) == "same-input");
}
