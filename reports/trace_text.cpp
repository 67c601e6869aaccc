#include <fmt/format.h>

#include <algorithm>
#include <set>
#include <utility>

#include "engine/text/number_text.h"
#include "reports/footprint.h"
#include "reports/inert.h"
#include "reports/trace_report.h"
#include "reports/words.h"

namespace deckle {
namespace {

constexpr std::size_t step = 2;             ///< columns a level is indented
constexpr std::size_t deepest_indent = 40;  ///< deeper levels keep it and say their depth
constexpr std::size_t least_room = 36;      ///< columns, however deep a line stands
constexpr std::size_t most_in_a_line = 4;   ///< operands written out in the line of their result
constexpr std::size_t most_equations = 20;

std::string amount(double value, const std::string& unit) {
    return unit.empty() || unit == "1" ? shortest(value) : shortest(value) + " " + inert(unit);
}

bool is(const TraceNode& node, Operation operation) {
    return node.operation == row_of(operation).name;
}

class TracePrinter {
public:
    TracePrinter(const Trace& trace, const Study& study, const Evaluation& at, const Style& style)
        : trace_(trace), study_(study), at_(at), style_(style), shown_(trace.nodes.size(), false) {}

    [[nodiscard]] std::string text() && {
        for (const auto& one : wrap(inert(trace_.address), style_.width))
            text_ += style_.bold(one) + "\n";
        if (!trace_.nodes.empty()) print_root();
        if (!trace_.used_by.empty()) print_used_by();
        else if (is_input()) text_ += "\nNo result rests on it.\n";
        return std::move(text_);
    }

private:
    [[nodiscard]] bool is_input() const {
        return trace_.nodes.size() == 1 && is(trace_.nodes[0], Operation::input);
    }

    [[nodiscard]] std::string indent(std::size_t level) const {
        if (level * step <= deepest_indent) return std::string(level * step, ' ');
        return std::string(deepest_indent, ' ') + fmt::format("({}) ", level);
    }

    void line(std::size_t level, std::string_view content) {
        text_ += indent(level) + std::string(content) + '\n';
    }

    /// The value, its name and how it is made; what one line does not hold goes on below, deeper.
    void line(std::size_t level, const std::string& value, const std::string& name,
              const std::string& how) {
        const std::string margin = indent(level);
        const std::string tail =
            (name.empty() ? "" : "  " + name) + (how.empty() ? "" : "  " + how);
        if (shown_width(margin) + shown_width(value) + shown_width(tail) <= style_.width) {
            text_ += margin + style_.bold(value) + tail + '\n';
            return;
        }
        text_ += margin + style_.bold(value);
        if (!name.empty() &&
            shown_width(margin) + shown_width(value) + shown_width(name) + 2 <= style_.width) {
            text_ += "  " + name + '\n';
        } else {
            text_ += '\n';
            below(level, name);
        }
        below(level, how);
    }

    void below(std::size_t level, std::string_view text, bool small = false) {
        if (text.empty()) return;
        const std::size_t hang = std::min(level * step, deepest_indent) + 2 * step;
        for (const auto& one :
             wrap(text, std::max<std::size_t>(style_.width > hang ? style_.width - hang : 0,
                                              least_room))) {
            text_ += std::string(hang, ' ') + (small ? style_.faint(one) : one) + '\n';
        }
    }

    /// Small print under a number, wrapped.
    void remark(std::size_t level, std::string_view content) { below(level, content, true); }

    /// The number asked for; of a result that is not complete, what its figure is worth, at once.
    void print_root() {
        const Result* result = trace_.result;
        if (result != nullptr && result->coverage == Coverage::not_covered)
            return print(0, 0, trace_.address, "not covered: ",
                         {"No figure: what it rests on does not state it, see deckle footprint."});
        const auto mark = result == nullptr ? "" : mark_of(bound_of(study_, *result));
        print(0, 0, trace_.address, mark.empty() ? "" : fmt::format("{} ", mark),
              mark_notes(mark, "deckle footprint"));
    }

    void print(std::size_t n, std::size_t level, const std::string& label,
               const std::string& mark = {}, const std::vector<std::string>& remarks = {}) {
        const TraceNode& node = trace_.nodes[n];
        const bool before = shown_[n];
        shown_[n] = true;
        line(level, mark + amount(node.value, node.unit), name_of(node, label),
             before ? "see above" : how_made(node));
        if (before) return;
        for (const std::string& one : remarks) remark(level, one);
        print_place(node, level);
        if (is(node, Operation::part)) print_equations(node, level + 1);
        print_operands(node, level + 1);
    }

    /// Its address, else what its sum calls it; the label first where the address does not say it.
    [[nodiscard]] std::string name_of(const TraceNode& node, const std::string& label) const {
        if (node.address == trace_.address && label == trace_.address) return {};
        if (node.address.empty()) return inert(label);
        if (label.empty() || node.address.ends_with(label)) return inert(node.address);
        return fmt::format("{} ({})", inert(label), inert(node.address));
    }

