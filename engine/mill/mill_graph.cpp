#include "engine/mill/mill_graph.h"

#include <fmt/format.h>

#include <algorithm>
#include <numeric>

#include "engine/graph/components.h"
#include "engine/mill/allocation.h"
#include "engine/mill/demand.h"
#include "engine/mill/figures.h"
#include "engine/mill/resolve.h"
#include "engine/mill/steam_heat.h"
#include "engine/text/nearest.h"

namespace deckle {
namespace {

/// Builds the nodes of one mill in stages: products, uses, shares, terms, loops, lines.
class MillBuilder {
public:
    MillBuilder(Build& build, FactorBook& book, const std::vector<Grid>& grids,
                const std::vector<SwungMix>& swung, MillNodes& nodes)
        : build_(build),
          book_(book),
          grids_(grids),
          swung_(swung),
          nodes_(nodes),
          mill_(*nodes.mill),
          figures_(build, *nodes.mill),
          names_(
              [this](std::string_view name, Place place) { return figures_.find(name, place); }) {}

    void run() {
        const std::size_t before = build_.problems.count();
        const auto failed = [&] { return build_.problems.count() != before; };
        figures_.build_all();
        Resolver resolver(build_, book_, names_, nodes_);
        resolver.products();
        scale_swung_products();
        resolver.uses();
        settle_swung_sources();
        resolver.flows();
        for (const Water& water : mill_.waters)
            book_.check_region(water.region, water.region_place);
        for (ProcessNodes& process : nodes_.processes) {
            process.allocation_path = allocate(build_, names_, process, nodes_.products);
            if (!process.allocation_path.path.empty())
                nodes_.findings.push_back({process.allocation->place,
                                           Severity::finding,
                                           "allocation-path",
                                           process.allocation_path.path,
                                           "the prices stated choose the method",
                                           {}});
        }
        if (failed()) return;  // a mill with problems has no sums
        collect_terms();
        if (failed()) return;
        for (const auto& component : components()) add_component(component);
        add_totals();
        add_carbon();
    }

private:
    const Indicators& indicators() const { return book_.indicators(); }
    const std::string& unit_of(IndicatorId id) const { return indicators().at(id).unit; }
    bool is_carried(IndicatorId id) const {
        return indicators().at(id).kind == IndicatorKind::carried;
    }

    // --- mixes that follow a scenario's demand
    // ----------------------------------------------------
    void scale_swung_products() {
        for (const SwungMix& mix : swung_) {
            for (ProductNodes& product : nodes_.products) {
                if (product.id != mix.product || !product.amount.known()) continue;
                for (Measure* amount : {&product.amount, &product.typed}) {
                    amount->node = build_.graph.make(
                        Operation::product, {amount->node, mix.factor},
                        build_.text(amount->unit.text),
                        build_.origin(product.made->place, "made at the demand of the scenario"));
                }
            }
        }
    }

    void settle_swung_sources() {
        for (const SwungMix& mix : swung_) {
            const ProductNodes* product = nodes_.product(mix.product);
            if (product == nullptr) continue;
            for (ResolvedUse& use : nodes_.processes[product->process_index].uses) {
                for (const auto& source : mix.sources) {
                    if (source.first == use.use->name) use.amount = source.second;
                }
            }
        }
    }

    // --- what each process brings, without what it uses of things made ---------------------------
    void collect_terms() {
        for (const ProcessNodes& process : nodes_.processes) {
            TermList& list =
                terms_.emplace_back(build_, book_, grids_,
                                    Bringer{process.process->stage, process.process->address(),
                                            process.process->run_by});
            for (const ResolvedUse& use : process.uses) add_bought(use, list);
            add_releases(process, list);
            add_discharges(process, list);
            add_free_allocation(process, list);
            add_waters(process, list);
            nodes_.findings.insert(nodes_.findings.end(), list.findings().begin(),
                                   list.findings().end());
            nodes_.electricity.add(list.views());
        }
    }

    void add_bought(const ResolvedUse& use, TermList& list) {
        if (use.factor != nullptr) list.add_factor(*use.factor, use.amount, use.bridges, *use.use);
        else list.add_sold_certificates(use.amount, *use.use);
        list.add_freight(use.amount, use.bridges, use.delivered, *use.use);
    }

