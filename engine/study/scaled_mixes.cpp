#include "engine/study/scaled_mixes.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "engine/graph/evaluate.h"
#include "engine/mill/demand.h"
#include "engine/text/number_text.h"

namespace deckle {
namespace {

/// A mill of a scenario beside the same mill today, with what is asked of each of its products.
struct MillLevels {
    Scenario* scenario;
    const MillNodes *before, *now;
    std::vector<NodeId> before_levels, now_levels;
};

bool is_mix(const MillNodes& mill, const ProductNodes& product) {
    const ProcessNodes& process = mill.processes[product.process_index];
    return product.family != Family::other && process.products.size() == 1 &&
           std::ranges::count_if(process.uses, [&](const ResolvedUse& use) {
               return use.family == product.family;
           }) > 1;
}

bool swings_in(const StudyModel& model, const ScenarioModel& scenario, std::string_view mill,
               std::string_view product) {
    Problems ignored;
    for (const PlannedChange& one : plan_of(scenario, model.scenarios, ignored)) {
        const Change& change = *one.change;
        if (change.kind == Change::Kind::meet_change_of && change.address == product &&
            (change.in.empty() || change.in.substr(0, change.in.find('.')) == mill))
            return true;
    }
    return false;
}

void say_scaled(const StudyModel& model, Scenario& scenario, const MillNodes& mill,
                const ProductNodes& product, double before, double now) {
    constexpr double least = 1e-9;  // of the demand: rounding of sums
    if (std::abs(now - before) <= least * std::abs(before)) return;
    const bool swings = std::ranges::any_of(model.scenarios, [&](const ScenarioModel& one) {
        return one.id == scenario.id && swings_in(model, one, mill.mill->id, product.id);
    });
    if (swings) return;
    scenario.findings.push_back(
        {scenario.place,
         Severity::finding,
         "mix-scaled",
         fmt::format("{}: demand on {} of {} changes by {} %, and the mix was scaled as a whole",
                     scenario.id, product.id, mill.mill->id,
                     format_significant(100.0 * (now - before) / before, 3)),
         fmt::format("name the source that swings: meet_change_of: {}, with: ...", product.id),
         {}});
}

std::vector<MillLevels> levels_of(Study& study, const StudyModel& model, Problems& problems) {
    Build build(study.graph, problems);
    std::vector<MillLevels> all;
    for (Scenario& scenario : study.scenarios) {
        for (const auto& now : scenario.assembly->mill_nodes) {
            const MillNodes& before = model.nodes_of(now->mill->id);
            if (before.products.size() < 2) continue;
            all.push_back({&scenario, &before, now.get(), demand_levels(build, before),
                           demand_levels(build, *now)});
        }
    }
    return all;
}

}  // namespace

void name_scaled_mixes(Study& study, const StudyModel& model, Problems& problems) {
    const auto all = levels_of(study, model, problems);
    if (all.empty()) return;
    plan_solves(study.graph);
    const Evaluation at = evaluate(study.graph);
    for (const MillLevels& one : all) {
        for (std::size_t p = 0; p < one.now->products.size(); ++p) {
            const ProductNodes& product = one.now->products[p];
            const ProductNodes* old = one.before->product(product.id);
            if (old == nullptr || !is_mix(*one.now, product)) continue;
            const auto q = static_cast<std::size_t>(old - one.before->products.data());
            say_scaled(model, *one.scenario, *one.now, product, at.value[one.before_levels[q]],
                       at.value[one.now_levels[p]]);
        }
    }
}

}  // namespace deckle
