// A loop too large for our own elimination: KLU on that loop alone, without its block ordering,
// with the pivots on the diagonal as long as they serve. Not for loops of up to 64 products
// (elimination.h). Analyse once, then factor and solve for each set of values; an object serves one
// thread.
#pragma once

#include <memory>
#include <span>

#include "engine/graph/solve.h"

namespace deckle {

class SparseLoop {
public:
    /// Pattern and fill-reducing order of a system; no values yet.
    explicit SparseLoop(const Solve& system);
    ~SparseLoop();
    SparseLoop(const SparseLoop&) = delete;
    SparseLoop& operator=(const SparseLoop&) = delete;

    /// Factors I - C. Coefficients in the order of the system's entries.
    [[nodiscard]] SolveFailure factor(std::span<const double> coefficients);

    /// x from b, or lambda from g with the transposed matrix; size x right sides, row by row.
    void solve(std::span<const double> b, std::span<double> x);
    void solve_transposed(std::span<const double> g, std::span<double> lambda);

private:
    struct Parts;
    std::unique_ptr<Parts> parts_;
};

}  // namespace deckle
