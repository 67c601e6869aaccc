#include "engine/study/correlations.h"

#include <fmt/format.h>

#include <algorithm>

#include "engine/text/nearest.h"

namespace deckle {
namespace {

/// First address of an input with a spread; 0 where there is none (reported).
TextId drawn_address(const Graph& graph, const CorrelatedGroup::Member& member,
                     Problems& problems) {
    const NodeId node = graph.find(member.address);
    const bool is_input = node != no_node && graph.operation(node) == Operation::input;
    const Input* input = is_input ? &graph.inputs()[graph.payload(node)] : nullptr;
    if (input != nullptr && input->spread.kind != SpreadKind::none) return input->addresses.front();
    if (node != no_node) {
        problems.add(member.place, "correlated-without-spread",
                     fmt::format("{} has no spread of its own", member.address),
                     is_input ? "give it one, or leave it out"
                              : "correlate the figures that it is calculated from");
        return 0;
    }
    std::vector<std::string> names;
    for (const Input& one : graph.inputs()) {
        if (one.spread.kind != SpreadKind::none)
            names.push_back(graph.text_of(one.addresses.front()));
    }
    problems.add(member.place, "unknown-address",
                 fmt::format("nothing in this study has the address {}", member.address),
                 did_you_mean(member.address, names));
    return 0;
}

}  // namespace

void add_correlations(Graph& graph, const std::vector<CorrelatedGroup>& groups,
                      Problems& problems) {
    std::vector<TextId> taken;
    for (const CorrelatedGroup& group : groups) {
        std::vector<TextId> addresses;
        for (const CorrelatedGroup::Member& member : group.members) {
            const TextId address = drawn_address(graph, member, problems);
            if (address == 0) continue;
            if (std::ranges::find(taken, address) != taken.end())
                problems.add(member.place, "correlated-twice",
                             fmt::format("{} is correlated already", member.address),
                             "put all that go together into one group, each once");
            taken.push_back(address);
            addresses.push_back(address);
        }
        const bool whole = problems.empty() && addresses.size() == group.members.size();
        if (whole && !graph.correlate(addresses, group.matrix))
            problems.add(group.place, "not-positive-definite",
                         "no amounts can have these correlations together",
                         "weaker ones; two amounts that move as one are one figure that both "
                         "are calculated from");
    }
}

}  // namespace deckle
