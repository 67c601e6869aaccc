#include "engine/mill/terms.h"

#include <fmt/format.h>

#include <algorithm>

#include "engine/text/nearest.h"

namespace deckle {
namespace {

/// Scope of what is released where a process runs.
std::string_view scope_where_released(std::string_view run_by) {
    if (run_by == "own") return "1";
    return run_by == "energy_supplier" ? "2" : "3";
}

/// Power of a mill's own plant is not bought: what it releases counts where it is released.
std::string_view scope_of(const Factor& factor, const Use& use, std::string_view run_by) {
    if (!factor.scope.empty()) return factor.scope;
    const bool own = use.supply && use.supply->kind == Supply::Kind::own;
    switch (factor.kind->scope) {
        case ScopeRule::where_released: return scope_where_released(run_by);
        case ScopeRule::bought_energy: return own ? scope_where_released(run_by) : "2";
        case ScopeRule::upstream: break;
    }
    return "3";
}

/// Whether a factor brings another along, itself or by what it brings.
bool brings(const FactorNodes& nodes, const Factor& other) {
    return std::ranges::any_of(nodes.brings, [&](const FactorNodes::Along& along) {
        return along.factor->factor == &other || brings(*along.factor, other);
    });
}

}  // namespace

/// Fossil CO2 where the fuel burns, as a gas or as the fossil CO2e that a source gives for it.
bool TermList::is_stack_carbon(const Factor& factor, const FactorLine& line) const {
    const std::string& gas = build_.graph.text_of(line.gas);
    return factor.kind->scope == ScopeRule::where_released && factor.scope.empty() &&
           line.indicator == book_.indicators().index("climate_fossil") &&
           (gas == "co2_fossil" || gas == "fossil" || gas == "total");
}

void TermList::add_carbon_cost(NodeId amount, NodeId co2e, const Tag& tag, std::size_t view) {
    if (bringer_.run_by != "own") return;
    const Measure price = book_.carbon_price();
    if (!price.known()) return;
    Tag paid = tag;
    paid.gas = build_.text("carbon price");
    const Origin origin = build_.origin({}, "carbon cost = CO2 released × carbon price");
    for (const IndicatorId cost : book_.costs()) {
        const NodeId per_unit =
            build_.graph.make(Operation::product, {co2e, price.node},
                              build_.text(book_.indicators().at(cost).unit), origin);
        terms_[view][cost].push_back({amount, per_unit, paid});
    }
}

void TermList::add_own_carbon_cost(NodeId co2e, std::string_view use) {
    const Tag own{build_.text(bringer_.stage),
                  build_.text(bringer_.process),
                  build_.text(use),
                  0,
                  build_.text("carbon price"),
                  build_.text(scope_where_released(bringer_.run_by))};
    const Measure one = build_.constant(1.0, "", "counts as it is", {});
    for (std::size_t view = 0; view < view_count; ++view)
        add_carbon_cost(one.node, co2e, own, view);
}

void TermList::add_free_allocation(NodeId co2e) {
    const Measure price = book_.carbon_price();
    if (!price.known()) return;
    const NodeId credit =
        build_.graph.make(Operation::negate, {price.node}, build_.text(price.unit.text),
                          build_.origin({}, "allowed free of charge"));
    for (const IndicatorId cost : book_.costs())
        add_own(cost, co2e, credit, "free allocation", "free allocation");
}

void check_brought_twice(Problems& problems, FactorBook& book, std::span<const BoughtUse> uses) {
    for (const auto& [use, factor] : uses) {
        const FactorNodes& nodes = book.nodes(*factor);
        if (nodes.brings.empty()) continue;
        for (const auto& [other, brought] : uses) {
            if (!brings(nodes, *brought)) continue;
            problems.add(other->place, "brought-twice",
                         fmt::format("{} brings {} along already", factor->id, brought->id),
                         "take this line out, or the link out of the factor", {use->place});
        }
    }
}

void check_keys_fit(Problems& problems, const Use& use, Family family) {
    if (use.supply && family != Family::electricity) {
        problems.add(use.supply->place, "unknown-key",
                     fmt::format("{} is no electricity and has no supply", use.thing),
                     "supply says how bought electricity reaches the mill");
    }
    if (use.steam.mentioned() && family != Family::heat)
        report_no_steam(problems, use.steam.place, use.thing);
}

void report_idle_state(Problems& problems, const Use& use) {
    problems.add(
        use.steam.place, "unknown-key",
        fmt::format("{} is not typed in tonnes, and a state says nothing of it", use.thing),
        "type it in t, or leave pressure, temperature, condensate and make_up out");
}

void report_no_steam(Problems& problems, Place place, std::string_view id) {
    problems.add(place, "unknown-key", fmt::format("{} is no steam and has no state", id),
                 "pressure, temperature, condensate and make_up belong to heat");
}

TermList::TermList(Build& build, FactorBook& book, const std::vector<Grid>& grids, Bringer bringer)
    : build_(build), book_(book), electricity_(build, book, grids), bringer_(std::move(bringer)) {
    if (bringer_.stage.empty()) bringer_.stage = "other";
    for (auto& view : terms_) view.resize(book.indicators().count());
}

Tag TermList::tag(const Factor& factor, TextId gas, const Use& use) {
    const std::string_view stage =
        factor.kind->stage.empty() ? std::string_view(bringer_.stage) : factor.kind->stage;
    return {build_.text(stage),
            build_.text(bringer_.process),
            build_.text(use.name),
            build_.text(factor.address()),
            gas,
            build_.text(scope_of(factor, use, bringer_.run_by))};
}

bool TermList::counts(IndicatorId indicator, Into into) const {
    return into.part == Part::all ||
           book_.indicators().at(indicator).as_bought == (into.part == Part::as_bought);
}

void TermList::add_lines(const FactorNodes& nodes, NodeId amount, Into into, const Use& use,
                         Carbon carbon) {
    const FactorLine* held = nullptr;
    const bool is_power = nodes.factor->kind->family == Family::electricity;
    for (const FactorLine& line : nodes.lines) {
        if (is_power && book_.indicators().at(line.indicator).id == Indicators::bought_power)
            continue;  // by its amount, where it is bought
        if (book_.indicators().at(line.indicator).kind == IndicatorKind::held) {
            held = &line;
            continue;
        }
        const Tag own = tag(*nodes.factor, line.gas, use);
        if (counts(line.indicator, into))
            terms_[into.view][line.indicator].push_back({amount, line.value, own});
        if (into.part != Part::of_view && is_stack_carbon(*nodes.factor, line))
            add_carbon_cost(amount, line.value, own, into.view);
    }
    if (carbon == Carbon::of_the_thing && held_ != no_index && counts(held_, into))
        add_held(nodes, held, amount, into.view, use);
    for (const FactorNodes::Along& along : nodes.brings) {
        const Origin origin = build_.origin(nodes.factor->place, "amount brought along");
        const NodeId brought = build_.graph.make(Operation::product, {amount, along.amount.node},
                                                 build_.text(along.factor->per.text), origin);
        add_lines(*along.factor, brought, into, use, Carbon::brought_along);
    }
}

/// Cores and packaging hold the carbon of their factor; a packaging that does not state it is not
/// covered.
void TermList::add_held(const FactorNodes& nodes, const FactorLine* line, NodeId amount,
                        std::size_t view, const Use& use) {
    const Factor& factor = *nodes.factor;
    if (line != nullptr) {
        terms_[view][held_].push_back(
            {amount, line->value, tag(factor, build_.text("carbon held"), use)});
    } else if (factor.kind->holds_carbon) {
        const NodeId zero =
            book_.uncovered(factor.address(), held_, false, nodes.per, factor.place);
        terms_[view][held_].push_back({amount, zero, tag(factor, build_.text("not covered"), use)});
    }
}

void TermList::add_factor(const Factor& factor, const Measure& amount,
                          std::span<const Bridge> bridges, const Use& use) {
    const Supplied supplied = electricity_.supplied(factor, use);
    views_.add(supplied);
    if (supplied.uncertified) {
        findings_.push_back({use.place,
                             Severity::finding,
                             "contract-without-certificate",
                             fmt::format("{} is bought by contract without a cancelled "
                                         "certificate: it counts as residual mix",
                                         use.name),
                             "certificate: {kind, cancelled_for, market, document}",
                             {}});
    }
    add_bought_power(*supplied.bought, amount, use);
    for (std::size_t view = 0; view < view_count; ++view) {
        const Factor* stands = supplied.by[view];
        const bool bought = stands == supplied.bought;
        const Part part = bought ? Part::all : Part::of_view;
        if (!add_in_view(*stands, amount, bridges, use, {view, part})) return;
        if (bought) continue;
        if (!add_in_view(*supplied.bought, amount, bridges, use, {view, Part::as_bought})) return;
    }
    add_sold_certificates(amount, use);
}

/// Electricity that is bought is bought power by its amount, whichever factor stands for it.
void TermList::add_bought_power(const Factor& factor, const Measure& amount, const Use& use) {
    const bool own = use.supply && use.supply->kind == Supply::Kind::own;
    if (factor.kind->family != Family::electricity || own) return;
    const auto energy = build_.in_unit(amount, known_unit("kWh"), use.place);
    if (!energy) return;  // add_in_view reports it
    const NodeId one = build_.constant(1.0, "", "counts as it is", {}).node;
    const Tag bought = tag(factor, build_.text(Indicators::bought_power), use);
    for (auto& view : terms_)
        view[book_.indicators().index(Indicators::bought_power)].push_back(
            {energy->node, one, bought});
}

/// False when the amount cannot be counted in the factor's unit (reported).
bool TermList::add_in_view(const Factor& factor, const Measure& amount,
                           std::span<const Bridge> bridges, const Use& use, Into into) {
    const FactorNodes& nodes = book_.nodes(factor);
    if (nodes.per.text.empty() && nodes.lines.empty()) return true;
    const auto counted = build_.over_dry_mass(amount, bridges, nodes.per, nodes.bridges, use.place);
    if (counted) {
        add_lines(nodes, counted->node, into, use, Carbon::of_the_thing);
        return true;
    }
    build_.problems.add(
        use.amount.place(), "wrong-unit",
        fmt::format("{} is counted in {}, found {}", factor.id, nodes.per.dimension.text(),
                    amount.unit.dimension.text()),
        fmt::format("type it in {}, or give the factor what converts it (heating_value, "
                    "density, dryness)",
                    nodes.per.text));
    return false;
}

void TermList::add_sold_certificates(const Measure& amount, const Use& use) {
    const Factor* mix = electricity_.in_place_of_sold(use);
    if (mix == nullptr) return;
    views_.differ = true;
    Use bought = use;
    bought.supply.reset();
    add_in_view(*mix, amount, {}, bought, {market_view, Part::of_view});
}

void TermList::add_freight(const Measure& amount, std::span<const Bridge> counted,
                           std::span<const Bridge> delivered, const Use& use) {
    if (use.freight.empty()) return;
    const auto mass = build_.over_dry_mass(amount, counted, known_unit("t"), delivered, use.place);
    if (mass) return add_freight(*mass, use.freight, use.name);
    build_.problems.add(
        use.place, "wrong-unit", fmt::format("the mass of {} as delivered is not known", use.name),
        "freight moves tonnes: give the factor what converts it (density, dryness)");
}

void TermList::add_freight(const Measure& mass_t, const std::vector<Freight>& legs,
                           std::string_view use) {
    for (const Freight& leg : legs) {
        const Factor* factor = book_.find(leg.by, leg.place);
        if (factor == nullptr) {
            build_.problems.add(leg.place, "unknown-factor",
                                fmt::format("there is no factor {}", leg.by),
                                book_.tables().meant(leg.by));
            continue;
        }
        const Measure distance = build_.input(leg.distance);
        if (!distance.known()) continue;
        const Measure work = build_.multiply(
            mass_t, *build_.in_unit(distance, known_unit("km"), leg.distance.place()),
            "freight = mass as delivered × distance", leg.distance.place());
        Use by;
        by.name = std::string(use);
        by.place = leg.place;
        by.amount = leg.distance;
        add_factor(*factor, work, {}, by);
    }
}

void TermList::add_made(const Measure& amount, const Lines& lines, std::string_view use) {
    Tag plain;
    plain.process = build_.text(bringer_.process);
    plain.use = build_.text(use);
    for (std::size_t view = 0; view < view_count; ++view) {
        for (IndicatorId id = 0; id < lines.count(); ++id) {
            const NodeId line = lines.at(id)[view];
            if (line != no_node) terms_[view][id].push_back({amount.node, line, plain});
        }
    }
}

void TermList::add_own(IndicatorId indicator, NodeId a, NodeId b, std::string_view use,
                       std::string_view what) {
    const Tag own{build_.text(bringer_.stage),
                  build_.text(bringer_.process),
                  build_.text(use),
                  0,
                  build_.text(what),
                  build_.text(scope_where_released(bringer_.run_by))};
    for (std::size_t view = 0; view < view_count; ++view)
        terms_[view][indicator].push_back({a, b, own});
}

NodeId TermList::sum(IndicatorId indicator, std::size_t view, std::string_view unit,
                     std::string_view rule, Place place) const {
    const auto& list = terms_[view][indicator];
    if (list.empty()) return no_node;
    std::vector<NodeId> pairs;
    std::vector<Tag> tags;
    for (const Term& term : list) {
        pairs.push_back(term.a);
        pairs.push_back(term.b);
        tags.push_back(term.tag);
    }
    return build_.graph.burdens(pairs, tags, build_.text(unit), build_.origin(place, rule));
}

}  // namespace deckle
