#include "engine/graph/sparse_loop.h"

#include <klu.h>

#include <algorithm>
#include <cmath>
#include <new>
#include <utility>
#include <vector>

namespace deckle {

struct SparseLoop::Parts {
    std::uint32_t size = 0, sides = 0;
    std::vector<int> column_start, row;      ///< compressed columns of I - C
    std::vector<std::size_t> slot_of_entry;  ///< where an entry's coefficient goes
    std::vector<std::size_t> slot_of_diagonal;
    std::vector<double> values, columns;
    klu_common common{};
    klu_symbolic* symbolic = nullptr;
    klu_numeric* numeric = nullptr;

    ~Parts() {
        if (numeric != nullptr) klu_free_numeric(&numeric, &common);
        if (symbolic != nullptr) klu_free_symbolic(&symbolic, &common);
    }
    void lay_out(const Solve& system);
    void fill(std::span<const double> coefficients);
    void factor_with(double diagonal_preference);
    [[nodiscard]] SolveFailure judge(bool credits) const;
    void to_columns(std::span<const double> rows);
    void to_rows(std::span<double> rows) const;
};

/// Compressed columns with one slot for each place, the diagonal included.
void SparseLoop::Parts::lay_out(const Solve& system) {
    using Cell = std::pair<std::uint32_t, std::uint32_t>;  // column, row
    std::vector<Cell> cells;
    cells.reserve(system.entries.size() + size);
    for (const auto& entry : system.entries) cells.push_back({entry.column, entry.row});
    for (std::uint32_t i = 0; i < size; ++i) cells.push_back({i, i});
    std::ranges::sort(cells);
    cells.erase(std::unique(cells.begin(), cells.end()), cells.end());

    column_start.assign(size + std::size_t{1}, 0);
    row.reserve(cells.size());
    for (const Cell& cell : cells) {
        ++column_start[cell.first + std::size_t{1}];
        row.push_back(static_cast<int>(cell.second));
    }
    for (std::size_t i = 0; i < size; ++i) column_start[i + 1] += column_start[i];
    const auto slot = [&](Cell cell) {
        return static_cast<std::size_t>(std::ranges::lower_bound(cells, cell) - cells.begin());
    };
    for (const auto& entry : system.entries)
        slot_of_entry.push_back(slot({entry.column, entry.row}));
    for (std::uint32_t i = 0; i < size; ++i) slot_of_diagonal.push_back(slot({i, i}));
    values.resize(cells.size());
    columns.resize(std::size_t{size} * sides);
}

void SparseLoop::Parts::fill(std::span<const double> coefficients) {
    std::ranges::fill(values, 0.0);
    for (const std::size_t slot : slot_of_diagonal) values[slot] = 1.0;
    for (std::size_t k = 0; k < coefficients.size(); ++k)
        values[slot_of_entry[k]] -= coefficients[k];
}

void SparseLoop::Parts::factor_with(double diagonal_preference) {
    common.tol = diagonal_preference;
    if (numeric != nullptr) klu_free_numeric(&numeric, &common);
    numeric = klu_factor(column_start.data(), row.data(), values.data(), symbolic, &common);
    if (numeric == nullptr) throw std::bad_alloc();
}

/// KLU divides each row by its largest entry first, so its pivots are shares of their rows already.
SolveFailure SparseLoop::Parts::judge(bool credits) const {
    const auto* pivots = static_cast<const double*>(numeric->Udiag);
    for (std::uint32_t k = 0; k < size; ++k) {
        const auto failed_row = static_cast<std::uint32_t>(numeric->Pnum[k]);
        if (!(std::fabs(pivots[k]) >= smallest_pivot)) return {SolveOutcome::singular, failed_row};
        if (pivots[k] < 0.0 && !credits) return {SolveOutcome::needs_more_of_itself, failed_row};
    }
    return {};
}

void SparseLoop::Parts::to_columns(std::span<const double> rows) {
    for (std::size_t i = 0; i < size; ++i) {
        for (std::size_t s = 0; s < sides; ++s) columns[s * size + i] = rows[i * sides + s];
    }
}

void SparseLoop::Parts::to_rows(std::span<double> rows) const {
    for (std::size_t i = 0; i < size; ++i) {
        for (std::size_t s = 0; s < sides; ++s) rows[i * sides + s] = columns[s * size + i];
    }
}

SparseLoop::SparseLoop(const Solve& system) : parts_(std::make_unique<Parts>()) {
    Parts& p = *parts_;
    p.size = system.size;
    p.sides = system.right_sides;
    p.lay_out(system);
    klu_defaults(&p.common);
    p.common.btf = 0;
    p.common.halt_if_singular = 0;
    p.symbolic =
        klu_analyze(static_cast<int>(p.size), p.column_start.data(), p.row.data(), &p.common);
    if (p.symbolic == nullptr) throw std::bad_alloc();
}

SparseLoop::~SparseLoop() = default;

SolveFailure SparseLoop::factor(std::span<const double> coefficients) {
    Parts& p = *parts_;
    p.fill(coefficients);
    const bool credits = std::ranges::any_of(coefficients, [](double c) { return c < 0.0; });
    p.factor_with(0.0);
    SolveFailure failure = p.judge(credits);
    if (failure.outcome == SolveOutcome::singular && credits) {
        p.factor_with(1.0);
        failure = p.judge(credits);
    }
    return failure;
}

void SparseLoop::solve(std::span<const double> b, std::span<double> x) {
    Parts& p = *parts_;
    p.to_columns(b);
    klu_solve(p.symbolic, p.numeric, static_cast<int>(p.size), static_cast<int>(p.sides),
              p.columns.data(), &p.common);
    p.to_rows(x);
}

void SparseLoop::solve_transposed(std::span<const double> g, std::span<double> lambda) {
    Parts& p = *parts_;
    p.to_columns(g);
    klu_tsolve(p.symbolic, p.numeric, static_cast<int>(p.size), static_cast<int>(p.sides),
               p.columns.data(), &p.common);
    p.to_rows(lambda);
}

}  // namespace deckle