    void add_releases(const ProcessNodes& process, TermList& list) {
        std::vector<const NamedAmount*> sorted;
        sorted.reserve(process.process->releases.size());
        for (const NamedAmount& release : process.process->releases) sorted.push_back(&release);
        std::ranges::sort(sorted, {}, &NamedAmount::name);
        for (const NamedAmount* each : sorted) {
            const NamedAmount& release = *each;
            const auto mass = amount_of(process, release, "kg", "a release is a mass");
            if (!mass) continue;
            if (const auto line = book_.release(release.name, *mass, release.amount.place())) {
                const Measure one =
                    build_.constant(1.0, "", "counts as it is", release.amount.place());
                list.add_own(line->indicator, line->value, one.node, "own releases", release.name);
                if (release.name == "co2_fossil")
                    list.add_own_carbon_cost(line->value, "own releases");
            }
        }
    }

    /// So much in `unit`, typed for what the process makes in all or for one unit of its one
    /// product; nullopt, reported, when it is neither.
    std::optional<Measure> amount_of(const ProcessNodes& process, const NamedAmount& named,
                                     std::string_view unit, std::string_view what) {
        const Measure typed = build_.input(named.amount, names_);
        if (!typed.known()) return std::nullopt;
        const Unit wanted = known_unit(unit);
        auto amount = build_.in_unit(typed, wanted, named.amount.place());
        if (!amount && process.products.size() == 1) {
            const Measure total = build_.multiply(typed, nodes_.products[process.products[0]].typed,
                                                  "per unit made × amount made", named.place);
            amount = build_.in_unit(total, wanted, named.amount.place());
        }
        if (!amount)
            build_.problems.add(
                named.amount.place(), "wrong-unit",
                fmt::format("{}, not {}", what, typed.unit.dimension.text()),
                fmt::format("for example 12 {0}, or 0.2 {0}/t of the one product", unit));
        return amount;
    }

    /// What the data sheets of the trade ask for: each feeds the indicator of its name.
    void add_discharges(const ProcessNodes& process, TermList& list) {
        std::vector<const NamedAmount*> sorted;
        for (const NamedAmount& discharge : process.process->discharges)
            sorted.push_back(&discharge);
        std::ranges::sort(sorted, {}, &NamedAmount::name);
        for (const NamedAmount* each : sorted) {
            const IndicatorId id = indicators().index(each->name);
            const auto amount =
                amount_of(process, *each, indicators().at(id).unit,
                          fmt::format("{} is counted in {}", each->name, indicators().at(id).unit));
            if (!amount) continue;
            const Measure one = build_.constant(1.0, "", "counts as it is", each->amount.place());
            list.add_own(id, amount->node, one.node, "own discharges", each->name);
        }
    }

    /// CO2 per unit made that the mill need not pay for; its benchmark is the user's.
    void add_free_allocation(const ProcessNodes& process, TermList& list) {
        const Stated* stated = book_.free_allocation(process.process->address());
        if (stated == nullptr) return;
        const Measure typed = build_.input(*stated);
        for (const Unit& counted : {known_unit("kg CO2e"), known_unit("kg")}) {
            for (const std::size_t p : process.products) {
                const ProductNodes& product = nodes_.products[p];
                const Measure all =
                    build_.multiply(typed, product.typed,
                                    "free allocation = benchmark × amount made", stated->place());
                const auto mass = build_.in_unit(all, counted, stated->place());
                if (!mass) continue;
                list.add_free_allocation(mass->node);
                return;
            }
        }
        build_.problems.add(
            stated->place(), "wrong-unit",
            fmt::format("what {} makes is not counted so", process.process->address()),
            "mass of CO2 per unit made, for example 0.25 t/t");
    }

    void add_waters(const ProcessNodes& process, TermList& list) {
        for (const auto& flow : process.takes_in) {
            const Water& water = *flow.water;
            if (water.from == "supply") {
                add_supply(flow, list);
            } else if (water.is_basin()) {
                const Measure one = build_.constant(1.0, "", "counts as it is", flow.flow->place);
                const std::string label = flow_label(water, *flow.flow);
                list.add_own(indicators().index("water_withdrawn"), flow.amount.node, one.node,
                             "own water", label);
                add_consumption(flow, one, label, list);
            }
        }
        for (const auto& flow : process.gives_back) {
            if (!withdraws_from(mill_, flow.water->basin)) continue;
            const Measure minus =
                build_.constant(-1.0, "", "returned to the basin it came from", flow.flow->place);
            const std::string label = flow_label(*flow.water, *flow.flow);
            add_consumption(flow, minus, label, list);
        }
    }

