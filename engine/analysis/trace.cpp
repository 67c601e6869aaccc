#include "engine/analysis/trace.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numeric>
#include <set>
#include <unordered_map>

#include "engine/analysis/asked.h"
#include "engine/study/model.h"
#include "engine/text/nearest.h"

namespace deckle {
namespace {

/// No mill is nested this deep; a chain that is goes on in the trace of its last node.
constexpr int deepest_level = 250;

/// What one operand of a sum of products is: its use, factor and gas.
std::string label_of(const Graph& graph, const Tag& tag) {
    std::string label = graph.text_of(tag.use);
    const auto add = [&](TextId id) {
        const std::string& text = graph.text_of(id);
        if (!text.empty() && text != graph.text_of(tag.use))
            label += (label.empty() ? "" : ", ") + text;
    };
    add(tag.factor);
    add(tag.gas);
    return label;
}

class Tracer {
public:
    Tracer(const Study& study, const Evaluation& at, const TraceOptions& options)
        : graph_(study.graph), at_(at), options_(options) {
        for (const NotCovered& mark : graph_.not_covered()) uncovered_.emplace(mark.node, true);
    }

    /// Numbers that several products share have a name for each: those of `subject` are shown.
    void prefer(std::string_view subject) {
        if (subject.empty()) return;
        const std::string wanted = fmt::format(".{}.", subject);
        for (const auto& [name, node] : graph_.names()) {
            const std::string& text = graph_.text_of(name);
            const bool of_product = text.starts_with("products.") || text.starts_with("results");
            if (of_product && text.find(wanted) != std::string::npos)
                own_names_.emplace(node, text);
        }
    }

    std::vector<TraceNode> run(NodeId root, std::string_view address) {
        visit(root, 1);
        nodes_[0].address = std::string(address);
        return std::move(nodes_);
    }

private:
    /// Breadth of a node first, then its operands: parents stand before children, each node once.
    std::size_t visit(NodeId node, int level) {
        const auto [known, is_new] = number_of_.try_emplace(node, nodes_.size());
        if (!is_new) return known->second;
        const std::size_t n = nodes_.size();
        nodes_.push_back(describe(node, n));
        const auto kept = operands(node, level, nodes_[n]);
        for (const auto& [operand, label] : kept) {
            const std::size_t child = visit(operand, level + 1);
            nodes_[n].of.push_back(child);
            nodes_[n].labels.push_back(label);
        }
        return n;
    }

    TraceNode describe(NodeId node, std::size_t n) const {
        TraceNode line;
        line.n = n;
        line.node = node;
        const auto own = own_names_.find(node);
        line.address = own == own_names_.end() ? std::string(graph_.name_of(node)) : own->second;
        line.operation = std::string(row_of(graph_.operation(node)).name);
        line.rule = graph_.text_of(graph_.origin(node).rule);
        line.words =
            line.rule.empty() ? std::string(row_of(graph_.operation(node)).words) : line.rule;
        line.value = at_.value[node];
        line.unit = graph_.text_of(graph_.unit(node));
        line.at = graph_.origin(node).place;
        line.not_covered = uncovered_.contains(node);
        if (graph_.operation(node) == Operation::input)
            describe_input(graph_.inputs()[graph_.payload(node)], line);
        if (graph_.operation(node) == Operation::convert) {
            const Conversion& c = graph_.conversions()[graph_.payload(node)];
            line.p = graph_.text_of(c.p_text);
            line.q = graph_.text_of(c.q_text);
        }
        return line;
    }

    void describe_input(const Input& input, TraceNode& line) const {
        line.typed = graph_.text_of(input.typed);
        line.source = graph_.text_of(input.source);
        line.note = graph_.text_of(input.note);
        line.amount_is = graph_.text_of(input.amount_is);
        if (line.address.empty() || !own_names_.contains(line.node))
            line.address = graph_.text_of(input.addresses.front());
    }

    using Operand = std::pair<NodeId, std::string>;

