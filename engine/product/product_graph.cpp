#include "engine/product/product_graph.h"

#include <fmt/format.h>

#include <algorithm>

#include "engine/product/winding.h"
#include "engine/text/nearest.h"

namespace deckle {
namespace {

struct Sheet {
    const ProductNodes* product;
    const MillNodes* mill;
};

/// One ply, or several equal ones: the sheet it comes from and its mass per area.
struct PlyNodes {
    Sheet sheet;
    Measure grammage;  ///< all equal plies together
    std::string use;
    Place place;
};

class ProductBuilder {
public:
    ProductBuilder(Build& build, FactorBook& book, const std::vector<Grid>& grids,
                   const std::vector<std::unique_ptr<MillNodes>>& mills, ConsumerNodes& nodes)
        : build_(build),
          book_(book),
          grids_(grids),
          mills_(mills),
          nodes_(nodes),
          product_(*nodes.product) {}

    void run() {
        before_ = build_.problems.count();

        nodes_.piece_name = product_.piece();
        for (const Property& property : product_.properties) build_.input(property.value);
        find_plies();
        if (failed() || plies_.empty()) return;
        const Winding winding = product_.folded ? Winding{} : wind(build_, product_);
        Measure whole = product_.folded ? counted(*product_.sheets) : winding.whole_count;
        const Measure exact = product_.folded ? whole : winding.exact_count;
        if (failed()) return;
        nodes_.diameter = winding.diameter;
        nodes_.count = exact;
        name(winding);
        if (!product_.folded) nodes_.whole_count = whole.node;
        if (winding.derived) nodes_.exact_count = exact.node;
        add_pers(area(whole, winding.length), whole, "");
        if (winding.derived) add_pers(area(exact, winding.length), exact, "_unrounded");
        if (!product_.outbound.empty()) add_outbound(area(whole, winding.length));
    }

private:
    /// Whether this product has problems; those of others do not stop it from being checked.
    bool failed() const { return build_.problems.count() != before_; }

    std::string base() const { return "products." + product_.id; }
    IndicatorId index(std::string_view id) const { return book_.indicators().index(id); }

    Measure counted(const Stated& stated) { return {build_.input(stated).node, {}}; }

    void give_name(const Measure& measure, std::string_view what) {
        const std::string address = base() + "." + std::string(what);
        if (measure.known() && build_.graph.find(address) == no_node)
            build_.graph.name(measure.node, address);
    }

    void name(const Winding& winding) {
        if (product_.folded) return;
        give_name(winding.length, "wound_length");
        if (!winding.derived) return;
        give_name(winding.exact_count, "sheets_unrounded");
        give_name(winding.whole_count, "sheets_whole");
    }

    // --- plies
    // ------------------------------------------------------------------------------------
    std::optional<Sheet> find_sheet(const std::string& reference, Place place) {
        const std::size_t dot = reference.find('.');
        const std::string mill =
            dot == std::string::npos ? std::string{} : reference.substr(0, dot);
        const std::string id = dot == std::string::npos ? reference : reference.substr(dot + 1);
        std::vector<Sheet> found;
        std::vector<std::string> known;
        for (const auto& nodes : mills_) {
            for (const ProductNodes& product : nodes->products) {
                known.push_back(product.id);
                known.push_back(nodes->mill->id + "." + product.id);
            }
            if (!mill.empty() && nodes->mill->id != mill) continue;
            if (const ProductNodes* product = nodes->product(id))
                found.push_back({product, nodes.get()});
        }
        if (found.size() == 1) return found[0];
        if (found.empty()) {
            build_.problems.add(place, "unknown-sheet", fmt::format("no mill makes {}", reference),
                                did_you_mean(reference, known));
        } else {
            build_.problems.add(place, "ambiguous-sheet",
                                fmt::format("{} is made in several mills", reference),
                                fmt::format("write {}.{}", found[0].mill->mill->id, id));
        }
        return std::nullopt;
    }

