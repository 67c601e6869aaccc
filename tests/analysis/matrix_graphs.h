// Graphs with published or exact sensitivities, for several tests.
#pragma once

#include <cmath>
#include <string>
#include <vector>

#include "tests/graph/graph_maker.h"

namespace deckle::test {

inline constexpr double half_width_95 = 1.959963984540054;

/// Electricity from fuel and fuel from crude oil (Heijungs and Suh, "The Computational Structure of
/// Life Cycle Assessment", Kluwer 2002, chapter 2; numbers from memory, recomputed): 1000 kWh, CO2.
/// Each of the five coefficients has a relative normal spread of this coefficient of variation.
struct FuelAndElectricity {
    Maker maker;
    NodeId fuel_used, fuel_made, electricity_made, of_electricity, of_fuel, result;

    explicit FuelAndElectricity(double variation = 0.1) {
        const auto input = [&](const std::string& address, double value) {
            return maker.spread(address, value, SpreadKind::normal, {variation * half_width_95},
                                true);
        };
        fuel_used = input("electricity.uses.fuel", 2.0);
        electricity_made = input("electricity.makes.electricity", 10.0);
        fuel_made = input("fuel.makes.fuel", 100.0);
        of_electricity = input("electricity.releases.co2", 1.0);
        of_fuel = input("fuel.releases.co2", 10.0);
        const NodeId per_litre = maker.make(Operation::quotient, {of_fuel, fuel_made});
        const NodeId fuel = maker.make(Operation::product, {fuel_used, per_litre});
        const NodeId run = maker.make(Operation::sum, {of_electricity, fuel});
        const NodeId per_kwh = maker.make(Operation::quotient, {run, electricity_made});
        result = maker.make(Operation::product, {per_kwh, maker.number(1000.0)});
    }
};

/// sin x for |x| <= pi by its series to x^25, error below 1e-12.
inline NodeId sine(Maker& maker, NodeId x) {
    const NodeId square = maker.make(Operation::product, {x, x});
    double factorial = 1.0;
    std::vector<double> coefficients;
    for (int power = 1; power <= 25; power += 2) {
        if (power > 1) factorial *= power * (power - 1.0);
        coefficients.push_back((power / 2 % 2 == 0 ? 1.0 : -1.0) / factorial);
    }
    NodeId value = maker.number(coefficients.back());
    for (std::size_t k = coefficients.size() - 1; k-- > 0;) {
        value = maker.make(Operation::sum, {maker.make(Operation::product, {value, square}),
                                            maker.number(coefficients[k])});
    }
    return maker.make(Operation::product, {value, x});
}

/// Ishigami and Homma (1990): sin x1 + a sin^2 x2 + b x3^4 sin x1, uniform on (-pi, pi).
struct Ishigami {
    Maker maker;
    NodeId result = no_node;

    explicit Ishigami(double a = 7.0, double b = 0.1) {
        std::vector<NodeId> x;
        for (const char* name : {"x1", "x2", "x3"})
            x.push_back(maker.spread(name, 0.5, SpreadKind::uniform, {-M_PI, M_PI}));
        const NodeId sine_1 = sine(maker, x[0]), sine_2 = sine(maker, x[1]);
        const NodeId square = maker.make(Operation::product, {sine_2, sine_2, maker.number(a)});
        const NodeId joint =
            maker.make(Operation::product, {x[2], x[2], x[2], x[2], sine_1, maker.number(b)});
        result = maker.make(Operation::sum, {sine_1, square, joint});
    }
};

/// Sobol's g-function: the product of (|4 x - 2| + a) / (1 + a), uniform on (0, 1).
struct GFunction {
    Maker maker;
    NodeId result = no_node;

    explicit GFunction(const std::vector<double>& a) {
        std::vector<NodeId> factors;
        for (std::size_t i = 0; i < a.size(); ++i) {
            const NodeId x =
                maker.spread("x" + std::to_string(i + 1), 0.3, SpreadKind::uniform, {0.0, 1.0});
            const NodeId four = maker.make(Operation::product, {x, maker.number(4.0)});
            const NodeId up = maker.make(Operation::sum, {four, maker.number(-2.0)});
            const NodeId distance =
                maker.make(Operation::maximum, {up, maker.make(Operation::negate, {up})});
            const NodeId above = maker.make(Operation::sum, {distance, maker.number(a[i])});
            factors.push_back(maker.make(Operation::quotient, {above, maker.number(1.0 + a[i])}));
        }
        result = maker.make(Operation::product, factors);
    }
};

}  // namespace deckle::test