    /// Operands to follow; what is left out is counted and summed.
    std::vector<Operand> operands(NodeId node, int level, TraceNode& line) const {
        const Operation operation = graph_.operation(node);
        const auto arguments = graph_.arguments(node);
        if (level >
            (options_.depth > 0 ? std::min(options_.depth, deepest_level) : deepest_level)) {
            line.omitted = arguments.size();
            return {};
        }
        if (operation == Operation::part) return of_loop(node);
        std::vector<Operand> all;
        const std::size_t step = operation == Operation::sum_of_products ? 2 : 1;
        const auto tags = graph_.tags(node);
        const auto chosen = choose(arguments, step, operation, line);
        for (const std::size_t term : chosen) {
            const std::string label =
                term < tags.size() ? label_of(graph_, tags[term]) : std::string{};
            for (std::size_t k = 0; k < step; ++k)
                all.emplace_back(arguments[step * term + k], label);
        }
        return all;
    }

    double term_value(std::span<const NodeId> arguments, std::size_t step, std::size_t term) const {
        double value = at_.value[arguments[step * term]];
        if (step == 2) value *= at_.value[arguments[2 * term + 1]];
        return value;
    }

    /// Terms of a sum in the order of the sum, only the largest when asked for.
    std::vector<std::size_t> choose(std::span<const NodeId> arguments, std::size_t step,
                                    Operation operation, TraceNode& line) const {
        std::vector<std::size_t> terms(arguments.size() / step);
        std::iota(terms.begin(), terms.end(), std::size_t{0});
        const bool is_sum = operation == Operation::sum || operation == Operation::sum_of_products;
        const auto most = static_cast<std::size_t>(std::max(0, options_.largest));
        if (!is_sum || most == 0 || terms.size() <= most) return terms;
        std::ranges::stable_sort(terms, [&](std::size_t a, std::size_t b) {
            return std::abs(term_value(arguments, step, a)) >
                   std::abs(term_value(arguments, step, b));
        });
        for (std::size_t i = most; i < terms.size(); ++i)
            line.omitted_sum += term_value(arguments, step, terms[i]);
        line.omitted = terms.size() - most;
        terms.resize(most);
        std::ranges::sort(terms);
        return terms;
    }

    /// The equation of one unknown of a loop: its own right side, and each coefficient with the
    /// other unknown it multiplies, so that a reader verifies it by substitution.
    std::vector<Operand> of_loop(NodeId part) const {
        const NodeId node = graph_.arguments(part)[0];
        const Solve& system = graph_.solves()[graph_.payload(node)];
        const auto arguments = graph_.arguments(node);
        const std::uint32_t row = graph_.payload(part) / system.right_sides;
        const std::uint32_t side = graph_.payload(part) % system.right_sides;
        std::vector<Operand> all;
        all.emplace_back(arguments[system.entries.size() + graph_.payload(part)],
                         "what it brings besides the loop");
        for (std::size_t k = 0; k < system.entries.size(); ++k) {
            if (system.entries[k].row != row) continue;
            const std::string& other = graph_.text_of(system.unknowns[system.entries[k].column]);
            all.emplace_back(arguments[k], fmt::format("needs of {}", other));
            const NodeId unknown =
                part_of(node, system.entries[k].column * system.right_sides + side);
            if (unknown != no_node)
                all.emplace_back(unknown, fmt::format("of one unit of {}", other));
        }
        return all;
    }

    NodeId part_of(NodeId solve, std::uint32_t index) const {
        for (NodeId node = solve + 1; node < graph_.size(); ++node) {
            if (graph_.operation(node) == Operation::part && graph_.arguments(node)[0] == solve &&
                graph_.payload(node) == index)
                return node;
        }
        return no_node;
    }

