#include "engine/analysis/breakout.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <map>
#include <set>

#include "engine/analysis/asked.h"
#include "engine/study/coverage.h"
#include "engine/study/model.h"

namespace deckle {
namespace {

constexpr std::array<std::pair<BreakoutBy, std::string_view>, 7> names{
    {{BreakoutBy::stage, "stage"},
     {BreakoutBy::process, "process"},
     {BreakoutBy::user, "user"},
     {BreakoutBy::use, "use"},
     {BreakoutBy::factor, "factor"},
     {BreakoutBy::gas, "gas"},
     {BreakoutBy::scope, "scope"}}};
constexpr double least_total =
    0.1;  ///< of the sum of absolute amounts, for shares to mean something

/// Amounts by name, each summed in the order of the graph.
class Groups {
public:
    void add(const std::string& name, double value) {
        const auto [found, is_new] = index_.try_emplace(name, rows_.size());
        if (is_new) rows_.push_back({name, 0.0, 0.0});
        rows_[found->second].value += value;
    }
    void add_all(const Groups& other, double factor) {
        for (const Contribution& row : other.rows_) add(row.name, factor * row.value);
        open_.insert(other.open_.begin(), other.open_.end());
    }
    /// Something expected of it is not stated.
    void leave_open(const std::string& name) { open_.insert(name); }
    [[nodiscard]] std::vector<Contribution> take() { return std::move(rows_); }
    [[nodiscard]] std::vector<std::string> open() const { return {open_.begin(), open_.end()}; }

private:
    std::vector<Contribution> rows_;
    std::map<std::string, std::size_t> index_;
    std::set<std::string> open_;
};

/// What the nodes below a result leave open; asked of results that are not complete only.
class Gaps {
public:
    Gaps(const Study& study, const Result& result) {
        if (result.coverage == Coverage::complete) return;
        derived_ = study.indicators[result.indicator].kind == IndicatorKind::derived;
        reach_ = reach_of(study.graph);
    }
    [[nodiscard]] bool any() const noexcept { return !reach_.empty(); }
    [[nodiscard]] bool at(NodeId node) const {
        return any() && (reach_[node].uncovered || (reach_[node].line_only && !derived_));
    }

private:
    std::vector<Reach> reach_;
    bool derived_ = false;
};

/// Groups of burdens below a node of which something expected is not stated, sorted.
std::vector<std::string> open_groups(const Graph& graph, NodeId node, BreakoutBy by,
                                     const Gaps& gaps) {
    Groups groups;
    if (!gaps.any()) return {};
    const NodeId wanted[] = {node};
    const auto below = graph.ancestors(wanted);
    for (NodeId one = 0; one <= node; ++one) {
        const auto tags = graph.tags(one);
        for (std::size_t term = 0; below[one] != 0 && term < tags.size(); ++term) {
            if (tags[term].is_burden() && gaps.at(graph.arguments(one)[2 * term + 1]))
                groups.leave_open(group_of(graph, tags[term], by));
        }
    }
    return groups.open();
}

/// The terms of one sum by use, the thing used with all that stands behind it.
Groups terms_by_use(const Study& study, const Evaluation& at, NodeId sum, const Gaps& gaps) {
    Groups groups;
    if (sum == no_node) return groups;
    const Graph& graph = study.graph;
    const auto tags = graph.tags(sum);
    const auto pairs = graph.arguments(sum);
    for (std::size_t term = 0; term < tags.size(); ++term) {
        const std::string& use = graph.text_of(tags[term].use);
        groups.add(use, at.value[pairs[2 * term]] * at.value[pairs[2 * term + 1]]);
        if (gaps.at(pairs[2 * term + 1])) groups.leave_open(use);
    }
    return groups;
}

/// `--by user`: what the process of a product buys, scaled to the result.
class WhatIsBought {
public:
    WhatIsBought(const Study& study, const Evaluation& at, const Result& result, NodeId node,
                 const Gaps& gaps)
        : study_(study),
          at_(at),
          result_(result),
          gaps_(gaps),
          assembly_(assembly_of(study, result.scenario)),
          node_(node),
          view_(node == result.market ? market_view : location_view) {}

