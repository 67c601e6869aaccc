// What the two outside faces of the operations lean on: the script that a page carries, so that the
// browser expressions of operation.h give the same bits as the engine, and the hidden sheet of
// coefficients that the workbook formulas of steam refer to. Writes nothing itself.
#pragma once

#include <string>
#include <vector>

namespace deckle {

/// Plain script (ECMAScript 2020) with the functions that browser expressions call: power,
/// exponential, logarithm, smallest, largest, round_down, steam_h, steam_s, liquid_h, vapour_h,
/// liquid_s, vapour_s, boiling_t and solve. Same operations in the same order as the engine, so the
/// same bits.
///
/// `solve(system, values)`: system = {size, right_sides, entries: [[row, column], ...], order:
/// [...]}, values = the coefficients in the order of entries, then the right-hand sides row by row;
/// gives the unknowns row by row, or NaN for each where the loop has no answer. Loops of more than
/// 64 products (the engine solves those with another order) agree to rounding only.
[[nodiscard]] std::string browser_script();

/// The evaluator of a page as an ECMAScript module, made from browser_script() and the browser face
/// of every operation. It exports `operations` (their names), `words` (of each) and
/// `evaluate(graph, v, solved, nodes)`, which gives the nodes listed, in that order, their values
/// in `v`; the unknowns of loops go to `solved`. `graph` has, by node, `operation`, `start`,
/// `count`, `p`, `q`, `systems`, `index` (of a part), and `arguments`.
[[nodiscard]] std::string browser_evaluator();

/// A named column of the hidden sheet; the name stands in the workbook formulas.
struct WorkbookColumn {
    std::string name;
    std::vector<double> values;
};

/// liquid_i, liquid_j, liquid_n (region 1), ideal_j, ideal_n, steam_i, steam_j, steam_n (region 2).
[[nodiscard]] std::vector<WorkbookColumn> workbook_columns();

}  // namespace deckle
