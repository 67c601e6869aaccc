#include "engine/analysis/sensitivity.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <tuple>
#include <utility>

#include "engine/analysis/rests_on.h"
#include "engine/analysis/rounding.h"
#include "engine/analysis/what_if.h"
#include "engine/graph/draws.h"
#include "engine/quantity/quantity.h"

namespace deckle {
namespace {

constexpr double lower_end = 0.025, upper_end = 0.975;
constexpr std::size_t most_without_spread = 3;

constexpr std::array<std::pair<SensitivityRank, std::string_view>, 3> rank_names{
    {{SensitivityRank::share, "share"},
     {SensitivityRank::elasticity, "elasticity"},
     {SensitivityRank::swing, "swing"}}};

/// Within the bounds of an input; tells when that moves it.
double within(Bounds bounds, double value, bool& cut) {
    const double kept = std::clamp(value, bounds.low, bounds.high);
    cut |= kept != value;
    return kept;
}

/// Where the scale that an input was typed on has its zero: of degC 273.15 K, of barg 101 325 Pa.
double typed_zero(const Graph& graph, const Input& input) {
    auto parsed = parse_quantity(graph.text_of(input.typed));
    if (!parsed.quantity || parsed.quantity->unit.offset == Offset::none) return 0.0;
    parsed.quantity->value = 0.0;
    return without_offset(*parsed.quantity).value;
}

Interval moved_by(const Graph& graph, const Input& input, double value, double step) {
    const double half_width = step * std::abs(value - typed_zero(graph, input));
    Interval interval{value, value};
    interval.low = within(input.bounds, value - half_width, interval.cut);
    interval.high = within(input.bounds, value + half_width, interval.cut);
    return interval;
}

std::optional<double> result_at(const Input& input, double value, NodeId node, WhatIf& what_if,
                                std::string& why) {
    const Evaluation* there = what_if.at({{input.node, value}});
    if (there != nullptr) return there->value[node];
    why = what_if.why();
    return std::nullopt;
}

/// What an input adds to the standard uncertainty by itself, with its sign.
double part_of(const InputSensitivity& one) { return one.derivative * one.deviation; }

/// Shares of the variance of what these inputs add to first order, and the root of the variance.
/// A correlated input has half of every term it has in common with another (JCGM 100:2008, 5.2.2).
/// An uncertainty that the rounding of a figure of this value explains is none.
double settle_shares(const Graph& graph, double value, std::vector<InputSensitivity>& inputs) {
    std::vector<double> along(inputs.size());  // of each input, with what goes along with it
    for (std::size_t i = 0; i < inputs.size(); ++i) along[i] = part_of(inputs[i]);
    for (std::size_t i = 0; i < inputs.size(); ++i) {
        const TextId address = inputs[i].input->addresses.front();
        if (!graph.correlation_of(address).known()) continue;
        for (std::size_t j = 0; j < inputs.size(); ++j) {
            if (i != j)
                along[i] += graph.correlation(address, inputs[j].input->addresses.front()) *
                            part_of(inputs[j]);
        }
    }
    double variance = 0.0;
    for (std::size_t i = 0; i < inputs.size(); ++i) {
        inputs[i].share = part_of(inputs[i]) * along[i];
        variance += inputs[i].share;
    }
    const double uncertainty = std::sqrt(std::max(variance, 0.0));
    const bool moves = uncertainty > rounding_of(value, value);
    for (InputSensitivity& one : inputs) one.share = moves ? one.share / variance : 0.0;
    return moves ? uncertainty : 0.0;
}

/// Largest first; of equal ones that with the larger elasticity, then by address.
void rank(std::vector<InputSensitivity>& inputs, SensitivityRank by) {
    const auto key = [&](const InputSensitivity& one) {
        const double elasticity = std::abs(one.elasticity.value_or(0.0));
        const double first = by == SensitivityRank::share   ? std::abs(one.share)
                             : by == SensitivityRank::swing ? one.swing.width()
                                                            : elasticity;
        return std::tuple(-first, -elasticity, std::string_view(one.address));
    };
    std::ranges::sort(inputs, [&](const auto& a, const auto& b) { return key(a) < key(b); });
}

void add_swings(const Study& study, const Evaluation& at, Sensitivity& found) {
    const NodeId figures[] = {found.asked.node};
    WhatIf what_if(study.graph, figures);
    for (InputSensitivity& one : found.inputs)
        one.swing = swing_of(at, found.asked.node, *one.input, found.question.step, what_if);
}

/// Of the ranked inputs; a ranking by share puts these last, however much they move the result.
void note_without_spread(Sensitivity& found) {
    for (const InputSensitivity& one : found.inputs) {
        if (found.without_spread.size() == most_without_spread) return;
        if (one.deviation == 0.0 && one.elasticity.value_or(0.0) != 0.0)
            found.without_spread.emplace_back(one.address, *one.elasticity);
    }
}

void keep_largest(Sensitivity& found) {
    const std::size_t most = found.question.largest;
    if (most != 0 && found.inputs.size() > most)
        found.inputs.erase(found.inputs.begin() + static_cast<std::ptrdiff_t>(most),
                           found.inputs.end());
}

}  // namespace

std::optional<SensitivityRank> sensitivity_rank(std::string_view name) noexcept {
    for (const auto& [value, text] : rank_names) {
        if (text == name) return value;
    }
    return std::nullopt;
}

std::string_view name_of(SensitivityRank rank) noexcept {
    return rank_names[static_cast<std::size_t>(rank)].second;
}

double Swing::width() const noexcept {
    return at_from && at_to ? std::abs(*at_to - *at_from) : 0.0;
}

Interval interval_95(const Input& input, const Evaluation& at) {
    Interval interval{at.value[input.node], at.value[input.node]};
    if (input.spread.kind == SpreadKind::none) return interval;
    interval.low = within(input.bounds, value_at(input, at.value, lower_end), interval.cut);
    interval.high = within(input.bounds, value_at(input, at.value, upper_end), interval.cut);
    if (interval.high < interval.low)
        std::swap(interval.low, interval.high);  // of a negative median
    return interval;
}

Swing swing_of(const Evaluation& at, NodeId node, const Input& input, double step,
               WhatIf& what_if) {
    const Graph& graph = what_if.graph();
    Swing swing;
    swing.of_spread = input.spread.kind != SpreadKind::none;
    const Interval interval = swing.of_spread ? interval_95(input, at)
                                              : moved_by(graph, input, at.value[input.node], step);
    swing.from = interval.low;
    swing.to = interval.high;
    swing.cut = interval.cut;
    swing.at_from = result_at(input, swing.from, node, what_if, swing.why);
    swing.at_to = result_at(input, swing.to, node, what_if, swing.why);
    if (swing.at_from) swing.change_from = *swing.at_from - at.value[node];
    if (swing.at_to) swing.change_to = *swing.at_to - at.value[node];
    return swing;
}

VarianceBudget variance_budget(const Graph& graph, const Evaluation& at, NodeId node) {
    return variance_budget(graph, at, std::span<const NodeId>(&node, 1));
}

VarianceBudget variance_budget(const Graph& graph, const Evaluation& at,
                               std::span<const NodeId> terms) {
    std::vector<double> slope(graph.size());
    std::vector<Rests> rests(graph.size());
    double value = 0.0;
    for (const NodeId term : terms) {
        const auto slope_of_term = derivatives(graph, at, term);
        const auto behind_term = what_it_rests_on(graph, term);
        value += at.value[term];
        for (std::size_t i = 0; i <= term; ++i) {
            slope[i] += slope_of_term[i];
            rests[i].on |= behind_term[i].on;
            rests[i].through_step |= behind_term[i].through_step;
        }
    }
    VarianceBudget budget;
    for (const Input& input : graph.inputs()) {
        if (!rests[input.node].on) continue;
        InputSensitivity one;
        one.input = &input;
        one.address = graph.text_of(input.addresses.front());
        one.value = at.value[input.node];
        one.unit = graph.text_of(graph.unit(input.node));
        one.derivative = slope[input.node];
        if (value != 0.0)
            one.elasticity = one.derivative * (one.value - typed_zero(graph, input)) / value;
        one.deviation = moments_of(input, at.value).deviation;
        one.stepped = rests[input.node].through_step;
        budget.inputs.push_back(std::move(one));
    }
    budget.standard_uncertainty = settle_shares(graph, value, budget.inputs);
    return budget;
}

Sensitivity sensitivity(const Study& study, const Evaluation& at, SensitivityQuestion question) {
    Sensitivity found;
    found.asked = asked_result(study, question.result);
    found.question = std::move(question);
    found.value = at.value[found.asked.node];
    VarianceBudget budget = variance_budget(study.graph, at, found.asked.node);
    found.inputs = std::move(budget.inputs);
    found.standard_uncertainty = budget.standard_uncertainty;
    found.inputs_in_all = found.inputs.size();
    found.with_spread = static_cast<std::size_t>(std::ranges::count_if(
        found.inputs, [](const InputSensitivity& one) { return one.deviation > 0.0; }));
    if (found.question.rank == SensitivityRank::swing) add_swings(study, at, found);
    rank(found.inputs, found.question.rank);
    if (found.question.rank == SensitivityRank::share) note_without_spread(found);
    keep_largest(found);
    if (found.question.rank != SensitivityRank::swing) add_swings(study, at, found);
    for (InputSensitivity& one : found.inputs) one.title = title_of(study, one.address);
    return found;
}

}  // namespace deckle
