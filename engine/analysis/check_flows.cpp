#include <fmt/format.h>

#include <algorithm>

#include "engine/analysis/check_parts.h"

namespace deckle::checking {
namespace {

constexpr double kilograms_per_m3 = 1000.0;  // of water, at any temperature a mill meters it at

bool is_kind(const ResolvedUse& use, std::initializer_list<std::string_view> kinds) {
    return use.factor != nullptr && use.factor->kind != nullptr &&
           std::ranges::find(kinds, use.factor->kind->name) != kinds.end();
}

bool is_energy(Family family) {
    return family == Family::heat || family == Family::electricity || family == Family::fuel;
}

/// Collects the flows of one process for one balance. What moves is told by `of`: how much of the
/// balance's unit a mass with its bridges holds.
class FlowList {
public:
    FlowList(const CheckContext& check, const MillNodes& mill, const ProcessNodes& process)
        : check_(check), mill_(mill), process_(process) {}

    std::optional<Flows> water() {
        for (const auto& flow : process_.takes_in) add("", check_.value(flow.amount));
        for (const auto& flow : process_.gives_back) add("", -check_.value(flow.amount));
        for (const auto& [what, amount] : process_.leaves) {
            if (what->name == "vapour") add("", -check_.value(amount));
        }
        const bool metered = !flows_.all.empty();
        for (const ResolvedUse& use : process_.uses) add_use(use, moisture_of(use));
        const std::size_t before = flows_.all.size();
        for (const std::size_t p : process_.products) {
            if (product(p).family != Family::heat)
                add_product(p, moisture(product(p).typed, product(p).bridges));
        }
        add_returns(&FlowList::moisture);
        if (metered || flows_.all.size() != before) return std::move(flows_);
        if (!takes_fibre()) return std::nullopt;
        missing("no water and no dryness are stated");
        return std::move(flows_);
    }

    std::optional<Flows> dry_solids() {
        if (!makes_fibre()) return unknown_sheet("dryness");
        for (const ResolvedUse& use : process_.uses) {
            const double dry = dry_mass(use.amount, bridges_of(use));
            if (use.family == Family::fibre && dry == 0.0)
                missing(fmt::format("the dryness of {} is not stated", use.use->name));
            add_use(use, dry);
        }
        if (flows_.all.empty()) return std::nullopt;
        for (const std::size_t p : process_.products) {
            const double dry = dry_mass(product(p).typed, product(p).bridges);
            if (product(p).family == Family::fibre && dry == 0.0)
                missing(fmt::format("the dryness of {} is not stated", product(p).id));
            add_product(p, dry);
        }
        add_returns(&FlowList::dry_mass);
        add_solids();
        return std::move(flows_);
    }

    std::optional<Flows> biogenic_carbon() {
        if (!makes_fibre()) return unknown_sheet("composition");
        for (const ResolvedUse& use : process_.uses) add_carbon_of(use);
        for (const std::size_t p : process_.products) {
            if (product(p).family != Family::fibre) continue;
            if (!states_carbon(check_, product(p)))
                missing(fmt::format("{} does not state its carbon", product(p).id));
            else
                add_product(p,
                            check_.at.value[product(p).carbon] * check_.value(product(p).amount));
        }
        for (const auto& [name, amount] : process_.returns) {
            add(name->name, -dry_mass(amount, bridges_of_return(process_)) * carbon_of_dry_mass());
        }
        return std::move(flows_);
    }

    std::optional<Flows> energy() {
        if (process_.products.empty()) return std::nullopt;
        for (const std::size_t p : process_.products) {
            if (!is_energy(product(p).family)) return unknown_energy();
        }
        for (const ResolvedUse& use : process_.uses) {
            if (!is_energy(use.family)) continue;
            const auto amount = gigajoules(use.amount, bridges_of(use));
            if (!amount)
                missing(fmt::format("the lower heating value of {} is not stated", use.use->name));
            add(use.product == no_index ? "" : mill_.products[use.product].id,
                amount.value_or(0.0));
        }
        for (const std::size_t p : process_.products) {
            const auto amount = gigajoules(product(p).amount, product(p).bridges);
            if (!amount)
                missing(fmt::format("{} is not counted on the lower heating value", product(p).id));
            add_product(p, amount.value_or(0.0));
        }
        return std::move(flows_);
    }

private:
    const ProductNodes& product(std::size_t p) const { return mill_.products[p]; }

