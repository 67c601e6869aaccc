// Prints first-order budgets of published measurement models: for each case its value and standard
// uncertainty, then address, derivative and standard deviation of every input.
// budgets_against_uncertainties.py works out the same in Python.
#include <fmt/format.h>

#include "engine/analysis/sensitivity.h"
#include "engine/graph/evaluate.h"
#include "tests/analysis/matrix_graphs.h"

namespace {

using namespace deckle;
using O = Operation;

void print(const char* name, const test::Maker& maker, NodeId result) {
    const Evaluation at = evaluate(maker.graph);
    const VarianceBudget budget = variance_budget(maker.graph, at, result);
    fmt::print("{} {} {} {}\n", name, at.value[result], budget.standard_uncertainty,
               budget.inputs.size());
    for (const InputSensitivity& one : budget.inputs)
        fmt::print("{} {} {} {}\n", one.address, one.derivative, one.deviation, one.share);
}

struct Case {
    test::Maker maker;
    NodeId normal(const char* name, double value, double deviation) {
        return maker.spread(name, value, SpreadKind::normal, {deviation * test::half_width_95});
    }
    NodeId minus(NodeId a, NodeId b) { return maker.make(O::sum, {a, maker.make(O::negate, {b})}); }
};

/// NIST TN 1900 (2015), example E13: thermal expansion coefficient.
void expansion() {
    Case c;
    const NodeId l0 = c.normal("l0", 1.4999, 0.0001), l1 = c.normal("l1", 1.5021, 0.0002);
    const NodeId t0 = c.normal("t0", 288.15, 0.02), t1 = c.normal("t1", 373.10, 0.05);
    const NodeId below = c.maker.make(O::product, {l0, c.minus(t1, t0)});
    print("expansion", c.maker, c.maker.make(O::quotient, {c.minus(l1, l0), below}));
}

/// NIST TN 1900 (2015), example E3: falling-ball viscometer.
void viscometer() {
    Case c;
    const NodeId mu = c.normal("mu_c", 4.63, 0.0463), tm = c.normal("t_m", 61.0, 6.1);
    const NodeId rm = c.normal("rho_m", 1180.0, 0.5), rc = c.normal("rho_c", 810.0, 0.5);
    const NodeId tc = c.normal("t_c", 36.6, 5.49), rb = c.normal("rho_b", 2217.0, 0.5);
    const NodeId above = c.maker.make(O::product, {mu, tm, c.minus(rb, rm)});
    const NodeId below = c.maker.make(O::product, {tc, c.minus(rb, rc)});
    print("viscometer", c.maker, c.maker.make(O::quotient, {above, below}));
}

/// NIST Uncertainty Machine manual: the Stefan-Boltzmann constant from others.
void radiation() {
    Case c;
    const auto power = [&](NodeId x, double n) {
        return c.maker.make(O::power, {x, c.maker.number(n)});
    };
    const NodeId h = c.normal("h", 6.62606957e-34, 0.00000029e-34);
    const NodeId r = c.normal("r", 8.3144621, 0.0000075);
    const NodeId rydberg = c.normal("rydberg", 10973731.568539, 0.000055);
    const NodeId electron = c.normal("electron", 5.4857990946e-4, 0.0000000022e-4);
    const NodeId alpha = c.normal("alpha", 7.2973525698e-3, 0.0000000024e-3);
    constexpr double light = 299792458.0, molar = 0.001;
    constexpr double pi = 3.14159265358979323846;
    const double front = 32.0 * pi * pi * pi * pi * pi / 15.0 / (molar * molar * molar * molar) /
                         (light * light * light) / (light * light * light);
    const NodeId above =
        c.maker.make(O::product, {h, power(r, 4), power(rydberg, 4), c.maker.number(front)});
    const NodeId below = c.maker.make(O::product, {power(electron, 4), power(alpha, 8)});
    print("radiation", c.maker, c.maker.make(O::quotient, {above, below}));
}

/// Functions that a mill's formulas can have.
void functions() {
    Case c;
    const NodeId x = c.normal("x", 1.7, 0.1), y = c.normal("y", 0.6, 0.05);
    const NodeId root = c.maker.make(O::square_root, {x});
    const NodeId growth =
        c.maker.make(O::exponential, {c.maker.make(O::negate, {c.maker.make(O::product, {x, y})})});
    const NodeId log = c.maker.make(O::logarithm, {c.maker.make(O::sum, {x, y})});
    print("functions", c.maker, c.maker.make(O::sum_of_products, {root, growth, log, y}));
}

}  // namespace

int main() {
    expansion();
    viscometer();
    radiation();
    functions();
}
