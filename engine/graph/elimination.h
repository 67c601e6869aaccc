// Elimination of a small loop, written once for any number (see properties/elementary.h), so that a
// double, a lane and the browser make the same + - * / in the same order. No pivoting: row and
// column k belong to the k-th unknown in the order stored with the graph. Entries that are zero by
// structure are passed over; `rows[i]` has bit j set where row i may have an entry in column j,
// fill included. Includes nothing of the standard library but <cstdint>: the wide lanes include
// this file.
#pragma once

#include <cstdint>

namespace deckle::elimination {

inline constexpr double smallest_share = 1e-9;  ///< a pivot below this share of its row is no pivot

template <class Real>
bool has(std::uint64_t row, std::uint32_t column) {
    return ((row >> column) & 1U) != 0;
}

/// L (unit diagonal, below) and U in the place of `a`, row by row.
template <class Real>
void factor(std::uint32_t size, const std::uint64_t* rows, Real* a) {
    for (std::uint32_t k = 0; k < size; ++k) {
        for (std::uint32_t i = k + 1; i < size; ++i) {
            if (!has<Real>(rows[i], k)) continue;
            const Real share = a[i * size + k] / a[k * size + k];
            a[i * size + k] = share;
            for (std::uint32_t j = k + 1; j < size; ++j) {
                if (has<Real>(rows[k], j))
                    a[i * size + j] = a[i * size + j] - share * a[k * size + j];
            }
        }
    }
}

/// The solution in the place of the right-hand sides `b`, row by row.
template <class Real>
void substitute(std::uint32_t size, const std::uint64_t* rows, const Real* a, std::uint32_t sides,
                Real* b) {
    for (std::uint32_t i = 1; i < size; ++i) {
        for (std::uint32_t k = 0; k < i; ++k) {
            if (!has<Real>(rows[i], k)) continue;
            for (std::uint32_t s = 0; s < sides; ++s) {
                b[i * sides + s] = b[i * sides + s] - a[i * size + k] * b[k * sides + s];
            }
        }
    }
    for (std::uint32_t k = size; k-- > 0;) {
        for (std::uint32_t j = k + 1; j < size; ++j) {
            if (!has<Real>(rows[k], j)) continue;
            for (std::uint32_t s = 0; s < sides; ++s) {
                b[k * sides + s] = b[k * sides + s] - a[k * size + j] * b[j * sides + s];
            }
        }
        for (std::uint32_t s = 0; s < sides; ++s)
            b[k * sides + s] = b[k * sides + s] / a[k * size + k];
    }
}

/// Largest |entry| of row k before elimination.
template <class Real>
Real largest_entry(std::uint32_t size, const std::uint64_t* rows, const Real* a, std::uint32_t k) {
    Real largest = Real{};
    for (std::uint32_t j = 0; j < size; ++j) {
        if (!has<Real>(rows[k], j)) continue;
        const Real entry = a[k * size + j];
        const Real minus = -entry;
        const Real magnitude = entry < 0.0 ? minus : entry;
        largest = magnitude > largest ? magnitude : largest;
    }
    return largest;
}

/// Positive when a pivot serves: against its row, and, where no coefficient of the loop is a credit
/// (`lowest` of them not negative), by its sign too.
template <class Real>
Real soundness(Real pivot, Real largest, Real lowest) {
    const Real minus = -pivot;
    const Real magnitude = pivot < 0.0 ? minus : pivot;
    const Real judged = lowest < 0.0 ? magnitude : pivot;
    return judged - smallest_share * largest;
}

}  // namespace deckle::elimination
