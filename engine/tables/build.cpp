#include "engine/tables/build.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <stdexcept>

#include "engine/graph/evaluate.h"
#include "engine/tables/spread_reader.h"

namespace deckle {
namespace {

constexpr std::size_t most_bridges = 6;
constexpr std::string_view dryness_name = "dryness";

const Bridge* dryness_among(std::span<const Bridge> bridges) {
    for (const Bridge& bridge : bridges) {
        if (bridge.name == dryness_name) return &bridge;
    }
    return nullptr;
}

Place spread_place(const Stated& stated) {
    const TypedSpread& spread = stated.amount.quantity.spread;
    return place_inside(stated.scalar, spread.offset, spread.length);
}

/// Dimension of a measure after the bridges with exponents +1 (multiplied), -1 (divided), 0
/// (unused).
Dimension bridged(const Dimension& from, std::span<const Bridge> bridges,
                  std::span<const int> exponents) {
    Dimension dimension = from;
    for (std::size_t i = 0; i < bridges.size(); ++i) {
        if (exponents[i] > 0) dimension = dimension * bridges[i].measure.unit.dimension;
        if (exponents[i] < 0) dimension = dimension / bridges[i].measure.unit.dimension;
    }
    return dimension;
}

/// Units for what lies between two bridges, the target's first.
std::vector<Unit> plain_units(const Unit& target) {
    static const std::vector<Unit> common = [] {
        std::vector<Unit> units;
        for (const std::string_view text : {"t", "kg", "g", "t dry", "kg dry", "g dry", "Nm3", "m3",
                                            "GJ LHV", "MJ LHV", "GJ HHV", "MJ HHV"})
            units.push_back(known_unit(text));
        return units;
    }();
    std::vector<Unit> units{target};
    units.insert(units.end(), common.begin(), common.end());
    return units;
}

/// The exponents that lead from one dimension to another with the fewest bridges.
std::optional<std::array<int, most_bridges>> find_way(const Dimension& from, const Dimension& to,
                                                      std::span<const Bridge> bridges) {
    std::optional<std::array<int, most_bridges>> best;
    std::size_t fewest = most_bridges + 1;
    std::size_t ways = 1;
    for (std::size_t i = 0; i < bridges.size(); ++i) ways *= 3;
    for (std::size_t way = 1; way < ways; ++way) {
        std::array<int, most_bridges> exponents{};
        std::size_t used = 0;
        std::size_t rest = way;
        for (std::size_t i = 0; i < bridges.size(); ++i, rest /= 3) {
            exponents[i] = rest % 3 == 0 ? 0 : (rest % 3 == 1 ? 1 : -1);
            if (exponents[i] != 0) ++used;
        }
        if (used < fewest && bridged(from, bridges, exponents) == to) {
            best = exponents;
            fewest = used;
        }
    }
    return best;
}

/// Builds the nodes of a formula, checking units on the way.
class FormulaBuilder {
public:
    FormulaBuilder(Build& build, const Stated& stated, const Build::NameLookup& names)
        : build_(build), stated_(stated), names_(names) {}

    Measure leaf(const FormulaNode& node) {
        const Place place = place_of(node);
        if (node.operation == FormulaOperation::name) {
            if (names_) return names_(node.text, place);
            build_.problems.add(place, "formula-without-figures",
                                fmt::format("{} is not known here", node.text),
                                "formulas stand in mills, where figures have names");
            return {};
        }
        return build_.constant(node.value, "", "number in a formula", place);
    }

