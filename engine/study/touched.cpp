#include "engine/study/touched.h"

#include <fmt/format.h>

#include <algorithm>

#include "engine/text/nearest.h"

namespace deckle {
namespace {

/// Marks all nodes that results from a first one on rest on, and shares that must add up with
/// others: a dryness is changed together with its moisture, which no result may rest on.
std::vector<std::uint8_t> carried_by(const Study& study, std::size_t first_result,
                                     const std::vector<FormulaLimit>& limits) {
    std::vector<NodeId> nodes;
    for (std::size_t i = first_result; i < study.results.size(); ++i) {
        nodes.push_back(study.results[i].market);
        nodes.push_back(study.results[i].location);
    }
    for (const FormulaLimit& limit : limits) {
        if (limit.within == Within::whole) nodes.push_back(limit.node);
    }
    return study.graph.ancestors(nodes);
}

std::string address_like(const Graph& graph, std::string_view typed) {
    std::vector<std::string> known;
    for (const auto& [name, node] : graph.names()) {
        const std::string& address = graph.text_of(name);
        if (!address.starts_with("results")) known.push_back(address);
    }
    if (std::ranges::find(known, typed) != known.end())
        return "it stands there today; a change made before puts something else in its place";
    const std::string near = did_you_mean(typed, known);
    return near.empty() ? "the path of keys to it: MILL.PROCESS.uses.NAME, MILL.figures.NAME, "
                          "TABLE.FACTOR.climate.total, products.ID.grammage"
                        : near;
}

}  // namespace

void check_touched(const Study& study, const Assembly& assembly, const ScenarioModel& scenario,
                   const ValueChanges& changes, std::size_t first_result, Problems& problems) {
    const auto wanted = carried_by(study, first_result, assembly.limits);
    const std::string own = fmt::format("scenarios.{}.", scenario.id);
    for (const ValueChange& change : changes.all()) {
        if (!change.id.starts_with(own)) continue;
        const auto typed = std::ranges::find(scenario.changes, change.id, &Change::id);
        const NodeId node = change.kind == ValueChange::Kind::spread
                                ? change.input
                                : study.graph.find(change.stated.address);
        if (!change.touched) {
            problems.add(typed->address_place, "unknown-address",
                         fmt::format("{} is no amount that {} uses", change.address, scenario.id),
                         address_like(study.graph, change.address));
        } else if (change.same) {
            problems.add(
                typed->amount->place(), "nothing-changed",
                fmt::format("{} stands as {} already", change.address, change.stated.scalar.text),
                "leave the change out");
        } else if (change.stands && (node == no_node || !wanted[node])) {
            problems.add(typed->address_place, "nothing-changed",
                         fmt::format("no result rests on {}", change.address),
                         "leave the change out, or change what results rest on");
        }
    }
}

}  // namespace deckle
