#include "reports/workbook_cells.h"

#include <fmt/format.h>

#include <algorithm>
#include <stdexcept>

#include "engine/graph/faces.h"
#include "engine/graph/solve.h"
#include "engine/text/problem.h"

namespace deckle {
namespace {

void put_in(std::string& text, std::string_view placeholder, const std::string& with) {
    const std::size_t at = text.find(placeholder);
    if (at == std::string::npos) throw std::logic_error("a workbook face without its placeholder");
    text.replace(at, placeholder.size(), with);
}

bool is_of_steam(Operation operation) {
    return operation >= Operation::steam_h && operation <= Operation::boiling_t;
}

/// Operations of many arguments that may be taken in pieces.
bool can_be_pieced(Operation operation) {
    switch (operation) {
        case Operation::sum:
        case Operation::product:
        case Operation::sum_of_products:
        case Operation::minimum:
        case Operation::maximum: return true;
        default: return false;
    }
}

/// What joins the pieces: products are added up, all else goes on as it began.
Operation joins(Operation operation) {
    return operation == Operation::sum_of_products ? Operation::sum : operation;
}

}  // namespace

void require_room(std::size_t rows, std::size_t columns, std::string_view sheet) {
    if (rows <= most_rows && columns <= most_columns) return;
    throw NoAnswer(
        {{},
         Severity::error,
         "workbook-too-large",
         fmt::format("the sheet {} would need {} rows and {} columns; a workbook holds {} and {}",
                     sheet, rows, columns, most_rows, most_columns),
         "ask for fewer products or indicators: --product, --indicator, --per",
         {}});
}

WorkbookCells::WorkbookCells(const Graph& graph, const Evaluation& at,
                             std::span<const std::uint8_t> wanted)
    : graph_(graph), at_(at), where_(graph.size(), 0) {
    for (NodeId node = 0; node < graph.size(); ++node) {
        if (wanted[node] != 0) place(node);
    }
    require_room(first_row + inputs_.size(), 1, workbook_sheets::inputs);
    require_room(first_row + rows_.size(), 1, workbook_sheets::calculation);
    for (const Loop& loop : loops_)
        require_room(loop.row + loop.size, loop.end(), workbook_sheets::loops);
}

void WorkbookCells::place(NodeId node) {
    const Operation operation = graph_.operation(node);
    has_steam_ |= is_of_steam(operation);
    if (operation == Operation::solve) return place_loop(node);
    if (operation != Operation::input) return place_row(node);
    where_[node] = first_row + inputs_.size();
    inputs_.push_back(node);
}

void WorkbookCells::place_loop(NodeId node) {
    const Solve& system = graph_.solves()[graph_.payload(node)];
    where_[node] = loops_.size();
    loops_.push_back({node, loop_row_ + 2, system.size, system.right_sides});
    loop_row_ += system.size + 3;  // title, heads, an empty row
}

std::string WorkbookCells::own_cell(NodeId node) const {
    if (graph_.operation(node) != Operation::input) return cell_name(where_[node], value_column);
    return cell(node);
}

std::string WorkbookCells::cell(NodeId node) const {
    if (graph_.operation(node) == Operation::input)
        return fmt::format("{}!{}", workbook_sheets::inputs, cell_name(where_[node], input_column));
    return fmt::format("{}!{}", workbook_sheets::calculation,
                       cell_name(where_[node], value_column));
}

std::string WorkbookCells::inverse_cell(NodeId solve, std::size_t i, std::size_t j) const {
    const Loop& loop = loop_of(solve);
    return fmt::format("{}!{}", workbook_sheets::loops,
                       cell_name(loop.row + i, loop.inverse() + j));
}

std::vector<std::string> WorkbookCells::argument_cells(NodeId node) const {
    std::vector<std::string> cells;
    for (const NodeId argument : graph_.arguments(node)) cells.push_back(own_cell(argument));
    const std::uint32_t payload = graph_.payload(node);
    if (graph_.operation(node) == Operation::constant)
        cells = {formula_number(graph_.constants()[payload])};
    if (graph_.operation(node) == Operation::convert) {
        cells.push_back(formula_number(graph_.conversions()[payload].p));
        cells.push_back(formula_number(graph_.conversions()[payload].q));
    }
    return cells;
}

std::string WorkbookCells::part_formula(NodeId node) const {
    const Loop& loop = loop_of(graph_.arguments(node)[0]);
    const std::string unknowns =
        fmt::format("{}!{}", workbook_sheets::loops, loop.range(loop.unknowns(), loop.sides));
    std::string text = fill(row_of(Operation::part).workbook, std::vector{unknowns});
    put_in(text, "{row}", std::to_string(graph_.payload(node) / loop.sides + 1));
    put_in(text, "{column}", std::to_string(graph_.payload(node) % loop.sides + 1));
    return text;
}

void WorkbookCells::place_row(NodeId node) {
    const Operation operation = graph_.operation(node);
    if (operation == Operation::part) {
        rows_.push_back({node, part_formula(node), at_.value[node]});
    } else {
        const std::vector<std::string> cells = argument_cells(node);
        std::size_t length = 0;
        for (const std::string& one : cells) length += one.size() + 1;
        // functions take arguments, the other operations only need room
        const std::size_t pieces =
            std::max(length / (longest_formula - 500), cells.size() / (most_arguments - 1)) + 1;
        if (pieces > 1 && can_be_pieced(operation)) {
            std::size_t each = (cells.size() + pieces - 1) / pieces;
            each += each % 2;  // pairs stay together
            place_pieces(node, each, cells);
        } else {
            rows_.push_back({node, fill(row_of(operation).workbook, cells), at_.value[node]});
        }
    }
    where_[node] = first_row + rows_.size() - 1;
}

void WorkbookCells::place_pieces(NodeId node, std::size_t per_piece,
                                 const std::vector<std::string>& cells) {
    const Operation operation = graph_.operation(node);
    const auto arguments = graph_.arguments(node);
    std::vector<std::string> pieces;
    for (std::size_t first = 0; first < cells.size(); first += per_piece) {
        const std::size_t count = std::min(per_piece, cells.size() - first);
        std::vector<double> values;
        for (const NodeId one : arguments.subspan(first, count)) values.push_back(at_.value[one]);
        pieces.push_back(cell_name(first_row + rows_.size(), value_column));
        rows_.push_back({node,
                         fill(row_of(operation).workbook, std::span(cells).subspan(first, count)),
                         value_of(operation, values), pieces.size()});
    }
    rows_.push_back({node, fill(row_of(joins(operation)).workbook, pieces), at_.value[node]});
}

void WorkbookCells::write_input_values(BookSheet& sheet) const {
    for (const NodeId node : inputs_)
        sheet.number(where_[node], input_column, at_.value[node], CellLook::input);
}

void WorkbookCells::write_formulas(BookSheet& sheet) const {
    for (std::size_t k = 0; k < rows_.size(); ++k)
        sheet.formula(first_row + k, value_column, rows_[k].formula, rows_[k].value,
                      CellLook::number, 6);
}

void WorkbookCells::write_loops(BookSheet& sheet) const {
    for (const Loop& loop : loops_) write_loop(sheet, loop);
}

void WorkbookCells::write_loop(BookSheet& sheet, const Loop& loop) const {
    const Solve& system = graph_.solves()[graph_.payload(loop.solve)];
    sheet.text(loop.row - 2, 0,
               fmt::format("Loop {}: {}", where_[loop.solve] + 1,
                           graph_.text_of(graph_.origin(loop.solve).rule)),
               CellLook::strong);
    const auto name = [&](std::size_t i) {
        return i < system.unknowns.size() ? graph_.text_of(system.unknowns[i]) : std::string();
    };
    sheet.text(loop.row - 1, 0, "product", CellLook::head);
    for (std::size_t i = 0; i < loop.size; ++i) {
        sheet.text(loop.row + i, 0, name(i));
        sheet.text(loop.row - 1, loop.matrix() + i, "one less uses: " + name(i), CellLook::head);
        sheet.text(loop.row - 1, loop.inverse() + i, "inverse: " + name(i), CellLook::head);
    }
    for (std::size_t side = 0; side < loop.sides; ++side) {
        const NodeId b = graph_.arguments(loop.solve)[system.entries.size() + side];
        const std::string unit = graph_.text_of(graph_.unit(b));
        sheet.text(loop.row - 1, loop.right() + side,
                   fmt::format("brought in, {} {}", side + 1, unit), CellLook::head);
        sheet.text(loop.row - 1, loop.unknowns() + side,
                   fmt::format("answer, {} {}", side + 1, unit), CellLook::head);
    }
    sheet.height(loop.row - 1, 60);
    write_matrix(sheet, loop);
    std::string answer(row_of(Operation::solve).workbook);
    put_in(answer, "{matrix}", loop.range(loop.matrix(), loop.size));
    put_in(answer, "{right_sides}", loop.range(loop.right(), loop.sides));
    const std::size_t count = loop.size * loop.sides;
    sheet.array(loop.row, loop.unknowns(), loop.size, loop.sides, answer,
                std::span(at_.solved).subspan(system.offset, count));
    sheet.array(loop.row, loop.inverse(), loop.size, loop.size,
                fmt::format("MINVERSE({})", loop.range(loop.matrix(), loop.size)),
                inverse_of(loop));
}

void WorkbookCells::write_matrix(BookSheet& sheet, const Loop& loop) const {
    const Solve& system = graph_.solves()[graph_.payload(loop.solve)];
    const auto arguments = graph_.arguments(loop.solve);
    std::vector<std::string> formulas(loop.size * loop.size);
    std::vector<double> values(loop.size * loop.size, 0.0);
    for (std::size_t i = 0; i < loop.size; ++i) {
        formulas[i * loop.size + i] = "1";
        values[i * loop.size + i] = 1.0;
    }
    for (std::size_t k = 0; k < system.entries.size(); ++k) {
        const std::size_t at = system.entries[k].row * loop.size + system.entries[k].column;
        formulas[at] += "-" + cell(arguments[k]);
        values[at] -= at_.value[arguments[k]];
    }
    for (std::size_t i = 0; i < loop.size; ++i) {
        for (std::size_t j = 0; j < loop.size; ++j) {
            const std::size_t at = i * loop.size + j;
            if (formulas[at].empty()) sheet.number(loop.row + i, loop.matrix() + j, 0.0);
            else
                sheet.formula(loop.row + i, loop.matrix() + j, formulas[at], values[at],
                              CellLook::number, 6);
        }
        for (std::size_t side = 0; side < loop.sides; ++side) {
            const NodeId b = arguments[system.entries.size() + i * loop.sides + side];
            sheet.formula(loop.row + i, loop.right() + side, cell(b), at_.value[b],
                          CellLook::number, 6);
        }
    }
}

/// Shown until the cells are computed anew: column j of the inverse answers a one in row j.
std::vector<double> WorkbookCells::inverse_of(const Loop& loop) const {
    const Solve& system = graph_.solves()[graph_.payload(loop.solve)];
    std::vector<double> coefficients;
    for (std::size_t k = 0; k < system.entries.size(); ++k)
        coefficients.push_back(at_.value[graph_.arguments(loop.solve)[k]]);
    Solve square = system;
    square.right_sides = system.size;
    std::vector<double> ones(loop.size * loop.size, 0.0), inverse(loop.size * loop.size, 0.0);
    for (std::size_t i = 0; i < loop.size; ++i) ones[i * loop.size + i] = 1.0;
    if (solve_system(square, coefficients, ones, inverse).outcome != SolveOutcome::solved)
        throw std::logic_error("a loop that was solved cannot be inverted");
    return inverse;
}

void WorkbookCells::write_coefficients(Book& book, BookSheet& sheet) const {
    std::size_t column = 0;
    for (const WorkbookColumn& one : workbook_columns()) {
        sheet.text(0, column, one.name, CellLook::head);
        for (std::size_t k = 0; k < one.values.size(); ++k)
            sheet.number(1 + k, column, one.values[k], CellLook::number, 14);
        book.define(one.name, fmt::format("{}!{}", workbook_sheets::coefficients,
                                          range_name(1, column, one.values.size(), column)));
        ++column;
    }
    sheet.width(0, column, 20);
    sheet.freeze(1, 0);
}

}  // namespace deckle
