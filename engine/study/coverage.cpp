#include "engine/study/coverage.h"

#include <algorithm>
#include <map>

namespace deckle {
namespace {

void join(Reach& into, const Reach& from) {
    into.burden = into.burden || from.burden;
    into.uncovered = into.uncovered || from.uncovered;
    into.line_only = into.line_only || from.line_only;
    into.one_number = into.one_number || from.one_number;
}

/// The lines that a result is made of: itself, or those that a derived indicator adds up.
std::vector<std::string> lines_of(const Study& study, IndicatorId id) {
    const Indicator& indicator = study.indicators[id];
    if (indicator.kind != IndicatorKind::derived) return {indicator.id};
    std::vector<std::string> lines;
    for (const Indicator::Part& part : indicator.parts) {
        for (std::string& line : lines_of(study, part.of)) lines.push_back(std::move(line));
    }
    return lines;
}

/// A difference whose second part is not covered at all would be the first part under another name.
bool subtracts_nothing_known(const Study& study, const Result& result) {
    return std::ranges::any_of(study.indicators[result.indicator].parts, [&](const auto& part) {
        if (part.numerator > 0.0) return false;
        const Result* of =
            study.result(result.of, result.per, study.indicators[part.of].id, result.scenario);
        return of != nullptr && of->coverage == Coverage::not_covered;
    });
}

std::vector<std::uint8_t> marked_nodes(const Graph& graph) {
    std::vector<std::uint8_t> marked(graph.size(), 0);
    for (const NotCovered& mark : graph.not_covered()) marked[mark.node] = 1;
    return marked;
}

}  // namespace

std::vector<Reach> reach_of(const Graph& graph) {
    std::vector<Reach> reach(graph.size());
    for (const NotCovered& mark : graph.not_covered()) {
        (mark.line_only ? reach[mark.node].line_only : reach[mark.node].uncovered) = true;
    }
    const auto marked = marked_nodes(graph);
    for (NodeId node = 0; node < graph.size(); ++node) {
        const auto arguments = graph.arguments(node);
        if (graph.operation(node) == Operation::part) {  // of its own column only
            const Solve& system = graph.solves()[graph.payload(arguments[0])];
            const auto all = graph.arguments(system.node).subspan(system.entries.size());
            for (std::uint32_t row = 0; row < system.size; ++row) {
                join(reach[node], reach[all[row * system.right_sides +
                                            graph.payload(node) % system.right_sides]]);
            }
            continue;
        }
        if (graph.operation(node) == Operation::solve) continue;
        for (const NodeId argument : arguments) join(reach[node], reach[argument]);
        const auto tags = graph.tags(node);
        for (std::size_t term = 0; term < tags.size(); ++term) {
            if (!tags[term].is_burden() || marked[arguments[2 * term + 1]] != 0) continue;
            reach[node].burden = true;
            if (graph.text_of(tags[term].gas) == "total") reach[node].one_number = true;
        }
    }
    return reach;
}

Coverage coverage_of(const Reach& reach, IndicatorKind kind) {
    const bool missing = reach.uncovered || (reach.line_only && kind != IndicatorKind::derived);
    if (!missing) return Coverage::complete;
    return reach.burden ? Coverage::at_least : Coverage::not_covered;
}

void settle_coverage(Study& study) {
    const auto reach = reach_of(study.graph);
    for (Result& result : study.results) {
        const Indicator& indicator = study.indicators[result.indicator];
        result.coverage = coverage_of(reach[result.node], indicator.kind);
        result.one_number =
            reach[result.node].one_number && indicator.kind == IndicatorKind::carried;
    }
    for (Result& result : study.results) {
        if (result.coverage != Coverage::complete && subtracts_nothing_known(study, result))
            result.coverage = Coverage::not_covered;
    }
}

std::vector<Uncovered> uncovered(const Study& study, const Result& result) {
    const Graph& graph = study.graph;
    const NodeId wanted[] = {result.node};
    const auto below = graph.ancestors(wanted);
    const auto lines = lines_of(study, result.indicator);  // a loop's node joins other lines too
    const bool derived = study.indicators[result.indicator].kind == IndicatorKind::derived;
    std::vector<Uncovered> list;
    std::map<NodeId, std::size_t> index_of;
    for (const NotCovered& mark : graph.not_covered()) {
        if (below[mark.node] == 0 || (derived && mark.line_only)) continue;
        if (std::ranges::find(lines, graph.text_of(mark.indicator)) == lines.end()) continue;
        const auto line = std::ranges::find_if(study.indicators, [&](const Indicator& i) {
            return i.id == graph.text_of(mark.indicator);
        });
        index_of[mark.node] = list.size();
        list.push_back({static_cast<IndicatorId>(line - study.indicators.begin()),
                        graph.text_of(mark.subject),
                        {},
                        mark.line_only});
    }
    if (list.empty()) return list;
    for (NodeId node = 0; node < graph.size(); ++node) {
        if (below[node] == 0) continue;
        const auto tags = graph.tags(node);
        for (std::size_t term = 0; term < tags.size(); ++term) {
            const auto found = index_of.find(graph.arguments(node)[2 * term + 1]);
            if (found == index_of.end()) continue;
            auto& uses = list[found->second].uses;
            std::string use =
                graph.text_of(tags[term].process) + ": " + graph.text_of(tags[term].use);
            if (std::ranges::find(uses, use) == uses.end()) uses.push_back(std::move(use));
        }
    }
    std::ranges::stable_sort(list, {}, [](const Uncovered& u) { return u.line_only; });
    return list;
}

}  // namespace deckle