    void add_consumption(const ProcessNodes::Flow& flow, const Measure& sign,
                         const std::string& label, TermList& list) {
        list.add_own(indicators().index("water_consumed"), flow.amount.node, sign.node, "own water",
                     label);
        const IndicatorId scarcity = indicators().index("water_scarcity");
        const std::string region = region_of(*flow.water);
        const Measure weight =
            region.empty() ? Measure{} : book_.scarcity_weight(region, flow.water->use);
        if (!weight.known()) {
            const std::string subject = fmt::format("{}.waters.{}", mill_.id, flow.water->id);
            list.add_own(
                scarcity, flow.amount.node,
                book_.uncovered(subject, scarcity, false, flow.amount.unit, flow.water->place),
                "own water", "not covered");
            return;
        }
        const Measure signed_weight =
            build_.multiply(weight, sign, "scarcity factor of the region", flow.flow->place);
        list.add_own(scarcity, flow.amount.node, signed_weight.node, "own water", label);
    }

    /// A return is weighed with the region of the basin it goes to.
    std::string region_of(const Water& water) const {
        if (!water.region.empty()) return water.region;
        for (const Water& other : mill_.waters) {
            if (other.basin == water.basin && !other.region.empty()) return other.region;
        }
        return {};
    }

    void add_supply(const ProcessNodes::Flow& flow, TermList& list) {
        const Factor* factor = book_.find(flow.water->factor, flow.water->place);
        if (factor == nullptr) {
            build_.problems.add(flow.water->place, "unknown-factor",
                                fmt::format("there is no factor {}", flow.water->factor),
                                book_.tables().meant(flow.water->factor));
            return;
        }
        Use use;
        use.name = flow.water->id;
        use.place = flow.flow->place;
        use.amount = flow.flow->amount;
        list.add_factor(*factor, flow.amount, {}, use);
    }

    // --- loops ----------------------------------------------------------------------------------
    /// Products in groups that feed each other, what feeds before what is fed.
    std::vector<std::vector<std::uint32_t>> components() const {
        std::vector<std::vector<std::uint32_t>> feeds(nodes_.products.size());
        for (std::size_t p = 0; p < nodes_.products.size(); ++p) {
            for (const ResolvedUse& use : nodes_.processes[nodes_.products[p].process_index].uses) {
                if (use.product != no_index)
                    feeds[p].push_back(static_cast<std::uint32_t>(use.product));
            }
        }
        return strong_components(feeds);
    }

    void add_component(const std::vector<std::uint32_t>& members) {
        const bool loop = members.size() > 1 || feeds_itself(members[0]);
        if (!loop) {
            ProductNodes& product = nodes_.products[members[0]];
            TermList list = terms_[product.process_index];
            add_made_uses(product.process_index, {}, list);
            for (IndicatorId id = 0; id < indicators().count(); ++id) {
                if (!is_carried(id)) continue;
                for (std::size_t view = 0; view < view_count; ++view)
                    product.lines.at(id)[view] =
                        per_unit(product, total(product, list, id, view), id);
            }
            return;
        }
        std::vector<std::size_t> sorted(members.begin(), members.end());
        std::ranges::sort(sorted, {},
                          [&](std::size_t p) { return nodes_.products[p].made->amount.address; });
        nodes_.loops.push_back(sorted);
        solve_loop(sorted);
    }

    bool feeds_itself(std::size_t p) const {
        const auto& uses = nodes_.processes[nodes_.products[p].process_index].uses;
        return std::ranges::any_of(uses, [&](const ResolvedUse& use) { return use.product == p; });
    }

    /// Uses of things made, those in `but` left out.
    void add_made_uses(std::size_t process, std::span<const std::size_t> but,
                       TermList& list) const {
        for (const ResolvedUse& use : nodes_.processes[process].uses) {
            if (use.product == no_index || std::ranges::find(but, use.product) != but.end())
                continue;
            list.add_made(use.amount, nodes_.products[use.product].lines, use.use->name);
        }
    }

    NodeId total(const ProductNodes& product, const TermList& list, IndicatorId id,
                 std::size_t view) const {
        return list.sum(
            id, view, unit_of(id),
            fmt::format("sum over what {} uses, releases and takes in", product.process->id),
            product.process->place);
    }

    /// total × share ÷ amount made; no_node stays no_node.
    NodeId per_unit(const ProductNodes& product, NodeId sum, IndicatorId id) {
        if (sum == no_node) return no_node;
        const TextId unit = build_.text(unit_of(id));
        NodeId carried = sum;
        if (product.share.known()) {
            carried = build_.graph.make(
                Operation::product, {sum, product.share.node}, unit,
                build_.origin(product.made->place,
                              fmt::format("part of {} = sum × share", product.id)));
        }
        return build_.graph.make(
            Operation::quotient, {carried, product.amount.node},
            build_.text(per_text(unit_of(id), product.amount.unit)),
            build_.origin(product.made->place, fmt::format("{} of one {} of {} = sum ÷ amount made",
                                                           indicators().at(id).id,
                                                           product.amount.unit.text, product.id)));
    }

