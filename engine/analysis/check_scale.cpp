#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <unordered_map>

#include "engine/analysis/check_parts.h"
#include "engine/graph/components.h"
#include "engine/graph/evaluate.h"

namespace deckle::checking {
namespace {

/// x of A x = b by elimination with row exchange; the loops of a loaded study are known to be
/// solvable.
std::vector<double> solved(std::vector<std::vector<double>> a, std::vector<double> b) {
    const std::size_t n = b.size();
    for (std::size_t k = 0; k < n; ++k) {
        std::size_t best = k;
        for (std::size_t i = k + 1; i < n; ++i) {
            if (std::abs(a[i][k]) > std::abs(a[best][k])) best = i;
        }
        std::swap(a[k], a[best]);
        std::swap(b[k], b[best]);
        for (std::size_t i = k + 1; i < n; ++i) {
            const double share = a[i][k] / a[k][k];
            if (share == 0.0) continue;
            for (std::size_t j = k; j < n; ++j) a[i][j] -= share * a[k][j];
            b[i] -= share * b[k];
        }
    }
    for (std::size_t k = n; k-- > 0;) {
        for (std::size_t j = k + 1; j < n; ++j) b[k] -= a[k][j] * b[j];
        b[k] /= a[k][k];
    }
    return b;
}

/// Runs of its process that one unit of a product stands for: its share ÷ the amount made.
double runs_per_unit(const CheckContext& check, const ProductNodes& product) {
    const double share = product.share.known() ? check.value(product.share) : 1.0;
    return share / check.value(product.amount);
}

/// How much of its own process's uses one unit of a product needs, by product used.
using Needs = std::vector<std::pair<std::size_t, double>>;

/// The needs of a mill's products, and the groups of products that feed each other, what feeds
/// first.
struct Network {
    std::vector<Needs> needs;
    std::vector<std::vector<std::uint32_t>> groups;
};

Network network_of(const CheckContext& check, const MillNodes& mill) {
    Network network{std::vector<Needs>(mill.products.size()), {}};
    std::vector<std::vector<std::uint32_t>> feeds(mill.products.size());
    for (std::size_t p = 0; p < mill.products.size(); ++p) {
        const double runs = runs_per_unit(check, mill.products[p]);
        for (const ResolvedUse& use : mill.processes[mill.products[p].process_index].uses) {
            if (use.product == no_index) continue;
            network.needs[p].emplace_back(use.product, runs * check.value(use.amount));
            feeds[p].push_back(static_cast<std::uint32_t>(use.product));
        }
    }
    network.groups = strong_components(feeds);
    return network;
}

constexpr std::size_t largest_dense_group = 64;

/// Demand of a large loop by repeated substitution: it converges, since a loop that has an answer
/// needs less of itself than it makes.
std::vector<double> iterated(const Network& network, const std::vector<std::uint32_t>& group,
                             const std::vector<double>& asked) {
    constexpr int most_rounds = 10000;
    std::unordered_map<std::size_t, std::size_t> place;
    for (std::size_t i = 0; i < group.size(); ++i) place[group[i]] = i;
    std::vector<double> demand = asked, next;
    for (int round = 0; round < most_rounds; ++round) {
        next = asked;
        for (std::size_t j = 0; j < group.size(); ++j) {
            for (const auto& [used, amount] : network.needs[group[j]]) {
                if (const auto i = place.find(used); i != place.end())
                    next[i->second] += demand[j] * amount;
            }
        }
        double change = 0.0, largest = 0.0;
        for (std::size_t i = 0; i < next.size(); ++i) {
            change = std::max(change, std::abs(next[i] - demand[i]));
            largest = std::max(largest, std::abs(next[i]));
        }
        std::swap(demand, next);
        if (change <= 1e-14 * largest) break;
    }
    return demand;
}

/// The same of a small loop by elimination.
std::vector<double> eliminated(const Network& network, const std::vector<std::uint32_t>& group,
                               std::vector<double> asked) {
    const std::size_t n = group.size();
    std::vector<std::vector<double>> system(n, std::vector<double>(n, 0.0));
    for (std::size_t j = 0; j < n; ++j) {
        system[j][j] += 1.0;
        for (const auto& [used, amount] : network.needs[group[j]]) {
            const auto i =
                static_cast<std::size_t>(std::ranges::lower_bound(group, used) - group.begin());
            if (i < n && group[i] == used) system[i][j] -= amount;
        }
    }
    return solved(std::move(system), std::move(asked));
}

/// demand = asked + what the processes use when they run for that demand, from those who use to
/// those who are used.
std::vector<double> demand_for(const Network& network, std::vector<double> demand) {
    for (auto group = network.groups.rbegin(); group != network.groups.rend(); ++group) {
        std::vector<double> own;
        for (const std::uint32_t p : *group) own.push_back(demand[p]);
        if (std::ranges::all_of(own, [](double one) { return one == 0.0; })) continue;
        own = group->size() <= largest_dense_group ? eliminated(network, *group, std::move(own))
                                                   : iterated(network, *group, own);
        for (std::size_t j = 0; j < group->size(); ++j) {
            for (const auto& [used, amount] : network.needs[(*group)[j]]) {
                if (!std::ranges::binary_search(*group, used)) demand[used] += own[j] * amount;
            }
        }
        for (std::size_t j = 0; j < group->size(); ++j) demand[(*group)[j]] = own[j];
    }
    return demand;
}

MillScale scaled(const CheckContext& check, const MillNodes& mill, const Network& network,
                 std::vector<double> asked, std::string per) {
    const std::size_t n = mill.products.size();
    MillScale scale{&mill, std::move(per), std::move(asked),
                    std::vector<double>(mill.processes.size(), 0.0), std::vector<double>(n, 0.0)};
    const std::vector<double> demand = demand_for(network, scale.asked);
    for (std::size_t p = 0; p < n; ++p)
        scale.runs[mill.products[p].process_index] +=
            demand[p] * runs_per_unit(check, mill.products[p]);
    for (std::size_t p = 0; p < mill.processes.size(); ++p) {
        for (const ResolvedUse& use : mill.processes[p].uses) {
            if (use.product != no_index)
                scale.used[use.product] += scale.runs[p] * check.value(use.amount);
        }
    }
    return scale;
}

/// How much of each product of a mill consumer products hold: the first factors of those terms of a
/// piece's sum whose second factor is the product's line.
class SheetFinder {
public:
    SheetFinder(const CheckContext& check, const MillNodes& mill)
        : check_(check), count_(mill.products.size()) {
        for (std::size_t p = 0; p < count_; ++p) {
            const Lines& lines = mill.products[p].lines;
            for (IndicatorId id = 0; id < lines.count(); ++id)
                product_of_[lines.at(id)[location_view]] = p;
        }
        product_of_.erase(no_node);
    }