    /// What a product may be made from: what the mills count in tonnes.
    std::string sheets_hint() const {
        std::vector<std::string> sheets;
        for (const auto& nodes : mills_) {
            for (const ProductNodes& product : nodes->products) {
                if (product.amount.unit.dimension.without_basis() == dimensions::mass)
                    sheets.push_back(product.id);
            }
        }
        return sheets.empty() ? "give the sheet its amount in t"
                              : fmt::format("counted in tonnes are {}", fmt::join(sheets, ", "));
    }

    void find_plies() {
        if (product_.different_plies.empty()) {
            const auto sheet = find_sheet(product_.from, product_.from_place);
            if (!sheet || !product_.grammage || !product_.plies) return;
            const Measure ply = build_.input(*product_.grammage);
            const Measure all = build_.multiply(ply, counted(*product_.plies),
                                                "grammage of all plies", product_.place);
            plies_.push_back(
                {*sheet, {all.node, ply.unit}, sheet->product->id, product_.from_place});
        } else {
            for (std::size_t i = 0; i < product_.different_plies.size(); ++i)
                add_ply(product_.different_plies[i], i + 1);
        }
        if (plies_.empty()) return;
        nodes_.mill = plies_[0].sheet.mill;
        nodes_.sheet_process = plies_[0].sheet.product->process_index;
        nodes_.dryness = dryness(*plies_[0].sheet.product);
    }

    /// The product's own, else that of its (first) sheet.
    Measure dryness(const ProductNodes& sheet) {
        if (product_.dryness)
            return build_.ratio(build_.input(*product_.dryness), product_.dryness->place());
        return sheet.bridges.empty() ? Measure{} : sheet.bridges.front().measure;
    }

    void add_ply(const Ply& ply, std::size_t number) {
        const auto sheet = find_sheet(ply.from.empty() ? product_.from : ply.from, ply.place);
        if (!sheet || !ply.grammage) return;
        const Measure grammage = build_.input(*ply.grammage);
        if (ply.stretch) {
            const Measure one = build_.constant(1.0, "", "1", ply.place);
            const Measure stretch = build_.ratio(build_.input(*ply.stretch), ply.stretch->place());
            const Measure reel =
                build_.multiply(grammage, build_.add(one, stretch, "1 + stretch", ply.place),
                                "grammage at the reel = finished × (1 + stretch)", ply.place);
            give_name(reel, fmt::format("plies.{}.reel_grammage", number));
        }
        plies_.push_back(
            {*sheet, grammage, fmt::format("ply_{}_{}", number, sheet->product->id), ply.place});
    }

    // --- one piece
    // --------------------------------------------------------------------------------
    /// Area of one piece [m2]: sheets × length × width, or wound length × width.
    Measure area(const Measure& count, const Measure& wound_length) {
        const Place place = product_.place;
        const Measure width =
            *build_.in_unit(build_.input(*product_.sheet_width), known_unit("m"), place);
        nodes_.sheet_width = width;
        Measure length = wound_length;
        if (product_.sheet_length && count.known()) {
            const Measure sheet =
                *build_.in_unit(build_.input(*product_.sheet_length), known_unit("m"), place);
            nodes_.sheet_length = sheet;
            length = {build_.multiply(count, sheet, "length = sheets × sheet length", place).node,
                      known_unit("m")};
        }
        return {build_.multiply(length, width, "area = length × width", place).node,
                known_unit("m2")};
    }