    Groups run() {
        if (const ConsumerNodes* product = consumer()) return of_consumer(*product);
        for (const auto& mill : assembly_.mill_nodes) {
            for (const ProductNodes& product : mill->products) {
                if (is_subject(*mill, product)) return of_mill_product(*mill, product);
            }
        }
        refuse_question("no-break-out", fmt::format("{} is of no single process", result_.address),
                        "ask for one product, or for what one process makes");
    }

private:
    const ConsumerNodes* consumer() const {
        for (const auto& product : assembly_.product_nodes) {
            if (product->product->id == result_.of) return product.get();
        }
        return nullptr;
    }

    bool is_subject(const MillNodes& mill, const ProductNodes& product) const {
        return product.id == result_.of ||
               fmt::format("{}.{}", mill.mill->id, product.id) == result_.of;
    }

    /// The carried lines that make up the indicator asked for, with their weights.
    std::vector<std::pair<IndicatorId, double>> parts(IndicatorId id) const {
        const Indicator& indicator = study_.indicators_of(result_.scenario)[id];
        if (indicator.kind != IndicatorKind::derived) return {{id, 1.0}};
        std::vector<std::pair<IndicatorId, double>> all;
        for (const Indicator::Part& part : indicator.parts) {
            for (const auto& [line, weight] : parts(part.of))
                all.emplace_back(line, weight * part.numerator / part.denominator);
        }
        return all;
    }

    template <class LinesOf>
    Groups weighted(LinesOf lines_of, double factor) const {
        Groups groups;
        for (const auto& [line, weight] : parts(result_.indicator)) {
            groups.add_all(terms_by_use(study_, at_, lines_of(line), gaps_), weight * factor);
        }
        return groups;
    }

    /// How many units of the product stand behind the result: 1, the output of a period, a
    /// function.
    double units_behind() const {
        for (const Result& unit : study_.results) {
            if (unit.scenario != result_.scenario || unit.of != result_.of ||
                unit.indicator != result_.indicator)
                continue;
            const double value = at_.value[view_ == market_view ? unit.market : unit.location];
            return value == 0.0 ? 0.0 : at_.value[node_] / value;  // the first is per its own unit
        }
        return 1.0;
    }

    /// One unit of the product: terms × share ÷ amount made; carbon held is a line of its own.
    Groups of_mill_product(const MillNodes& mill, const ProductNodes& product) const {
        const ProcessNodes& process = mill.processes[product.process_index];
        const double share = product.share.known() ? at_.value[product.share.node] : 1.0;
        const double factor = share / at_.value[product.amount.node] * units_behind();
        Groups groups =
            weighted([&](IndicatorId line) { return process.totals.at(line)[view_]; }, factor);
        for (const auto& [line, weight] : parts(result_.indicator)) {
            const NodeId held = product.lines.at(line)[view_];
            if (study_.indicators[line].kind != IndicatorKind::held || held == no_node) continue;
            groups.add("carbon held", weight * at_.value[held] * units_behind());
            if (gaps_.at(held)) groups.leave_open("carbon held");
        }
        return groups;
    }

    /// A piece's own uses, and for its sheets what their process buys; scaled to the unit asked
    /// for.
    Groups of_consumer(const ConsumerNodes& product) const {
        Groups groups;
        const double piece = piece_factor(product);
        for (const auto& [line, weight] : parts(result_.indicator)) {
            const NodeId sum = product.piece.at(line)[view_];
            if (sum == no_node) continue;
            const auto tags = study_.graph.tags(sum);
            const auto pairs = study_.graph.arguments(sum);
            for (std::size_t term = 0; term < tags.size(); ++term) {
                const double value =
                    weight * piece * at_.value[pairs[2 * term]] * at_.value[pairs[2 * term + 1]];
                const std::string& use = study_.graph.text_of(tags[term].use);
                if (!tags[term].is_burden()) {
                    spread_sheet(groups, pairs[2 * term + 1], line, value);
                    continue;
                }
                groups.add(use, value);
                if (gaps_.at(pairs[2 * term + 1])) groups.leave_open(use);
            }
        }
        return groups;
    }

    /// The value of a sheet as the terms of its process.
    void spread_sheet(Groups& groups, NodeId sheet_line, IndicatorId line, double value) const {
        for (const auto& mill : assembly_.mill_nodes) {
            for (const ProductNodes& product : mill->products) {
                if (product.lines.at(line)[view_] != sheet_line || at_.value[sheet_line] == 0.0)
                    continue;
                const ProcessNodes& process = mill->processes[product.process_index];
                const NodeId total = process.totals.at(line)[view_];
                groups.add_all(terms_by_use(study_, at_, total, gaps_), value / at_.value[total]);
                return;
            }
        }
    }

