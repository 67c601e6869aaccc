#include "engine/tables/limits.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <optional>
#include <tuple>

#include "engine/graph/evaluate.h"
#include "engine/graph/spread.h"
#include "engine/tables/spread_reader.h"
#include "engine/text/number_text.h"

namespace deckle {
namespace {

constexpr double near_whole = 1e-6;  ///< how far typed shares may add up beside 100 %

bool is_share(Within within) {
    return within == Within::share || within == Within::part || within == Within::below_whole ||
           within == Within::whole;
}

constexpr double most_pieces = 1e6, most_plies = 12.0;

bool is_count(double value, double most) {
    return value >= 1.0 && value <= most && std::floor(value) == value;
}

bool lies(double value, Within within) {
    switch (within) {
        case Within::any: return true;
        case Within::not_negative: return value >= 0.0;
        case Within::positive: return value > 0.0;
        case Within::share: return value >= 0.0 && value <= 1.0;
        case Within::part: return value > 0.0 && value <= 1.0;
        case Within::below_whole: return value >= 0.0 && value < 1.0;
        case Within::whole: return std::abs(value - 1.0) <= near_whole;
        case Within::pieces: return is_count(value, most_pieces);
        case Within::plies: return is_count(value, most_plies);
    }
    return false;
}

/// A number of things is whole as it stands; draws are of how many it may be on average.
Within of_draws(Within within) {
    return within == Within::pieces || within == Within::plies ? Within::positive : within;
}

/// The value that the limit is about: a share as a plain ratio, else as it is; nothing for a share
/// that is no ratio.
std::optional<double> measured(double value, const Unit& unit, Within within) {
    if (!is_share(within)) return value;
    const auto plain = conversion(unit, {});
    return plain ? std::optional(plain->apply(value)) : std::nullopt;
}

constexpr double rare = 1e-9;  ///< share of draws that may lie beyond a limit, at each side

/// Where the draws end; of shapes without ends, where all but the share `rare` do.
double end_of_spread(const SpreadValues& spread, double p) {
    switch (spread.kind) {
        case SpreadKind::normal:
        case SpreadKind::lognormal:
        case SpreadKind::student_t: return spread_quantile(spread, p);
        case SpreadKind::truncated_normal: {
            const double end = spread.parameters[p < 0.5 ? 1 : 2];
            const bool open = std::abs(end) == std::numeric_limits<double>::max();
            return open ? spread_quantile(spread, p) : end;
        }
        case SpreadKind::curvilinear_trapezoid:
            return p < 0.5 ? spread.parameters[0] - spread.parameters[2]
                           : spread.parameters[1] + spread.parameters[2];
        default: return spread.parameters[p < 0.5 ? 0 : 1];
    }
}

std::string_view limit_words(Within within) {
    switch (within) {
        case Within::positive: return "this must stay above zero";
        case Within::share:
        case Within::below_whole: return "a share stays between 0 and 100 %";
        case Within::part: return "a share stays above 0 and at most 100 %";
        case Within::whole: return "the shares add up to 100 %";
        default: return "amounts are not negative";
    }
}

/// What keeps draws within the limits, as it can be typed. A limit that must not be reached is cut
/// a hundredth of the way before it.
std::string wide_hint(const Quantity& quantity, Within within) {
    const TypedSpread& spread = quantity.spread;
    if (spread.kind != SpreadKind::normal) return "state a narrower spread";
    const Unit& unit = quantity.unit;
    const auto amount = [&](double value) {
        return fmt::format("{:.6g}{}{}", value, unit.text.empty() ? "" : " ", unit.text);
    };
    const bool above = within == Within::positive || within == Within::part;
    std::string ends = ", low: " + amount(above ? quantity.value / 100.0 : 0.0);
    const auto whole = conversion({}, unit);
    if (is_share(within) && whole) {
        const double all = whole->apply(1.0);
        const double short_of =
            within == Within::below_whole ? (all - quantity.value) / 100.0 : 0.0;
        ends += ", high: " + amount(all - short_of);
    }
    const std::string half_width =
        spread.relative ? fmt::format("{:.6g} % of value", 100.0 * spread.half_width)
        : unit.text == "%"
            ? fmt::format("{:.6g} points", spread.half_width)
            : fmt::format("{:.6g} {}", spread.half_width, difference_unit(unit).text);
    return fmt::format(
        "state a narrower one, a lognormal (×÷), or cut it: spread: {{shape: truncated_normal, "
        "half_width: {}{}}}",
        half_width, ends);
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
            return {"share-out-of-range",
                    fmt::format("{} {}", found,
                                value < 0.0 ? "is no share of a whole" : "leaves nothing"),
                    "it lies between 0 and less than 100 %"};
        case Within::positive:
            if (value < 0.0) break;
            return {"not-positive", fmt::format("{} is not above zero", found),
                    "this must be above zero"};
        case Within::pieces:
            return {"not-a-count", fmt::format("{} is no number of whole things", found),
                    fmt::format("a whole number from 1 to {:.0f}", most_pieces)};
        case Within::plies:
            return {"not-a-count", fmt::format("{} is no number of plies", found),
                    fmt::format("a whole number from 1 to {:.0f}", most_plies)};
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
    const bool range = spread.kind == SpreadKind::triangular || spread.kind == SpreadKind::uniform;
    for (const double end : {quantity.value, range ? spread.low : quantity.value,
                             range ? spread.high : quantity.value}) {
        const auto value = measured(end, quantity.unit, within);
        const Within limit = end == quantity.value ? within : of_draws(within);
        if (!value || lies(*value, limit)) continue;
        Words words = words_of(scalar.text, *value, limit);
        problems.add(scalar.place, std::move(words.code), std::move(words.message),
                     std::move(words.hint));
        return false;
    }
    return true;
}

Within draw_limits(const Stated& stated) {
    const Quantity& quantity = stated.amount.quantity;
    const bool share =
        quantity.unit.text == "%" && quantity.value >= 0.0 && quantity.value <= 100.0;
    return stated.within == Within::any && share ? Within::share : of_draws(stated.within);
}

bool check_typed_spread(const Stated& stated, Problems& problems) {
    if (!stated.is_quantity()) return true;
    const Quantity& quantity = stated.amount.quantity;
    const Within within = draw_limits(stated);
    if (within == Within::any || quantity.spread.kind == SpreadKind::none) return true;
    const SpreadValues spread = typed_spread_values(quantity);
    for (const double p : {rare, 1.0 - rare}) {
        const double end = end_of_spread(spread, p);
        const auto value = measured(end, quantity.unit, within);
        if (!value || lies(*value, within)) continue;
        const Place place =
            stated.spread_parts.empty()
                ? place_inside(stated.scalar, quantity.spread.offset, quantity.spread.length)
                : stated.spread_parts.front().place;
        problems.add(place, "spread-too-wide",
                     fmt::format("draws of {} could reach {}{}{}, and {}", stated.scalar.text,
                                 format_significant(end, 3), quantity.unit.text.empty() ? "" : " ",
                                 quantity.unit.text, limit_words(within)),
                     wide_hint(quantity, within));
        return false;
    }
    return true;
}

Bounds bounds_within(Within within, const Unit& unit) {
    constexpr double open = std::numeric_limits<double>::infinity();
    constexpr double most = std::numeric_limits<double>::max();
    if (within == Within::any) return {-open, open};
    if (!is_share(within)) return {0.0, most};
    const auto whole = conversion({}, unit);
    return {0.0, whole ? whole->apply(1.0) : most};
}

double most_counted(Within within) noexcept {
    if (within == Within::plies) return most_plies;
    return within == Within::pieces ? most_pieces : 0.0;
}

std::vector<Place> changes_below(const Graph& graph, NodeId node) {
    const NodeId nodes[] = {node};
    const auto below = graph.ancestors(nodes);
    std::vector<Place> places;
    for (const Input& input : graph.inputs()) {
        const bool typed = std::ranges::any_of(input.addresses, [&](TextId address) {
            return graph.text_of(address).starts_with("scenarios.");
        });
        if (typed && below[input.node] != 0) places.push_back(graph.origin(input.node).place);
    }
    std::ranges::sort(places, {}, [](const Place& place) {
        return std::tuple(place.file, place.line, place.column);
    });
    return places;
}

Bounds bounds_of(const FormulaLimit& limit) {
    Bounds bounds = bounds_within(limit.within, limit.unit);
    switch (limit.within) {
        case Within::positive:
        case Within::part: bounds.low = std::numeric_limits<double>::denorm_min(); break;
        case Within::below_whole: bounds.high = std::nextafter(bounds.high, 0.0); break;
        case Within::whole:
            bounds.low = (1.0 - near_whole) * bounds.high;
            bounds.high *= 1.0 + near_whole;
            break;
        case Within::any:
        case Within::not_negative:
        case Within::pieces:
        case Within::plies:
        case Within::share: break;
    }
    return bounds;
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
        std::vector<Place> changes = changes_below(graph, limit.node);
        std::erase(changes, limit.place);
        problems.add(limit.place, limit.code.empty() ? words.code : limit.code,
                     std::move(words.message), std::move(words.hint), std::move(changes));
    }
}

}  // namespace deckle
