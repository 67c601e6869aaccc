#include "engine/analysis/likeness.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <iterator>
#include <map>

#include "engine/study/model.h"

namespace deckle {
namespace {

constexpr double same_amount = 1e-9;  ///< of an amount; far above the rounding of a reverse pass

/// The period of the mill that makes `of`; the study's for what several mills make.
std::string period_of(const Study& study, const Footing& footing) {
    const Assembly& assembly = assembly_of(study, footing.scenario);
    for (const auto& nodes : assembly.product_nodes) {
        if (nodes->product->id == footing.of && nodes->mill != nullptr)
            return nodes->mill->mill->period;
    }
    for (const auto& mill : assembly.mill_nodes) {
        for (const ProductNodes& product : mill->products) {
            if (product.id == footing.of || mill->mill->id + "." + product.id == footing.of)
                return mill->mill->period;
        }
    }
    return study.head.period;
}

/// The values that a scenario gives a table which weighs, in words.
std::string weights_changed(const Study& study, const std::string& scenario,
                            const std::string& table) {
    const auto& all = study.model->scenarios;
    const auto found = std::ranges::find(all, scenario, &ScenarioModel::id);
    if (found == all.end() || table.empty()) return {};
    Problems problems;
    std::string text;
    for (const PlannedChange& planned : plan_of(*found, all, problems)) {
        if (!planned.change->address.starts_with(table + ".")) continue;
        text += (text.empty() ? "" : ", ") + words_of(*planned.change);
    }
    return text;
}

struct Rule {
    std::string what, value;
    bool of_scenario = true;
};

std::string with_changes(const Study& study, const Footing& footing, const std::string& table) {
    const std::string changed = weights_changed(study, footing.scenario, table);
    return changed.empty() ? table : fmt::format("{} with {}", table, changed);
}

std::vector<Rule> rules_of(const Study& study, const Footing& footing) {
    const Assembly& assembly = assembly_of(study, footing.scenario);
    std::string view = assembly.electricity.empty() ? "location" : assembly.electricity;
    if (footing.view) view = *footing.view == ElectricityView::market ? "market" : "location";
    return {{"characterization", with_changes(study, footing, assembly.characterization)},
            {"scarcity", with_changes(study, footing, assembly.scarcity)},
            {"prices", assembly.prices},
            {"electricity", view},
            {"rules", assembly.rules.id.empty() ? "none" : assembly.rules.name()},
            {"period", period_of(study, footing), false}};
}

/// Where both share something among the same products, by one method and another.
std::vector<UnlikeRule> unlike_allocations(const Study& study, const Footing& one,
                                           const Footing& other) {
    std::vector<UnlikeRule> differ;
    if (one.scenario == other.scenario) return differ;
    const auto before = allocations_of(study, one.scenario);
    for (const SharedBy& now : allocations_of(study, other.scenario)) {
        const auto same = std::ranges::find_if(before, [&](const SharedBy& was) {
            return std::ranges::find_first_of(was.products, now.products) != was.products.end();
        });
        if (same == before.end() || same->method == now.method) continue;
        differ.push_back({"allocation of " + now.process, same->method, now.method});
    }
    return differ;
}

/// What a result leaves out, by name.
std::vector<std::string> gaps_of(const Study& study, const Result& result) {
    std::vector<std::string> names;
    if (result.coverage == Coverage::complete) return names;
    for (const Uncovered& gap : uncovered(study, result)) {
        if (!gap.line_only) names.push_back(gap.subject);
    }
    std::ranges::sort(names);
    names.erase(std::unique(names.begin(), names.end()), names.end());
    return names;
}

/// How much of what is not covered a result takes, by name.
std::map<std::string, double> amounts_left_out(const Study& study, Gradient& gradient,
                                               NodeId node) {
    std::map<std::string, double> amounts;
    const auto slopes = gradient.of(node);
    for (const NotCovered& mark : study.graph.not_covered()) {
        if (!mark.line_only && slopes[mark.node] != 0.0)
            amounts[study.graph.text_of(mark.subject)] += slopes[mark.node];
    }
    return amounts;
}

}  // namespace

std::string name_of(const Footing& footing) {
    return footing.scenario.empty() ? footing.of
                                    : fmt::format("{}@{}", footing.of, footing.scenario);
}

std::vector<UnlikeRule> rules_that_differ(const Study& study, const Footing& one,
                                          const Footing& other) {
    std::vector<UnlikeRule> differ;
    const auto mine = rules_of(study, one), theirs = rules_of(study, other);
    for (std::size_t i = 0; i < mine.size(); ++i) {
        if (mine[i].value != theirs[i].value)
            differ.push_back({mine[i].what, mine[i].value, theirs[i].value, mine[i].of_scenario});
    }
    std::ranges::move(unlike_allocations(study, one, other), std::back_inserter(differ));
    return differ;
}

std::vector<std::string> unlike_rules(const Study& study, const Footing& one,
                                      const Footing& other) {
    std::vector<std::string> differ;
    for (const UnlikeRule& rule : rules_that_differ(study, one, other))
        differ.push_back(fmt::format("{}: {} has {}, {} has {}", rule.what, name_of(one), rule.one,
                                     name_of(other), rule.other));
    return differ;
}

std::string name_of_scenario(std::string_view scenario) {
    return scenario.empty() ? std::string("today") : std::string(scenario);
}

std::vector<std::string> unlike_gaps(const Study& study, const Result& one, const Result& other) {
    const auto mine = gaps_of(study, one), theirs = gaps_of(study, other);
    std::vector<std::string> differ;
    std::ranges::set_symmetric_difference(mine, theirs, std::back_inserter(differ));
    return differ;
}

std::vector<std::string> unlike_amounts(const Study& study, const Evaluation& at, NodeId one,
                                        NodeId other) {
    Gradient gradient(study.graph, at);
    const auto mine = amounts_left_out(study, gradient, one);
    auto theirs = amounts_left_out(study, gradient, other);
    for (const auto& [name, amount] : mine) theirs.try_emplace(name, 0.0);
    std::vector<std::string> differ;
    for (const auto& [name, amount] : theirs) {
        const auto found = mine.find(name);
        const double before = found == mine.end() ? 0.0 : found->second;
        const double scale = std::max(std::abs(before), std::abs(amount));
        if (std::abs(amount - before) > same_amount * scale) differ.push_back(name);
    }
    return differ;
}

std::vector<SharedBy> allocations_of(const Study& study, std::string_view scenario) {
    std::vector<SharedBy> all;
    for (const Mill& mill : assembly_of(study, scenario).mills) {
        for (const Process& process : mill.processes) {
            if (!process.allocation || process.makes.size() < 2) continue;
            SharedBy one{process.address(), process.allocation->method, {}};
            for (const auto& made : process.makes)
                one.products.push_back(fmt::format("{}.{}", mill.id, made.id));
            all.push_back(std::move(one));
        }
    }
    return all;
}

}  // namespace deckle