    /// How many pieces stand behind one unit of the result: its value over the piece's.
    double piece_factor(const ConsumerNodes& product) const {
        double total = 0.0;
        for (const auto& [line, weight] : parts(result_.indicator)) {
            const NodeId sum = product.piece.at(line)[view_];
            if (sum != no_node) total += weight * at_.value[sum];
        }
        return total == 0.0 ? 0.0 : at_.value[node_] / total;
    }

    const Study& study_;
    const Evaluation& at_;
    const Result& result_;
    const Gaps& gaps_;
    const Assembly& assembly_;
    NodeId node_;
    std::size_t view_;
};

void settle_shares(Breakout& breakout) {
    double absolute = 0.0;
    for (const Contribution& row : breakout.rows) absolute += std::abs(row.value);
    breakout.shares = breakout.total != 0.0 && std::abs(breakout.total) >= least_total * absolute;
    for (Contribution& row : breakout.rows)
        row.share = breakout.shares ? row.value / breakout.total : 0.0;
    const bool by_number = breakout.by == BreakoutBy::scope;
    std::ranges::stable_sort(breakout.rows, [&](const Contribution& a, const Contribution& b) {
        if (by_number) return a.name < b.name;
        return std::abs(a.value) != std::abs(b.value) ? std::abs(a.value) > std::abs(b.value)
                                                      : a.name < b.name;
    });
}

}  // namespace

std::string_view name_of(BreakoutBy by) noexcept {
    for (const auto& [value, name] : names) {
        if (value == by) return name;
    }
    return {};
}

std::optional<BreakoutBy> breakout_by(std::string_view name) noexcept {
    for (const auto& [value, text] : names) {
        if (text == name) return value;
    }
    return std::nullopt;
}

std::string group_of(const Graph& graph, const Tag& tag, BreakoutBy by) {
    const auto text = [&](TextId id) { return graph.text_of(id); };
    switch (by) {
        case BreakoutBy::stage: return text(tag.stage);
        case BreakoutBy::process: return text(tag.process);
        case BreakoutBy::use: return text(tag.process) + ": " + text(tag.use);
        case BreakoutBy::factor: return tag.factor == 0 ? text(tag.use) : text(tag.factor);
        case BreakoutBy::gas: return text(tag.gas);
        case BreakoutBy::scope: return text(tag.scope);
        case BreakoutBy::user: return text(tag.use);
    }
    return {};
}

std::vector<Burden> burdens_of(const Study& study, const Evaluation& at, NodeId node) {
    const Graph& graph = study.graph;
    const auto slope = derivatives(graph, at, node);
    std::vector<Burden> all;
    for (NodeId one = 0; one <= node; ++one) {
        const auto tags = graph.tags(one);
        if (tags.empty() || slope[one] == 0.0) continue;
        const auto pairs = graph.arguments(one);
        for (std::size_t term = 0; term < tags.size(); ++term) {
            if (!tags[term].is_burden()) continue;
            const double value =
                at.value[pairs[2 * term]] * at.value[pairs[2 * term + 1]] * slope[one];
            if (value != 0.0) all.push_back({tags[term], pairs[2 * term], value});
        }
    }
    return all;
}

Breakout grouped(const Graph& graph, const std::vector<Burden>& burdens, BreakoutBy by) {
    Groups groups;
    Breakout breakout;
    breakout.by = by;
    for (const Burden& burden : burdens) {
        groups.add(group_of(graph, burden.tag, by), burden.value);
        breakout.total += burden.value;
    }
    breakout.rows = groups.take();
    settle_shares(breakout);
    return breakout;
}

Breakout break_out(const Study& study, const Evaluation& at, const Result& result, NodeId node,
                   BreakoutBy by) {
    const Degree degree = study.graph.degree(node);
    if (degree != Degree::one && degree != Degree::any) {
        refuse_question("no-break-out",
                        fmt::format("{} is a ratio and has no break-out", result.address),
                        "break out its numerator");
    }
    Breakout breakout;
    breakout.by = by;
    const Gaps gaps(study, result);
    if (by == BreakoutBy::user) {
        Groups groups = WhatIsBought(study, at, result, node, gaps).run();
        breakout.open = groups.open();
        breakout.rows = groups.take();
    } else {
        breakout = grouped(study.graph, burdens_of(study, at, node), by);
        breakout.open = open_groups(study.graph, node, by, gaps);
    }
    breakout.total = at.value[node];
    settle_shares(breakout);
    return breakout;
}

}  // namespace deckle