    void solve_loop(const std::vector<std::size_t>& members) {
        std::vector<Solve::Entry> entries;
        std::vector<NodeId> coefficients;
        for (std::uint32_t row = 0; row < members.size(); ++row)
            add_equation(members, row, entries, coefficients);

        struct Column {
            IndicatorId id;
            std::size_t view;
            std::vector<NodeId> b;
        };
        std::vector<Column> columns;
        std::vector<std::pair<std::pair<IndicatorId, std::size_t>, std::size_t>> column_of;
        for (IndicatorId id = 0; id < indicators().count(); ++id) {
            if (!is_carried(id)) continue;
            for (std::size_t view = 0; view < view_count; ++view) {
                const auto b = right_side(members, id, view);
                if (b.empty()) continue;
                const auto same =
                    std::ranges::find_if(columns, [&](const Column& c) { return c.b == b; });
                column_of.push_back({{id, view}, static_cast<std::size_t>(same - columns.begin())});
                if (same == columns.end()) columns.push_back({id, view, b});
            }
        }
        if (columns.empty()) return;
        std::vector<NodeId> b;
        std::vector<TextId> unknowns, units;
        for (std::size_t row = 0; row < members.size(); ++row) {
            const ProductNodes& product = nodes_.products[members[row]];
            unknowns.push_back(build_.text(product.made->amount.address));
            for (const Column& column : columns) {
                b.push_back(column.b[row]);
                units.push_back(build_.text(per_text(unit_of(column.id), product.amount.unit)));
            }
        }
        const auto width = static_cast<std::uint32_t>(columns.size());
        const Solution solution =
            build_.graph.solve(static_cast<std::uint32_t>(members.size()), entries, coefficients,
                               width, b, unknowns, units,
                               build_.origin(nodes_.products[members[0]].process->place,
                                             "products that feed each other: x = C·x + b"));
        for (const auto& [line, column] : column_of) {
            for (std::size_t row = 0; row < members.size(); ++row) {
                nodes_.products[members[row]].lines.at(line.first)[line.second] =
                    solution.parts[row * width + column];
            }
        }
    }

    /// Coefficients of one row: how much of each member one unit of this product needs.
    void add_equation(const std::vector<std::size_t>& members, std::uint32_t row,
                      std::vector<Solve::Entry>& entries, std::vector<NodeId>& coefficients) {
        for (std::uint32_t column = 0; column < members.size(); ++column) {
            const NodeId need = need_of(build_, nodes_, members[row], members[column]);
            if (need == no_node) continue;
            entries.push_back({row, column});
            coefficients.push_back(need);
        }
    }

    /// What the members bring besides each other; empty when no member brings anything.
    std::vector<NodeId> right_side(const std::vector<std::size_t>& members, IndicatorId id,
                                   std::size_t view) {
        std::vector<NodeId> b;
        bool any = false;
        for (const std::size_t member : members) {
            const ProductNodes& product = nodes_.products[member];
            TermList list = terms_[product.process_index];
            add_made_uses(product.process_index, members, list);
            NodeId node = per_unit(product, total(product, list, id, view), id);
            any = any || node != no_node;
            if (node == no_node)
                node = build_.graph.constant(0.0, build_.text(unit_of(id)),
                                             build_.origin({}, "nothing"));
            b.push_back(node);
        }
        return any ? b : std::vector<NodeId>{};
    }

    /// The whole sum of each process, now that every product has its lines: what `--by user` shows.
    void add_totals() {
        for (std::size_t p = 0; p < nodes_.processes.size(); ++p) {
            ProcessNodes& process = nodes_.processes[p];
            process.totals = Lines(indicators().count());
            if (process.products.empty()) continue;
            TermList list = terms_[p];
            add_made_uses(p, {}, list);
            for (IndicatorId id = 0; id < indicators().count(); ++id) {
                for (std::size_t view = 0; view < view_count; ++view) {
                    process.totals.at(id)[view] =
                        total(nodes_.products[process.products[0]], list, id, view);
                }
            }
        }
    }

