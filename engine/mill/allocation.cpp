#include "engine/mill/allocation.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <stdexcept>

#include "engine/mill/steam_heat.h"
#include "engine/text/number_text.h"

namespace deckle {
namespace {

constexpr double default_ambient_k = 273.15;

class Allocator {
public:
    Allocator(Build& build, const Build::NameLookup& names, const ProcessNodes& process,
              std::vector<ProductNodes>& products)
        : build_(build),
          names_(names),
          process_(*process.process),
          allocation_(*process.allocation),
          members_(process.products),
          products_(products) {}

    void run() {
        if (allocation_.method == "shares") return shares();
        method_ = allocation_.method;
        if (method_ == "value_ratio" || method_ == "price") settle_value_ratio();
        if (method_ == "value_ratio") choose_by_value_ratio();
        if (method_.empty()) return;  // reported
        std::vector<Measure> weights;
        for (const std::size_t index : members_) {
            const auto weight = weight_of(products_[index]);
            if (!weight || !weight->known()) return;  // reported
            weights.push_back(*weight);
        }
        share_by(weights);
    }

    AllocationPath path;
    std::optional<Problem> misfit;  ///< why the method cannot share what these products carry

private:
    Place place() const { return allocation_.place; }

    std::nullopt_t does_not_fit(Place where, std::string code, std::string message,
                                std::string hint) {
        misfit = {where, Severity::error, std::move(code), std::move(message), std::move(hint), {}};
        return std::nullopt;
    }

    std::optional<Measure> is_no(std::string_view what, const ProductNodes& product) {
        return does_not_fit(product.made->place, "wrong-unit",
                            fmt::format("{} cannot take part in an allocation by {}: it is {}",
                                        product.id, what, product.amount.unit.dimension.text()),
                            "choose another method, or give the key that is missing");
    }

    std::optional<Measure> weight_of(const ProductNodes& product) {
        if (method_ == "mass") return mass(product);
        if (method_ == "energy") return energy(product);
        if (method_ == "exergy") return exergy(product);
        if (method_ == "price") return price(product);
        if (method_ == "reference_efficiencies") return by_efficiency(product);
        throw std::logic_error("allocation by " + method_);  // the reader knows the words
    }

    /// Highest to lowest value of all that the process makes of a product.
    void settle_value_ratio() {
        double lowest = std::numeric_limits<double>::max(), highest = 0.0;
        for (const std::size_t index : members_) {
            const auto worth = price(products_[index]);
            const auto value = worth ? build_.value_at_load(*worth) : std::nullopt;
            if (!value) return method_.clear();
            lowest = std::min(lowest, *value);
            highest = std::max(highest, *value);
        }
        path.value_ratio =
            lowest > 0.0 ? highest / lowest : std::numeric_limits<double>::infinity();
    }

    /// The path of the rule: where the highest value of a product is more than five times the
    /// lowest, by price; else by energy, or by mass. Source: PACT Methodology 3.0, allocation of
    /// co-products (ratio of economic value).
    void choose_by_value_ratio() {
        constexpr double largest_ratio = 5.0;
        method_.clear();
        if (!path.value_ratio) return;
        const double ratio = *path.value_ratio;
        const bool unlike = ratio > largest_ratio;
        const bool are_energy = std::ranges::all_of(members_, [&](std::size_t i) {
            return products_[i].family != Family::other && products_[i].family != Family::fibre;
        });
        method_ = unlike ? "price" : are_energy ? "energy" : "mass";
        path.path = fmt::format(
            "{}: the highest value of a product is {} times the lowest, {} 5, so burdens are "
            "shared "
            "by {}",
            process_.address(),
            std::isfinite(ratio) ? format_significant(ratio, 3) : std::string("any number of"),
            unlike ? "above" : "not above", method_);
    }

