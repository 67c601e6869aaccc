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

std::string_view scope_of(const Factor& factor, std::string_view run_by) {
    if (!factor.scope.empty()) return factor.scope;
    switch (factor.kind->scope) {
        case ScopeRule::where_released: return scope_where_released(run_by);
        case ScopeRule::bought_energy: return "2";
        case ScopeRule::upstream: break;
    }
    return "3";
}

}  // namespace

TermList::TermList(Build& build, FactorBook& book, const std::vector<Grid>& grids, Bringer bringer)
    : build_(build), book_(book), grids_(grids), bringer_(std::move(bringer)) {
    if (bringer_.stage.empty()) bringer_.stage = "other";
    for (auto& view : terms_) view.resize(book.indicators().count());
}

Tag TermList::tag(const Factor& factor, TextId gas, std::string_view use) {
    const std::string_view stage =
        factor.kind->stage.empty() ? std::string_view(bringer_.stage) : factor.kind->stage;
    return {build_.text(stage),
            build_.text(bringer_.process),
            build_.text(use),
            build_.text(factor.address()),
            gas,
            build_.text(scope_of(factor, bringer_.run_by))};
}

void TermList::add_lines(const FactorNodes& nodes, NodeId amount, std::size_t view,
                         std::string_view use, Carbon carbon) {
    const FactorLine* held = nullptr;
    for (const FactorLine& line : nodes.lines) {
        if (book_.indicators().at(line.indicator).kind == IndicatorKind::held) held = &line;
        else
            terms_[view][line.indicator].push_back(
                {amount, line.value, tag(*nodes.factor, line.gas, use)});
    }
    if (carbon == Carbon::of_the_thing && held_ != no_index)
        add_held(nodes, held, amount, view, use);
    for (const FactorNodes::Along& along : nodes.brings) {
        const Origin origin = build_.origin(nodes.factor->place, "amount brought along");
        const NodeId brought = build_.graph.make(Operation::product, {amount, along.amount.node},
                                                 build_.text(along.factor->per.text), origin);
        add_lines(*along.factor, brought, view, use, Carbon::brought_along);
    }
}

/// Cores and packaging hold the carbon of their factor; a packaging that does not state it is not
/// covered.
void TermList::add_held(const FactorNodes& nodes, const FactorLine* line, NodeId amount,
                        std::size_t view, std::string_view use) {
    const Factor& factor = *nodes.factor;
    if (line != nullptr) {
        terms_[view][held_].push_back(
            {amount, line->value, tag(factor, build_.text("carbon held"), use)});
    } else if (factor.kind->holds_carbon) {
        const NodeId zero = book_.uncovered(factor.address(), held_, false, factor.place);
        terms_[view][held_].push_back({amount, zero, tag(factor, build_.text("not covered"), use)});
    }
}

const Grid* TermList::grid_of(const Factor& factor, const Use& use) {
    const std::string_view named =
        use.supply ? std::string_view(use.supply->grid) : std::string_view{};
    for (const Grid& grid : grids_) {
        const Factor* known = book_.find(grid.factor, grid.place);
        if (named.empty() ? known == &factor
                          : (grid.factor == named || (known != nullptr && known->id == named)))
            return &grid;
    }
    if (!named.empty()) {
        std::vector<std::string> names;
        for (const Grid& grid : grids_) names.push_back(grid.factor);
        build_.problems.add(use.supply->place, "unknown-grid",
                            fmt::format("the study names no grid {}", named),
                            did_you_mean(named, names));
    }
    const bool contract = use.supply && use.supply->kind != Supply::Kind::grid;
    return named.empty() && contract && grids_.size() == 1 ? &grids_.front() : nullptr;
}

/// The factor that stands for a use of bought electricity in one view.
const Factor* TermList::viewed(const Factor& factor, const Use& use, std::size_t view) {
    if (factor.kind->family != Family::electricity) return &factor;
    const Supply::Kind supply = use.supply ? use.supply->kind : Supply::Kind::grid;
    if (supply == Supply::Kind::direct_line) return &factor;
    const Grid* grid = grid_of(factor, use);
    const auto named = [&](const std::string& id) -> const Factor* {
        if (grid == nullptr || id.empty()) return nullptr;
        return book_.find(id, grid->place);
    };
    const Factor* location = grid == nullptr ? nullptr : named(grid->location);
    const Factor* residual = grid == nullptr ? nullptr : named(grid->residual);
    const bool holds = supply == Supply::Kind::contract && use.supply->certificate;
    if (view == location_view) {
        if (location == nullptr) one_factor_for_both_ = true;
        return location != nullptr ? location : &factor;
    }
    if (holds) return &factor;
    if (supply == Supply::Kind::contract) {
        findings_.push_back({use.place,
                             Severity::finding,
                             "contract-without-certificate",
                             fmt::format("{} is bought by contract without a cancelled "
                                         "certificate: it counts as residual mix",
                                         use.name),
                             "certificate: {kind, cancelled_for, market, document}",
                             {}});
    }
    if (residual == nullptr) one_factor_for_both_ = true;
    if (residual != nullptr) return residual;
    return supply == Supply::Kind::contract && location != nullptr ? location : &factor;
}

void TermList::add_factor(const Factor& factor, const Measure& amount,
                          std::span<const Bridge> bridges, const Use& use) {
    for (std::size_t view = 0; view < view_count; ++view) {
        const Factor* chosen = viewed(factor, use, view);
        const FactorNodes& nodes = book_.nodes(*chosen);
        if (nodes.per.text.empty() && nodes.lines.empty()) continue;
        std::vector<Bridge> all(bridges.begin(), bridges.end());
        for (const Bridge& own : nodes.bridges) {
            const bool replaced =
                std::ranges::any_of(all, [&](const Bridge& b) { return b.name == own.name; });
            if (!replaced) all.push_back(own);
        }
        const auto converted = build_.across(amount, nodes.per, all, use.place);
        if (!converted) {
            build_.problems.add(
                use.amount.place(), "wrong-unit",
                fmt::format("{} is counted in {}, found {}", chosen->id, nodes.per.dimension.text(),
                            amount.unit.dimension.text()),
                fmt::format("type it in {}, or give the factor what converts it (heating_value, "
                            "density, dryness)",
                            nodes.per.text));
            return;
        }
        add_lines(nodes, converted->node, view, use.name, Carbon::of_the_thing);
    }
}

void TermList::add_freight(const Measure& mass_t, const std::vector<Freight>& legs,
                           std::string_view use) {
    for (const Freight& leg : legs) {
        const Factor* factor = book_.find(leg.by, leg.place);
        if (factor == nullptr) {
            build_.problems.add(leg.place, "unknown-factor",
                                fmt::format("there is no factor {}", leg.by),
                                did_you_mean(leg.by, book_.tables().names()));
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

void TermList::add_view_of(const TermList& other, std::size_t view) {
    for (std::size_t id = 0; id < terms_[view].size(); ++id) {
        const auto& more = other.terms_[view][id];
        terms_[view][id].insert(terms_[view][id].end(), more.begin(), more.end());
    }
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
