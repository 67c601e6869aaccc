#include "engine/formula/amount.h"

#include <algorithm>
#include <utility>

#include "engine/quantity/utf8.h"

namespace deckle {
namespace {

using namespace std::string_view_literals;

/// A formula that is only a number would have been a quantity; what is wrong with it is said as
/// such.
bool has_operation_or_name(const Formula& formula) {
    return formula.nodes.size() > 1 || formula.root().operation == FormulaOperation::name;
}

/// What cannot be read at all, but was meant as a formula.
bool looks_like_formula(std::string_view text, const TextError& as_quantity) {
    const std::size_t start = after_spaces(text, 0);
    if (start < text.size() && (is_letter(text[start]) || text[start] == '(')) return true;
    const auto operators = {"+"sv, "-"sv, "*"sv, "/"sv, "^"sv, "("sv, "\u2212"sv, "×"sv, "÷"sv};
    return as_quantity.code == "not-a-quantity" &&
           one_of_at(text, as_quantity.offset, operators) > 0;
}

/// "nan kWh/t": a word for what is no number, in place of one before its unit.
bool begins_with_no_number(std::string_view text) {
    const std::size_t start = after_spaces(text, 0);
    const std::size_t end = std::min(text.find(' ', start), text.size());
    const std::size_t sign = start < end && text[start] == '-' ? 1 : 0;
    return end > start && end < text.size() &&
           is_number_word(text.substr(start + sign, end - start - sign));
}

}  // namespace

Amount parse_amount(std::string_view text, Points points) {
    Amount amount;
    QuantityResult as_quantity = parse_quantity(text, points);
    if (as_quantity.quantity) {
        amount.kind = Amount::Kind::quantity;
        amount.quantity = *std::move(as_quantity.quantity);
        return amount;
    }
    amount.error = std::move(as_quantity.error);
    if (is_number_word(text)) return amount;
    FormulaResult as_formula = parse_formula(text);
    if (as_formula.formula && has_operation_or_name(*as_formula.formula)) {
        amount.error = {};
        amount.formula = *std::move(as_formula.formula);
        const bool lone = amount.formula.root().operation == FormulaOperation::name;
        amount.kind = lone ? Amount::Kind::word : Amount::Kind::formula;
        if (lone) amount.word = amount.formula.root().text;
    } else if (begins_with_no_number(text)) {
        const std::size_t start = after_spaces(text, 0);
        amount.error = parse_quantity(text.substr(start, text.find(' ', start) - start)).error;
        amount.error.offset += start;
    } else if (as_formula.error.any() && looks_like_formula(text, amount.error)) {
        amount.error = std::move(as_formula.error);
    }
    return amount;
}

}  // namespace deckle
