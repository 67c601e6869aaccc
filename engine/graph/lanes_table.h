// What the lanes can do, as a table of plain functions: one table for each instruction set, all
// made from lanes_source.h. The boundary between code for any processor (lanes.cpp) and the wide
// translation units; it includes nothing of the standard library but <cstdint>.
#pragma once

#include <cstdint>

namespace deckle {

/// Where the values of an argument stand: a lane a draw (mask all ones), or one value eight times
/// (0).
struct Operand {
    const double* lanes;
    std::uint64_t mask;
};

/// A loop of up to 64 unknowns as elimination.h wants it.
struct LoopShape {
    std::uint32_t size, sides, entries;
    const std::uint32_t*
        cells;  ///< where each entry goes: row * size + column, in elimination order
    const std::uint32_t* place;  ///< of each unknown in the order
    const std::uint64_t* rows;   ///< columns that may have an entry, as bits
};

/// What a draw of one input needs.
struct DrawTask {
    std::uint64_t seed, id, block;
    std::uint32_t stream;
    double low_bound, high_bound;  ///< finite
    Operand value, a, b, c;        ///< value; parameters, a half-width or factor as sigma
};

/// Every function handles `lanes` draws (a multiple of 8) and says whether all values are finite
/// (spreads: and inside the bounds; solve: and all pivots sound).
struct LaneTable {
    using Plain = bool (*)(const Operand* arguments, std::uint32_t count, const double* parameters,
                           double* out, std::uint32_t lanes);
    /// In place: numbers of the shape's kind (SpreadRow) become values.
    using Draw = bool (*)(const DrawTask& task, double* numbers, std::uint32_t lanes);

    const char* name;
    std::uint32_t width;
    Plain sum, product, quotient, sum_of_products, negate,
        convert;  ///< parameters of convert: p, q
    Plain power;  ///< arguments: the base alone; parameters: the exponent
    Plain square_root, exponential, logarithm, minimum, maximum, whole;
    Plain steam_h, steam_s, liquid_h, vapour_h, liquid_s, vapour_s, boiling_t;
    /// The 512 numbers of a block; normals from such numbers, and back, in place.
    void (*units)(const DrawTask& task, double* out);
    void (*normals)(double* numbers);
    void (*chances)(double* normals, std::uint32_t lanes);
    Draw normal, lognormal, triangular, uniform, arcsine, trapezoid, truncated;
    /// `arguments`: coefficients, then right-hand sides; `x`: where each unknown goes, or null;
    /// `scratch`: size * (size + sides) * 8 doubles, aligned to 64 bytes.
    bool (*solve)(const LoopShape& shape, const Operand* arguments, double* const* x,
                  double* scratch, std::uint32_t lanes);
    /// Whether all lanes are at least `least`.
    bool (*at_least)(const double* values, double least, std::uint32_t lanes);
};

[[nodiscard]] const LaneTable& lanes_sse2() noexcept;
[[nodiscard]] const LaneTable& lanes_avx2() noexcept;
[[nodiscard]] const LaneTable& lanes_avx512() noexcept;

}  // namespace deckle
