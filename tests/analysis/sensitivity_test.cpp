// Derivatives, elasticities, shares of variance and swings: against published cases, identities
// that hold for every linear system, and differences of whole evaluations of the shipped studies.
#include "engine/analysis/sensitivity.h"

#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>

#include "engine/analysis/rests_on.h"
#include "engine/analysis/what_if.h"
#include "tests/analysis/matrix_graphs.h"
#include "tests/sanitized.h"

using namespace deckle;
using Catch::WithinAbs;
using Catch::WithinRel;

namespace {

struct Shipped {
    Study study;
    Evaluation at;
    explicit Shipped(const std::string& name) {
        load_study(std::string(DECKLE_SOURCE_DIR) + "/inventories/" + name, study, {.all = false});
        at = evaluate(study.graph);
    }
};

VarianceBudget budget_of(const test::Maker& maker, NodeId node) {
    return variance_budget(maker.graph, evaluate(maker.graph), node);
}

const InputSensitivity& of(const std::vector<InputSensitivity>& inputs,
                           const std::string& address) {
    const auto found = std::ranges::find(inputs, address, &InputSensitivity::address);
    INFO(address);
    REQUIRE(found != inputs.end());
    return *found;
}

}  // namespace

TEST_CASE(
    "D3: variation of 10 % on five coefficients gives 13.33333 % and shares 0.5625, 0.390625, "
    "3 x 0.015625 (Heijungs and Suh's case, formula JCGM 100:2008, 5.1.2)",
    "[analysis][literature]") {
    const test::FuelAndElectricity system(0.1);
    const VarianceBudget budget = budget_of(system.maker, system.result);
    CHECK_THAT(budget.standard_uncertainty / 120.0, WithinAbs(0.1333333, 5e-8));
    CHECK_THAT(of(budget.inputs, "electricity.makes.electricity").share, WithinAbs(0.5625, 1e-14));
    CHECK_THAT(of(budget.inputs, "electricity.releases.co2").share, WithinAbs(0.390625, 1e-14));
    for (const char* address : {"electricity.uses.fuel", "fuel.makes.fuel", "fuel.releases.co2"})
        CHECK_THAT(of(budget.inputs, address).share, WithinAbs(0.015625, 1e-14));
    CHECK(budget.inputs.size() == 5);
}

TEST_CASE("A1: elasticities of the five coefficients (Heijungs 2010, eq. 1)",
          "[analysis][literature]") {
    const test::FuelAndElectricity system;
    const auto inputs = budget_of(system.maker, system.result).inputs;
    CHECK_THAT(*of(inputs, "electricity.uses.fuel").elasticity, WithinRel(1.0 / 6.0, 1e-14));
    CHECK_THAT(*of(inputs, "fuel.makes.fuel").elasticity, WithinRel(-1.0 / 6.0, 1e-14));
    CHECK_THAT(*of(inputs, "electricity.makes.electricity").elasticity, WithinRel(-1.0, 1e-14));
    CHECK_THAT(*of(inputs, "electricity.releases.co2").elasticity, WithinRel(5.0 / 6.0, 1e-14));
    CHECK_THAT(*of(inputs, "fuel.releases.co2").elasticity, WithinRel(1.0 / 6.0, 1e-14));
}

TEST_CASE(
    "a product of lognormals: the shares of the exponents are exact for small spreads (variances "
    "of logarithms add)",
    "[analysis][property]") {
    test::Maker maker;
    const NodeId x = maker.spread("x", 2.0, SpreadKind::lognormal, {1.02});
    const NodeId y = maker.spread("y", 5.0, SpreadKind::lognormal, {1.04});
    const NodeId ratio =
        maker.make(Operation::quotient, {x, maker.make(Operation::product, {y, y})});
    const auto inputs = budget_of(maker, ratio).inputs;
    const double x_part = std::pow(std::log(1.02), 2), y_part = 4.0 * std::pow(std::log(1.04), 2);
    CHECK_THAT(of(inputs, "x").share, WithinAbs(x_part / (x_part + y_part), 1e-4));
    CHECK_THAT(of(inputs, "y").share, WithinAbs(y_part / (x_part + y_part), 1e-4));
}