    /// Dry mass where every product has a dryness, else as it is.
    std::optional<Measure> mass(const ProductNodes& product) {
        const bool dry = std::ranges::all_of(
            members_, [&](std::size_t i) { return !products_[i].bridges.empty(); });
        const auto weight =
            build_.across(product.typed, known_unit(dry ? "t dry" : "t"), product.bridges, place());
        return weight ? weight : is_no("mass", product);
    }

    std::optional<Measure> energy(const ProductNodes& product) {
        for (const std::string_view unit : {"GJ", "GJ LHV"}) {
            if (auto weight = build_.in_unit(product.amount, known_unit(unit), place()))
                return Measure{weight->node, known_unit("GJ")};
        }
        return is_no("energy", product);
    }

    std::optional<Measure> exergy(const ProductNodes& product) {
        const auto heat = energy(product);
        if (!heat || product.family == Family::electricity) return heat;
        if (!product.made->steam.stated()) {
            return does_not_fit(
                product.made->place, "missing-key",
                fmt::format("the exergy of {} needs the state of the steam", product.id),
                "pressure, temperature, condensate and make_up");
        }
        const Measure mean =
            mean_temperature(build_, product.made->steam, names_, product.made->place);
        if (!mean.known()) return std::nullopt;
        const Measure ambient =
            process_.ambient ? build_.input(*process_.ambient, names_)
                             : build_.constant(default_ambient_k, "K",
                                               "ambient of an exergy allocation: 0 degC", place());
        const auto t0 = build_.in_unit(ambient, known_unit("K"), place());
        if (!t0) {
            build_.problems.add(process_.ambient->place(), "wrong-unit",
                                fmt::format("{} is no temperature", process_.ambient->scalar.text),
                                "for example 10 degC");
            return std::nullopt;
        }
        if (!t0->known()) return std::nullopt;
        const NodeId cold = build_.graph.make(Operation::quotient, {t0->node, mean.node}, 0,
                                              build_.origin(place(), "T0 / Tm"));
        const Measure one = build_.constant(1.0, "", "1", place());
        const Measure carnot =
            build_.subtract(one, {cold, {}}, "quality of the heat = 1 − T0/Tm", place());
        build_.limits.push_back({carnot.node, {}, Within::part, place(), "1 − T0/Tm", {}});
        return Measure{build_.multiply(*heat, carnot, "exergy = heat × (1 − T0/Tm)", place()).node,
                       known_unit("GJ")};
    }

    std::optional<Measure> price(const ProductNodes& product) {
        if (!product.made->price) {
            return does_not_fit(product.made->place, "missing-key",
                                fmt::format("{} has no price", product.id),
                                "price: 1400 EUR_2025/t");
        }
        const Measure price = build_.input(*product.made->price, names_);
        if (!price.known()) return std::nullopt;
        for (const Measure* amount : {&product.amount, &product.typed}) {
            const Measure value = build_.multiply(*amount, price, "value = amount × price",
                                                  product.made->price->place());
            for (const Money& money : price.unit.dimension.money()) {
                if (money.exponent != 1) continue;
                const std::string code(money.code.data(), money.code.size());
                if (auto weight = build_.in_unit(value, known_unit(code), place())) return weight;
            }
        }
        return is_no("price", product);
    }

    std::optional<Measure> by_efficiency(const ProductNodes& product) {
        const auto output = energy(product);
        const bool power = product.family == Family::electricity;
        const auto& reference = power ? allocation_.power_efficiency : allocation_.heat_efficiency;
        if (!output) return std::nullopt;
        if (!reference) throw std::logic_error("allocation without its efficiencies");
        const Measure efficiency =
            build_.ratio(build_.input(*reference, names_), reference->place());
        if (!efficiency.known()) return std::nullopt;
        return Measure{
            build_
                .divide(*output, efficiency,
                        "fuel that would make it alone = output ÷ reference efficiency", place())
                .node,
            known_unit("GJ")};
    }