    /// Mass of a ply in a piece, in the unit its sheet is counted in; carried over as dry mass
    /// where the product's dryness differs from the sheet's.
    Measure ply_mass(const PlyNodes& ply, const Measure& piece_area) {
        const Measure mass = build_.multiply(piece_area, ply.grammage,
                                             "mass of tissue = area × grammage", ply.place);
        const ProductNodes& sheet = *ply.sheet.product;
        if (!sheet.amount.known()) return {};  // reported
        std::optional<Measure> amount;
        if (product_.dryness && !sheet.bridges.empty()) {
            const Measure own =
                build_.ratio(build_.input(*product_.dryness), product_.dryness->place());
            const std::vector<Bridge> finished{
                {{own.node, known_unit("kg dry/kg")}, "dryness of the product"}};
            const auto dry = build_.across(mass, known_unit("kg dry"), finished, ply.place);
            if (dry) amount = build_.across(*dry, sheet.amount.unit, sheet.bridges, ply.place);
        } else if (product_.dryness) {
            build_.problems.add(product_.dryness->place(), "missing-key",
                                fmt::format("the dryness of {} is not stated", sheet.id),
                                "give the sheet its dryness under `makes`, or leave this one out");
            return {};
        } else {
            amount = build_.across(mass, sheet.amount.unit, sheet.bridges, ply.place);
        }
        if (!amount) {
            build_.problems.add(ply.place, "wrong-unit",
                                fmt::format("{} is counted in {}, and a sheet is a mass", sheet.id,
                                            sheet.amount.unit.text),
                                sheets_hint());
        }
        return amount.value_or(Measure{});
    }

    void take_sheet(const PlyNodes& ply, const Measure& piece_area) {
        const MillNodes& mill = *ply.sheet.mill;
        const auto index = static_cast<std::size_t>(ply.sheet.product - mill.products.data());
        nodes_.sheets.push_back({&mill, index, ply_mass(ply, piece_area)});
    }

    Measure tissue_mass(const Measure& piece_area) {
        std::vector<NodeId> masses;
        for (const PlyNodes& ply : plies_) {
            const Measure mass = build_.multiply(piece_area, ply.grammage,
                                                 "mass of tissue = area × grammage", ply.place);
            masses.push_back(build_.in_unit(mass, known_unit("t"), ply.place)->node);
        }
        const NodeId total =
            masses.size() == 1
                ? masses[0]
                : build_.graph.make(Operation::sum, masses, build_.text("t"),
                                    build_.origin(product_.place, "mass of all plies"));
        return {total, known_unit("t")};
    }

    TermList piece_terms(const Measure& piece_area) {
        TermList list(build_, book_, grids_, Bringer{"converting", base(), "own"});
        for (const PlyNodes& ply : plies_) {
            const Measure mass = ply_mass(ply, piece_area);
            if (!mass.known()) continue;
            list.add_made(mass, ply.sheet.product->lines, ply.use);
            if (ply.sheet.product->carbon != no_node)
                list.add_own(index("biogenic_carbon"), mass.node, ply.sheet.product->carbon,
                             ply.use, "carbon held");
            if (ply.sheet.product->fossil_carbon != no_node)
                list.add_own(index("fossil_carbon"), mass.node, ply.sheet.product->fossil_carbon,
                             ply.use, "carbon held");
        }
        add_core(list);
        bought_.clear();
        for_each_use([&](const Use& use, const Measure& pieces) { add_use(list, use, pieces); });
        check_brought_twice(build_.problems, book_, bought_);
        return list;
    }

    /// Glue, uses and packing levels from the inside out, each by name so that the order of keys
    /// moves no bit; with each use the number of pieces that share it, unknown for one piece alone.
    template <class Take>
    void for_each_use(Take take) {
        const auto in_order = [&](const std::vector<Use>& uses, const Measure& pieces) {
            std::vector<const Use*> sorted;
            sorted.reserve(uses.size());
            for (const Use& use : uses) sorted.push_back(&use);
            std::ranges::sort(sorted, {}, &Use::name);
            for (const Use* use : sorted) take(*use, pieces);
        };
        in_order(product_.glue, Measure{});
        in_order(product_.uses, Measure{});
        Measure pieces;
        for (const PackingLevel& level : product_.packed) {
            pieces = pieces_in(level, pieces);
            in_order(level.uses, pieces);
        }
    }

