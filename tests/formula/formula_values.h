// A visitor that gives a formula's value in doubles: names from a map, the C library's functions.
#pragma once

#include <algorithm>
#include <cmath>
#include <map>
#include <numeric>
#include <span>
#include <string>

#include "engine/formula/formula.h"

namespace deckle {

struct FormulaValues {
    std::map<std::string, double, std::less<>> names;

    [[nodiscard]] double leaf(const FormulaNode& node) const {
        return node.operation == FormulaOperation::name ? names.at(node.text) : node.value;
    }

    [[nodiscard]] double apply(const FormulaNode& node, std::span<const double> a) const {
        switch (node.operation) {
            case FormulaOperation::add: return a[0] + a[1];
            case FormulaOperation::subtract: return a[0] - a[1];
            case FormulaOperation::multiply: return a[0] * a[1];
            case FormulaOperation::divide: return a[0] / a[1];
            case FormulaOperation::negate: return -a[0];
            case FormulaOperation::power: return std::pow(a[0], node.value);
            case FormulaOperation::minimum: return *std::min_element(a.begin(), a.end());
            case FormulaOperation::maximum: return *std::max_element(a.begin(), a.end());
            case FormulaOperation::exponential: return std::exp(a[0]);
            case FormulaOperation::logarithm: return std::log(a[0]);
            case FormulaOperation::square_root: return std::sqrt(a[0]);
            case FormulaOperation::number:
            case FormulaOperation::name: break;
        }
        return std::numeric_limits<double>::quiet_NaN();
    }
};

}  // namespace deckle
