#include "engine/study/scaled_mixes.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "engine/graph/evaluate.h"
#include "engine/text/number_text.h"

namespace deckle {
namespace {

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

/// The levels of one product at the demand of today and of the scenario.
struct LevelChange {
    double before, now;
    bool known;  ///< how much of it, not only that it changes
};

void say_scaled(const StudyModel& model, Scenario& scenario, const MillNodes& mill,
                const ProductNodes& product, const LevelChange& change) {
    constexpr double least = 1e-9;  // of the demand: rounding of sums
    const double more = change.now - change.before;
    if (std::abs(more) <= least * std::abs(change.before)) return;
    const bool swings = std::ranges::any_of(model.scenarios, [&](const ScenarioModel& one) {
        return one.id == scenario.id && swings_in(model, one, mill.mill->id, product.id);
    });
    if (swings) return;
    const std::string by =
        change.known ? fmt::format(" by {} %", format_significant(100.0 * more / change.before, 3))
                     : "";
    scenario.findings.push_back(
        {scenario.place,
         Severity::finding,
         "mix-scaled",
         fmt::format("{}: demand on {} of {} changes{}, and the mix was scaled as a whole",
                     scenario.id, product.id, mill.mill->id, by),
         fmt::format("name the source that swings: meet_change_of: {}, with: ...", product.id),
         {}});
}

}  // namespace

void name_scaled_mixes(Study& study, const StudyModel& model) {
    if (study.scenarios.empty()) return;
    plan_solves(study.graph);
    const Evaluation at = evaluate(study.graph);
    for (Scenario& scenario : study.scenarios) {
        for (std::size_t m = 0; m < scenario.assembly->mill_nodes.size(); ++m) {
            const MillNodes& now = *scenario.assembly->mill_nodes[m];
            const MillNodes& before = model.nodes_of(now.mill->id);
            const Assembly::Demand& demand = scenario.assembly->demand[m];
            for (std::size_t p = 0; p < now.products.size(); ++p) {
                const ProductNodes* old = before.product(now.products[p].id);
                if (old == nullptr || !is_mix(now, now.products[p])) continue;
                const auto q = static_cast<std::size_t>(old - before.products.data());
                say_scaled(model, scenario, now, now.products[p],
                           {at.value[demand.before[q]], at.value[demand.now[p]], demand.known});
            }
        }
    }
}

}  // namespace deckle
