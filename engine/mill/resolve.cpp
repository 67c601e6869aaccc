#include "engine/mill/resolve.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

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

std::string water_hint(std::string_view typed, const std::vector<std::string>& known) {
    const std::string near = did_you_mean(typed, known);
    if (!near.empty()) return near;
    return fmt::format("add it under waters: {}: {{from: surface, basin: ..., region: ...}}",
                       typed);
}

}  // namespace

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
    const Measure typed = build_.input(made.amount, names_);
    if (!typed.known() || !set_kind(product, typed)) return;
    if (made.steam.mentioned() && product.family != Family::heat)
        return report_no_steam(build_.problems, made.steam.place, made.id);
    const bool is_steam = made.steam.stated() && typed.unit.dimension == dimensions::mass;
    const ProductKind& kind = *find_product_kind(product.kind);
    if (!is_steam && !kind.counts(typed.unit.dimension)) {
        build_.problems.add(build_.standing(made.amount).place(), "wrong-unit",
                            fmt::format("{} ({}) is counted in {}, found {}", made.id, kind.name,
                                        kind.counted_in, typed.unit.dimension.text()),
                            fmt::format("for example {}", kind.example));
        return;
    }
    product.typed = typed;
    product.amount = is_steam ? heat_of_steam(made, typed) : typed;
}

/// The kind that a product states, else the one that goes without saying; false when it must be
/// stated (reported).
bool Resolver::set_kind(ProductNodes& product, const Measure& typed) {
    const Made& made = *product.made;
    if (product.kind.empty() && made.steam.stated()) product.kind = "heat";
    if (product.kind.empty() && is_energy(typed.unit)) {
        build_.problems.add(made.place, "missing-key",
                            fmt::format("{} is energy and does not say of which kind", made.id),
                            fmt::format("{}: {{amount: {}, kind: heat}}, or electricity or fuel",
                                        made.id, made.amount.scalar.text));
        return false;
    }
    if (product.kind.empty()) product.kind = made.dryness || made.composition ? "sheet" : "other";
    const ProductKind* kind = find_product_kind(product.kind);
    if (kind == nullptr) return false;  // reported by the reader
    product.family = kind->family;
    return true;
}

/// Tonnes of steam made count as the net heat they deliver.
Measure Resolver::heat_of_steam(const Made& made, const Measure& steam) {
    const auto kilograms = build_.in_unit(steam, known_unit("kg"), made.amount.place());
    const Measure heat = net_heat(build_, made.steam, names_, made.place);
    if (!heat.known()) return {};
    const Measure net =
        build_.multiply(*kilograms, heat, "heat = mass of steam × net heat", made.place);
    return *build_.in_unit({net.node, known_unit("kJ")}, known_unit("GJ"), made.place);
}

