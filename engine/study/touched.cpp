#include "engine/study/touched.h"

#include <fmt/format.h>

#include <algorithm>

#include "engine/study/meant_address.h"

namespace deckle {
namespace {

/// Marks all nodes that results from a first one on rest on, and what is held against them: shares
/// that must add up with others (a dryness is changed together with its moisture), and losses that
/// `check` finds again in the balance of energy.
std::vector<std::uint8_t> carried_by(const Study& study, std::size_t first_result,
                                     const Assembly& assembly) {
    std::vector<NodeId> nodes;
    for (std::size_t i = first_result; i < study.results.size(); ++i) {
        nodes.push_back(study.results[i].market);
        nodes.push_back(study.results[i].location);
    }
    for (const FormulaLimit& limit : assembly.limits) {
        if (limit.within == Within::whole) nodes.push_back(limit.node);
    }
    for (const auto& mill : assembly.mill_nodes) {
        for (const ProcessNodes& process : mill->processes) {
            if (process.losses.known()) nodes.push_back(process.losses.node);
        }
    }
    return study.graph.ancestors(nodes);
}

std::string address_like(const Graph& graph, std::string_view typed,
                         const std::vector<Mill>& mills) {
    std::vector<std::string> known;
    for (const auto& [name, node] : graph.names()) {
        const std::string& address = graph.text_of(name);
        if (!address.starts_with("results")) known.push_back(address);
    }
    if (std::ranges::find(known, typed) != known.end())
        return "it stands there today; a change made before puts something else in its place";
    const std::string near = address_meant(typed, known, mills);
    return near.empty() ? "the path of keys to it: MILL.PROCESS.uses.NAME, MILL.figures.NAME, "
                          "TABLE.FACTOR.climate.total, products.ID.grammage"
                        : near;
}

}  // namespace

void check_touched(const Study& study, const Assembly& assembly, const ScenarioModel& scenario,
                   const ValueChanges& changes, std::size_t first_result, Problems& problems) {
    const auto wanted = carried_by(study, first_result, assembly);
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
                         address_like(study.graph, change.address, assembly.mills));
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
