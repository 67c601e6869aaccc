// The calculation graph as cells: where each node stands and what formula it has, after the
// workbook face of its operation (engine/graph/operation.h). Inputs stand on one sheet, loops on
// another, every other node in a row of the calculation; what would be too long a formula is added
// up in pieces, in rows of their own before the node's. Knows graphs, not studies; writes the three
// sheets and that of the steam coefficients.
#pragma once

#include <cstdint>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "engine/graph/evaluate.h"
#include "engine/graph/graph.h"
#include "reports/workbook_book.h"

namespace deckle {

namespace workbook_sheets {
inline constexpr std::string_view inputs = "Inputs", calculation = "Calculation", loops = "Loops",
                                  coefficients = "Coefficients";
}

/// The sum, product, smallest or largest of many as one formula, or as pieces that a last formula
/// joins. `place` gives the cell of a piece by its number.
struct PiecedFormula {
    std::vector<std::string> pieces;  ///< none when one formula holds it all
    std::string formula;
};

/// A sum of terms that are formulas themselves, within the limits of a formula.
/// `piece(k)` names the cell that piece k will stand in.
template <class PieceName>
[[nodiscard]] PiecedFormula pieced_sum(const std::vector<std::string>& terms, PieceName piece);

class WorkbookCells {
public:
    /// One row of the calculation.
    struct Row {
        NodeId node;
        std::string formula;
        double value;
        std::size_t piece = 0;  ///< from 1: a piece of the node's formula; 0: the node
    };

    /// Of the nodes flagged in `wanted`. Graph and evaluation must outlive it.
    /// Errors: NoAnswer workbook-too-large.
    WorkbookCells(const Graph& graph, const Evaluation& at, std::span<const std::uint8_t> wanted);

    /// Cell of a node for a formula on any sheet: "Calculation!D7". Not of a solve.
    [[nodiscard]] std::string cell(NodeId node) const;
    /// The inverse of a loop's matrix: cell of row i, column j.
    [[nodiscard]] std::string inverse_cell(NodeId solve, std::size_t i, std::size_t j) const;

    [[nodiscard]] const std::vector<NodeId>& inputs() const noexcept { return inputs_; }
    [[nodiscard]] const std::vector<Row>& rows() const noexcept { return rows_; }
    [[nodiscard]] bool has_loops() const noexcept { return !loops_.empty(); }
    [[nodiscard]] bool has_steam() const noexcept { return has_steam_; }

    /// Fills the column of values of the inputs, the calculation with its formulas, the loops, and
    /// the coefficients with their names.
    void write_input_values(BookSheet& sheet) const;
    void write_formulas(BookSheet& sheet) const;
    void write_loops(BookSheet& sheet) const;
    void write_coefficients(Book& book, BookSheet& sheet) const;

    static constexpr std::size_t input_column = 1, value_column = 3, first_row = 1;

private:
    /// I - C, right sides, unknowns and the inverse of I - C, from left to right.
    struct Loop {
        NodeId solve;
        std::size_t row, size, sides;
        [[nodiscard]] std::size_t matrix() const { return 1; }
        [[nodiscard]] std::size_t right() const { return matrix() + size + 1; }
        [[nodiscard]] std::size_t unknowns() const { return right() + sides + 1; }
        [[nodiscard]] std::size_t inverse() const { return unknowns() + sides + 1; }
        [[nodiscard]] std::size_t end() const { return inverse() + size; }
        [[nodiscard]] std::string range(std::size_t first, std::size_t columns) const {
            return range_name(row, first, row + size - 1, first + columns - 1);
        }
    };

    void place(NodeId node);
    void place_loop(NodeId node);
    void place_row(NodeId node);
    [[nodiscard]] std::string own_cell(NodeId node) const;  ///< as the calculation refers to it
    [[nodiscard]] std::vector<std::string> argument_cells(NodeId node) const;
    [[nodiscard]] std::string part_formula(NodeId node) const;
    void place_pieces(NodeId node, std::size_t per_piece, const std::vector<std::string>& cells);
    [[nodiscard]] const Loop& loop_of(NodeId solve) const { return loops_[where_[solve]]; }
    void write_loop(BookSheet& sheet, const Loop& loop) const;
    void write_matrix(BookSheet& sheet, const Loop& loop) const;
    [[nodiscard]] std::vector<double> inverse_of(const Loop& loop) const;

    const Graph& graph_;
    const Evaluation& at_;
    std::vector<std::size_t> where_;  ///< row on the node's sheet; of a solve its number in loops_
    std::vector<NodeId> inputs_;
    std::vector<Row> rows_;
    std::vector<Loop> loops_;
    std::size_t loop_row_ = 0;
    bool has_steam_ = false;
};

/// Errors: NoAnswer workbook-too-large, when rows or columns go beyond what the format holds.
void require_room(std::size_t rows, std::size_t columns, std::string_view sheet);

template <class PieceName>
PiecedFormula pieced_sum(const std::vector<std::string>& terms, PieceName piece) {
    constexpr std::size_t room = longest_formula - 200;
    PiecedFormula made;
    std::string text;
    for (const std::string& term : terms) {
        if (!text.empty() && text.size() + 1 + term.size() > room) {
            made.pieces.push_back(std::move(text));
            text = piece(made.pieces.size() - 1);
        }
        text += (text.empty() || term.starts_with('-') ? "" : "+") + term;
    }
    made.formula = std::move(text);
    return made;
}

}  // namespace deckle