    /// The part of a use that one of `pieces` carries.
    Measure share_of(const Use& use, const Measure& pieces) {
        const Measure amount = build_.input(use.amount);
        if (!amount.known() || !pieces.known()) return amount;
        const std::string rule = fmt::format("part of one {}", product_.piece());
        return {build_.divide(amount, pieces, rule, use.place).node, amount.unit};
    }

    /// How many pieces a level holds, given how many the level inside it does.
    Measure pieces_in(const PackingLevel& level, const Measure& inside) {
        const Measure held = counted(level.holds);
        if (!inside.known()) return held;
        const std::string rule = fmt::format("{}s in one {}", product_.piece(), level.name);
        return {build_.multiply(inside, held, rule, level.place).node, {}};
    }

    void add_core(TermList& list) {
        if (!product_.core || product_.core->board.empty() || !product_.core->mass) return;
        Use use;
        use.name = core_use;
        use.thing = product_.core->board;
        use.place = product_.core->board_place;
        use.amount = *product_.core->mass;
        const Factor* board = find_factor(use);
        if (board == nullptr) return;
        list.hold_as(index(product_.core->counts_as_product ? "biogenic_carbon"
                                                            : "packaging_biogenic_carbon"));
        list.add_factor(*board, build_.input(*product_.core->mass), {}, use);
    }

    const Factor* find_factor(const Use& use) {
        const Factor* factor = book_.find(use.thing, use.place);
        if (factor == nullptr) {
            build_.problems.add(use.place, "unknown-factor",
                                fmt::format("there is no factor {}", use.thing),
                                book_.tables().meant(use.thing));
        }
        return factor;
    }

    void add_use(TermList& list, const Use& use, const Measure& pieces) {
        const Factor* factor = find_factor(use);
        if (factor == nullptr || factor->kind == nullptr) return;
        check_keys_fit(build_.problems, use, factor->kind->family);
        if (factor->kind->family == Family::heat && use.steam.mentioned())
            report_idle_state(build_.problems, use);
        bought_.emplace_back(&use, factor);
        const Measure amount = share_of(use, pieces);
        if (!amount.known()) return;
        const bool packaging = pieces.known() || factor->kind->name == "packaging";
        list.hold_as(index(packaging ? "packaging_biogenic_carbon" : "biogenic_carbon"));
        const auto delivered = as_delivered(*factor, use);
        list.add_factor(*factor, amount, delivered, use);
        list.add_freight(amount, delivered, delivered, use);
    }

    /// What converts the factor, the dryness that the use states in place of the factor's own.
    std::vector<Bridge> as_delivered(const Factor& factor, const Use& use) {
        std::vector<Bridge> stated;
        if (use.dryness) stated = build_.dryness(*use.dryness);
        return joined(std::move(stated), book_.nodes(factor).bridges);
    }

    // --- per roll, sheet, pack, t, m2
    // --------------------------------------------------------------
    void add_pers(const Measure& piece_area, const Measure& count, const std::string& suffix) {
        const TermList list = piece_terms(piece_area);
        if (failed()) return;
        nodes_.findings.insert(nodes_.findings.end(), list.findings().begin(),
                               list.findings().end());
        nodes_.electricity.add(list.views());
        const Lines piece = sums(list);
        const Measure mass = tissue_mass(piece_area), product = product_mass(mass);
        nodes_.area = piece_area;  // of two, the unrounded one comes last
        if (suffix.empty()) {
            nodes_.piece = piece;
            nodes_.tissue_mass = mass;
            nodes_.product_mass = product;
            for (const PlyNodes& ply : plies_) take_sheet(ply, piece_area);
            give_name(mass, "tissue_mass");
            give_name(piece_area, "area");
        } else {
            nodes_.exact_mass = mass;
        }
        const std::string name(product_.piece());
        nodes_.pers.push_back({"t" + suffix, divided(piece, mass, "t"), mass});
        nodes_.pers.push_back({name + suffix, piece, {}});
        if (count.known())
            nodes_.pers.push_back({"sheet" + suffix, divided(piece, count, "sheet"), count});
        const Lines* inside = &piece;
        std::vector<PerLines> levels;
        levels.reserve(product_.packed.size());
        Measure pieces;
        for (const PackingLevel& level : product_.packed) {
            pieces = pieces_in(level, pieces);
            levels.push_back({level.name + suffix,
                              multiplied(*inside, counted(level.holds), level.name), pieces, true});
            inside = &levels.back().lines;
        }
        for (PerLines& level : levels) nodes_.pers.push_back(std::move(level));
        nodes_.pers.push_back({"m2" + suffix, divided(piece, piece_area, "m2"), piece_area});
        if (product.node != mass.node)
            nodes_.pers.push_back(
                {std::string(tonne_with_core) + suffix, divided(piece, product, "t"), product});
        if (const Measure water = absorbed(mass); water.known())
            nodes_.pers.push_back(
                {"kg_absorbed" + suffix, divided(piece, water, "kg_absorbed"), water});
    }