    /// In one piece, in the unit of each product.
    std::vector<double> sheets_in(const ConsumerNodes& consumer) const {
        std::vector<double> amounts(count_, 0.0);
        for (IndicatorId id = 0; id < consumer.piece.count(); ++id) {
            const std::vector<double> of_line = in_sum(consumer.piece.at(id)[location_view]);
            for (std::size_t p = 0; p < count_; ++p)
                amounts[p] = amounts[p] == 0.0 ? of_line[p] : amounts[p];
        }
        return amounts;
    }

private:
    std::vector<double> in_sum(NodeId sum) const {
        std::vector<double> amounts(count_, 0.0);
        const Graph& graph = check_.study.graph;
        if (sum == no_node || graph.operation(sum) != Operation::sum_of_products) return amounts;
        const auto pairs = graph.arguments(sum);
        for (std::size_t i = 0; i + 1 < pairs.size(); i += 2) {
            const auto found = product_of_.find(pairs[i + 1]);
            if (found != product_of_.end()) amounts[found->second] += check_.at.value[pairs[i]];
        }
        return amounts;
    }

    const CheckContext& check_;
    std::size_t count_;
    std::unordered_map<NodeId, std::size_t> product_of_;
};

/// Pieces (rolls, bundles) of a consumer product in the study's output; 0 when it has none.
double pieces_of_output(const CheckContext& check, const ConsumerNodes& consumer) {
    const std::string& id = consumer.product->id;
    for (const Indicator& indicator : check.study.indicators) {
        const Result* period = check.study.result(id, "period", indicator.id);
        const Result* piece = check.study.result(id, consumer.piece_name, indicator.id);
        if (period == nullptr || piece == nullptr || check.at.value[piece->node] == 0.0) continue;
        return check.at.value[period->node] / check.at.value[piece->node];
    }
    return 0.0;
}

/// The study's output of a mill's own product, in its unit.
double direct_output(const CheckContext& check, const MillNodes& mill,
                     const ProductNodes& product) {
    double sum = 0.0;
    for (const Output& output : check.model.output) {
        if (output.of != product.id && output.of != mill.mill->id + "." + product.id) continue;
        sum += typed_in(output.amount, product.amount.unit.text).value_or(0.0);
    }
    return sum;
}

std::string one_unit(const ProductNodes& product) {
    return fmt::format("1 {} {}", product.amount.unit.text, product.id);
}

/// Each sheet that consumer products are made of, else each product that no process of the mill
/// uses.
std::vector<std::size_t> asked_products(const CheckContext& check, const Assembly& assembly,
                                        const MillNodes& mill) {
    std::vector<std::uint8_t> asked(mill.products.size(), 0), used(mill.products.size(), 0);
    const SheetFinder finder(check, mill);
    for (const auto& consumer : assembly.product_nodes) {
        const auto sheets = finder.sheets_in(*consumer);
        for (std::size_t p = 0; p < sheets.size(); ++p)
            asked[p] |= static_cast<std::uint8_t>(sheets[p] > 0.0);
    }
    for (const ProcessNodes& process : mill.processes) {
        for (const ResolvedUse& use : process.uses) {
            if (use.product != no_index) used[use.product] = 1;
        }
    }
    const bool any = std::ranges::any_of(asked, [](std::uint8_t one) { return one != 0; });
    std::vector<std::size_t> products;
    for (std::size_t p = 0; p < mill.products.size(); ++p) {
        if (any ? asked[p] != 0 : used[p] == 0) products.push_back(p);
    }
    return products;
}

}  // namespace

std::vector<MillScale> scales_per_product(const CheckContext& check, const Assembly& assembly,
                                          const MillNodes& mill) {
    const Network network = network_of(check, mill);
    std::vector<MillScale> scales;
    for (const std::size_t p : asked_products(check, assembly, mill)) {
        std::vector<double> one(mill.products.size(), 0.0);
        one[p] = 1.0;
        scales.push_back(scaled(check, mill, network, std::move(one), one_unit(mill.products[p])));
        scales.back().product = p;
    }
    return scales;
}

std::optional<MillScale> scale_of_output(const CheckContext& check, const MillNodes& mill) {
    std::vector<double> asked(mill.products.size(), 0.0);
    const SheetFinder finder(check, mill);
    for (const auto& consumer : check.model.product_nodes) {
        const double pieces = pieces_of_output(check, *consumer);
        if (pieces == 0.0) continue;
        const auto sheets = finder.sheets_in(*consumer);
        for (std::size_t p = 0; p < sheets.size(); ++p) asked[p] += pieces * sheets[p];
    }
    for (std::size_t p = 0; p < asked.size(); ++p)
        asked[p] += direct_output(check, mill, mill.products[p]);
    if (std::ranges::all_of(asked, [](double one) { return one == 0.0; })) return std::nullopt;
    return scaled(check, mill, network_of(check, mill), std::move(asked), "the study's output");
}

}  // namespace deckle::checking