    /// share = weight ÷ sum of weights.
    void share_by(std::span<const Measure> weights) {
        std::vector<NodeId> nodes;
        for (const Measure& weight : weights) {
            const auto same = build_.in_unit(weight, weights[0].unit, place());
            if (!same) {
                does_not_fit(place(), "wrong-unit",
                             "the products cannot be weighed against each other",
                             "prices in one currency and year");
                return;
            }
            nodes.push_back(same->node);
        }
        const std::string rule = fmt::format("sum over the products (allocation by {})", method_);
        const NodeId total = build_.graph.make(
            Operation::sum, nodes, build_.text(weights[0].unit.text), build_.origin(place(), rule));
        for (std::size_t i = 0; i < members_.size(); ++i) {
            const std::string what =
                fmt::format("share of {} (allocation by {})", products_[members_[i]].id, method_);
            products_[members_[i]].share = {
                build_.graph.make(Operation::quotient, {nodes[i], total}, 0,
                                  build_.origin(place(), what)),
                {}};
        }
    }

    void shares() {
        std::vector<NodeId> nodes;
        for (const NamedAmount& share : allocation_.shares) {
            const auto known = std::ranges::find_if(
                members_, [&](std::size_t i) { return products_[i].id == share.name; });
            if (known == members_.end()) {
                does_not_fit(share.place, "unknown-product",
                             fmt::format("{} does not make {}", process_.id, share.name),
                             fmt::format("it makes {}", fmt::join(made_names(), ", ")));
                return;
            }
            const Measure ratio =
                build_.ratio(build_.input(share.amount, names_), share.amount.place());
            if (!ratio.known()) return;
            products_[*known].share = ratio;
            nodes.push_back(ratio.node);
        }
        for (const std::size_t index : members_) {
            if (products_[index].share.known()) continue;
            does_not_fit(place(), "missing-key",
                         fmt::format("{} has no share", products_[index].id),
                         "every product needs one; 0 % is a share");
            return;
        }
        const NodeId total = build_.graph.make(Operation::sum, nodes, 0,
                                               build_.origin(place(), "sum of the shares"));
        build_.limits.push_back({total, {}, Within::whole, place(), "the shares", {}});
    }

    std::vector<std::string> made_names() const {
        std::vector<std::string> names;
        for (const std::size_t index : members_) names.push_back(products_[index].id);
        return names;
    }

    Build& build_;
    const Build::NameLookup& names_;
    const Process& process_;
    const Allocation& allocation_;
    const std::vector<std::size_t>& members_;
    std::vector<ProductNodes>& products_;
    std::string method_;
};

/// A product without a share would carry the whole burden.
void require_shares(const Build& build, const ProcessNodes& process,
                    const std::vector<ProductNodes>& products) {
    for (const std::size_t index : process.products) {
        if (!products[index].share.known() && build.problems.empty())
            throw std::logic_error(products[index].id + " has no share of its process");
    }
}

}  // namespace

AllocationPath allocate(Build& build, const Build::NameLookup& names, ProcessNodes& process,
                        std::vector<ProductNodes>& products) {
    if (process.products.size() < 2) return {};
    const Process& typed = *process.process;
    if (!typed.allocation) {
        build.problems.add(
            typed.place, "missing-allocation",
            fmt::format("{} makes {} products and does not say how they share its burdens",
                        typed.id, process.products.size()),
            "allocation: mass, energy, exergy, price, {reference_efficiencies: {heat, power}}, or "
            "a "
            "share for each: {steam: 60 %, power: 40 %}");
        return {};
    }
    for (process.allocation = &*typed.allocation;;
         process.allocation = process.allocation->otherwise.get()) {
        Allocator allocator(build, names, process, products);
        allocator.run();
        if (!allocator.misfit) {
            require_shares(build, process, products);
            return std::move(allocator.path);
        }
        for (const std::size_t index : process.products) products[index].share = {};
        if (process.allocation->otherwise) continue;
        Problem& why = *allocator.misfit;
        build.problems.add(why.where, why.code, why.message, why.hint);
        return {};
    }
}

}  // namespace deckle