    /// Tissue of one piece, and its core where that counts as product [t].
    Measure product_mass(const Measure& tissue) {
        const auto& core = product_.core;
        if (!core || !core->counts_as_product || !core->mass) return tissue;
        const Measure board =
            *build_.in_unit(build_.input(*core->mass), known_unit("t"), core->place);
        return build_.add(tissue, board, "mass of product = tissue + core", core->place);
    }

    /// Water that one piece takes up [kg]: tissue × absorbency; unknown without an absorbency.
    Measure absorbed(const Measure& tissue) {
        for (const Property& property : product_.properties) {
            if (property.name != "absorbency") continue;
            const Place place = property.value.place();
            const auto plain = build_.in_unit(build_.input(property.value), plain_unit(), place);
            if (!plain) {
                build_.problems.add(place, "wrong-unit",
                                    "absorbency is mass of water per mass of tissue",
                                    "for example 9.4 g/g");
                return {};
            }
            const auto kilograms = build_.in_unit(tissue, known_unit("kg"), place);
            return {build_.multiply(*kilograms, *plain, "water = tissue × absorbency", place).node,
                    known_unit("kg")};
        }
        return {};
    }

    Lines sums(const TermList& list) {
        Lines lines(book_.indicators().count());
        for (IndicatorId id = 0; id < lines.count(); ++id) {
            const Indicator& indicator = book_.indicators().at(id);
            if (indicator.kind == IndicatorKind::derived) continue;
            for (std::size_t view = 0; view < view_count; ++view) {
                lines.at(id)[view] = list.sum(id, view, indicator.unit,
                                              fmt::format("one {} of {}: tissue, core, packing",
                                                          product_.piece(), product_.id),
                                              product_.place);
            }
        }
        return lines;
    }

    template <class Make>
    Lines mapped(const Lines& lines, Make make) {
        Lines result(lines.count());
        for (IndicatorId id = 0; id < lines.count(); ++id) {
            for (std::size_t view = 0; view < view_count; ++view) {
                const NodeId node = lines.at(id)[view];
                if (node != no_node)
                    result.at(id)[view] = make(node, book_.indicators().at(id).unit);
            }
        }
        return result;
    }

    Lines divided(const Lines& lines, const Measure& by, std::string_view per) {
        return mapped(lines, [&](NodeId node, const std::string& unit) {
            return build_.graph.make(
                Operation::quotient, {node, by.node}, build_.text(fmt::format("{}/{}", unit, per)),
                build_.origin(product_.place,
                              fmt::format("per {} = per {} ÷ {} in one {}", per, product_.piece(),
                                          per, product_.piece())));
        });
    }

    Lines multiplied(const Lines& lines, const Measure& by, std::string_view per) {
        return mapped(lines, [&](NodeId node, const std::string& unit) {
            return build_.graph.make(
                Operation::product, {node, by.node}, build_.text(unit),
                build_.origin(product_.place,
                              fmt::format("one {} = what it holds × its number", per)));
        });
    }

