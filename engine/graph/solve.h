// The linear system of a loop, x = C x + b, for one set of values: elimination in an order fixed at
// build for up to 64 unknowns (the same + - * / everywhere), KLU above. Used by evaluate.cpp, and
// by the workbook to show an inverse; the lanes repeat the same elimination in lanes.cpp.
#pragma once

#include <cstdint>
#include <span>
#include <string>
#include <vector>

#include "engine/graph/graph.h"

namespace deckle {

inline constexpr std::uint32_t largest_dense_solve = 64;
inline constexpr double smallest_pivot = 1e-9;  ///< of the largest entry in its row

enum class SolveOutcome : std::uint8_t { solved, singular, needs_more_of_itself };

struct SolveFailure {
    SolveOutcome outcome = SolveOutcome::solved;
    std::uint32_t row = 0;  ///< the unknown whose pivot failed
};

/// x (size * right_sides, row by row) from coefficients (in entry order) and b (row by row).
/// `credits` says that negative coefficients or rests occur, so a negative pivot is no verdict.
[[nodiscard]] SolveFailure solve_system(const Solve& system, std::span<const double> coefficients,
                                        std::span<const double> b, std::span<double> x);

/// lambda from (I - C)^T lambda = g, for the reverse pass; same layout, same elimination.
void solve_transposed(const Solve& system, std::span<const double> coefficients,
                      std::span<const double> g, std::span<double> lambda);

/// An elimination order whose pivots are sound at these coefficients: rows in order unless a pivot
/// is too small, then the row with the largest pivot next. Returns the failure if there is none.
[[nodiscard]] SolveFailure plan_order(const Solve& system, std::span<const double> coefficients,
                                      std::vector<std::uint32_t>& order);

/// For up to 64 unknowns: where each unknown stands in the order, and for each row in that order
/// the columns that may have an entry, fill included, as bits.
void loop_shape(const Solve& system, std::span<const std::uint32_t> order,
                std::span<std::uint32_t> place, std::span<std::uint64_t> rows);

/// Sentence that names the loop, its members and its largest coefficients.
[[nodiscard]] std::string loop_message(const Graph& graph, const Solve& system,
                                       std::span<const double> coefficients, SolveFailure failure);

}  // namespace deckle
