// Sobol indices of a figure: which share of its variance an input causes alone (first order), and
// which share would vanish with it, joint effects included (total). Two halves of draws, A and B,
// come from two streams of the same numbers that an uncertainty run takes; for every input one more
// run of A with that input taken from B. All runs are lanes of one plan.
//
// Sources: Saltelli et al., Comput Phys Commun 181 (2010) 259-270; Jansen, Comput Phys Commun 117
// (1999) 35-43. Totals are Jansen's, first orders those of the two with the smaller error. Errors
// are those of a ratio of two means, linearised: to first order what a bootstrap of the rows gives,
// without drawing anything more.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "engine/graph/evaluate.h"
#include "engine/graph/graph.h"
#include "engine/graph/lanes.h"

namespace deckle {

inline constexpr std::uint32_t sobol_stream_a = 1, sobol_stream_b = 2;  ///< 0: uncertainty runs
inline constexpr std::uint64_t least_sobol_rows = 64;

struct SobolQuestion {
    std::uint64_t rows = 4096;  ///< N; N (inputs + 2) runs are made
    std::uint64_t seed = 1;
    unsigned threads = 1;
    LaneWidth width = chosen_lane_width();
};

struct SobolIndex {
    double value = 0.0;
    double half_width = 0.0;  ///< of its 95 % interval
};

/// An input, or several that are correlated: these can only be exchanged together.
struct SobolInput {
    std::vector<std::string> addresses;
    SobolIndex first, total;
    double rank_correlation = 0.0;  ///< Spearman's, of the first of them and the figure in half A
};

struct SobolIndices {
    std::uint64_t rows = 0, runs = 0, seed = 0;
    double mean = 0.0, deviation = 0.0;  ///< of both halves together, in the unit of the figure
    double sum_of_first = 0.0;           ///< 1 when inputs do not act together
    std::vector<SobolInput> inputs;      ///< those with a spread, largest total first
};

/// Errors: NoAnswer no-spread when no input below has one, no-variance when the draws move it by
/// no more than rounding,
/// and those of Block::evaluate. `rows` is at least `least_sobol_rows`.
[[nodiscard]] SobolIndices sobol_indices(const Graph& graph, const Evaluation& at, NodeId figure,
                                         const SobolQuestion& question);

}  // namespace deckle