    /// Freight to the customer, beside the footprint: per piece and per tonne of tissue.
    void add_outbound(const Measure& piece_area) {
        TermList list(build_, book_, grids_, Bringer{"outbound", base(), "other"});
        list.add_freight(delivered_mass(list, piece_area), product_.outbound, "outbound");
        if (failed()) return;
        const Lines piece = sums(list);
        nodes_.pers.push_back({std::string(product_.piece()) + "_outbound", piece, {}});
        const Measure mass = tissue_mass(piece_area), product = product_mass(mass);
        nodes_.pers.push_back({"t_outbound", divided(piece, mass, "t"), {}});
        if (product.node != mass.node)
            nodes_.pers.push_back(
                {fmt::format("{}_outbound", tonne_with_core), divided(piece, product, "t"), {}});
    }

    /// Tissue, core and packing of one piece [t]. What has no mass makes the freight "at least".
    Measure delivered_mass(TermList& list, const Measure& piece_area) {
        std::vector<NodeId> masses{tissue_mass(piece_area).node};
        if (product_.core && product_.core->mass)
            masses.push_back(build_
                                 .in_unit(build_.input(*product_.core->mass), known_unit("t"),
                                          product_.core->place)
                                 ->node);
        for_each_use([&](const Use& use, const Measure& pieces) {
            const Factor* factor = find_factor(use);
            const Measure amount = share_of(use, pieces);
            if (factor == nullptr || !amount.known()) return;
            if (const auto mass = mass_of(amount, as_delivered(*factor, use), use.place))
                masses.push_back(mass->node);
            else add_not_weighed(list, *factor, use);
        });
        return {build_.graph.make(
                    Operation::sum, masses, build_.text("t"),
                    build_.origin(product_.place, "mass delivered = tissue + core + packing")),
                known_unit("t")};
    }

    /// Mass of what goes along; of dry mass (glue, lotion) that alone: its water is gone.
    std::optional<Measure> mass_of(const Measure& amount, const std::vector<Bridge>& bridges,
                                   Place place) {
        if (const auto dry = build_.in_unit(amount, known_unit("t dry"), place)) return dry;
        return build_.across(amount, known_unit("t"), bridges, place);
    }

    void add_not_weighed(TermList& list, const Factor& factor, const Use& use) {
        const NodeId one = build_.constant(1.0, "", "1", use.place).node;
        const std::string subject = factor.address() + " (its mass)";
        for (const char* line : {"climate_fossil", "climate_biogenic", "climate_land_use"})
            list.add_own(index(line), one,
                         book_.uncovered(subject, index(line), false, {}, use.place), use.name,
                         "not covered");
    }

    Build& build_;
    FactorBook& book_;
    const std::vector<Grid>& grids_;
    const std::vector<std::unique_ptr<MillNodes>>& mills_;
    ConsumerNodes& nodes_;
    const Product& product_;
    std::vector<PlyNodes> plies_;
    std::vector<BoughtUse> bought_;  ///< of the piece that is summed
    std::size_t before_ = 0;
};

}  // namespace

const PerLines* ConsumerNodes::per(std::string_view name) const {
    const auto found = std::ranges::find_if(pers, [&](const PerLines& p) { return p.per == name; });
    return found == pers.end() ? nullptr : &*found;
}

std::string_view ConsumerNodes::product_tonne() const {
    return per(tonne_with_core) == nullptr ? std::string_view("t") : tonne_with_core;
}

std::unique_ptr<ConsumerNodes> build_product(Build& build, FactorBook& book,
                                             const std::vector<Grid>& grids,
                                             const std::vector<std::unique_ptr<MillNodes>>& mills,
                                             const Product& product) {
    auto nodes = std::make_unique<ConsumerNodes>();
    nodes->product = &product;
    ProductBuilder(build, book, grids, mills, *nodes).run();
    return nodes;
}

}  // namespace deckle