    void add(std::string_view thing, double amount, bool solids = false) {
        if (amount != 0.0) flows_.all.push_back({std::string(thing), amount, solids});
    }

    void missing(std::string why) {
        if (flows_.missing.empty()) flows_.missing = std::move(why);
    }

    /// Waste is a service that is used, and what it takes away goes out. Fuel is burned: its
    /// moisture goes up the stack and its mass is no fibre. Packaging and spare parts do not enter
    /// the sheet.
    void add_use(const ResolvedUse& use, double amount) {
        if (is_kind(use, {"waste"})) return add("", -amount, true);
        if (use.product != no_index) return add(product(use.product).id, amount);
        if (use.returned) return add(use.use->thing, amount);
        if (is_kind(use, {"fibre", "recovered_fibre", "chemical"})) add("", amount);
    }

    void add_product(std::size_t p, double amount) { add(product(p).id, -amount); }

    void add_returns(double (FlowList::*of)(const Measure&, std::span<const Bridge>) const) {
        for (const auto& [name, amount] : process_.returns)
            add(name->name, -(this->*of)(amount, bridges_of_return(process_)));
    }

    void add_solids() {
        for (const auto& [what, amount] : process_.leaves) {
            if (what->name == "solids") add("", -check_.value(amount), true);
        }
    }

    bool makes_fibre() const {
        return std::ranges::any_of(
            process_.products, [&](std::size_t p) { return product(p).family == Family::fibre; });
    }

    bool takes_fibre() const {
        return std::ranges::any_of(
            process_.uses, [](const ResolvedUse& use) { return use.family == Family::fibre; });
    }

    /// The first product whose kind nobody states; nullptr when all do.
    const ProductNodes* of_unknown_kind() const {
        for (const std::size_t p : process_.products) {
            if (product(p).family == Family::other && product(p).made->kind.empty())
                return &product(p);
        }
        return nullptr;
    }

    /// Fibre goes in, and what comes out does not say that it is a sheet.
    std::optional<Flows> unknown_sheet(std::string_view lacks) {
        const ProductNodes* sheet = takes_fibre() ? of_unknown_kind() : nullptr;
        if (sheet == nullptr) return std::nullopt;
        missing(fmt::format("{} states no {}", sheet->id, lacks));
        return std::move(flows_);
    }

    /// Fuel alone goes in, and what comes out does not say that it is energy.
    std::optional<Flows> unknown_energy() {
        const auto burns = [](const ResolvedUse& use) { return use.family == Family::fuel; };
        const auto drives = [](const ResolvedUse& use) { return is_energy(use.family); };
        const ProductNodes* heat =
            std::ranges::any_of(process_.uses, burns) && std::ranges::all_of(process_.uses, drives)
                ? of_unknown_kind()
                : nullptr;
        if (heat == nullptr) return std::nullopt;
        missing(fmt::format("{} does not say of which kind it is", heat->id));
        return std::move(flows_);
    }

    /// What is returned is trim and broke: as dry as the sheet that the process makes.
    std::span<const Bridge> bridges_of_return(const ProcessNodes& process) const {
        for (const std::size_t p : process.products) {
            if (product(p).family == Family::fibre) return product(p).bridges;
        }
        return {};
    }

    /// Those of the use, or, of something returned that does not state its dryness, those it was
    /// returned with.
    std::span<const Bridge> bridges_of(const ResolvedUse& use) const {
        if (!use.returned || !use.bridges.empty()) return use.bridges;
        for (const ProcessNodes& other : mill_.processes) {
            for (const NamedAmount& one : other.process->returns) {
                if (one.name == use.use->thing) return bridges_of_return(other);
            }
        }
        return {};
    }

    // --- how much of it a mass holds ---
    double dry_mass(const Measure& measure, std::span<const Bridge> bridges) const {
        return in_unit(check_, measure, "kg dry", bridges).value_or(0.0);
    }

    double moisture(const Measure& measure, std::span<const Bridge> bridges) const {
        const auto whole = in_unit(check_, measure, "kg", bridges);
        const auto dry = in_unit(check_, measure, "kg dry", bridges);
        return whole && dry ? (*whole - *dry) / kilograms_per_m3 : 0.0;
    }

