#include "reports/workbook_breakout.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <stdexcept>

#include "reports/words.h"

namespace deckle {
namespace {

/// By the columns of the sheet of burdens.
constexpr std::array<BreakoutBy, 6> group_columns{BreakoutBy::stage, BreakoutBy::process,
                                                  BreakoutBy::use,   BreakoutBy::factor,
                                                  BreakoutBy::gas,   BreakoutBy::scope};

bool is_constant_zero(const Graph& graph, NodeId node) {
    return graph.operation(node) == Operation::constant &&
           graph.constants()[graph.payload(node)] == 0.0;
}

}  // namespace

std::string shown_group(BreakoutBy by, const std::string& name) {
    if (name.empty()) return "(none)";
    if (by == BreakoutBy::gas) return gas_name(name);
    return by == BreakoutBy::scope ? "scope " + name : name;
}

WorkbookBreakout::WorkbookBreakout(const Graph& graph, const Evaluation& at,
                                   const WorkbookCells& cells, std::vector<NodeId> figures)
    : graph_(graph), at_(at), cells_(cells), figures_(std::move(figures)) {
    std::vector<std::uint8_t> any(graph.size(), 0);
    for (const NodeId figure : figures_) {
        reached_.push_back(reached_from(figure));
        for (NodeId node = 0; node < graph.size(); ++node) any[node] |= reached_.back()[node];
    }
    for (NodeId node = 0; node < graph.size(); ++node) {
        if (any[node] == 0) continue;
        where_[node] = 0;
        add_edges(node);
    }
    place_rows();
    collect_burdens();
    require_room(first_row + rows_.size(), figure_column + figures_.size(),
                 workbook_sheets::derivatives);
    require_room(first_row + burdens_.size(), share_column + figures_.size(),
                 workbook_sheets::burdens);
}

/// Arguments that the value of a node is linear in, with their positions. Those of a part are the
/// right sides of its loop.
std::vector<std::pair<NodeId, std::size_t>> WorkbookBreakout::linear_arguments(NodeId node) const {
    std::vector<std::pair<NodeId, std::size_t>> linear;
    auto arguments = graph_.arguments(node);
    if (graph_.operation(node) == Operation::part) {
        const Solve& system = graph_.solves()[graph_.payload(arguments[0])];
        const std::size_t side = graph_.payload(node) % system.right_sides;
        arguments = graph_.arguments(system.node);
        for (std::size_t row = 0; row < system.size; ++row) {
            const std::size_t k = system.entries.size() + row * system.right_sides + side;
            if (graph_.degree(arguments[k]) == Degree::one) linear.emplace_back(arguments[k], row);
        }
        return linear;
    }
    for (std::size_t k = 0; k < arguments.size(); ++k) {
        if (graph_.degree(arguments[k]) == Degree::one) linear.emplace_back(arguments[k], k);
    }
    return linear;
}

std::vector<std::uint8_t> WorkbookBreakout::reached_from(NodeId figure) const {
    std::vector<std::uint8_t> reached(graph_.size(), 0);
    reached[figure] = 1;
    for (NodeId node = figure + 1; node-- > 0;) {
        if (reached[node] == 0) continue;
        for (const auto& [argument, position] : linear_arguments(node)) reached[argument] = 1;
    }
    return reached;
}

void WorkbookBreakout::add_edges(NodeId user) {
    for (const auto& [argument, position] : linear_arguments(user))
        edges_[argument].push_back(edge(user, position));
}

/// d(user)/d(argument): add_slopes of operation.h, as cells.
WorkbookBreakout::Edge WorkbookBreakout::edge(NodeId user, std::size_t argument) const {
    const auto arguments = graph_.arguments(user);
    const auto cell = [&](std::size_t k) { return cells_.cell(arguments[k]); };
    switch (graph_.operation(user)) {
        case Operation::sum: return {user, "", ""};
        case Operation::negate: return {user, "-", ""};
        case Operation::quotient: return {user, "", "/" + cell(1)};
        case Operation::sum_of_products: return {user, "", "*" + cell(argument ^ 1U)};
        case Operation::product: {
            std::string others;
            for (std::size_t k = 0; k < arguments.size(); ++k) {
                if (k != argument) others += "*" + cell(k);
            }
            return {user, "", others};
        }
        case Operation::convert: {
            const Conversion& c = graph_.conversions()[graph_.payload(user)];
            return {user, "", fmt::format("*{}/{}", formula_number(c.p), formula_number(c.q))};
        }
        case Operation::part: {
            const std::size_t side_count =
                graph_.solves()[graph_.payload(arguments[0])].right_sides;
            return {user, "",
                    "*" + cells_.inverse_cell(arguments[0], graph_.payload(user) / side_count,
                                              argument)};
        }
        default:
            throw std::logic_error(
                "a figure of degree one through an operation that is not linear");
    }
}

/// As many as any figure may need: its formula is the whole of the edges or a part of them.
std::size_t WorkbookBreakout::pieces_at_most(NodeId node) const {
    constexpr std::size_t longest_name = 12, room = longest_formula - 200;
    const auto found = edges_.find(node);
    if (found == edges_.end()) return 0;
    std::size_t length = 0;
    for (const Edge& one : found->second)
        length += one.before.size() + one.after.size() + longest_name;
    return length < room ? 0 : 2 * length / room;
}

void WorkbookBreakout::place_rows() {
    for (auto& [node, row] : where_) {
        rows_.insert(rows_.end(), pieces_at_most(node) + 1, node);
        row = first_row + rows_.size() - 1;
    }
}

void WorkbookBreakout::collect_burdens() {
    for (const auto& [node, row] : where_) {
        const auto tags = graph_.tags(node);
        const auto pairs = graph_.arguments(node);
        for (std::size_t term = 0; term < tags.size(); ++term) {
            if (!tags[term].is_burden() || is_constant_zero(graph_, pairs[2 * term]) ||
                is_constant_zero(graph_, pairs[2 * term + 1]))
                continue;
            burdens_.push_back({node, term});
        }
    }
}

std::string WorkbookBreakout::derivative_cell(NodeId node, std::size_t figure) const {
    return cell_name(where_.at(node), figure_column + figure);
}

void WorkbookBreakout::write_derivative(BookSheet& sheet, NodeId node, std::size_t figure,
                                        double value) const {
    const std::size_t row = where_.at(node), column = figure_column + figure;
    if (node == figures_[figure]) return sheet.number(row, column, 1.0);
    std::vector<std::string> terms;
    for (const Edge& one : edges_.at(node)) {
        if (reached_[figure][one.user] != 0)
            terms.push_back(one.before + derivative_cell(one.user, figure) + one.after);
    }
    const std::size_t first_piece = row - pieces_at_most(node);
    const auto piece = [&](std::size_t k) { return cell_name(first_piece + k, column); };
    const PiecedFormula made = pieced_sum(terms, piece);
    if (made.pieces.size() > pieces_at_most(node))
        throw std::logic_error("more pieces than rows for them");
    // what a piece comes to is seen once the workbook is computed anew
    for (std::size_t k = 0; k < made.pieces.size(); ++k)
        sheet.formula(first_piece + k, column, made.pieces[k], 0.0);
    sheet.formula(row, column, made.formula, value, CellLook::number, 6);
}

void WorkbookBreakout::write_derivatives(BookSheet& sheet) const {
    Gradient gradient(graph_, at_);
    for (std::size_t figure = 0; figure < figures_.size(); ++figure) {
        const auto slope = gradient.of(figures_[figure]);
        for (const auto& [node, row] : where_) {
            if (reached_[figure][node] != 0) write_derivative(sheet, node, figure, slope[node]);
        }
    }
}

void WorkbookBreakout::write_burdens(BookSheet& sheet) const {
    for (std::size_t k = 0; k < burdens_.size(); ++k) {
        const auto [node, term] = burdens_[k];
        const std::size_t row = first_row + k;
        const Tag& tag = graph_.tags(node)[term];
        for (std::size_t column = 0; column < group_columns.size(); ++column)
            sheet.text(
                row, column,
                shown_group(group_columns[column], group_of(graph_, tag, group_columns[column])));
        const NodeId amount = graph_.arguments(node)[2 * term],
                     factor = graph_.arguments(node)[2 * term + 1];
        sheet.formula(row, amount_column, cells_.cell(amount), at_.value[amount]);
        sheet.formula(row, factor_column, cells_.cell(factor), at_.value[factor]);
        sheet.formula(
            row, burden_column,
            fmt::format("{}*{}", cell_name(row, amount_column), cell_name(row, factor_column)),
            at_.value[amount] * at_.value[factor]);
        sheet.text(row, unit_column, graph_.text_of(graph_.unit(node)), CellLook::unit);
    }
    Gradient gradient(graph_, at_);
    for (std::size_t figure = 0; figure < figures_.size(); ++figure) {
        const auto slope = gradient.of(figures_[figure]);
        for (std::size_t k = 0; k < burdens_.size(); ++k) {
            const auto [node, term] = burdens_[k];
            if (reached_[figure][node] == 0) continue;
            const auto pairs = graph_.arguments(node);
            sheet.formula(
                first_row + k, share_column + figure,
                fmt::format("{}*{}!{}", cell_name(first_row + k, burden_column),
                            workbook_sheets::derivatives, derivative_cell(node, figure)),
                at_.value[pairs[2 * term]] * at_.value[pairs[2 * term + 1]] * slope[node]);
        }
    }
}

std::vector<std::string> WorkbookBreakout::groups(std::size_t figure, BreakoutBy by) const {
    std::vector<std::string> names;
    for (const auto& [node, term] : burdens_) {
        if (reached_[figure][node] == 0) continue;
        std::string name = group_of(graph_, graph_.tags(node)[term], by);
        if (std::ranges::find(names, name) == names.end()) names.push_back(std::move(name));
    }
    return names;
}

/// EXACT takes no word for a pattern, as criteria do.
std::string WorkbookBreakout::group_formula(std::size_t figure, BreakoutBy by,
                                            const std::string& label) const {
    const auto column =
        static_cast<std::size_t>(std::ranges::find(group_columns, by) - group_columns.begin());
    const std::size_t last = first_row + burdens_.size() - 1;
    return fmt::format("SUMPRODUCT(EXACT({0}!{1},{2})*{0}!{3})", workbook_sheets::burdens,
                       range_name(first_row, column, last, column), label,
                       range_name(first_row, share_column + figure, last, share_column + figure));
}

}  // namespace deckle
