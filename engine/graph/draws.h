// Which draw takes which random number, and what it makes of an input: the reference for one draw
// at a time. The order is part of Deckle's format: any draw of any input can be recomputed alone,
// whatever the number of threads, the width of the lanes or the shard. Blocks of draws are in
// lanes.h.
//
//   key      the seed, 64 bits
//   counter  (call, stream, id low, id high), id = stable_id of the input's first address
//   call     of Philox4x32-10: 128 bits, words w0 to w3, are two numbers (x + 1/2) / 2^52,
//            x the upper 52 bits of w0 + 2^32 w1 and of w2 + 2^32 w3
//   draw     512 g + i takes the first, 512 g + 256 + i the second number of call 256 g + i (i <
//   256)
//
// One number a draw: spread.h makes the value of it. Inputs with a correlation take normals z, the
// rows of their group's Cholesky factor times the normals of its inputs in the order of addresses;
// shapes that are not made of normals take the chance of z.
#pragma once

#include <array>
#include <cstdint>

#include "engine/graph/evaluate.h"
#include "engine/graph/graph.h"
#include "engine/graph/spread.h"

namespace deckle {

inline constexpr std::uint32_t block_draws = 512;
inline constexpr std::uint64_t most_draws = std::uint64_t{1} << 33U;  ///< a call has 32 bits

struct DrawKey {
    std::uint64_t seed = 0;
    std::uint32_t stream = 0;  ///< separates uses: 0 the draws of an uncertainty run
};

/// The four words of Philox4x32-10.
[[nodiscard]] std::array<std::uint32_t, 4> philox_words(std::array<std::uint32_t, 4> counter,
                                                        std::array<std::uint32_t, 2> key);

/// The number in (0, 1) of a draw of the quantity with this id.
[[nodiscard]] double unit_draw(DrawKey key, std::uint64_t id, std::uint64_t draw);

/// Value of an input with a spread in one draw; `values` gives its own value and those of its
/// parameters (one a node). Bounds are not looked at.
[[nodiscard]] double drawn_value(const Graph& graph, const Input& input,
                                 std::span<const double> values, DrawKey key, std::uint64_t draw);

/// All inputs with a spread that `wanted` marks (all when empty), in one draw.
[[nodiscard]] Overlay drawn_inputs(const Graph& graph, const Evaluation& base,
                                   std::span<const std::uint8_t> wanted, DrawKey key,
                                   std::uint64_t draw);

}  // namespace deckle