    Measure apply(const FormulaNode& node, std::span<const Measure> a) {
        for (const Measure& one : a) {
            if (!one.known()) return {};  // reported where it broke
        }
        const Place place = place_of(node);
        switch (node.operation) {
            case FormulaOperation::multiply: return build_.multiply(a[0], a[1], "formula", place);
            case FormulaOperation::divide: return build_.divide(a[0], a[1], "formula", place);
            case FormulaOperation::add:
                return like_terms(a, place) ? build_.add(a[0], a[1], "formula", place) : Measure{};
            case FormulaOperation::subtract:
                return like_terms(a, place) ? build_.subtract(a[0], a[1], "formula", place)
                                            : Measure{};
            case FormulaOperation::negate:
                return {
                    build_.graph.make(Operation::negate, {a[0].node}, build_.text(a[0].unit.text),
                                      build_.origin(place, "formula")),
                    a[0].unit};
            case FormulaOperation::power: return power_of(a[0], node, place);
            case FormulaOperation::minimum: return extreme(Operation::minimum, a, place);
            case FormulaOperation::maximum: return extreme(Operation::maximum, a, place);
            case FormulaOperation::exponential:
                return plain_function(Operation::exponential, a[0], place);
            case FormulaOperation::logarithm:
                return plain_function(Operation::logarithm, a[0], place);
            case FormulaOperation::square_root: return root_of(a[0], place);
            default: return {};
        }
    }

private:
    Place place_of(const FormulaNode& node) const {
        return place_inside(stated_.scalar, node.offset, node.length);
    }

    bool like_terms(std::span<const Measure> a, Place place) {
        for (const Measure& one : a.subspan(1)) {
            if (one.unit.dimension == a[0].unit.dimension) continue;
            build_.problems.add(place, "unlike-terms",
                                fmt::format("{} and {} cannot be added or compared",
                                            a[0].unit.dimension.text(), one.unit.dimension.text()),
                                "both sides need the same kind of quantity and the same basis");
            return false;
        }
        return true;
    }

    Measure extreme(Operation operation, std::span<const Measure> a, Place place) {
        if (!like_terms(a, place)) return {};
        std::vector<NodeId> nodes;
        for (const Measure& one : a) nodes.push_back(build_.in_unit(one, a[0].unit, place)->node);
        return {build_.graph.make(operation, nodes, build_.text(a[0].unit.text),
                                  build_.origin(place, "formula")),
                a[0].unit};
    }

    bool must_be_plain(const Measure& a, Place place) {
        if (a.unit.dimension == dimensions::number) return true;
        build_.problems.add(
            place, "not-a-plain-number",
            fmt::format("a plain number was expected, not {}", a.unit.dimension.text()),
            "divide by a reference quantity first");
        return false;
    }

    Measure plain_function(Operation operation, const Measure& a, Place place) {
        if (!must_be_plain(a, place)) return {};
        return build_.apply(operation, {build_.ratio(a, place)}, "", "formula", place);
    }

    Measure root_of(const Measure& a, Place place) {
        if (a.unit.dimension == dimensions::number)
            return plain_function(Operation::square_root, a, place);
        const auto unit = root(a.unit, 2);
        if (!unit) {
            build_.problems.add(place, "no-root",
                                fmt::format("{} has no square root", a.unit.dimension.text()), "");
            return {};
        }
        return build_.apply(Operation::square_root, {a}, unit->text, "formula", place);
    }

    Measure power_of(const Measure& a, const FormulaNode& node, Place place) {
        constexpr double largest_power = 99.0;  // of a unit: far beyond what a mill can mean
        const bool is_whole =
            std::abs(node.value) <= largest_power && node.value == std::trunc(node.value);
        Measure base = a;
        Unit unit;
        if (is_whole) {
            unit = raised(a.unit, static_cast<int>(node.value));
        } else {
            if (!must_be_plain(a, place)) return {};
            base = build_.ratio(a, place);
        }
        const Measure exponent = build_.constant(node.value, "", "exponent", place);
        return {build_.graph.make(Operation::power, {base.node, exponent.node},
                                  build_.text(unit.text), build_.origin(place, "formula")),
                unit};
    }