void Resolver::check_composition(const ProductNodes& product) {
    const auto& composition = product.made->composition;
    if (!composition) return;
    if (!composition->like.empty()) return check_same_composition(product);
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

/// What a product is made of the same as says what that is, and not in a circle.
void Resolver::check_same_composition(const ProductNodes& product) {
    const Composition& own = *product.made->composition;
    std::vector<std::string> row{product.id};
    const Made* made = product.made;
    while (made->composition && !made->composition->like.empty()) {
        const std::string& like = made->composition->like;
        const ProductNodes* same = nodes_.product(like);
        const bool is_own = made == product.made;
        if (same == nullptr && is_own)
            build_.problems.add(own.place, "unknown-product",
                                fmt::format("{} makes no {}", mill_.id, like),
                                did_you_mean(like, product_names()));
        if (same == nullptr) return;  // reported where it stands
        if (const auto before = std::ranges::find(row, like); before != row.end()) {
            const bool is_told = *std::min_element(before, row.end()) == product.id;  // once
            row.push_back(like);
            if (is_told)
                build_.problems.add(own.place, "circular-composition",
                                    fmt::format("{} is made of the same as itself: {}", product.id,
                                                fmt::join(row, " > ")),
                                    "write the composition of one of them out");
            return;
        }
        row.push_back(like);
        made = same->made;
        if (is_own && !made->composition && !made->carbon)
            build_.problems.add(
                own.place, "no-composition", fmt::format("{} has no composition", like),
                "give it composition or carbon, or write the parts out here", {made->place});
    }
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
    for (const auto& [name, factor_id] : book_.choice().stands_for) known.push_back(name);
    build_.problems.add(typed.place, "unknown-use",
                        fmt::format("{} is neither made in {} nor a factor", typed.thing, mill_.id),
                        book_.tables().meant(typed.thing, known));
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
    check_supply(use);
}

/// Power that the mill makes itself is not bought: nothing would rest on a contract for it, a line
/// or a grid. Certificates of it can be sold.
void Resolver::check_supply(const ResolvedUse& use) {
    const std::optional<Supply>& supply = use.use->supply;
    if (!supply || supply->kind == Supply::Kind::own || use.product == no_index ||
        use.family != Family::electricity)
        return;
    const ProductNodes& product = nodes_.products[use.product];
    const std::vector<std::string> bought = bought_power(product);
    build_.problems.add(supply->place, "supply-of-own-power",
                        fmt::format("{} is made in {}, so it is not bought", product.id, mill_.id),
                        bought.empty() ? "leave it out: nothing that is bought goes into it"
                                       : fmt::format("the supply stands where power is bought: {}",
                                                     fmt::join(bought, ", ")),
                        {product.made->place});
}

/// Where the power that a product is mixed from is bought: addresses of uses.
std::vector<std::string> Resolver::bought_power(const ProductNodes& product) {
    std::vector<std::string> addresses;
    std::vector<const ProductNodes*> mixed{&product};
    for (std::size_t i = 0; i < mixed.size(); ++i) {
        for (const Use& use : mixed[i]->process->uses) {
            const ProductNodes* source =
                use.space == Use::Space::factor ? nullptr : nodes_.product(use.thing);
            const Factor* factor = source != nullptr ? nullptr : book_.find(use.thing, use.place);
            if (source != nullptr && source->family == Family::electricity &&
                std::ranges::find(mixed, source) == mixed.end())
                mixed.push_back(source);
            if (factor != nullptr && factor->kind != nullptr &&
                factor->kind->family == Family::electricity)
                addresses.push_back(
                    fmt::format("{}.uses.{}", mixed[i]->process->address(), use.name));
        }
    }
    return addresses;
}

/// What is used has an amount; a product that has none was reported.
bool Resolver::is_known(const ResolvedUse& use) const {
    return use.product == no_index || nodes_.products[use.product].amount.known();
}

void Resolver::set_use_amount(const ProcessNodes& process, ResolvedUse& use) {
    const bool is_moved =
        use.use->stands_for && &build_.standing(use.use->amount) == &use.use->amount;
    use.amount = is_moved ? moved_amount(process, use) : typed_amount(process, use);
}

Measure Resolver::typed_amount(const ProcessNodes& process, const ResolvedUse& use) {
    const Measure typed = build_.input(use.use->amount, names_);
    if (!typed.known() || !is_known(use)) return {};
    if (use.returned) return typed;
    if (is_steam(use) && is_mass(typed.unit)) return steam_use(process, use, typed);
    const auto amount = in_target_unit(process, use, typed);
    if (!amount && is_read(process)) report_misfit(use, typed, unit_of(use), process);
    if (amount) check_state(use);
    return amount.value_or(Measure{});
}

/// The state of heat that is not typed in tonnes says nothing. A scenario may set tonnes to GJ.
void Resolver::check_state(const ResolvedUse& use) {
    const bool as_read = &build_.standing(use.use->amount) == &use.use->amount;
    if (use.family == Family::heat && use.use->steam.mentioned() && as_read)
        report_idle_state(build_.problems, *use.use);
}

/// Whether what a process makes could be read: else nothing typed per unit of it can be.
bool Resolver::is_read(const ProcessNodes& process) const {
    return std::ranges::all_of(process.products,
                               [&](std::size_t p) { return nodes_.products[p].typed.known(); });
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
    check_make_up(*use.use, base);
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

/// Heat made and heat used count from one make-up: what warms it would be made of nothing.
void Resolver::check_make_up(const Use& use, const SteamState& made) {
    if (!use.steam.make_up || !made.make_up) return;
    const auto kelvin = [&](const Stated& stated) -> std::optional<double> {
        const Measure typed = build_.input(stated, names_);
        const auto converted = typed.known()
                                   ? build_.in_unit(typed, known_unit("K"), stated.place())
                                   : std::optional<Measure>{};
        return converted ? build_.value_at_load(*converted) : std::nullopt;
    };
    const auto own = kelvin(*use.steam.make_up), of_made = kelvin(*made.make_up);
    if (!own || !of_made || std::abs(*own - *of_made) < 1e-9) return;
    build_.problems.add(
        use.steam.make_up->place(), "make-up-differs",
        fmt::format("{} is used over a make-up of {} and made over one of {}", use.thing,
                    use.steam.make_up->scalar.text, made.make_up->scalar.text),
        "net heat made and used count from the same make-up: leave it out here, and the use takes "
        "that of the steam made",
        {made.make_up->place()});
}

/// As typed, or per unit of the one product made.
std::optional<Measure> Resolver::in_target_unit(const ProcessNodes& process, const ResolvedUse& use,
                                                const Measure& typed) {
    const auto counted = [&](const Measure& amount) {
        return build_.over_dry_mass(amount, use.delivered, unit_of(use), use.bridges,
                                    use.use->place);
    };
    if (auto direct = counted(typed)) return direct;
    if (process.products.size() != 1 || typed.unit.dimension == dimensions::number ||
        !is_read(process))
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
    if (typed.unit.dimension == dimensions::number)
        return report_plain_number(use, is_steam(use) ? known_unit("t") : wanted, process);
    const Stated& stated = build_.standing(use.use->amount);
    const std::string found = typed.unit.dimension.text();
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

/// A figure without a unit, or one whose unit cancels: 0.2, 5 %, 2.05 t/t, reel_dryness * 2.
void Resolver::report_plain_number(const ResolvedUse& use, const Unit& wanted,
                                   const ProcessNodes& process) {
    const Stated& stated = build_.standing(use.use->amount);
    const bool is_bare = stated.is_quantity() && stated.unit().text.empty();
    std::string hint;
    if (!stated.is_quantity()) {
        hint = stated.amount.formula.names.empty()
                   ? fmt::format("type a number with its unit, for example 12 {}", wanted.text)
                   : "what it is calculated from cancels out; one of its figures needs the unit";
    } else {
        hint = fmt::format("type {} {}", stated.amount.quantity.digits, wanted.text);
        const Unit made =
            process.products.size() == 1 ? nodes_.products[process.products[0]].typed.unit : wanted;
        if (made.dimension != wanted.dimension)
            hint += fmt::format(", or {0} {1}/{2} for each {2} made", stated.amount.quantity.digits,
                                wanted.text, made.text);
    }
    build_.problems.add(
        stated.place(), "missing-unit",
        fmt::format("{} {}; {} is counted in {}", stated.scalar.text,
                    is_bare ? "has no unit" : "is a plain number", use.use->thing, wanted.text),
        std::move(hint));
}

std::optional<Measure> Resolver::of_process(const ProcessNodes& process, const Stated& stated,
                                            const Unit& unit, std::string_view what) {
    const Measure typed = build_.input(stated, names_);
    if (!typed.known()) return std::nullopt;
    const Place place = build_.standing(stated).place();
    if (auto amount = build_.in_unit(typed, unit, place)) return amount;
    if (!is_read(process)) return std::nullopt;  // reported
    if (process.products.size() == 1 && typed.unit.dimension != dimensions::number) {
        const Measure total = build_.multiply(typed, nodes_.products[process.products[0]].typed,
                                              "per unit made × amount made", place);
        if (auto amount = build_.in_unit(total, unit, place)) return amount;
    }
    build_.problems.add(
        place, "wrong-unit",
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
                                water_hint(flow->water, names));
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