    const Graph& graph_;
    const Evaluation& at_;
    const TraceOptions& options_;
    std::unordered_map<NodeId, bool> uncovered_;
    std::unordered_map<NodeId, std::string> own_names_;
    std::unordered_map<NodeId, std::size_t> number_of_;
    std::vector<TraceNode> nodes_;
};

/// Whether an unknown of a loop rests on something flagged: a coefficient, or its own right side in
/// any row. The right sides of other indicators do not move it.
bool column_rests_on(const Graph& graph, NodeId part, const std::vector<std::uint8_t>& above) {
    const NodeId solve = graph.arguments(part)[0];
    const Solve& system = graph.solves()[graph.payload(solve)];
    const auto arguments = graph.arguments(solve);
    const auto coefficients = arguments.first(system.entries.size());
    if (std::ranges::any_of(coefficients, [&](NodeId a) { return above[a] != 0; })) return true;
    const std::uint32_t side = graph.payload(part) % system.right_sides;
    for (std::uint32_t row = 0; row < system.size; ++row) {
        const std::size_t at = system.entries.size() + std::size_t{row} * system.right_sides + side;
        if (above[arguments[at]] != 0) return true;
    }
    return false;
}

/// Addresses of the results whose value depends on a node.
std::vector<std::string> results_above(const Study& study, NodeId node) {
    const Graph& graph = study.graph;
    std::vector<std::uint8_t> above(graph.size(), 0);
    above[node] = 1;
    const auto rests_on = [&](NodeId one) {
        const auto arguments = graph.arguments(one);
        if (graph.operation(one) == Operation::solve) return false;  // its parts are asked instead
        if (graph.operation(one) != Operation::part)
            return std::ranges::any_of(arguments, [&](NodeId a) { return above[a] != 0; });
        return column_rests_on(graph, one, above);
    };
    for (NodeId one = node + 1; one < graph.size(); ++one) {
        if (rests_on(one)) above[one] = 1;
    }
    std::vector<std::string> addresses;
    for (const Result& result : study.results) {
        if (result.node != node && above[result.node] != 0) addresses.push_back(result.address);
    }
    return addresses;
}

/// The result that an address names, in whatever view of electricity; nullptr for other addresses.
const Result* result_at(const Study& study, std::string_view address) {
    const auto found = std::ranges::find_if(study.results, [&](const Result& result) {
        return address.starts_with(result.address) &&
               (address.size() == result.address.size() || address[result.address.size()] == '.');
    });
    return found == study.results.end() ? nullptr : &*found;
}

/// What lies below the beginning of an address: "below it lie climate, cost, ...".
std::string names_below(std::string_view address, const std::vector<std::string>& known) {
    constexpr std::size_t most_named = 40;
    const std::string beginning = std::string(address) + ".";
    std::set<std::string> next;
    for (const std::string& name : known) {
        if (!name.starts_with(beginning)) continue;
        const std::size_t end = name.find('.', beginning.size());
        next.insert(name.substr(beginning.size(), end - beginning.size()));
    }
    if (next.empty()) return {};
    const auto shown = static_cast<std::ptrdiff_t>(std::min(next.size(), most_named));
    std::string text =
        fmt::format("below it: {}", fmt::join(next.begin(), std::next(next.begin(), shown), ", "));
    if (next.size() > most_named) text += fmt::format(" and {} more", next.size() - most_named);
    return text;
}

/// Factors become nodes when something uses them.
bool is_unused_factor(const Study& study, std::string_view address) {
    const StudyModel& model = *study.model;
    for (const std::string& name : model.tables.names()) {
        const bool is_it = name.find('.') != std::string::npos && address.starts_with(name) &&
                           (address.size() == name.size() || address[name.size()] == '.');
        if (is_it)
            return std::ranges::none_of(model.used_factors, [&](const Factor* factor) {
                return factor->address() == name;
            });
    }
    return false;
}

NodeId node_of(const Study& study, std::string_view address) {
    const NodeId node = study.graph.find(address);
    if (node != no_node) return node;
    std::vector<std::string> known;
    for (const auto& [name, one] : study.graph.names()) known.push_back(study.graph.text_of(name));
    std::string near = names_below(address, known);
    if (near.empty() && is_unused_factor(study, address))
        near = "nothing in this study uses that factor";
    if (near.empty()) near = did_you_mean(address, known);
    for (auto above = address; near.empty() && above.rfind('.') != std::string_view::npos;) {
        above = above.substr(0, above.rfind('.'));
        if (const std::string below = names_below(above, known); !below.empty())
            near = fmt::format("of {} {}", above, below);
    }
    refuse_question("unknown-address", fmt::format("there is no {} in this study", address),
                    near.empty() ? "addresses are results.OF.PER.INDICATOR, "
                                   "MILL.PROCESS.uses.NAME, TABLE.FACTOR.releases.GAS"
                                 : near);
}

}  // namespace

Trace trace(const Study& study, const Evaluation& at, std::string_view address,
            const TraceOptions& options) {
    const NodeId node = node_of(study, address);
    Trace result;
    result.address = std::string(address);
    result.result = result_at(study, address);
    Tracer tracer(study, at, options);
    if (result.result != nullptr) tracer.prefer(result.result->of);
    result.nodes = tracer.run(node, address);
    if (study.graph.operation(node) == Operation::input)
        result.used_by = results_above(study, node);
    return result;
}

}  // namespace deckle
