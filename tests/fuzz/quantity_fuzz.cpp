// Any bytes as a unit, a quantity, a formula and an amount: no crash, no undefined behaviour; what
// is accepted reads back, and every error lies inside its text.
#include <cmath>
#include <cstdint>
#include <cstdlib>
#include <string_view>

#include "engine/formula/amount.h"

using namespace deckle;

namespace {

void require(bool holds) {
    if (!holds) std::abort();
}

void require_inside(const TextError& error, std::string_view text) {
    require(error.any() && !error.message.empty());
    require(error.offset <= text.size() && error.length <= text.size() - error.offset);
}

void check_unit(std::string_view text) {
    const UnitResult result = parse_unit(text);
    if (!result.unit) return require_inside(result.error, text);
    const UnitResult again = parse_unit(result.unit->text);
    require(again.unit && again.unit->text == result.unit->text);
    require(again.unit->dimension == result.unit->dimension);
    (void)result.unit->dimension.text();
}

void check_quantity(std::string_view text) {
    const QuantityResult result = parse_quantity(text, Points::allowed);
    if (!result.quantity) return require_inside(result.error, text);
    require(std::isfinite(result.quantity->value));
    const TypedSpread& spread = result.quantity->spread;
    require(spread.offset + spread.length <= text.size());
    require(result.quantity->unit_offset + result.quantity->unit_length <= text.size());
}

struct Counter {
    [[nodiscard]] std::size_t leaf(const FormulaNode&) const { return 1; }
    [[nodiscard]] std::size_t apply(const FormulaNode&,
                                    std::span<const std::size_t> arguments) const {
        std::size_t leaves = 0;
        for (const std::size_t argument : arguments) leaves += argument;
        return leaves;
    }
};

void check_formula(std::string_view text) {
    const FormulaResult result = parse_formula(text);
    if (!result.formula) return require_inside(result.error, text);
    require(walk<std::size_t>(*result.formula, Counter{}) > 0);
    for (const FormulaNode& node : result.formula->nodes)
        require(node.offset + node.length <= text.size());
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    const std::string_view text(reinterpret_cast<const char*>(data), size);
    check_unit(text);
    check_quantity(text);
    check_formula(text);
    const Amount amount = parse_amount(text);
    if (amount.kind == Amount::Kind::wrong) require_inside(amount.error, text);
    return 0;
}
