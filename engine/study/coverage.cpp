#include "engine/study/coverage.h"

#include <algorithm>
#include <map>

#include "engine/study/model.h"
#include "engine/tables/factor_lines.h"

namespace deckle {

/// What is bought of fibre below a node, and whether a process brings anything itself.
struct FibreReach {
    std::uint32_t silent =
        0;  ///< a bit for each line asked of fibre that some of it does not state
    bool own = false;
};

namespace {

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
std::vector<std::string> lines_of(std::span<const Indicator> indicators, IndicatorId id) {
    const Indicator& indicator = indicators[id];
    if (indicator.kind != IndicatorKind::derived) return {indicator.id};
    std::vector<std::string> lines;
    for (const Indicator::Part& part : indicator.parts) {
        for (std::string& line : lines_of(indicators, part.of)) lines.push_back(std::move(line));
    }
    return lines;
}

/// A difference whose second part is not covered at all would be the first part under another name.
bool subtracts_nothing_known(const Study& study, const Result& result) {
    const auto indicators = study.indicators_of(result.scenario);
    return std::ranges::any_of(indicators[result.indicator].parts, [&](const auto& part) {
        if (part.numerator > 0.0) return false;
        const Result* of =
            study.result(result.of, result.per, indicators[part.of].id, result.scenario);
        return of != nullptr && of->coverage == Coverage::not_covered;
    });
}

/// The right sides of a loop that one of its parts is solved from: those of its own column.
std::vector<NodeId> column_of(const Graph& graph, NodeId part) {
    const Solve& system = graph.solves()[graph.payload(graph.arguments(part)[0])];
    const auto all = graph.arguments(system.node).subspan(system.entries.size());
    std::vector<NodeId> column(system.size);
    for (std::uint32_t row = 0; row < system.size; ++row)
        column[row] = all[row * system.right_sides + graph.payload(part) % system.right_sides];
    return column;
}

/// One value a node, joined from those it rests on to what it brings itself.
template <class Value, class Take>
void join_upwards(const Graph& graph, std::vector<Value>& values, Take take) {
    for (NodeId node = 0; node < graph.size(); ++node) {
        const auto arguments = graph.arguments(node);
        if (graph.operation(node) == Operation::part) {
            for (const NodeId argument : column_of(graph, node))
                join(values[node], values[argument]);
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

}  // namespace

/// Optional lines, asked of fibre and of the mill as soon as anything states them.
class AskedLines {
public:
    explicit AskedLines(const Study& study) : study_(study) {
        for (const Indicator& indicator : study.indicators) {
            if (indicator.asked_of != AskedOf::nobody) lines_.push_back(&indicator);
        }
    }

    /// The fibre below a node does not state a line that is asked of it.
    [[nodiscard]] bool is_fibre_silent(NodeId node, const Indicator& indicator) {
        return is_among(reach(node).silent, indicator);
    }

    /// A process below a node brings something itself.
    [[nodiscard]] bool is_own(NodeId node) { return reach(node).own; }

    /// The fibre of a factor does not state it.
    [[nodiscard]] bool is_silent(TextId factor, const Indicator& indicator) {
        return is_among(silent_lines(factor), indicator);
    }

private:
    /// Of all nodes at once, for the first that is asked for.
    const FibreReach& reach(NodeId node) {
        if (reach_.empty()) {
            reach_.resize(study_.graph.size());
            join_upwards(study_.graph, reach_, [&](FibreReach& here, const Tag& tag, NodeId) {
                if (tag.factor == 0) here.own = true;
                else here.silent |= silent_lines(tag.factor);
            });
        }
        return reach_[node];
    }

    [[nodiscard]] bool is_among(std::uint32_t silent, const Indicator& indicator) const {
        const auto found = std::ranges::find(lines_, &indicator);
        return found != lines_.end() && (silent >> (found - lines_.begin()) & 1U) != 0;
    }

    std::uint32_t silent_lines(TextId factor) {
        const auto [known, is_new] = silent_.try_emplace(factor, 0U);
        if (!is_new) return known->second;
        const auto found = study_.model->tables.find(study_.graph.text_of(factor));
        if (found.size() != 1 || found[0]->kind == nullptr ||
            found[0]->kind->family != Family::fibre)
            return 0;
        for (std::size_t i = 0; i < lines_.size(); ++i) {
            if (!states_line(*found[0], *lines_[i])) known->second |= 1U << i;
        }
        return known->second;
    }

    const Study& study_;
    std::vector<const Indicator*> lines_;
    std::vector<FibreReach> reach_;
    std::map<TextId, std::uint32_t> silent_;
};

/// What brings something to a node: of a loop its right sides of the same column. For many nodes of
/// a graph, one after another: what was seen is told by a number a round, and nothing is cleared.
class Below {
public:
    explicit Below(const Graph& graph) : graph_(graph), seen_(graph.size(), 0) {}

    /// From a result in both views of electricity, which stand beside each other in reports.
    void look_from(const Result& result) {
        ++round_;
        tagged_.clear();
        visit(result.market);
        visit(result.location);
        while (!open_.empty()) {
            const NodeId next = open_.back();
            open_.pop_back();
            if (!graph_.tags(next).empty()) tagged_.push_back(next);
            if (graph_.operation(next) == Operation::part) visit_column(next);
            else
                for (const NodeId argument : graph_.arguments(next)) visit(argument);
        }
        std::ranges::sort(tagged_);
    }

    [[nodiscard]] bool holds(NodeId node) const { return seen_[node] == round_; }
    /// Those with burdens, in the order of the graph.
    [[nodiscard]] const std::vector<NodeId>& tagged() const { return tagged_; }

private:
    void visit(NodeId node) {
        if (seen_[node] == round_) return;
        seen_[node] = round_;
        open_.push_back(node);
    }

    void visit_column(NodeId part) {
        for (const NodeId argument : column_of(graph_, part)) visit(argument);
    }

    const Graph& graph_;
    std::vector<std::uint32_t> seen_;
    std::uint32_t round_ = 0;
    std::vector<NodeId> open_, tagged_;
};

namespace {

/// All fibre behind a result stands behind its fibre line.
const Result* fibre_of(const Study& study, const Result& result) {
    return study.result(result.of, result.per, "fibre", result.scenario);
}

/// Where anything states an optional line, whoever is asked for it and does not makes it "at
/// least".
void settle_asked_lines(Study& study) {
    AskedLines asked(study);
    for (Result& result : study.results) {
        const Indicator& indicator = study.indicators[result.indicator];
        if (indicator.asked_of == AskedOf::nobody || result.coverage != Coverage::complete)
            continue;
        const Result* fibre = fibre_of(study, result);
        const bool fibre_silent = fibre != nullptr && asked.is_fibre_silent(fibre->node, indicator);
        const bool mill_silent =
            indicator.asked_of == AskedOf::fibre_and_mill && !asked.is_own(result.node);
        if (fibre_silent || mill_silent) result.coverage = Coverage::at_least;
    }
}

/// What stays open in a figure: some positive part, some negative part.
struct Open {
    bool upwards = false, downwards = false;
};

Open open_parts(const Study& study, const Result& result, double sign) {
    if (result.coverage == Coverage::complete) return {};
    const auto indicators = study.indicators_of(result.scenario);
    Open open;
    for (const auto& part : indicators[result.indicator].parts) {
        const Result* of =
            study.result(result.of, result.per, indicators[part.of].id, result.scenario);
        if (of == nullptr) continue;
        const Open inner = open_parts(study, *of, sign * part.numerator / part.denominator);
        open.upwards |= inner.upwards;
        open.downwards |= inner.downwards;
    }
    if (open.upwards || open.downwards) return open;
    return {sign > 0, sign < 0};
}

void add_use(const Graph& graph, const Tag& tag, std::vector<std::string>& uses) {
    std::string use = graph.text_of(tag.process) + ": " + graph.text_of(tag.use);
    if (std::ranges::find(uses, use) == uses.end()) uses.push_back(std::move(use));
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

Bound bound_of(const Study& study, const Result& result) {
    const Open open = open_parts(study, result, 1.0);
    if (open.upwards && open.downwards) return Bound::open;
    if (open.upwards) return Bound::at_least;
    return open.downwards ? Bound::at_most : Bound::exact;
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

/// What lacks a line that is expected of it.
std::vector<Uncovered> CoverageGaps::marked(const Result& result) {
    const Graph& graph = study_.graph;
    below_->look_from(result);
    const auto lines = lines_of(study_.indicators_of(result.scenario), result.indicator);
    const bool derived = study_.indicators[result.indicator].kind == IndicatorKind::derived;
    std::vector<Uncovered> list;
    std::map<NodeId, std::size_t> index_of;
    for (const NotCovered& mark : graph.not_covered()) {
        if (!below_->holds(mark.node) || (derived && mark.line_only)) continue;
        if (std::ranges::find(lines, graph.text_of(mark.indicator)) == lines.end()) continue;
        const auto line = std::ranges::find_if(study_.indicators, [&](const Indicator& i) {
            return i.id == graph.text_of(mark.indicator);
        });
        index_of[mark.node] = list.size();
        list.push_back({static_cast<IndicatorId>(line - study_.indicators.begin()),
                        graph.text_of(mark.subject),
                        {},
                        mark.line_only});
    }
    if (list.empty()) return list;
    for (const NodeId node : below_->tagged()) {
        const auto tags = graph.tags(node);
        for (std::size_t term = 0; term < tags.size(); ++term) {
            const auto found = index_of.find(graph.arguments(node)[2 * term + 1]);
            if (found != index_of.end()) add_use(graph, tags[term], list[found->second].uses);
        }
    }
    std::ranges::stable_sort(list, {}, [](const Uncovered& u) { return u.line_only; });
    return list;
}

/// Who is asked for an optional line and does not state it.
std::vector<Uncovered> CoverageGaps::silent(const Result& result) {
    const Indicator& indicator = study_.indicators[result.indicator];
    std::vector<Uncovered> list;
    if (indicator.asked_of == AskedOf::nobody || result.coverage == Coverage::complete) return list;
    if (indicator.asked_of == AskedOf::fibre_and_mill && !asked_->is_own(result.node))
        list.push_back({result.indicator, std::string(the_mill), {}, false});
    const Result* fibre = fibre_of(study_, result);
    if (fibre == nullptr || !asked_->is_fibre_silent(fibre->node, indicator)) return list;
    below_->look_from(*fibre);
    std::map<TextId, std::vector<std::string>> uses;
    for (const NodeId node : below_->tagged()) {
        for (const Tag& tag : study_.graph.tags(node)) {
            if (tag.is_burden() && tag.factor != 0 && asked_->is_silent(tag.factor, indicator))
                add_use(study_.graph, tag, uses[tag.factor]);
        }
    }
    for (auto& [factor, by] : uses)
        list.push_back({result.indicator, study_.graph.text_of(factor), std::move(by), false});
    return list;
}

CoverageGaps::CoverageGaps(const Study& study)
    : study_(study),
      asked_(std::make_unique<AskedLines>(study)),
      below_(std::make_unique<Below>(study.graph)) {}
CoverageGaps::~CoverageGaps() = default;

std::vector<Uncovered> CoverageGaps::of(const Result& result) {
    std::vector<Uncovered> list = marked(result);
    return list.empty() ? silent(result) : list;
}

std::vector<Uncovered> uncovered(const Study& study, const Result& result) {
    return CoverageGaps(study).of(result);
}

}  // namespace deckle
