// Matrix inventories with published or exact answers, through the graph, its loops and one reverse
// pass. The two-process case is that of Heijungs and Suh, "The Computational Structure of Life
// Cycle Assessment" (Kluwer 2002), chapter 2: its numbers are from memory and were recomputed; A6
// is the two-sector table of Miller and Blair, "Input-Output Analysis", chapter 2, from memory and
// recomputed; the others are constructed and exact. Formulas of elasticities: Heijungs, Int J LCA
// 15 (2010) 511-520, eq. (1).
#include <catch2/catch.hpp>
#include <cmath>

#include "engine/graph/evaluate.h"
#include "engine/graph/solve.h"
#include "engine/text/problem.h"
#include "tests/graph/graph_maker.h"

using namespace deckle;
using Catch::WithinAbs;
using Catch::WithinRel;

namespace {

/// Electricity from fuel and fuel from crude oil. Amounts as in the book: outputs and emissions per
/// run.
struct FuelAndElectricity {
    test::Maker maker;
    NodeId fuel_used, fuel_made, electricity_made, electricity_used;
    NodeId emitted[3][2];  ///< CO2, SO2, crude oil (taken, so negative) of electricity and of fuel
    NodeId demand;
    NodeId result[3];

    explicit FuelAndElectricity(double kwh_for_fuel = 0.0) {
        fuel_used = maker.input("electricity.uses.fuel", 2.0);
        electricity_made = maker.input("electricity.makes.electricity", 10.0);
        fuel_made = maker.input("fuel.makes.fuel", 100.0);
        electricity_used = maker.input("fuel.uses.electricity", kwh_for_fuel);
        constexpr double amounts[3][2] = {{1.0, 10.0}, {0.1, 2.0}, {0.0, -50.0}};
        std::vector<NodeId> right_sides;
        for (int i = 0; i < 3; ++i) {
            emitted[i][0] = maker.input("electricity.releases." + std::to_string(i), amounts[i][0]);
            emitted[i][1] = maker.input("fuel.releases." + std::to_string(i), amounts[i][1]);
        }
        for (int process = 0; process < 2; ++process) {
            const NodeId made = process == 0 ? electricity_made : fuel_made;
            for (int i = 0; i < 3; ++i)
                right_sides.push_back(maker.make(Operation::quotient, {emitted[i][process], made}));
        }
        const Solution per_unit =
            maker.solve(2, {{0, 1}, {1, 0}},
                        {maker.make(Operation::quotient, {fuel_used, electricity_made}),
                         maker.make(Operation::quotient, {electricity_used, fuel_made})},
                        3, right_sides);
        demand = maker.input("demand", 1000.0);
        for (std::size_t i = 0; i < 3; ++i)
            result[i] = maker.make(Operation::product, {per_unit.parts[i], demand});
    }

    double value(int i) const { return evaluate(maker.graph).value[result[i]]; }

    double elasticity(int i, NodeId of) const {
        const Evaluation at = evaluate(maker.graph);
        return derivatives(maker.graph, at, result[i])[of] * at.value[of] / at.value[result[i]];
    }
};

}  // namespace

TEST_CASE(
    "A1: 1000 kWh give 120 kg CO2, 14 kg SO2, -100 L crude oil (Heijungs and Suh 2002, ch. 2)",
    "[graph][literature]") {
    const FuelAndElectricity system;
    CHECK_THAT(system.value(0), WithinRel(120.0, 1e-14));
    CHECK_THAT(system.value(1), WithinRel(14.0, 1e-14));
    CHECK_THAT(system.value(2), WithinRel(-100.0, 1e-14));
}

TEST_CASE("A1: elasticities of all coefficients from one reverse pass (Heijungs 2010, eq. 1)",
          "[graph][literature]") {
    const FuelAndElectricity system;
    struct Row {
        int result;
        double fuel_used, fuel_made, electricity_made, of_electricity, of_fuel;
    };
    // the coefficient -2 of fuel used has the sign of the amount used here: same relative change
    for (const Row& row :
         {Row{0, 1.0 / 6, -1.0 / 6, -1, 5.0 / 6, 1.0 / 6},
          Row{1, 2.0 / 7, -2.0 / 7, -1, 5.0 / 7, 2.0 / 7}, Row{2, 1, -1, -1, 0, 1}}) {
        INFO("result " << row.result);
        CHECK_THAT(system.elasticity(row.result, system.fuel_used),
                   WithinAbs(row.fuel_used, 1e-14));
        CHECK_THAT(system.elasticity(row.result, system.fuel_made),
                   WithinAbs(row.fuel_made, 1e-14));
        CHECK_THAT(system.elasticity(row.result, system.electricity_made),
                   WithinAbs(row.electricity_made, 1e-14));
        CHECK_THAT(system.elasticity(row.result, system.emitted[row.result][0]),
                   WithinAbs(row.of_electricity, 1e-14));
        CHECK_THAT(system.elasticity(row.result, system.emitted[row.result][1]),
                   WithinAbs(row.of_fuel, 1e-14));
        CHECK_THAT(system.elasticity(row.result, system.demand), WithinAbs(1.0, 1e-14));
    }
}