TEST_CASE("the reverse pass against central differences, every input of the shipped studies",
          "[analysis][property]") {
    for (const char* name : {"worked_example", "demonstration"}) {
        const Shipped shipped(name);
        std::size_t compared = 0;
        const std::size_t stride = shipped.study.results.size() / 12 + 1;
        for (std::size_t r = 0; r < shipped.study.results.size(); r += stride) {
            const Result& result = shipped.study.results[r];
            const double value = shipped.at.value[result.node];
            if (value == 0.0) continue;
            const NodeId figures[] = {result.node};
            WhatIf what_if(shipped.study.graph, figures);
            for (const InputSensitivity& one :
                 variance_budget(shipped.study.graph, shipped.at, result.node).inputs) {
                if (one.value == 0.0 || one.stepped) continue;
                const double step = 1e-5 * one.value;
                const auto there = [&](double x) {
                    const Evaluation* found = what_if.at({{one.input->node, x}});
                    REQUIRE(found != nullptr);
                    return found->value[result.node];
                };
                const double up = there(one.value + step), down = there(one.value - step);
                // rounding 1e-16 / 1e-5, curvature 1e-10
                const double difference = (up - down) / 2e-5 / value;
                INFO(result.address << " by " << one.address);
                CHECK_THAT(one.derivative * one.value / value,
                           WithinAbs(difference, 2e-8 * (1.0 + std::abs(difference))));
                ++compared;
            }
        }
        CHECK(compared > 200);
    }
}

TEST_CASE(
    "Euler: elasticities to all releases and CO2e of factors and processes add up to 1 (climate is "
    "linear in its burdens)",
    "[analysis][property]") {
    for (const char* name : {"worked_example", "demonstration"}) {
        const Shipped shipped(name);
        for (const Result& result : shipped.study.results) {
            if (shipped.study.indicators[result.indicator].id != "climate") continue;
            double sum = 0.0, absolute = 0.0;
            for (const InputSensitivity& one :
                 variance_budget(shipped.study.graph, shipped.at, result.node).inputs) {
                const bool burden = one.address.find(".releases.") != std::string::npos ||
                                    one.address.find(".climate.") != std::string::npos;
                if (!burden) continue;
                sum += one.elasticity.value_or(0.0);
                absolute += std::abs(one.elasticity.value_or(0.0));
            }
            INFO(result.address);
            CHECK_THAT(sum, WithinAbs(1.0, 1e-12 * (1.0 + absolute)));
        }
    }
}

TEST_CASE("shares of every result of the shipped studies add up to 1 (definition)",
          "[analysis][property]") {
    const Shipped shipped("demonstration");
    std::size_t uncertain = 0, number = 0;
    for (const Result& result : shipped.study.results) {
        if (++number % test::one_in != 0) continue;
        const auto budget = variance_budget(shipped.study.graph, shipped.at, result.node);
        if (budget.standard_uncertainty == 0.0) continue;
        double sum = 0.0;
        for (const InputSensitivity& one : budget.inputs) sum += one.share;
        CHECK_THAT(sum, WithinAbs(1.0, 1e-12));
        ++uncertain;
    }
    CHECK(uncertain > 100 / test::one_in);
}

TEST_CASE("a swing is the result at the ends of the 95 % interval (by hand)", "[analysis]") {
    test::Maker maker;
    const NodeId x = maker.spread("x", 4.0, SpreadKind::normal, {1.0});
    const NodeId y = maker.input("y", 3.0);
    const NodeId z = maker.spread("z", 0.5, SpreadKind::lognormal, {2.0});
    const NodeId result = maker.make(Operation::sum_of_products, {x, x, y, z});
    const Evaluation at = evaluate(maker.graph);
    const NodeId figures[] = {result};
    WhatIf what_if(maker.graph, figures);
    const auto swing = [&](NodeId node) {
        return swing_of(at, result, maker.graph.inputs()[maker.graph.payload(node)], 0.2, what_if);
    };
    const Swing of_x = swing(x);  // 17.5 at 4; 3 .. 5
    CHECK(of_x.of_spread);
    CHECK_THAT(*of_x.at_from, WithinRel(9.0 + 1.5, 1e-14));
    CHECK_THAT(*of_x.at_to, WithinRel(25.0 + 1.5, 1e-14));
    CHECK_THAT(of_x.width(), WithinRel(16.0, 1e-13));
    const Swing of_y = swing(y);  // without a spread: 20 % each way
    CHECK_FALSE(of_y.of_spread);
    CHECK_THAT(of_y.from, WithinRel(2.4, 1e-15));
    CHECK_THAT(*of_y.at_to, WithinRel(16.0 + 1.8, 1e-14));
    const Swing of_z = swing(z);  // 0.25 .. 1
    CHECK_THAT(*of_z.at_from, WithinRel(16.75, 1e-13));
    CHECK_THAT(*of_z.at_to, WithinRel(19.0, 1e-13));
    CHECK_FALSE(of_x.cut);
    CHECK_THAT(*of_x.change_from, WithinRel(-7.0, 1e-13));
    CHECK_THAT(*of_x.change_to, WithinRel(9.0, 1e-13));
}

