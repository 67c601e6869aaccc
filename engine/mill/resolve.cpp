#include "engine/mill/resolve.h"

#include <fmt/format.h>

#include <algorithm>

#include "engine/mill/steam_heat.h"
#include "engine/text/nearest.h"

namespace deckle {
namespace {

bool is_energy(const Unit& unit) { return unit.dimension.without_basis() == dimensions::energy(); }
bool is_mass(const Unit& unit) { return unit.dimension.without_basis() == dimensions::mass; }

/// Pointers to the items in the order of a name, so that no figure depends on the order of a file.
template <class Item>
std::vector<const Item*> in_order(const std::vector<Item>& items, std::string Item::*name) {
    std::vector<const Item*> sorted;
    sorted.reserve(items.size());
    for (const Item& item : items) sorted.push_back(&item);
    std::ranges::sort(sorted, {}, name);
    return sorted;
}

}  // namespace

// --- products
// ---------------------------------------------------------------------------------------

void Resolver::products() {
    for (const Process& process : mill_.processes) {
        ProcessNodes& nodes = nodes_.processes.emplace_back();
        nodes.process = &process;
        for (const Made* made : in_order(process.makes, &Made::id))
            add_product(nodes_.processes.size() - 1, *made);
    }
    for (ProductNodes& product : nodes_.products) {
        add_dryness(product);
        set_amount(product);
        check_composition(product);
    }
}

void Resolver::add_product(std::size_t process, const Made& made) {
    if (const ProductNodes* twin = nodes_.product(made.id)) {
        build_.problems.add(made.place, "made-twice",
                            fmt::format("{} is made by {} and by {}", made.id, twin->process->id,
                                        mill_.processes[process].id),
                            "give each its own name and write a mix: a process that makes this "
                            "product and uses both",
                            {twin->made->place});
        return;
    }
    ProductNodes& product = nodes_.products.emplace_back();
    product.process = &mill_.processes[process];
    product.process_index = process;
    product.made = &made;
    product.id = made.id;
    product.kind = made.kind;
    product.lines = Lines(book_.indicators().count());
    nodes_.processes[process].products.push_back(nodes_.products.size() - 1);
}

void Resolver::add_dryness(ProductNodes& product) {
    if (product.made->dryness) product.bridges = build_.dryness(*product.made->dryness, names_);
}

void Resolver::set_amount(ProductNodes& product) {
    const Made& made = *product.made;
    product.typed = build_.input(made.amount, names_);
    if (!product.typed.known()) return;
    product.amount = product.typed;
    if (made.steam.stated() && !set_steam_amount(product)) return;
    if (product.kind.empty() && is_energy(product.amount.unit)) {
        build_.problems.add(made.place, "missing-key",
                            fmt::format("{} is energy and does not say of which kind", made.id),
                            fmt::format("{}: {{amount: {}, kind: heat}}, or electricity or fuel",
                                        made.id, made.amount.scalar.text));
        product.amount = {};
        return;
    }
    if (product.kind.empty()) product.kind = made.dryness || made.composition ? "sheet" : "other";
    product.family = family_of_product_kind(product.kind);
    if (made.steam.mentioned() && product.family != Family::heat)
        report_no_steam(build_.problems, made.steam.place, made.id);
}

/// Tonnes of steam made count as the net heat they deliver; false when they cannot (reported).
bool Resolver::set_steam_amount(ProductNodes& product) {
    const Made& made = *product.made;
    if (product.kind.empty()) product.kind = "heat";
    product.family = family_of_product_kind(product.kind);
    if (product.family != Family::heat) {
        report_no_steam(build_.problems, made.steam.place, made.id);
        return false;
    }
    if (is_energy(product.typed.unit)) return true;
    const auto kilograms = build_.in_unit(product.typed, known_unit("kg"), made.amount.place());
    if (!kilograms) {
        product.amount = {};
        build_.problems.add(made.amount.place(), "wrong-unit",
                            fmt::format("steam is counted in t or GJ, found {}",
                                        product.typed.unit.dimension.text()),
                            "for example 2.05 t");
        return false;
    }
    product.amount = {};
    const Measure heat = net_heat(build_, made.steam, names_, made.place);
    if (!heat.known()) return false;
    const Measure net =
        build_.multiply(*kilograms, heat, "heat = mass of steam × net heat", made.place);
    product.amount = *build_.in_unit({net.node, known_unit("kJ")}, known_unit("GJ"), made.place);
    return true;
}

void Resolver::check_composition(const ProductNodes& product) {
    const auto& composition = product.made->composition;
    if (!composition) return;
    if (!composition->like.empty() && nodes_.product(composition->like) == nullptr) {
        build_.problems.add(composition->place, "unknown-product",
                            fmt::format("{} makes no {}", mill_.id, composition->like),
                            did_you_mean(composition->like, product_names()));
        return;
    }
    std::vector<NodeId> shares;
    for (const auto& part : composition->parts) {
        const Measure share = build_.ratio(build_.input(part.share, names_), part.share.place());
        if (!share.known()) return;
        shares.push_back(share.node);
        if (part.name == "moisture" && !product.bridges.empty())
            check_moisture(product, part, share);
    }
    if (shares.empty()) return;
    check_whole(shares, "the parts of the composition", composition->place, {});
}

/// The dryness that a product states, and the moisture of its composition, are one figure.
void Resolver::check_moisture(const ProductNodes& product, const Composition::Part& moisture,
                              const Measure& share) {
    const NodeId both[] = {share.node, product.bridges[0].measure.node};
    check_whole(both, "moisture and dryness", moisture.share.place(), "moisture-against-dryness");
}

void Resolver::check_whole(std::span<const NodeId> shares, std::string_view what, Place place,
                           std::string_view code) {
    const NodeId total = build_.graph.make(Operation::sum, shares, build_.text(""),
                                           build_.origin(place, fmt::format("sum of {}", what)));
    build_.limits.push_back(
        {total, {}, Within::whole, place, std::string(what), std::string(code)});
}

// --- uses
// -------------------------------------------------------------------------------------------

void Resolver::uses() {
    for (ProcessNodes& process : nodes_.processes) {
        for (const Use* use : in_order(process.process->uses, &Use::name)) {
            ResolvedUse resolved;
            resolved.use = use;
            if (!find_target(resolved)) continue;
            set_bridges(resolved);
            process.uses.push_back(std::move(resolved));
        }
        for (ResolvedUse& use : process.uses) {
            if (!is_rest(use)) set_use_amount(process, use);
        }
        set_rest(process);
        std::vector<BoughtUse> bought;
        for (const ResolvedUse& use : process.uses) {
            if (use.factor != nullptr) bought.emplace_back(use.use, use.factor);
        }
        check_brought_twice(build_.problems, book_, bought);
    }
}

std::vector<std::string> Resolver::product_names() const {
    std::vector<std::string> names;
    for (const ProductNodes& product : nodes_.products) names.push_back(product.id);
    return names;
}

bool Resolver::is_returned(std::string_view id) const {
    return std::ranges::any_of(mill_.processes, [&](const Process& process) {
        return std::ranges::any_of(process.returns,
                                   [&](const NamedAmount& r) { return r.name == id; });
    });
}

bool Resolver::find_target(ResolvedUse& use) {
    const Use& typed = *use.use;
    const bool may_be_made =
        typed.space != Use::Space::factor && typed.thing.find('.') == std::string::npos;
    const bool may_be_factor = typed.space != Use::Space::made;
    const ProductNodes* product = may_be_made ? nodes_.product(typed.thing) : nullptr;
    const Factor* factor = may_be_factor ? book_.find(typed.thing, typed.place) : nullptr;
    if (product != nullptr && factor != nullptr && typed.space == Use::Space::either) {
        build_.problems.add(typed.place, "ambiguous-use",
                            fmt::format("{} is made in this mill and is a factor too", typed.thing),
                            fmt::format("write made.{0} or factor.{0}", typed.thing),
                            {product->made->place, factor->place});
        return false;
    }
    if (product != nullptr) {
        use.product = static_cast<std::size_t>(product - nodes_.products.data());
        use.family = product->family;
        use.bridges = product->bridges;
        return true;
    }
    if (factor != nullptr) {
        use.factor = factor;
        use.family = factor->kind == nullptr ? Family::other : factor->kind->family;
        use.bridges = book_.nodes(*factor).bridges;
        return true;
    }
    if (may_be_made && is_returned(typed.thing)) {
        use.returned = true;
        return true;
    }
    std::vector<std::string> known = product_names();
    for (const std::string& name : book_.tables().names()) known.push_back(name);
    for (const auto& [name, factor_id] : book_.choice().stands_for) known.push_back(name);
    build_.problems.add(typed.place, "unknown-use",
                        fmt::format("{} is neither made in {} nor a factor", typed.thing, mill_.id),
                        did_you_mean(typed.thing, known));
    return false;
}

Unit Resolver::unit_of(const ResolvedUse& use) {
    if (use.factor != nullptr) return book_.nodes(*use.factor).per;
    if (use.product != no_index) return nodes_.products[use.product].amount.unit;
    return {};
}

/// The dryness that a use states is that of what arrives.
void Resolver::set_bridges(ResolvedUse& use) {
    std::vector<Bridge> stated;
    if (use.use->dryness) stated = build_.dryness(*use.use->dryness, names_);
    use.delivered = joined(stated, use.bridges);
    use.bridges = joined(std::move(use.bridges), stated);
    check_keys_fit(build_.problems, *use.use, use.family);
}

/// What is used has an amount; a product that has none was reported.
bool Resolver::is_known(const ResolvedUse& use) const {
    return use.product == no_index || nodes_.products[use.product].amount.known();
}

void Resolver::set_use_amount(const ProcessNodes& process, ResolvedUse& use) {
    const bool is_moved =
        use.use->stands_for && &build_.standing(use.use->amount) == &use.use->amount;
    use.amount = is_moved ? moved_amount(process, use) : typed_amount(process, use);
    give_away(process, use);
}

Measure Resolver::typed_amount(const ProcessNodes& process, const ResolvedUse& use) {
    const Measure typed = build_.input(use.use->amount, names_);
    if (!typed.known() || !is_known(use)) return {};
    if (use.returned) return typed;
    if (is_steam(use) && is_mass(typed.unit)) return steam_use(process, use, typed);
    const auto amount = in_target_unit(process, use, typed);
    if (!amount) report_misfit(use, typed, unit_of(use), process);
    return amount.value_or(Measure{});
}

// --- what a scenario moves from one use to another
// ---------------------------------------------------------------------------------------

std::optional<ResolvedUse> Resolver::resolved(const ProcessNodes& process, const Use& use) {
    ResolvedUse one;
    one.use = &use;
    if (!find_target(one)) return std::nullopt;
    set_bridges(one);
    set_use_amount(process, one);
    return one.amount.known() ? std::optional(std::move(one)) : std::nullopt;
}

/// What the use takes over, in the unit of what it uses.
Measure Resolver::moved_amount(const ProcessNodes& process, const ResolvedUse& use) {
    const Moved& moved = *use.use->stands_for;
    const auto before = resolved(process, *moved.from);
    if (!before || !is_known(use)) return {};
    Measure part = before->amount;
    if (moved.is_part()) {
        const Measure share = share_of(process, *before, moved);
        if (!share.known()) return {};
        const Measure product =
            build_.multiply(part, share, "the part that is taken over", moved.place);
        part.node = product.node;
    }
    const auto amount = carried_over(use, *before, part, moved);
    if (!amount) {
        build_.problems.add(
            moved.place, "wrong-unit",
            fmt::format("{} is counted in {}, {} in {}", before->use->thing, part.unit.text,
                        use.use->thing, unit_of(use).text),
            fmt::format("ratio: so many {} for one {}", unit_of(use).text, part.unit.text));
    }
    return amount ? build_.adjusted(use.use->amount, *amount) : Measure{};
}

std::optional<Measure> Resolver::carried_over(const ResolvedUse& use, const ResolvedUse& before,
                                              const Measure& part, const Moved& moved) {
    const Unit wanted = unit_of(use);
    const auto bridges = joined(use.bridges, before.bridges);
    if (moved.efficiency_from && moved.efficiency_to) {
        const auto energy = as_energy(before, part);
        if (!energy) return std::nullopt;
        const Measure gives = build_.ratio(build_.input(*moved.efficiency_from, names_),
                                           moved.efficiency_from->place());
        const Measure needs =
            build_.ratio(build_.input(*moved.efficiency_to, names_), moved.efficiency_to->place());
        const Measure heat =
            build_.multiply(*energy, gives, "useful heat = energy × efficiency", moved.place);
        const Measure now =
            build_.divide(heat, needs, "energy = useful heat ÷ efficiency", moved.place);
        const bool fuel = wanted.dimension != dimensions::energy();
        return build_.across({now.node, known_unit(fuel ? "GJ LHV" : "GJ")}, wanted, bridges,
                             moved.place);
    }
    if (!moved.ratio) return build_.across(part, wanted, bridges, moved.place);
    const Measure ratio = build_.input(*moved.ratio, names_);
    const Measure now =
        build_.multiply(part, ratio, "amount now = amount before × ratio", moved.place);
    if (!now.known()) return std::nullopt;
    return build_.across(now, wanted, bridges, moved.place);
}

/// The energy of an amount, of a fuel its lower heating value, counted in GJ.
std::optional<Measure> Resolver::as_energy(const ResolvedUse& use, const Measure& amount) {
    const Place place = use.use->place;
    if (const auto plain = build_.in_unit(amount, known_unit("GJ"), place)) return plain;
    const auto lower = build_.across(amount, known_unit("GJ LHV"), use.bridges, place);
    return lower ? std::optional(Measure{lower->node, known_unit("GJ")}) : std::nullopt;
}

/// The part of a use that is moved, 0 to 1: as typed, or the one that gives so much useful heat.
Measure Resolver::share_of(const ProcessNodes& process, const ResolvedUse& before,
                           const Moved& moved) {
    if (moved.share) return build_.ratio(build_.input(*moved.share, names_), moved.share->place());
    const Stated& stated = *moved.useful_heat;
    const Measure typed = build_.input(stated, names_);
    if (!typed.known()) return {};
    if (auto share = build_.in_unit(typed, plain_unit(), stated.place())) return *share;
    const auto heat = of_process(process, stated, known_unit("GJ"), "useful heat");
    const auto energy = as_energy(before, before.amount);
    if (!heat) return {};
    if (!energy || !moved.efficiency_from) {
        build_.problems.add(stated.place(), "wrong-unit",
                            fmt::format("the energy of {} is not known", before.use->thing),
                            "give its factor a heating value, or state a share");
        return {};
    }
    const Measure gives =
        build_.ratio(build_.input(*moved.efficiency_from, names_), moved.efficiency_from->place());
    const Measure all =
        build_.multiply(*energy, gives, "useful heat = energy × efficiency", moved.place);
    return build_.divide(*heat, {all.node, known_unit("GJ")}, "part of the useful heat",
                         moved.place);
}

/// What is left after the parts that other uses took over.
void Resolver::give_away(const ProcessNodes& process, ResolvedUse& use) {
    for (const Moved& moved : use.use->given_away) {
        if (!use.amount.known()) return;
        const auto before = resolved(process, *moved.from);
        const Measure share = before ? share_of(process, *before, moved) : Measure{};
        if (!share.known()) {
            use.amount = {};
            return;
        }
        const Measure left = build_.subtract(build_.constant(1.0, "", "1", moved.place), share,
                                             "1 − the part taken over", moved.place);
        use.amount.node = build_.multiply(use.amount, left, "what is left", moved.place).node;
        build_.graph.require_not_negative({use.amount.node, build_.text(use.use->amount.address)});
    }
}

/// Heat whose tonnes have a state: its own, or that of the steam made.
bool Resolver::is_steam(const ResolvedUse& use) {
    if (!is_energy(unit_of(use))) return false;
    const bool made = use.product != no_index && nodes_.products[use.product].made->steam.stated();
    return made || use.use->steam.stated();
}

/// Tonnes of steam as the net heat they deliver, in the unit of the steam made or bought.
Measure Resolver::steam_use(const ProcessNodes& process, const ResolvedUse& use,
                            const Measure& typed) {
    const SteamState base =
        use.product == no_index ? SteamState{} : nodes_.products[use.product].made->steam;
    const SteamState state = completed(use.use->steam, base);
    const Measure heat = net_heat(build_, state, names_, use.use->place);
    if (!heat.known()) return {};
    const auto kilograms = build_.in_unit(typed, known_unit("kg"), use.use->place);
    if (!kilograms) {
        report_misfit(use, typed, unit_of(use), process);
        return {};
    }
    const Measure net =
        build_.multiply(*kilograms, heat, "heat = mass of steam × net heat", use.use->place);
    const Measure joules{net.node, known_unit("kJ")};
    const auto amount = build_.in_unit(joules, unit_of(use), use.use->place);
    if (!amount) report_misfit(use, joules, unit_of(use), process);
    return amount.value_or(Measure{});
}

/// As typed, or per unit of the one product made.
std::optional<Measure> Resolver::in_target_unit(const ProcessNodes& process, const ResolvedUse& use,
                                                const Measure& typed) {
    const auto counted = [&](const Measure& amount) {
        return build_.over_dry_mass(amount, use.delivered, unit_of(use), use.bridges,
                                    use.use->place);
    };
    if (auto direct = counted(typed)) return direct;
    if (process.products.size() != 1 || typed.unit.dimension == dimensions::number)
        return std::nullopt;
    const ProductNodes& product = nodes_.products[process.products[0]];
    std::vector<Measure> outputs{product.typed, product.amount};
    if (auto dry =
            build_.across(product.typed, known_unit("t dry"), product.bridges, product.made->place))
        outputs.push_back(*dry);
    for (const Measure& output : outputs) {
        const Measure total =
            build_.multiply(typed, output, "per unit made × amount made", use.use->place);
        if (auto amount = counted(total)) return amount;
    }
    return std::nullopt;
}

void Resolver::report_misfit(const ResolvedUse& use, const Measure& typed, const Unit& wanted,
                             const ProcessNodes& process) {
    const Stated& stated = use.use->amount;
    const std::string found = typed.unit.dimension.text();
    if (typed.unit.dimension == dimensions::number) {
        const std::string per = process.products.size() == 1
                                    ? nodes_.products[process.products[0]].typed.unit.text
                                    : std::string("t");
        build_.problems.add(stated.place(), "missing-unit",
                            fmt::format("{} has no unit; {} is counted in {}", stated.scalar.text,
                                        use.use->thing, wanted.text),
                            fmt::format("type {0} {1}, or {0} {1}/{2} for each {2} made",
                                        stated.scalar.text, wanted.text, per));
        return;
    }
    std::string hint = fmt::format("type it in {}", wanted.text);
    if (process.products.size() == 1)
        hint += fmt::format(", or per unit made: {}",
                            per_text(wanted.text, nodes_.products[process.products[0]].typed.unit));
    const bool basis_missing = typed.unit.dimension == dimensions::energy() && is_energy(wanted);
    if (basis_missing && wanted.dimension != dimensions::energy())
        hint += "; gas is mostly invoiced on its higher heating value (HHV)";
    if (is_mass(typed.unit) && is_energy(wanted))
        hint += "; tonnes of steam need pressure, temperature and make_up";
    if (is_mass(typed.unit) && is_mass(wanted))
        hint += "; a dryness converts between dry and moist mass";
    build_.problems.add(stated.place(), "wrong-unit",
                        fmt::format("{} is counted in {}, found {}", use.use->thing,
                                    wanted.dimension.text(), found),
                        std::move(hint));
}

/// `rest` = output ÷ (1 − losses) − the other uses of the same family, on the product's basis.
void Resolver::set_rest(ProcessNodes& process) {
    ResolvedUse* rest = find_rest(process);
    if (rest == nullptr) return;
    const ProductNodes& product = nodes_.products[process.products[0]];
    const Measure needed = needed_before_losses(process, product, rest->use->amount.place());
    if (!needed.known()) return;
    const Measure left = less_other_uses(process, *rest, product, needed);
    if (!left.known()) return;
    require_some_left(*rest, left, needed);
    const auto amount = build_.over_dry_mass(left, product.bridges, unit_of(*rest), rest->bridges,
                                             rest->use->amount.place());
    if (!amount) return report_misfit(*rest, left, unit_of(*rest), process);
    rest->amount = *amount;
    const std::string& address = rest->use->amount.address;
    if (build_.graph.find(address) == no_node) build_.graph.name(amount->node, address);
}

/// The one use that is the rest of a mix, or nullptr; what cannot be a rest is reported.
ResolvedUse* Resolver::find_rest(ProcessNodes& process) {
    std::vector<ResolvedUse*> rests;
    for (ResolvedUse& use : process.uses) {
        if (is_rest(use)) rests.push_back(&use);
    }
    if (rests.empty()) return nullptr;
    ResolvedUse& rest = *rests.front();
    const Place place = rest.use->amount.place();
    if (rests.size() > 1) {
        build_.problems.add(rests[1]->use->amount.place(), "two-rests",
                            "two uses cannot both be the rest", "type one of them", {place});
        return nullptr;
    }
    if (process.products.empty()) return nullptr;  // reported
    if (process.products.size() != 1) {
        build_.problems.add(place, "rest-of-several",
                            fmt::format("{} makes {} products; rest needs one", process.process->id,
                                        process.products.size()),
                            "");
        return nullptr;
    }
    const ProductNodes& product = nodes_.products[process.products[0]];
    if (!product.amount.known() || !is_known(rest)) return nullptr;  // reported
    if (rest.family != product.family || product.family == Family::other) {
        build_.problems.add(
            place, "rest-of-another-kind",
            fmt::format("{} is not of the kind of {}: a rest closes a mix of one kind",
                        rest.use->thing, product.id),
            "type the amount, or give the product its kind");
        return nullptr;
    }
    return &rest;
}

/// Other uses that add up to the whole leave nothing, or by rounding a little less than nothing.
void Resolver::require_some_left(const ResolvedUse& rest, const Measure& left,
                                 const Measure& needed) {
    constexpr double rounding = 1e-12;  // of what is needed
    const Place place = rest.use->amount.place();
    const Measure slack = build_.multiply(
        needed, build_.constant(rounding, "", "what rounding may take", place), "slack", place);
    const NodeId node =
        build_.graph.make(Operation::sum, {left.node, slack.node}, build_.text(left.unit.text),
                          build_.origin(place, "a rest is not negative"));
    build_.graph.require_not_negative({node, build_.text(rest.use->amount.address)});
}

Measure Resolver::needed_before_losses(const ProcessNodes& process, const ProductNodes& product,
                                       Place place) {
    if (!process.process->losses) return product.amount;
    const Measure losses = build_.input(*process.process->losses, names_);
    if (!losses.known()) return {};
    const Measure one = build_.constant(1.0, "", "1", place);
    const Measure kept = build_.subtract(one, build_.ratio(losses, place), "1 − losses", place);
    const Measure needed = build_.divide(product.amount, kept, "output ÷ (1 − losses)", place);
    return {needed.node, product.amount.unit};
}

Measure Resolver::less_other_uses(const ProcessNodes& process, const ResolvedUse& rest,
                                  const ProductNodes& product, const Measure& needed) {
    const TextId unit = build_.text(needed.unit.text);
    std::vector<NodeId> parts{needed.node};
    for (const ResolvedUse& use : process.uses) {
        if (&use == &rest || use.family != product.family || !use.amount.known()) continue;
        const auto amount = build_.over_dry_mass(use.amount, use.bridges, needed.unit,
                                                 product.bridges, use.use->place);
        if (!amount) {
            report_misfit(use, use.amount, needed.unit, process);
            return {};
        }
        parts.push_back(build_.graph.make(
            Operation::negate, {amount->node}, unit,
            build_.origin(use.use->place, fmt::format("less {}", use.use->name))));
    }
    const NodeId node = build_.graph.make(
        Operation::sum, parts, unit,
        build_.origin(rest.use->amount.place(),
                      "rest = output ÷ (1 − losses) less the other uses of its kind"));
    return {node, needed.unit};
}

// --- flows
// ------------------------------------------------------------------------------------------

std::optional<Measure> Resolver::of_process(const ProcessNodes& process, const Stated& stated,
                                            const Unit& unit, std::string_view what) {
    const Measure typed = build_.input(stated, names_);
    if (!typed.known()) return std::nullopt;
    if (auto amount = build_.in_unit(typed, unit, stated.place())) return amount;
    if (process.products.size() == 1 && typed.unit.dimension != dimensions::number) {
        const Measure total = build_.multiply(typed, nodes_.products[process.products[0]].typed,
                                              "per unit made × amount made", stated.place());
        if (auto amount = build_.in_unit(total, unit, stated.place())) return amount;
    }
    build_.problems.add(
        stated.place(), "wrong-unit",
        fmt::format("{} is counted in {}, found {}", what, unit.text, typed.unit.dimension.text()),
        fmt::format("for example 8.8 {}", unit.text));
    return std::nullopt;
}

std::vector<ProcessNodes::Flow> Resolver::water_flows(const ProcessNodes& process,
                                                      const std::vector<WaterFlow>& flows,
                                                      bool in) {
    std::vector<ProcessNodes::Flow> resolved;
    for (const WaterFlow* flow : in_order(flows, &WaterFlow::water)) {
        const Water* water = mill_.water(flow->water);
        if (water == nullptr) {
            std::vector<std::string> names;
            for (const Water& one : mill_.waters) names.push_back(one.id);
            build_.problems.add(flow->place, "unknown-water",
                                fmt::format("{} has no water {}", mill_.id, flow->water),
                                did_you_mean(flow->water, names));
            continue;
        }
        if (in && water->from.empty()) {
            build_.problems.add(
                flow->place, "water-goes-out",
                fmt::format("nothing can be taken from {}: it only says where water goes",
                            water->id),
                "add from: to it, or name another");
            continue;
        }
        if (auto amount = of_process(process, flow->amount, known_unit("m3"), "water"))
            resolved.push_back({water, flow, *amount});
    }
    return resolved;
}

void Resolver::flows() {
    for (ProcessNodes& process : nodes_.processes) {
        process.takes_in = water_flows(process, process.process->takes_in, true);
        process.gives_back = water_flows(process, process.process->gives_back, false);
        for (const NamedAmount& one : process.process->returns) {
            if (nodes_.product(one.name) != nullptr) {
                build_.problems.add(
                    one.place, "returned-and-made",
                    fmt::format("{} is made and returned", one.name),
                    "what is sold or carries a share is made; what goes back is returned");
            }
            const Measure typed = build_.input(one.amount, names_);
            if (typed.known()) process.returns.emplace_back(&one, typed);
        }
        for (const NamedAmount& one : process.process->leaves) {
            const Unit unit = known_unit(one.name == "solids" ? "kg dry" : "m3");
            if (auto amount = of_process(process, one.amount, unit, one.name))
                process.leaves.emplace_back(&one, *amount);
        }
        if (process.process->losses)
            process.losses = build_.input(*process.process->losses, names_);
    }
}

}  // namespace deckle