TEST_CASE(
    "Euler: elasticities add up to -1 over the technology, +1 over the emissions (exact for linear "
    "systems)",
    "[graph][property]") {
    for (const double used : {0.0, 20.0, 450.0}) {
        const FuelAndElectricity system(used);
        for (int i = 0; i < 3; ++i) {
            INFO("result " << i << ", fuel uses " << used << " kWh");
            const double technology = system.elasticity(i, system.fuel_used) +
                                      system.elasticity(i, system.fuel_made) +
                                      system.elasticity(i, system.electricity_made) +
                                      system.elasticity(i, system.electricity_used);
            const double emissions = system.elasticity(i, system.emitted[i][0]) +
                                     system.elasticity(i, system.emitted[i][1]);
            CHECK_THAT(technology, WithinAbs(-1.0, 1e-12));
            CHECK_THAT(emissions, WithinAbs(1.0, 1e-13));
        }
    }
}

TEST_CASE(
    "A2: a loop gives 125 kg CO2, 175/12 kg SO2, -104.1666 L and elasticities beyond 1 "
    "(constructed)",
    "[graph]") {
    const FuelAndElectricity system(20.0);
    CHECK_THAT(system.value(0), WithinRel(125.0, 1e-14));
    CHECK_THAT(system.value(1), WithinRel(175.0 / 12.0, 1e-14));
    CHECK_THAT(system.value(2), WithinRel(-1000.0 / 9.6, 1e-14));
    CHECK_THAT(system.elasticity(0, system.fuel_used), WithinRel(5.0 / 24.0, 1e-13));
    CHECK_THAT(system.elasticity(0, system.fuel_made), WithinRel(-5.0 / 24.0, 1e-13));
    CHECK_THAT(system.elasticity(0, system.electricity_made), WithinRel(-25.0 / 24.0, 1e-13));
    CHECK_THAT(system.elasticity(0, system.electricity_used), WithinRel(1.0 / 24.0, 1e-13));
}

TEST_CASE(
    "A3: a credit for avoided heat gives g = (50, 12, -50), a negative scale is no error "
    "(layout of Heijungs and Suh ch. 3 from memory, recomputed)",
    "[graph][literature]") {
    // per kWh: x_e = 0.2 x_f - 1.8 x_h + b; heat avoided takes 5/90 L fuel per MJ
    test::Maker maker;
    const auto n = [&](double value) { return maker.number(value); };
    const std::vector<NodeId> right_sides = {n(0.1),  n(0.01),     n(0), n(0.1), n(0.02),
                                             n(-0.5), n(3.0 / 90), n(0), n(0)};
    const Solution per_unit =
        maker.solve(3, {{0, 1}, {0, 2}, {2, 1}}, {n(0.2), n(-1.8), n(5.0 / 90)}, 3, right_sides);
    const Evaluation at = evaluate(maker.graph);
    CHECK_THAT(1000.0 * at.value[per_unit.parts[0]], WithinRel(50.0, 1e-13));
    CHECK_THAT(1000.0 * at.value[per_unit.parts[1]], WithinRel(12.0, 1e-13));
    CHECK_THAT(1000.0 * at.value[per_unit.parts[2]], WithinRel(-50.0, 1e-13));
    CHECK_THAT(at.value[per_unit.parts[6]], WithinRel(0.0388888888888889, 1e-13));   // heat, CO2
    CHECK_THAT(at.value[per_unit.parts[7]], WithinRel(0.00111111111111111, 1e-13));  // heat, SO2
}