TEST_CASE("10 % of 175 degC are 17.5 K, and 1 % 1.75 K (by hand)", "[analysis]") {
    test::Maker maker;
    Input steam;
    steam.addresses = {maker.graph.text("steam")};
    steam.typed = maker.graph.text("175 degC");
    steam.value = 448.15;
    steam.bounds = {0.0, 1e6};
    const NodeId node = maker.graph.add_input(steam, maker.graph.text("K"), {});
    const NodeId twice = maker.make(Operation::sum, {node, node});
    const Evaluation at = evaluate(maker.graph);
    const NodeId figures[] = {twice};
    WhatIf what_if(maker.graph, figures);
    const Swing swing = swing_of(at, twice, maker.graph.inputs()[0], 0.1, what_if);
    CHECK_THAT(swing.from, WithinRel(430.65, 1e-14));
    CHECK_THAT(swing.to, WithinRel(465.65, 1e-14));
    CHECK_THAT(*of(budget_of(maker, twice).inputs, "steam").elasticity,
               WithinRel(2.0 * 175.0 / 896.3, 1e-13));
}

TEST_CASE("a swing ends at the bound of what an input may be, or says why it has no end",
          "[analysis]") {
    test::Maker maker;
    Input share;
    share.addresses = {maker.graph.text("share")};
    share.value = 0.95;
    share.bounds = {0.0, 1.0};
    const NodeId node = maker.graph.add_input(share, 0, {});
    const NodeId rest =
        maker.make(Operation::sum, {maker.number(0.97), maker.make(Operation::negate, {node})});
    const Evaluation at = evaluate(maker.graph);
    const NodeId figures[] = {rest};
    {
        WhatIf what_if(maker.graph, figures);
        const Swing swing = swing_of(at, rest, maker.graph.inputs()[0], 0.1, what_if);
        CHECK(swing.cut);
        CHECK(swing.to == 1.0);
        CHECK_THAT(swing.from, WithinRel(0.855, 1e-14));
    }
    maker.graph.require_not_negative({rest, maker.graph.text("mix.uses.rest")});
    WhatIf what_if(maker.graph, figures);
    const Swing swing = swing_of(at, rest, maker.graph.inputs()[0], 0.1, what_if);
    CHECK(swing.at_from.has_value());
    CHECK_FALSE(swing.at_to.has_value());
    CHECK_THAT(swing.why, Catch::Contains("mix.uses.rest"));
    CHECK(swing.width() == 0.0);
}

TEST_CASE("what lies behind a whole number, a minimum or a maximum is marked, what does not is not",
          "[analysis]") {
    test::Maker maker;
    const NodeId length = maker.spread("length", 10.3, SpreadKind::normal, {0.5});
    const NodeId width = maker.spread("width", 2.0, SpreadKind::normal, {0.1});
    const NodeId count = maker.make(Operation::whole, {length});
    const NodeId result = maker.make(Operation::product, {count, width});
    const auto budget = budget_of(maker, result);
    CHECK(of(budget.inputs, "length").stepped);
    CHECK(of(budget.inputs, "length").derivative == 0.0);
    CHECK_FALSE(of(budget.inputs, "width").stepped);
    CHECK(of(budget.inputs, "width").derivative == 10.0);
    const Evaluation at = evaluate(maker.graph);
    const NodeId figures[] = {result};
    WhatIf what_if(maker.graph, figures);
    const Swing swing = swing_of(at, result, *of(budget.inputs, "length").input, 0.1, what_if);
    CHECK(*swing.at_from == 18.0);  // 9.8 gives 9
    CHECK(*swing.at_to == 20.0);    // 10.8 gives 10
}