    [[nodiscard]] std::string how_made(const TraceNode& node) const {
        if (node.not_covered) return inert(node.rule);  // says so
        if (is(node, Operation::input)) return {};
        std::string how = formula_of(node);
        if (how.empty()) how = inert(node.words);
        const std::string rule = inert(node.rule);
        if (!rule.empty() && how != rule) how += how.empty() ? rule : " (" + rule + ")";
        return how;
    }

    /// "= a × b" with the numbers; empty where a line would not hold it.
    [[nodiscard]] std::string formula_of(const TraceNode& node) const {
        if (is(node, Operation::convert)) return conversion_of(node);
        if (node.omitted > 0 || node.of.empty() || node.of.size() > most_in_a_line) return {};
        if (is(node, Operation::sum)) return "= " + added(node);
        if (is(node, Operation::product)) return "= " + joined(node, " × ");
        if (is(node, Operation::quotient)) return "= " + joined(node, " ÷ ");
        if (is(node, Operation::power)) return "= " + joined(node, " ^ ");
        return {};
    }

    [[nodiscard]] std::string joined(const TraceNode& node, std::string_view sign) const {
        std::vector<std::string> parts;
        for (const std::size_t n : node.of) {
            parts.push_back(amount(trace_.nodes[n].value, trace_.nodes[n].unit));
        }
        return fmt::format("{}", fmt::join(parts, sign));
    }

    [[nodiscard]] std::string added(const TraceNode& node) const {
        std::string text;
        for (const std::size_t n : node.of) {
            const TraceNode& term = trace_.nodes[n];
            const bool minus = term.value < 0.0 && !text.empty();
            if (!text.empty()) text += minus ? " − " : " + ";
            text += amount(minus ? -term.value : term.value, term.unit);
        }
        return text;
    }

    [[nodiscard]] std::string conversion_of(const TraceNode& node) const {
        if (node.of.empty()) return {};
        std::string how = "= " + joined(node, "");
        if (!node.p.empty() && node.p != "1") how += " × " + node.p;
        if (!node.q.empty() && node.q != "1") how += " ÷ " + node.q;
        return how;
    }

    void print_place(const TraceNode& node, std::size_t level) {
        if (!node.of.empty() || node.omitted > 0) return;
        std::vector<std::string> facts;
        const bool constant = is(node, Operation::constant);
        if (node.at.known()) {
            const std::string where = inert(study_.files.where(node.at));
            facts.push_back(constant ? "constant of the sum at " + where : where);
        }
        if (!node.typed.empty() && inert(node.typed) != amount(node.value, node.unit)) {
            facts.push_back(fmt::format("typed {}", inert(node.typed)));
        }
        if (!node.amount_is.empty()) facts.push_back(inert(node.amount_is));
        remark(level, fmt::format("{}", fmt::join(facts, ", ")));
        if (!node.source.empty()) remark(level, "source: " + inert(node.source));
        else if (is(node, Operation::input)) remark(level, "no source stated");
        if (!node.note.empty()) remark(level, "note: " + inert(node.note));
    }

    void print_operands(const TraceNode& node, std::size_t level) {
        if (is(node, Operation::sum_of_products)) print_terms(node, level);
        else {
            for (std::size_t i = 0; i < node.of.size(); ++i) {
                print(node.of[i], level, label_of(node, i));
            }
        }
        print_omitted(node, level);
    }

    [[nodiscard]] static std::string label_of(const TraceNode& node, std::size_t operand) {
        return operand < node.labels.size() ? node.labels[operand] : std::string();
    }

    /// Every product of a sum of products as a line, then its two factors.
    void print_terms(const TraceNode& node, std::size_t level) {
        for (std::size_t i = 0; i + 1 < node.of.size(); i += 2) {
            const TraceNode& a = trace_.nodes[node.of[i]];
            const TraceNode& b = trace_.nodes[node.of[i + 1]];
            const double factors[] = {a.value, b.value};
            const double value = value_of(Operation::product, factors);
            line(level, amount(value, node.unit), inert(label_of(node, i)),
                 fmt::format("= {} × {}", amount(a.value, a.unit), amount(b.value, b.unit)));
            print(node.of[i], level + 1, {});
            print(node.of[i + 1], level + 1, {});
        }
    }

    void print_omitted(const TraceNode& node, std::size_t level) {
        if (node.omitted == 0) return;
        if (node.of.empty()) {
            line(level, fmt::format("... made of {} number{}, not shown (--depth)", node.omitted,
                                    node.omitted == 1 ? "" : "s"));
            return;
        }
        line(level, fmt::format("and {} smaller term{}, together {}", node.omitted,
                                node.omitted == 1 ? "" : "s", amount(node.omitted_sum, node.unit)));
    }