    /// Water that comes with a use, of the dryness it arrives with.
    double moisture_of(const ResolvedUse& use) const {
        if (use.returned) return moisture(use.amount, bridges_of(use));
        const auto dry = in_unit(check_, use.amount, "kg dry", use.bridges);
        const auto share = std::ranges::find(use.delivered, "dryness", &Bridge::name);
        if (!dry || share == use.delivered.end()) return 0.0;
        return (*dry / check_.value(share->measure) - *dry) / kilograms_per_m3;
    }

    std::optional<double> gigajoules(const Measure& measure,
                                     std::span<const Bridge> bridges) const {
        const auto lower = in_unit(check_, measure, "GJ LHV", bridges);
        return lower ? lower : in_unit(check_, measure, "GJ");
    }

    // --- carbon ---
    void add_carbon_of(const ResolvedUse& use) {
        if (use.product != no_index) {
            const ProductNodes& used = product(use.product);
            if (used.family != Family::fibre) return;
            if (!states_carbon(check_, used))
                return missing(fmt::format("{} does not state its carbon", used.id));
            return add(used.id, check_.at.value[used.carbon] * check_.value(use.amount));
        }
        if (use.returned)
            return add(use.use->thing,
                       dry_mass(use.amount, bridges_of(use)) * carbon_of_dry_mass());
        if (!is_kind(use, {"fibre", "recovered_fibre", "chemical"})) return;
        const FactorEntry* stated = use.factor->entry("biogenic_carbon");
        if (stated == nullptr) {
            if (use.family == Family::fibre)
                missing(fmt::format("{} does not state biogenic_carbon", use.factor->address()));
            return;
        }
        const Quantity& per = use.factor->per->amount.quantity;
        const auto as_it_is = typed_in(stated->stated, "kg");
        const double carbon =
            (as_it_is ? *as_it_is : typed_in(stated->stated, "kg dry").value_or(0.0)) / per.value;
        add("", carbon * in_unit(check_, use.amount, per.unit.text, bridges_of(use)).value_or(0.0));
    }

    /// kg of carbon in a kg of dry matter of what the process makes.
    double carbon_of_dry_mass() const {
        for (const std::size_t p : process_.products) {
            const double dry = dry_mass(product(p).amount, product(p).bridges);
            if (states_carbon(check_, product(p)) && dry > 0.0)
                return check_.at.value[product(p).carbon] * check_.value(product(p).amount) / dry;
        }
        return 0.0;
    }

    const CheckContext& check_;
    const MillNodes& mill_;
    const ProcessNodes& process_;
    Flows flows_;
};

}  // namespace

double Flows::in() const {
    double sum = 0.0;
    for (const Flow& flow : all) sum += std::max(flow.amount, 0.0);
    return sum;
}

double Flows::out() const {
    double sum = 0.0;
    for (const Flow& flow : all) sum -= std::min(flow.amount, 0.0);
    return sum;
}

double Flows::solids() const {
    double sum = 0.0;
    for (const Flow& flow : all) sum -= flow.solids ? flow.amount : 0.0;
    return sum;
}

std::optional<Flows> flows_of(const CheckContext& check, BalanceKind kind, const MillNodes& mill,
                              const ProcessNodes& process) {
    FlowList list(check, mill, process);
    switch (kind) {
        case BalanceKind::water: return list.water();
        case BalanceKind::energy: return list.energy();
        case BalanceKind::dry_solids: return list.dry_solids();
        case BalanceKind::biogenic_carbon: return list.biogenic_carbon();
    }
    return std::nullopt;
}

bool states_carbon(const CheckContext& check, const ProductNodes& product) {
    if (product.carbon == no_node) return false;
    return std::ranges::none_of(check.study.graph.not_covered(), [&](const NotCovered& mark) {
        return mark.node == product.carbon;
    });
}

std::string_view unit_of(BalanceKind kind) noexcept {
    switch (kind) {
        case BalanceKind::water: return "m3";
        case BalanceKind::energy: return "GJ";
        case BalanceKind::dry_solids: return "kg dry";
        case BalanceKind::biogenic_carbon: return "kg C";
    }
    return {};
}

std::string_view name_of(BalanceKind kind) noexcept {
    switch (kind) {
        case BalanceKind::water: return "water";
        case BalanceKind::energy: return "energy";
        case BalanceKind::dry_solids: return "dry_solids";
        case BalanceKind::biogenic_carbon: return "biogenic_carbon";
    }
    return {};
}

}  // namespace deckle::checking