TEST_CASE("a loop: what only other indicators of it rest on is no input of this one",
          "[analysis]") {
    test::Maker maker;
    const NodeId c = maker.input("coefficient", 0.2);
    const NodeId carbon = maker.input("carbon", 3.0), water = maker.input("water", 5.0);
    const NodeId none = maker.number(0.0);
    const Solution loop = maker.solve(2, {{0, 1}, {1, 0}}, {c, c}, 2, {carbon, water, none, none});
    const auto rests = what_it_rests_on(maker.graph, loop.parts[0]);
    CHECK(rests[carbon].on);
    CHECK(rests[c].on);
    CHECK_FALSE(rests[water].on);
    const auto inputs = budget_of(maker, loop.parts[1]).inputs;  // water of the first product
    CHECK(inputs.size() == 2);
    // x = w / (1 - c^2): dx/dw = 1/0.96, dx/dc = 2 c w / (1 - c^2)^2
    CHECK_THAT(of(inputs, "water").derivative, WithinRel(1.0 / 0.96, 1e-14));
    CHECK_THAT(of(inputs, "coefficient").derivative, WithinRel(2.0 / (0.96 * 0.96), 1e-13));
}

TEST_CASE("a roll asked for is answered on the unrounded count, in the view asked for",
          "[analysis]") {
    const Shipped shipped("demonstration");
    const auto asked = asked_result(shipped.study, "results.bath_2ply.roll.climate");
    CHECK(asked.unrounded);
    CHECK(asked.address == "results.bath_2ply.roll_unrounded.climate");
    CHECK(asked.node == shipped.study.graph.find(asked.address));
    const auto market = asked_result(shipped.study, "results.fennaby.bath_sheet.t.climate.market");
    CHECK_FALSE(market.unrounded);
    CHECK(market.node == shipped.study.graph.find("results.fennaby.bath_sheet.t.climate.market"));
    CHECK(market.node != asked_result(shipped.study, "results.fennaby.bath_sheet.t.climate").node);
}

TEST_CASE("questions that name nothing are refused with the nearest names", "[analysis]") {
    const Shipped shipped("demonstration");
    const auto refusal = [](const auto& question) -> Problem {
        try {
            question();
        } catch (const InputError& error) {
            return error.problems.front();
        }
        return {};
    };
    const Problem result =
        refusal([&] { (void)asked_result(shipped.study, "results.bath_2ply.t.climat"); });
    CHECK(result.code == "unknown-result");
    CHECK_THAT(result.hint, Catch::Contains("results.bath_2ply.t.climate"));
    const Problem input =
        refusal([&] { (void)asked_input(shipped.study, "fennaby.figures.reel_drynes"); });
    CHECK(input.code == "unknown-input");
    CHECK_THAT(input.hint, Catch::Contains("fennaby.figures.reel_dryness"));
    const Problem figure =
        refusal([&] { (void)asked_input(shipped.study, "results.bath_2ply.t.climate"); });
    CHECK(figure.code == "not-an-input");
    CHECK_THAT(figure.hint, Catch::Contains("it rests on"));
}

TEST_CASE("ranking: by share, elasticity or swing, the largest first, only so many", "[analysis]") {
    const Shipped shipped("demonstration");
    for (const auto rank :
         {SensitivityRank::share, SensitivityRank::elasticity, SensitivityRank::swing}) {
        const Sensitivity found =
            sensitivity(shipped.study, shipped.at,
                        {.result = "results.bath_2ply.t.climate", .rank = rank, .largest = 12});
        CHECK(found.inputs.size() == 12);
        CHECK(found.inputs_in_all > 100);
        CHECK(found.with_spread > 10);
        for (std::size_t i = 1; i < found.inputs.size(); ++i) {
            const InputSensitivity &above = found.inputs[i - 1], &below = found.inputs[i];
            if (rank == SensitivityRank::share) CHECK(above.share >= below.share);
            else if (rank == SensitivityRank::swing)
                CHECK(above.swing.width() >= below.swing.width());
            else CHECK(std::abs(*above.elasticity) >= std::abs(*below.elasticity));
        }
    }
}
