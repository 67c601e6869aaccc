// Break-outs as live cells, by the rule of engine/analysis/breakout.h: what each burden brings in
// times the derivative of the figure to the sum it stands in. A figure is linear in the burdens, so
// its derivatives are sums of products of cells as well: one column of them a figure, from the
// figure down, through a loop by the inverse of its matrix. Knows graphs, not studies.
#pragma once

#include <map>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "engine/analysis/breakout.h"
#include "reports/workbook_cells.h"

namespace deckle {

namespace workbook_sheets {
inline constexpr std::string_view derivatives = "Derivatives", burdens = "Burdens";
}

class WorkbookBreakout {
public:
    /// One burden: term `term` of the sum `node`.
    struct Burden {
        NodeId node;
        std::size_t term;
    };

    /// Of figures whose degree is one. Graph, evaluation and cells must outlive it.
    /// Errors: NoAnswer workbook-too-large.
    WorkbookBreakout(const Graph& graph, const Evaluation& at, const WorkbookCells& cells,
                     std::vector<NodeId> figures);

    /// Nodes with a row among the derivatives, one entry a row; a node with pieces has several.
    [[nodiscard]] const std::vector<NodeId>& rows() const noexcept { return rows_; }
    [[nodiscard]] const std::vector<Burden>& burdens() const noexcept { return burdens_; }
    /// The groups that a figure's burdens fall into, in the order of the graph; zero ones too.
    [[nodiscard]] std::vector<std::string> groups(std::size_t figure, BreakoutBy by) const;
    /// What a group brings to a figure, as a formula; `label` is the cell with the group's name.
    [[nodiscard]] std::string group_formula(std::size_t figure, BreakoutBy by,
                                            const std::string& label) const;

    /// The columns of figures, from `figure_column` on and of burdens from `share_column` on.
    void write_derivatives(BookSheet& sheet) const;
    void write_burdens(BookSheet& sheet) const;

    static constexpr std::size_t figure_column = 2, first_row = 1;
    static constexpr std::size_t amount_column = 6, factor_column = 7, burden_column = 8,
                                 unit_column = 9, share_column = 10;

private:
    /// A term of the derivative to a node: that to `user`, between two texts.
    struct Edge {
        NodeId user;
        std::string before, after;
    };

    [[nodiscard]] std::vector<std::uint8_t> reached_from(NodeId figure) const;
    [[nodiscard]] std::vector<std::pair<NodeId, std::size_t>> linear_arguments(NodeId node) const;
    void add_edges(NodeId user);
    [[nodiscard]] Edge edge(NodeId user, std::size_t argument) const;
    [[nodiscard]] std::size_t pieces_at_most(NodeId node) const;
    void place_rows();
    void collect_burdens();
    [[nodiscard]] std::string derivative_cell(NodeId node, std::size_t figure) const;
    void write_derivative(BookSheet& sheet, NodeId node, std::size_t figure, double value) const;

    const Graph& graph_;
    const Evaluation& at_;
    const WorkbookCells& cells_;
    std::vector<NodeId> figures_;
    std::vector<std::vector<std::uint8_t>> reached_;  ///< by figure, one flag a node
    std::map<NodeId, std::vector<Edge>> edges_;       ///< by the node they lead to
    std::map<NodeId, std::size_t> where_;
    std::vector<NodeId> rows_;
    std::vector<Burden> burdens_;
};

/// How a group is shown: one without a name has one all the same, a scope says that it is one.
[[nodiscard]] std::string shown_group(BreakoutBy by, const std::string& name);

}  // namespace deckle