    Build& build_;
    const Stated& stated_;
    const Build::NameLookup& names_;
};

}  // namespace

Unit plain_unit() { return {}; }

std::vector<Bridge> joined(std::vector<Bridge> own, std::span<const Bridge> more) {
    for (const Bridge& bridge : more) {
        const auto same = [&](const Bridge& b) { return b.name == bridge.name; };
        if (std::ranges::none_of(own, same)) own.push_back(bridge);
    }
    return own;
}

namespace {

/// Behind the address of a value: ".spread" of shapes with one parameter, else with its key.
std::string parameter_suffix(const SpreadRow& row, std::size_t k) {
    return row.count == 1 ? ".spread" : fmt::format(".spread.{}", row.parameters[k]);
}

std::string parameter_unit(const Quantity& quantity, std::string_view parameter) {
    if (parameter == "low" || parameter == "high") return quantity.unit.text;
    const bool number = parameter == "factor" || parameter == "degrees_of_freedom" ||
                        (parameter == "half_width" && quantity.spread.relative);
    return number ? "" : difference_unit(quantity.unit).text;
}

/// Its own address and those of the heirs that share it, `suffix` behind each.
std::vector<TextId> addresses_of(Graph& graph, const Stated& stated, std::string_view suffix) {
    std::vector<TextId> addresses{graph.text(fmt::format("{}{}", stated.address, suffix))};
    for (const std::string& other : stated.also)
        addresses.push_back(graph.text(fmt::format("{}{}", other, suffix)));
    return addresses;
}

/// An input that is found by each of its addresses.
NodeId add_named(Graph& graph, Input input, std::string_view unit, Origin from) {
    const std::vector<TextId> addresses = input.addresses;
    const NodeId node = graph.add_input(std::move(input), graph.text(unit), from);
    for (const TextId address : addresses) {
        const std::string name = graph.text_of(address);
        if (graph.find(name) == no_node) graph.name(node, name);
    }
    return node;
}

}  // namespace

NodeId Build::parameter(const Stated& stated, std::size_t k, double value) {
    const Quantity& quantity = stated.amount.quantity;
    const SpreadRow& row = row_of(quantity.spread.kind);
    const bool mapping = !stated.spread_parts.empty();
    Input input;
    input.addresses = addresses_of(graph, stated, parameter_suffix(row, k));
    input.value = value;
    input.typed = text(mapping ? stated.spread_parts[k].typed : quantity.spread.typed);
    input.bounds = row.parameters[k] == "low" || row.parameters[k] == "high"
                       ? bounds_within(draw_limits(stated), quantity.unit)
                       : bounds_within(Within::not_negative, {});
    const Place place = mapping ? stated.spread_parts[k].place : spread_place(stated);
    return add_named(graph, std::move(input), parameter_unit(quantity, row.parameters[k]),
                     origin(place, "spread"));
}

/// Open ends are no nodes.
Spread Build::spread_of(const Stated& stated) {
    const SpreadValues typed = typed_spread_values(stated.amount.quantity);
    const SpreadRow& row = row_of(typed.kind);
    Spread spread{typed.kind, typed.relative, {no_node, no_node, no_node}};
    for (std::size_t k = 0; k < row.count; ++k) {
        const bool open =
            k >= row.open && std::abs(typed.parameters[k]) == std::numeric_limits<double>::max();
        if (!open) spread.parameters[k] = parameter(stated, k, typed.parameters[k]);
    }
    return spread;
}

/// A correlation is of what stands at an address: a new amount with a spread of its own has it too.
void Build::keep_correlation(Stated& stated, const Stated& replaced) {
    if (!stated.drawn_as.empty()) return;
    const std::string& address = replaced.drawn_as.empty() ? replaced.address : replaced.drawn_as;
    if (graph.correlation_of(text(address)).known()) stated.drawn_as = address;
}

const Stated& Build::standing(const Stated& stated) {
    if (changes == nullptr) return stated;
    const Stated* now = &stated;
    for (ValueChange* change : changes->of(stated)) {
        change->touched = true;
        if (change->kind == ValueChange::Kind::spread) {
            settle_spread(*change, *now, problems);
        } else if (change->kind == ValueChange::Kind::set) {
            settle_set(*change, *now, problems);
            keep_correlation(change->stated, *now);
        } else {
            continue;
        }
        now = &change->stated;
    }
    return *now;
}

Measure Build::input(const Stated& original, const NameLookup& names, std::string_view citation) {
    const Stated& stated = standing(original);
    if (stated.is_quantity()) return input_as(original, stated.unit(), citation);
    const Measure built =
        walk<Measure>(stated.amount.formula, FormulaBuilder(*this, stated, names));
    if (!built.known()) return built;
    if (stated.within != Within::any)
        limits.push_back(
            {built.node, built.unit, stated.within, stated.place(), stated.scalar.text, {}});
    if (graph.find(stated.address) == no_node) graph.name(built.node, stated.address);
    return adjusted(original, built);
}

const ValueChange* Build::acting_on(const Stated& stated) const {
    if (changes == nullptr) return nullptr;
    const auto list = changes->behind_set(stated);
    return list.empty() ? nullptr : list.front();
}

Measure Build::adjusted(const Stated& stated, const Measure& measure, const Converter& converter) {
    if (changes == nullptr) return measure;
    Measure now = measure;
    for (const ValueChange* change : changes->behind_set(stated)) {
        const Stated& by = change->stated;
        const auto next = change->kind == ValueChange::Kind::scale
                              ? scaled(standing(stated), now, by)
                              : added(standing(stated), now, by, converter);
        if (!next) return {};
        now = *next;
    }
    const auto list = changes->of(stated);
    if (!list.empty() && stated.within != Within::any)
        limits.push_back({now.node,
                          now.unit,
                          stated.within,
                          list.back()->stated.place(),
                          list.back()->stated.scalar.text,
                          {}});
    return now;
}

/// A temperature, or a gauge pressure, counts from a zero of its own: half of 20 degC is not 10.
std::optional<Measure> Build::scaled(const Stated& standing, const Measure& measure,
                                     const Stated& by) {
    const Unit typed = parse_amount(standing.scalar.text).quantity.unit;
    if (typed.offset != Offset::none) {
        problems.add(
            by.place(), "wrong-unit",
            fmt::format("{} is typed in {}, which cannot be scaled", standing.address, typed.text),
            fmt::format("add so many {} to it, or set it", difference_unit(typed).text));
        return std::nullopt;
    }
    const Measure factor = ratio(input_as(by, by.unit(), {}), by.place());
    if (!factor.known()) return std::nullopt;
    return Measure{
        graph.make(Operation::product, {measure.node, factor.node}, text(measure.unit.text),
                   origin(by.place(), "scaled in the scenario")),
        measure.unit};
}

std::optional<Measure> Build::added(const Stated& standing, const Measure& measure,
                                    const Stated& by, const Converter& converter) {
    const Measure more = input_as(by, by.unit(), {});
    const Place place = by.place();
    auto same = converter ? converter(more) : in_unit(more, measure.unit, place);
    if (!same && !converter && standing.is_quantity()) same = in_unit(more, standing.unit(), place);
    const bool pieces = more.unit.dimension == dimensions::piece;  // a roll is no pack
    if (!same || (pieces && more.unit.text != measure.unit.text)) {
        problems.add(
            place, "wrong-unit",
            fmt::format("{} is counted in {}, found {}", standing.address, measure.unit.text,
                        pieces ? more.unit.text : more.unit.dimension.text()),
            "add an amount of the same unit");
        return std::nullopt;
    }
    return Measure{graph.make(Operation::sum, {measure.node, same->node}, text(measure.unit.text),
                              origin(place, "added in the scenario")),
                   measure.unit};
}

Measure Build::input_as(const Stated& original, const Unit& unit, std::string_view citation) {
    const Stated& stated = standing(original);
    const bool scored = quality_spread != nullptr && !stated.scores.empty();
    const Measure typed =
        scored
            ? typed_input(with_spread_of_scores(stated, *quality_spread, problems), unit, citation)
            : typed_input(stated, unit, citation);
    note_spread_change(original, typed.node);
    return adjusted(original, typed);
}

/// A spread has no node of its own that results rest on: its input stands for it.
void Build::note_spread_change(const Stated& original, NodeId node) {
    if (changes == nullptr) return;
    for (ValueChange* change : changes->of(original)) {
        if (change->kind == ValueChange::Kind::spread) change->input = node;
    }
}

Measure Build::typed_input(const Stated& stated, const Unit& unit, std::string_view citation) {
    const Quantity& quantity = stated.amount.quantity;
    Input input;
    input.addresses = addresses_of(graph, stated, "");
    if (!stated.drawn_as.empty())
        input.addresses.insert(input.addresses.begin(), text(stated.drawn_as));
    input.value = quantity.value;
    input.typed = text(stated.typed());
    input.spread = spread_of(stated);
    input.bounds = bounds_within(draw_limits(stated), quantity.unit);
    input.counts_to = most_counted(stated.within);
    input.source = text(stated.source.empty() ? std::string(citation) : stated.source.text());
    input.note = text(stated.note);
    input.amount_is = text(stated.amount_is);
    const NodeId node =
        add_named(graph, std::move(input), unit.text, origin(stated.place(), "as typed"));
    return {node, unit};
}

Measure Build::constant(double value, std::string_view unit_text, std::string_view rule,
                        Place place) {
    Unit parsed = unit_text.empty() ? plain_unit() : known_unit(unit_text);
    return {graph.constant(value, text(parsed.text), origin(place, rule)), std::move(parsed)};
}

std::optional<Measure> Build::in_unit(const Measure& measure, const Unit& unit, Place place) {
    if (!measure.known()) return Measure{no_node, unit};  // reported where it broke
    if (measure.unit.text == unit.text) return measure;
    const auto factor = conversion(measure.unit, unit);
    if (!factor) return std::nullopt;
    if (factor->changes_nothing()) return Measure{measure.node, unit};
    const Conversion exact{factor->p, factor->q, text(factor->p_text), text(factor->q_text)};
    const std::string rule =
        fmt::format("{} to {}", measure.unit.text.empty() ? "number" : measure.unit.text,
                    unit.text.empty() ? "number" : unit.text);
    return Measure{graph.convert(measure.node, exact, text(unit.text), origin(place, rule)), unit};
}

std::optional<Measure> Build::across(const Measure& measure, const Unit& target,
                                     std::span<const Bridge> bridges, Place place) {
    if (auto direct = in_unit(measure, target, place)) return direct;
    if (bridges.size() > most_bridges) throw std::logic_error("too many bridges");
    const auto way = find_way(measure.unit.dimension, target.dimension, bridges);
    if (!way) return std::nullopt;
    Measure result = measure;
    for (const int sign :
         {-1, 1}) {  // divide first: 2.5 GJ HHV is so many Nm3, and these so many GJ LHV
        for (std::size_t i = 0; i < bridges.size(); ++i) {
            if ((*way)[i] == sign) result = crossed(result, bridges[i], sign, target, place);
        }
    }
    return in_unit(result, target, place);
}

std::optional<Measure> Build::over_dry_mass(const Measure& measure, std::span<const Bridge> from,
                                            const Unit& target, std::span<const Bridge> to,
                                            Place place) {
    const bool into_moist = target.dimension == dimensions::mass;
    const Bridge* wet = dryness_among(from);
    const Bridge* drier = dryness_among(to);
    const bool another = wet != nullptr && drier != nullptr &&
                         wet->measure.node != drier->measure.node &&
                         measure.unit.dimension == dimensions::mass && into_moist;
    if (another) {
        const auto dry = across(measure, known_unit("kg dry"), {wet, 1}, place);
        return across(*dry, target, {drier, 1}, place);
    }
    const auto bridges =
        into_moist ? joined({to.begin(), to.end()}, from) : joined({from.begin(), from.end()}, to);
    return across(measure, target, bridges, place);
}

std::vector<Bridge> Build::dryness(const Stated& stated, const NameLookup& names,
                                   std::string_view citation) {
    const Measure share = ratio(input(stated, names, citation), stated.place());
    if (!share.known()) return {};
    return {{{share.node, known_unit("kg dry/kg")}, dryness_name}};
}

/// One bridge. What goes in is brought to a unit first in which the bridge alone leads to one that
/// people use: ADt over t dry to t, and GJ over MJ to Nm3.
Measure Build::crossed(const Measure& measure, const Bridge& bridge, int sign, const Unit& target,
                       Place place) {
    const auto behind = [&](const Unit& unit) {
        return sign > 0 ? unit * bridge.measure.unit : unit / bridge.measure.unit;
    };
    const auto cross = [&](const Measure& from, const Unit& unit) {
        const NodeId node = graph.make(
            sign > 0 ? Operation::product : Operation::quotient, {from.node, bridge.measure.node},
            text(unit.text), origin(place, fmt::format("change of basis by {}", bridge.name)));
        return Measure{node, unit};
    };
    std::optional<Unit> near;
    for (const Unit& before : plain_units(measure.unit)) {
        if (!conversion(measure.unit, before)) continue;
        for (const Unit& after : plain_units(target)) {
            const auto factor = conversion(behind(before), after);
            if (!factor) continue;
            if (!near) near = after;
            if (factor->changes_nothing()) return cross(*in_unit(measure, before, place), after);
        }
    }
    const Measure result = cross(measure, behind(measure.unit));
    return near ? *in_unit(result, *near, place) : result;
}

Measure Build::multiply(const Measure& a, const Measure& b, std::string_view rule, Place place) {
    if (!a.known() || !b.known()) return {};
    Unit unit = a.unit * b.unit;
    return {graph.make(Operation::product, {a.node, b.node}, text(unit.text), origin(place, rule)),
            std::move(unit)};
}

Measure Build::divide(const Measure& a, const Measure& b, std::string_view rule, Place place) {
    if (!a.known() || !b.known()) return {};
    Unit unit = a.unit / b.unit;
    return {graph.make(Operation::quotient, {a.node, b.node}, text(unit.text), origin(place, rule)),
            std::move(unit)};
}

Measure Build::add(const Measure& a, const Measure& b, std::string_view rule, Place place) {
    if (!a.known() || !b.known()) return {};
    const auto same = in_unit(b, a.unit, place);
    if (!same) throw std::logic_error("unlike measures were added");
    return {
        graph.make(Operation::sum, {a.node, same->node}, text(a.unit.text), origin(place, rule)),
        a.unit};
}

Measure Build::subtract(const Measure& a, const Measure& b, std::string_view rule, Place place) {
    if (!a.known() || !b.known()) return {};
    const auto same = in_unit(b, a.unit, place);
    if (!same) throw std::logic_error("unlike measures were subtracted");
    const NodeId minus = graph.make(Operation::negate, {same->node}, text(a.unit.text),
                                    origin(place, "what is taken off"));
    return {graph.make(Operation::sum, {a.node, minus}, text(a.unit.text), origin(place, rule)),
            a.unit};
}

Measure Build::ratio(const Measure& measure, Place place) {
    if (auto plain = in_unit(measure, plain_unit(), place)) return *plain;
    problems.add(place, "wrong-unit",
                 fmt::format("a share was expected, not {}", measure.unit.dimension.text()),
                 "for example 95 %, or 0.95");
    return {};
}

Measure Build::apply(Operation operation, std::initializer_list<Measure> arguments,
                     std::string_view unit_text, std::string_view rule, Place place) {
    std::vector<NodeId> nodes;
    for (const Measure& argument : arguments) {
        if (!argument.known()) return {};
        nodes.push_back(argument.node);
    }
    Unit parsed = unit_text.empty() ? plain_unit() : known_unit(unit_text);
    return {graph.make(operation, nodes, text(parsed.text), origin(place, rule)),
            std::move(parsed)};
}

std::optional<double> Build::value_at_load(const Measure& measure) {
    if (graph.operation(measure.node) == Operation::input)
        return graph.inputs()[graph.payload(measure.node)].value;
    const NodeId wanted[] = {measure.node};
    try {
        return evaluate(graph, {}, graph.ancestors(wanted)).value[measure.node];
    } catch (const NoAnswer&) {
        if (problems.empty()) throw;
        return std::nullopt;
    }
}

}  // namespace deckle