TEST_CASE("A4: parts of any allocation add to the unallocated total (constructed)", "[graph]") {
    const auto total_co2 = [](double share) {
        test::Maker maker;
        const auto n = [&](double value) { return maker.number(value); };
        // a run of the combined process: 2 L fuel, 1 kg CO2 for 10 kWh and 18 MJ; fuel: 0.1 kg
        // CO2/L
        const NodeId w = maker.input("share", share);
        const NodeId rest =
            maker.make(Operation::sum, {n(1.0), maker.make(Operation::negate, {w})});
        const NodeId per_kwh = maker.make(Operation::quotient, {w, n(10.0)});
        const NodeId per_mj = maker.make(Operation::quotient, {rest, n(18.0)});
        const Solution x = maker.solve(3, {{0, 1}, {2, 1}},
                                       {maker.make(Operation::product, {per_kwh, n(2.0)}),
                                        maker.make(Operation::product, {per_mj, n(2.0)})},
                                       1, {per_kwh, n(0.1), per_mj});
        const Evaluation at = evaluate(maker.graph);
        return std::pair{1000.0 * at.value[x.parts[0]], 1800.0 * at.value[x.parts[2]]};
    };
    const auto [kwh_energy, mj_energy] = total_co2(2.0 / 3.0);
    CHECK_THAT(kwh_energy, WithinRel(80.0, 1e-13));
    CHECK_THAT(mj_energy, WithinRel(40.0, 1e-13));
    const auto [kwh_price, mj_price] = total_co2(0.8);
    CHECK_THAT(kwh_price, WithinRel(96.0, 1e-13));
    CHECK_THAT(mj_price, WithinRel(24.0, 1e-13));
}

TEST_CASE(
    "A6: the two-sector table gives x = (1247.5248, 1841.5842) and the inverse as printed (Miller "
    "and Blair, ch. 2)",
    "[graph][literature]") {
    // x = A x + f; a second and third right-hand side give the columns of the inverse
    test::Maker maker;
    const auto n = [&](double value) { return maker.number(value); };
    const Solution x =
        maker.solve(2, {{0, 0}, {0, 1}, {1, 0}, {1, 1}}, {n(0.15), n(0.25), n(0.20), n(0.05)}, 3,
                    {n(600), n(1), n(0), n(1500), n(0), n(1)});
    const Evaluation at = evaluate(maker.graph);
    CHECK_THAT(at.value[x.parts[0]], WithinAbs(1247.524752475, 5e-10));
    CHECK_THAT(at.value[x.parts[3]], WithinAbs(1841.584158416, 5e-10));
    CHECK_THAT(at.value[x.parts[1]], WithinAbs(1.2541254125, 5e-11));
    CHECK_THAT(at.value[x.parts[2]], WithinAbs(0.3300330033, 5e-11));
    CHECK_THAT(at.value[x.parts[4]], WithinAbs(0.2640264026, 5e-11));
    CHECK_THAT(at.value[x.parts[5]], WithinAbs(1.1221122112, 5e-11));
}

TEST_CASE("A7: passing changes of coefficients (constructed, low-rank updates agree)", "[graph]") {
    const FuelAndElectricity system;
    const auto changed = [&](std::vector<Overlay::Change> changes, int i) {
        return evaluate(system.maker.graph, {std::move(changes)}).value[system.result[i]];
    };
    CHECK_THAT(changed({{system.fuel_used, 1.8}}, 0), WithinRel(118.0, 1e-14));
    CHECK_THAT(changed({{system.fuel_used, 1.8}}, 1), WithinRel(13.6, 1e-14));
    CHECK_THAT(changed({{system.fuel_used, 1.8}}, 2), WithinRel(-90.0, 1e-14));
    const std::vector<Overlay::Change> both = {{system.fuel_used, 1.8},
                                               {system.electricity_used, 20.0}};
    CHECK_THAT(changed(both, 0), WithinAbs(122.4066390, 5e-8));
    CHECK_THAT(changed(both, 1), WithinAbs(14.1078838, 5e-8));
    CHECK_THAT(changed(both, 2), WithinAbs(-93.3609959, 5e-8));
}

TEST_CASE(
    "A8: a nearly singular loop is solved, a singular one and one beyond are refused by name "
    "(constructed)",
    "[graph]") {
    CHECK_THAT(FuelAndElectricity(450.0).value(0), WithinRel(1200.0, 1e-13));
    CHECK_THAT(FuelAndElectricity(495.0).value(0), WithinRel(12000.0, 1e-12));
    CHECK_THAT(FuelAndElectricity(499.5).value(0), WithinRel(120000.0, 1e-11));
    const auto message = [](double used) -> std::string {
        try {
            (void)FuelAndElectricity(used).value(0);
        } catch (const NoAnswer& failure) {
            CHECK(failure.problem.code == "unsolvable-loop");
            return failure.problem.message;
        }
        return "no failure";
    };
    CHECK_THAT(message(500.0),
               Catch::Contains("product_0 and product_1") && Catch::Contains("leaves nothing"));
    CHECK_THAT(message(510.0), Catch::Contains("product_1 needs more of itself than it makes") &&
                                   Catch::Contains("product_1 takes 5.100 of product_0"));
}