    // --- carbon held
    // ------------------------------------------------------------------------------
    void add_carbon() {
        for (ProductNodes& product : nodes_.products) {
            const bool has_mass = product.typed.unit.dimension.without_basis() == dimensions::mass;
            if (!has_mass || product.family == Family::heat || is_likely_heat(product)) continue;
            product.carbon = carbon_of(product, &Carbon::biogenic);
            product.fossil_carbon = carbon_of(product, &Carbon::fossil);
            if (product.carbon != no_node) continue;
            const std::string subject = product.made->amount.address;
            product.carbon = book_.uncovered(subject, indicators().index("biogenic_carbon"), false,
                                             product.amount.unit, product.made->place);
        }
    }

    /// What fuel and power alone go into, of no stated kind, is steam or compressed air: it holds
    /// no carbon that anybody could state.
    bool is_likely_heat(const ProductNodes& product) const {
        const auto& uses = nodes_.processes[product.process_index].uses;
        const auto is_energy = [](const ResolvedUse& use) {
            return use.family == Family::fuel || use.family == Family::heat ||
                   use.family == Family::electricity;
        };
        return product.made->kind.empty() && product.family == Family::other && !uses.empty() &&
               !product.made->carbon && std::ranges::all_of(uses, is_energy);
    }

    /// Carbon of one unit: of the product's own statement, else of what it is made of the same as.
    NodeId carbon_of(const ProductNodes& product, std::optional<Stated> Carbon::*origin) {
        const Made* made = product.made;
        while (!made->carbon && made->composition && !made->composition->like.empty())
            made = nodes_.product(made->composition->like)->made;  // in no circle: see the resolver
        if (!made->carbon || !(*made->carbon.*origin)) return no_node;
        return share_held(product, *made, *(*made->carbon.*origin));
    }

    /// kg of carbon per unit of the product, from what `made` states of it.
    NodeId share_held(const ProductNodes& product, const Made& made, const Stated& stated) {
        Measure share = build_.input(stated, names_);
        if (!share.known()) return no_node;
        const Stated& typed = build_.standing(stated);
        const std::string of = typed.is_quantity() ? typed.amount.quantity.of : std::string{};
        if (!of.empty()) {
            const Measure part = part_of(made, of, stated.place());
            if (!part.known()) return no_node;
            share = build_.multiply(
                part, share, fmt::format("carbon = share of {} × its carbon", of), stated.place());
        }
        const Unit wanted = known_unit(fmt::format("kg/{}", product.amount.unit.text));
        const auto per = build_.across(share, wanted, product.bridges, stated.place());
        if (per) return per->node;
        if (&made != product.made) return no_node;  // reported where it is stated
        build_.problems.add(stated.place(), "wrong-unit",
                            fmt::format("the carbon of {} is counted in {}, found {}", product.id,
                                        wanted.text, share.unit.dimension.text()),
                            "for example 0.444 kg/kg of fibre, or 0.42 kg/kg");
        return no_node;
    }

    Measure part_of(const Made& made, const std::string& name, Place place) {
        if (made.composition) {
            for (const auto& part : made.composition->parts) {
                if (part.name == name)
                    return build_.ratio(build_.input(part.share, names_), part.share.place());
            }
        }
        build_.problems.add(place, "unknown-part",
                            fmt::format("the composition of {} has no {}", made.id, name),
                            "composition: {fibre: 95 %, moisture: 5 %}");
        return {};
    }

    Build& build_;
    FactorBook& book_;
    const std::vector<Grid>& grids_;
    const std::vector<SwungMix>& swung_;
    MillNodes& nodes_;
    const Mill& mill_;
    Figures figures_;
    Build::NameLookup names_;
    std::vector<TermList> terms_;
};

}  // namespace

const ProductNodes* MillNodes::product(std::string_view id) const {
    const auto found =
        std::ranges::find_if(products, [&](const ProductNodes& p) { return p.id == id; });
    return found == products.end() ? nullptr : &*found;
}

bool withdraws_from(const Mill& mill, std::string_view basin) {
    const auto is_taken_there = [&](const WaterFlow& flow) {
        const Water* water = mill.water(flow.water);
        return water != nullptr && water->is_basin() && water->basin == basin;
    };
    return !basin.empty() && std::ranges::any_of(mill.processes, [&](const Process& process) {
        return std::ranges::any_of(process.takes_in, is_taken_there);
    });
}

std::unique_ptr<MillNodes> build_mill(Build& build, FactorBook& book,
                                      const std::vector<Grid>& grids, const Mill& mill,
                                      const std::vector<SwungMix>& swung) {
    auto nodes = std::make_unique<MillNodes>();
    nodes->mill = &mill;
    MillBuilder(build, book, grids, swung, *nodes).run();
    return nodes;
}

}  // namespace deckle
