#include "engine/tables/limits.h"

#include <fmt/format.h>

#include <cmath>
#include <optional>

#include "engine/graph/evaluate.h"
#include "engine/text/number_text.h"

namespace deckle {
namespace {

bool is_share(Within within) {
    return within == Within::share || within == Within::part || within == Within::below_whole ||
           within == Within::whole;
}

bool lies(double value, Within within) {
    switch (within) {
        case Within::any: return true;
        case Within::not_negative: return value >= 0.0;
        case Within::positive: return value > 0.0;
        case Within::share: return value >= 0.0 && value <= 1.0;
        case Within::part: return value > 0.0 && value <= 1.0;
        case Within::below_whole: return value >= 0.0 && value < 1.0;
        case Within::whole: return std::abs(value - 1.0) <= 1e-6;
    }
    return false;
}

/// The value that the limit is about: a share as a plain ratio, else as it is; nothing for a share
/// that is no ratio.
std::optional<double> measured(double value, const Unit& unit, Within within) {
    if (!is_share(within)) return value;
    const auto plain = conversion(unit, {});
    return plain ? std::optional(plain->apply(value)) : std::nullopt;
}

struct Words {
    std::string code, message, hint;
};

/// What is said of a value that does not lie within its limits.
Words words_of(std::string_view found, double value, Within within) {
    switch (within) {
        case Within::whole:
            return {"shares-do-not-add",
                    fmt::format("{} add up to {:.6g} %, not to 100 %", found, 100.0 * value),
                    "every part counts once"};
        case Within::share:
            return {"share-out-of-range", fmt::format("{} is no share of a whole", found),
                    "it lies between 0 and 100 %"};
        case Within::part:
            return {"share-out-of-range", fmt::format("{} is no share of a whole", found),
                    "it lies above 0 and is at most 100 %"};
        case Within::below_whole:
            return {"share-out-of-range", fmt::format("{} leaves nothing", found),
                    "it lies between 0 and less than 100 %"};
        case Within::positive:
            if (value < 0.0) break;
            return {"not-positive", fmt::format("{} is not above zero", found),
                    "this must be above zero"};
        case Within::any:
        case Within::not_negative: break;
    }
    return {"negative-amount", fmt::format("{} is negative", found),
            "amounts are not negative; treatment of waste or effluent is a service that is used"};
}

}  // namespace

bool check_typed_value(const YamlValue& scalar, const Quantity& quantity, Within within,
                       Problems& problems) {
    const TypedSpread& spread = quantity.spread;
    const bool range =
        spread.kind == TypedSpread::Kind::triangular || spread.kind == TypedSpread::Kind::uniform;
    for (const double end : {quantity.value, range ? spread.low : quantity.value,
                             range ? spread.high : quantity.value}) {
        const auto value = measured(end, quantity.unit, within);
        if (!value || lies(*value, within)) continue;
        Words words = words_of(scalar.text, *value, within);
        problems.add(scalar.place, std::move(words.code), std::move(words.message),
                     std::move(words.hint));
        return false;
    }
    return true;
}

void check_formulas(const Graph& graph, const std::vector<FormulaLimit>& limits,
                    Problems& problems) {
    std::vector<NodeId> nodes;
    for (const FormulaLimit& limit : limits) nodes.push_back(limit.node);
    const Evaluation at = evaluate(graph, {}, graph.ancestors(nodes));
    for (const FormulaLimit& limit : limits) {
        const double found = at.value[limit.node];
        const auto value = measured(found, limit.unit, limit.within);
        if (!value || lies(*value, limit.within)) continue;
        const std::string shown = format_significant(found, 6);
        const std::string text =
            limit.within == Within::whole
                ? limit.formula
                : fmt::format("{} = {}{}{}", limit.formula, shown,
                              limit.unit.text.empty() ? "" : " ", limit.unit.text);
        Words words = words_of(text, *value, limit.within);
        problems.add(limit.place, limit.code.empty() ? words.code : limit.code,
                     std::move(words.message), std::move(words.hint));
    }
}

}  // namespace deckle
