// Formulas that stand in place of a number: "reel_dryness / press_dryness - 1". A Formula is a flat
// list of nodes in order of evaluation; it knows no graph and no units. walk() lets the caller make
// graph nodes, units or values of it in one pass.
#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "engine/quantity/text_error.h"

namespace deckle {

enum class FormulaOperation : std::uint8_t {
    number,    ///< a bare number: no unit
    name,      ///< a figure, perhaps dotted
    add,       ///< two arguments
    subtract,  ///< two arguments
    multiply,  ///< two arguments
    divide,    ///< two arguments
    negate,    ///< one argument
    power,     ///< one argument, the exponent is a constant in `value`
    minimum,   ///< two arguments or more
    maximum,   ///< two arguments or more
    exponential,
    logarithm,
    square_root,
};

struct FormulaNode {
    FormulaOperation operation = FormulaOperation::number;
    std::uint32_t first = 0;   ///< of its arguments in Formula::arguments
    std::uint32_t count = 0;   ///< of arguments
    std::uint32_t offset = 0;  ///< of its text, in bytes
    std::uint32_t length = 0;
    double value = 0.0;  ///< of a number; the exponent of a power
    std::string text;    ///< digits of a number or exponent as typed; the name
};

/// Nodes stand after their arguments; the last one is the result.
struct Formula {
    std::vector<FormulaNode> nodes;
    std::vector<std::uint32_t> arguments;  ///< node numbers
    std::vector<std::string> names;        ///< each once, in order of first use

    [[nodiscard]] const FormulaNode& root() const { return nodes.back(); }
    [[nodiscard]] std::span<const std::uint32_t> arguments_of(const FormulaNode& node) const {
        return std::span(arguments).subspan(node.first, node.count);
    }
};

struct FormulaResult {
    std::optional<Formula> formula;
    TextError error;
};

/// The formula of a text: + - − * × / ÷ ^ ( ), min, max, exp, ln, sqrt, names, bare numbers.
/// ^ binds closest and to the right, its exponent is a number; then the sign, then × ÷, then + −.
/// Codes: formula-syntax, number-with-unit, bad-name, unknown-function, argument-count,
/// exponent-not-a-number, formula-too-deep (256), formula-too-long, and those of numbers.
[[nodiscard]] FormulaResult parse_formula(std::string_view text);

/// Whether a text is a lower_snake_case name, perhaps dotted: "reel_dryness", "mill.figures.x".
[[nodiscard]] bool is_formula_name(std::string_view text);

/// Value of the root. The visitor has `V leaf(const FormulaNode&)` for numbers and names, and
/// `V apply(const FormulaNode&, std::span<const V> arguments)` for the rest; V may be anything that
/// can be copied. Arguments are visited before what uses them, left to right.
template <class V, class Visitor>
[[nodiscard]] V walk(const Formula& formula, Visitor&& visitor) {
    std::vector<V> values, arguments;
    values.reserve(formula.nodes.size());
    for (const FormulaNode& node : formula.nodes) {
        if (node.count == 0) {
            values.push_back(visitor.leaf(node));
            continue;
        }
        arguments.clear();
        for (const std::uint32_t argument : formula.arguments_of(node))
            arguments.push_back(values[argument]);
        values.push_back(visitor.apply(node, std::span<const V>(arguments)));
    }
    return values.back();
}

}  // namespace deckle