    // --- loops ----------------------------------------------------------------------------------

    /// The equations of a loop for the indicator of this part, each with both sides.
    void print_equations(const TraceNode& node, std::size_t level) {
        const NodeId solve_node = study_.graph.arguments(node.node)[0];
        const std::uint32_t index = study_.graph.payload(solve_node);
        const Solve& solve = study_.graph.solves()[index];
        const std::uint32_t side = study_.graph.payload(node.node) % solve.right_sides;
        const std::uint32_t own_row = study_.graph.payload(node.node) / solve.right_sides;
        if (!equations_shown_.insert({index, side}).second) {
            line(level, "of the loop whose equations are shown above");
            return;
        }
        line(level, fmt::format("a loop of {}, solved together; each equation with both sides:",
                                solve.size));
        for (std::uint32_t row = 0; row < solve.size; ++row) {
            if (solve.size > most_equations && row != own_row) continue;
            remark(level, equation(solve, row, side));
        }
    }

    [[nodiscard]] std::string equation(const Solve& solve, std::uint32_t row,
                                       std::uint32_t side) const {
        const auto arguments = study_.graph.arguments(solve.node);
        const auto unknown = [&](std::uint32_t r) {
            return at_.solved[solve.offset + std::size_t{r} * solve.right_sides + side];
        };
        const auto name = [&](std::uint32_t r) {
            return inert(study_.graph.text_of(solve.unknowns[r]));
        };
        double right = 0.0;
        std::string words;
        for (std::size_t k = 0; k < solve.entries.size(); ++k) {
            if (solve.entries[k].row != row) continue;
            const double coefficient = at_.value[arguments[k]];
            const std::uint32_t column = solve.entries[k].column;
            right += coefficient * unknown(column);
            words += fmt::format("{} × {} [{}] + ", shortest(coefficient),
                                 shortest(unknown(column)), name(column));
        }
        const std::size_t own = solve.entries.size() + std::size_t{row} * solve.right_sides + side;
        right += at_.value[arguments[own]];
        return fmt::format("{} [{}] = {}{}; right side {}", shortest(unknown(row)), name(row),
                           words, shortest(at_.value[arguments[own]]), shortest(right));
    }

    // --- from an input upwards ------------------------------------------------------------------

    /// "bath_3ply per t, roll: climate, fibre": units that share their indicators in one line.
    void print_used_by() {
        std::vector<Used> groups;
        for (const std::string& address : trace_.used_by) add_used(groups, address);
        text_ += "\n" + style_.bold("Results that rest on it") + "\n";
        for (const Used& one : joined_units(std::move(groups))) {
            text_ += paragraph(
                fmt::format("{} per {}: {}", inert(one.of), inert(one.pers), inert(one.indicators)),
                2, 2, style_);
        }
    }

    struct Used {
        std::string of;  ///< "results.bath_3ply", "results@heat_pump.bath_3ply"
        std::string pers, indicators;
    };

    void add_used(std::vector<Used>& groups, const std::string& address) const {
        const auto result = std::ranges::find(study_.results, address, &Result::address);
        if (result == study_.results.end() || result->per.ends_with("_unrounded")) return;
        const std::string& indicator = study_.indicators[result->indicator].id;
        const std::string of = fmt::format("results{}{}.{}", result->scenario.empty() ? "" : "@",
                                           result->scenario, result->of);
        if (groups.empty() || groups.back().of != of || groups.back().pers != result->per) {
            groups.push_back({of, result->per, indicator});
        } else {
            groups.back().indicators += ", " + indicator;
        }
    }

    static std::vector<Used> joined_units(std::vector<Used> groups) {
        std::vector<Used> joined;
        for (Used& one : groups) {
            const auto same = std::ranges::find_if(joined, [&](const Used& other) {
                return other.of == one.of && other.indicators == one.indicators;
            });
            if (same == joined.end()) joined.push_back(std::move(one));
            else same->pers += ", " + one.pers;
        }
        return joined;
    }

    const Trace& trace_;
    const Study& study_;
    const Evaluation& at_;
    const Style& style_;
    std::vector<bool> shown_;
    std::set<std::pair<std::uint32_t, std::uint32_t>> equations_shown_;
    std::string text_;
};

}  // namespace

std::string glance_note(const Trace& trace, const Style& style) {
    const bool whole =
        std::ranges::none_of(trace.nodes, [](const TraceNode& node) { return node.omitted > 0; });
    if (whole) return {};
    return "\n" + paragraph(fmt::format("Shown are {} steps and of each sum the {} largest terms. "
                                        "--depth 250 shows all.",
                                        trace_at_a_glance.depth, trace_at_a_glance.largest),
                            0, 0, style);
}

std::string trace_text(const Trace& trace, const Study& study, const Evaluation& at,
                       const Style& style) {
    return TracePrinter(trace, study, at, style).text();
}

}  // namespace deckle
