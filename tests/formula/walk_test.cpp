// One walk over a formula gives units as well as values: how a caller builds graph nodes.
#include <catch2/catch.hpp>
#include <map>
#include <string>

#include "engine/formula/formula.h"
#include "engine/quantity/quantity.h"

using namespace deckle;

namespace {

struct Measured {
    double value = 0.0;
    Unit unit;
};

/// Values with their units; sums convert to the unit of their first term.
struct WithUnits {
    std::map<std::string, Measured> figures;

    [[nodiscard]] Measured leaf(const FormulaNode& node) const {
        if (node.operation == FormulaOperation::name) return figures.at(node.text);
        return {node.value, {}};
    }

    [[nodiscard]] Measured apply(const FormulaNode& node, std::span<const Measured> a) const {
        switch (node.operation) {
            case FormulaOperation::multiply:
                return {a[0].value * a[1].value, a[0].unit * a[1].unit};
            case FormulaOperation::divide: return {a[0].value / a[1].value, a[0].unit / a[1].unit};
            case FormulaOperation::add: return {a[0].value + in(a[1], a[0].unit), a[0].unit};
            case FormulaOperation::subtract: return {a[0].value - in(a[1], a[0].unit), a[0].unit};
            default: throw std::logic_error("not needed here");
        }
    }

    static double in(const Measured& measured, const Unit& unit) {
        return conversion(measured.unit, unit).value().apply(measured.value);
    }
};

Measured figure(std::string_view text) {
    const Quantity quantity = *parse_quantity(text).quantity;
    return {quantity.value, quantity.unit};
}

Measured result(const std::string& formula, const WithUnits& figures) {
    return walk<Measured>(*parse_formula(formula).formula, figures);
}

}  // namespace

TEST_CASE("steam of the water evaporated: (95 % / 42 % - 1) × 1.9 GJ/t is 2.39762 GJ/t (by hand)",
          "[formula][unit]") {
    const WithUnits figures{{{"reel_dryness", figure("95 %")},
                             {"press_dryness", figure("42 %")},
                             {"heat_per_water", figure("1.9 GJ/t")}}};
    const Measured steam = result("(reel_dryness / press_dryness - 1) * heat_per_water", figures);
    CHECK(steam.unit.text == "GJ/t");
    CHECK(steam.value == Approx((0.95 / 0.42 - 1.0) * 1.9).epsilon(1e-14));
}

TEST_CASE("a sum takes the unit of its first term", "[formula][unit]") {
    const WithUnits figures{{{"steam", figure("1.8 GJ/t")}, {"power", figure("100 kWh/t")}}};
    const Measured heat = result("steam + power", figures);
    CHECK(heat.unit.text == "GJ/t");
    CHECK(heat.value == Approx(2.16).epsilon(1e-15));  // 100 kWh is 0.36 GJ
}

TEST_CASE("a share in % plus a plain number meet as shares", "[formula][unit]") {
    const WithUnits figures{{{"losses", figure("2 %")}}};
    CHECK(result("1 - losses", figures).value == Approx(0.98).epsilon(1e-15));
    CHECK(result("losses + 1", figures).value == Approx(102.0).epsilon(1e-15));
    CHECK(result("losses + 1", figures).unit.text == "%");
}
