// Uncertainty of figures of a graph by Monte Carlo (JCGM 101:2008), with the first-order figure of
// the GUM beside it, and the paired comparison of figures under the same draws. Figures come in
// groups (the products of a study): what groups share is evaluated once a tile, then group after
// group draws its own inputs. The answer has the same bits for any number of threads, width of
// lanes and division of the groups into runs. A draw that has no answer ends the run; none is
// dropped. Start reading at uncertainty().
#pragma once

#include <functional>
#include <optional>
#include <span>
#include <vector>

#include "engine/analysis/comparison.h"
#include "engine/analysis/draw_tiles.h"
#include "engine/analysis/first_order.h"
#include "engine/analysis/sample.h"

namespace deckle {

struct UncertainFigure {
    NodeId node = no_node;
    NodeId against = no_node;  ///< compared with this one, draw by draw
};

using UncertainGroup = std::vector<UncertainFigure>;

struct UncertaintyQuestion {
    std::uint64_t seed = 1;
    std::uint64_t draws = 100'000;  ///< when not adaptive; at least 2
    /// Not 0: each group is drawn, tile after tile, until so many digits of its figures'
    /// uncertainties hold (JCGM 101, 7.9.4); at most `most_adaptive_draws`. Not with a shortest
    /// interval, whose ends are not judged (see StandardErrors).
    int adaptive_digits = 0;
    IntervalKind interval = IntervalKind::symmetric;
    bool unpaired = false;  ///< also compare with references that have draws of their own
    unsigned threads = 1;
    LaneWidth width = chosen_lane_width();
    /// How far the kept windows reach around a wanted rank, in its standard deviations; a window
    /// that misses costs a second walk, never a bit of the answer.
    double window_deviations = 6.5;
    std::function<void(double)> progress = {};  ///< told the share done, from the calling thread
};

inline constexpr std::uint64_t most_adaptive_draws = 100'000'000;

struct FigureUncertainty {
    double value = 0.0;  ///< at the inputs
    Sample sample;
    FirstOrder first_order;
    std::optional<Comparison> paired, unpaired;
};

/// One answer a figure, in groups as asked. Graph and base must belong together.
/// Errors: NoAnswer of the first draw that has none (draw-outside-bounds, negative-rest,
/// unsolvable-loop, not-finite), or not-settled for an adaptive run that does not end.
[[nodiscard]] std::vector<std::vector<FigureUncertainty>> uncertainty(
    const Graph& graph, const Evaluation& base, std::span<const UncertainGroup> groups,
    const UncertaintyQuestion& question);

}  // namespace deckle
