#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "engine/analysis/check_parts.h"
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

/// demand = asked + what the processes use when they run for that demand.
MillScale scaled(const CheckContext& check, const MillNodes& mill, std::vector<double> asked,
                 std::string per) {
    const std::size_t n = mill.products.size();
    std::vector<std::vector<double>> system(n, std::vector<double>(n, 0.0));
    for (std::size_t j = 0; j < n; ++j) {
        system[j][j] += 1.0;
        const double runs = runs_per_unit(check, mill.products[j]);
        for (const ResolvedUse& use : mill.processes[mill.products[j].process_index].uses) {
            if (use.product != no_index) system[use.product][j] -= runs * check.value(use.amount);
        }
    }
    MillScale scale{&mill,
                    std::move(per),
                    std::move(asked),
                    std::vector<double>(mill.processes.size(), 0.0),
                    std::vector<double>(n, 0.0),
                    std::vector<double>(n, 0.0)};
    const std::vector<double> demand = solved(std::move(system), scale.asked);
    for (std::size_t j = 0; j < n; ++j)
        scale.runs[mill.products[j].process_index] +=
            demand[j] * runs_per_unit(check, mill.products[j]);
    for (std::size_t j = 0; j < n; ++j)
        scale.made[j] =
            scale.runs[mill.products[j].process_index] * check.value(mill.products[j].amount);
    for (std::size_t p = 0; p < mill.processes.size(); ++p) {
        for (const ResolvedUse& use : mill.processes[p].uses) {
            if (use.product != no_index)
                scale.used[use.product] += scale.runs[p] * check.value(use.amount);
        }
    }
    return scale;
}

/// How much of each product of a mill one piece of a consumer product holds: the first factors of
/// those terms of the piece's sum whose second factor is the product's line.
std::vector<double> sheets_in(const CheckContext& check, const MillNodes& mill,
                              const ConsumerNodes& consumer) {
    std::vector<double> amounts(mill.products.size(), 0.0);
    const Graph& graph = check.study.graph;
    for (std::size_t p = 0; p < amounts.size(); ++p) {
        const Lines& lines = mill.products[p].lines;
        for (IndicatorId id = 0; id < lines.count() && amounts[p] == 0.0; ++id) {
            const NodeId line = lines.at(id)[location_view];
            const NodeId sum =
                consumer.piece.count() > id ? consumer.piece.at(id)[location_view] : no_node;
            if (line == no_node || sum == no_node ||
                graph.operation(sum) != Operation::sum_of_products)
                continue;
            const auto pairs = graph.arguments(sum);
            for (std::size_t i = 0; i + 1 < pairs.size(); i += 2) {
                if (pairs[i + 1] == line) amounts[p] += check.at.value[pairs[i]];
            }
        }
    }
    return amounts;
}

/// Pieces (rolls, bundles) of a consumer product in the study's output; 0 when it has none.
double pieces_of_output(const CheckContext& check, const ConsumerNodes& consumer) {
    const std::string& id = consumer.product->id;
    for (const Result& period : check.study.results) {
        if (period.of != id || period.per != "period") continue;
        const Result* piece = check.study.result(id, consumer.piece_name,
                                                 check.study.indicators[period.indicator].id);
        if (piece == nullptr || check.at.value[piece->node] == 0.0) continue;
        return check.at.value[period.node] / check.at.value[piece->node];
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

}  // namespace

std::vector<MillScale> scales_per_product(const CheckContext& check, const MillNodes& mill) {
    std::vector<std::uint8_t> asked(mill.products.size(), 0), used(mill.products.size(), 0);
    for (const auto& consumer : check.model.product_nodes) {
        const auto sheets = sheets_in(check, mill, *consumer);
        for (std::size_t p = 0; p < sheets.size(); ++p)
            asked[p] |= static_cast<std::uint8_t>(sheets[p] > 0.0);
    }
    for (const ProcessNodes& process : mill.processes) {
        for (const ResolvedUse& use : process.uses) {
            if (use.product != no_index) used[use.product] = 1;
        }
    }
    const bool any = std::ranges::any_of(asked, [](std::uint8_t one) { return one != 0; });
    std::vector<MillScale> scales;
    for (std::size_t p = 0; p < mill.products.size(); ++p) {
        if (any ? asked[p] == 0 : used[p] != 0) continue;
        std::vector<double> one(mill.products.size(), 0.0);
        one[p] = 1.0;
        scales.push_back(scaled(check, mill, std::move(one), one_unit(mill.products[p])));
        scales.back().product = p;
    }
    return scales;
}

std::optional<MillScale> scale_of_output(const CheckContext& check, const MillNodes& mill) {
    std::vector<double> asked(mill.products.size(), 0.0);
    for (const auto& consumer : check.model.product_nodes) {
        const double pieces = pieces_of_output(check, *consumer);
        if (pieces == 0.0) continue;
        const auto sheets = sheets_in(check, mill, *consumer);
        for (std::size_t p = 0; p < sheets.size(); ++p) asked[p] += pieces * sheets[p];
    }
    for (std::size_t p = 0; p < asked.size(); ++p)
        asked[p] += direct_output(check, mill, mill.products[p]);
    if (std::ranges::all_of(asked, [](double one) { return one == 0.0; })) return std::nullopt;
    return scaled(check, mill, std::move(asked), "the study's output");
}

std::vector<MillScale> scales_for_mixes(const CheckContext& check, const MillNodes& mill) {
    if (auto whole = scale_of_output(check, mill)) return {std::move(*whole)};
    return scales_per_product(check, mill);
}

}  // namespace deckle::checking
