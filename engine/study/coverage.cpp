#include "engine/study/coverage.h"

#include <algorithm>
#include <map>

#include "engine/study/model.h"
#include "engine/tables/factor_lines.h"

namespace deckle {
namespace {

/// What is bought of fibre below a node, and whether a process brings anything itself.
struct FibreReach {
    std::uint32_t silent =
        0;  ///< a bit for each line asked of fibre that some of it does not state
    bool own = false;
};

void join(FibreReach& into, const FibreReach& from) {
    into.silent |= from.silent;
    into.own = into.own || from.own;
}

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

/// One value a node, joined from those it rests on to what it brings itself.
template <class Value, class Take>
void join_upwards(const Graph& graph, std::vector<Value>& values, Take take) {
    for (NodeId node = 0; node < graph.size(); ++node) {
        const auto arguments = graph.arguments(node);
        if (graph.operation(node) == Operation::part) {  // of its own column only
            const Solve& system = graph.solves()[graph.payload(arguments[0])];
            const auto all = graph.arguments(system.node).subspan(system.entries.size());
            for (std::uint32_t row = 0; row < system.size; ++row) {
                join(values[node], values[all[row * system.right_sides +
                                              graph.payload(node) % system.right_sides]]);
            }
            continue;
        }
        if (graph.operation(node) == Operation::solve) continue;
        for (const NodeId argument : arguments) join(values[node], values[argument]);
        const auto tags = graph.tags(node);
        for (std::size_t term = 0; term < tags.size(); ++term) {
            if (tags[term].is_burden()) take(values[node], tags[term], arguments[2 * term + 1]);
        }
    }
}

/// Optional lines, asked of fibre and of the mill as soon as anything states them.
class AskedLines {
public:
    explicit AskedLines(const Study& study) : study_(study) {
        for (const Indicator& indicator : study.indicators) {
            if (indicator.asked_of != AskedOf::nobody) lines_.push_back(&indicator);
        }
    }

    [[nodiscard]] std::vector<FibreReach> reach() const {
        std::vector<FibreReach> reach(study_.graph.size());
        std::map<TextId, std::uint32_t> silent;
        join_upwards(study_.graph, reach, [&](FibreReach& here, const Tag& tag, NodeId) {
            if (tag.factor == 0) {
                here.own = true;
                return;
            }
            const auto [found, is_new] = silent.try_emplace(tag.factor, 0U);
            if (is_new) found->second = silent_lines(tag.factor);
            here.silent |= found->second;
        });
        return reach;
    }

    [[nodiscard]] bool is_among(std::uint32_t silent, const Indicator& indicator) const {
        for (std::size_t i = 0; i < lines_.size(); ++i) {
            if (lines_[i] == &indicator) return (silent >> i & 1U) != 0;
        }
        return false;
    }

    /// The fibre of a factor does not state a line that is asked of it.
    [[nodiscard]] bool is_silent(TextId factor, const Indicator& indicator) const {
        const auto found = study_.model->tables.find(study_.graph.text_of(factor));
        return found.size() == 1 && found[0]->kind != nullptr &&
               found[0]->kind->family == Family::fibre && !states_line(*found[0], indicator);
    }

private:
    [[nodiscard]] std::uint32_t silent_lines(TextId factor) const {
        std::uint32_t bits = 0;
        for (std::size_t i = 0; i < lines_.size(); ++i) {
            if (is_silent(factor, *lines_[i])) bits |= 1U << i;
        }
        return bits;
    }

    const Study& study_;
    std::vector<const Indicator*> lines_;
};

/// All fibre behind a result stands behind its fibre line.
const Result* fibre_of(const Study& study, const Result& result) {
    return study.result(result.of, result.per, "fibre", result.scenario);
}

/// Where anything states an optional line, whoever is asked for it and does not makes it "at
/// least".
void settle_asked_lines(Study& study) {
    const AskedLines asked(study);
    const auto below = asked.reach();
    for (Result& result : study.results) {
        const Indicator& indicator = study.indicators[result.indicator];
        if (indicator.asked_of == AskedOf::nobody || result.coverage != Coverage::complete)
            continue;
        const Result* fibre = fibre_of(study, result);
        const bool fibre_silent =
            fibre != nullptr && asked.is_among(below[fibre->node].silent, indicator);
        const bool mill_silent =
            indicator.asked_of == AskedOf::fibre_and_mill && !below[result.node].own;
        if (fibre_silent || mill_silent) result.coverage = Coverage::at_least;
    }
}

void add_use(const Graph& graph, const Tag& tag, std::vector<std::string>& uses) {
    std::string use = graph.text_of(tag.process) + ": " + graph.text_of(tag.use);
    if (std::ranges::find(uses, use) == uses.end()) uses.push_back(std::move(use));
}

/// Who is asked for an optional line and does not state it.
std::vector<Uncovered> who_is_silent(const Study& study, const Result& result) {
    const Indicator& indicator = study.indicators[result.indicator];
    std::vector<Uncovered> list;
    if (indicator.asked_of == AskedOf::nobody || result.coverage == Coverage::complete) return list;
    const AskedLines asked(study);
    const auto reach = asked.reach();
    if (indicator.asked_of == AskedOf::fibre_and_mill && !reach[result.node].own)
        list.push_back({result.indicator, std::string(the_mill), {}, false});
    const Result* fibre = fibre_of(study, result);
    if (fibre == nullptr) return list;
    const NodeId wanted[] = {fibre->node};
    const auto below = study.graph.ancestors(wanted);
    std::map<TextId, std::vector<std::string>> uses;
    for (NodeId node = 0; node < study.graph.size(); ++node) {
        if (below[node] == 0) continue;
        for (const Tag& tag : study.graph.tags(node)) {
            if (tag.is_burden() && tag.factor != 0 && asked.is_silent(tag.factor, indicator))
                add_use(study.graph, tag, uses[tag.factor]);
        }
    }
    for (auto& [factor, by] : uses)
        list.push_back({result.indicator, study.graph.text_of(factor), std::move(by), false});
    return list;
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
    join_upwards(graph, reach, [&](Reach& here, const Tag& tag, NodeId per_unit) {
        if (marked[per_unit] != 0) return;
        here.burden = true;
        if (graph.text_of(tag.gas) == "total") here.one_number = true;
    });
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
    settle_asked_lines(study);
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
    if (list.empty()) return who_is_silent(study, result);
    for (NodeId node = 0; node < graph.size(); ++node) {
        if (below[node] == 0) continue;
        const auto tags = graph.tags(node);
        for (std::size_t term = 0; term < tags.size(); ++term) {
            const auto found = index_of.find(graph.arguments(node)[2 * term + 1]);
            if (found != index_of.end()) add_use(graph, tags[term], list[found->second].uses);
        }
    }
    std::ranges::stable_sort(list, {}, [](const Uncovered& u) { return u.line_only; });
    return list;
}

}  // namespace deckle
