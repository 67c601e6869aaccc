// The first-order uncertainty of a figure: the law of propagation of the GUM (JCGM 100:2008, 5.1.2)
// over the derivatives of one reverse pass, and whether the draws bear it out (JCGM 101:2008,
// clause 8).
#pragma once

#include <cstdint>
#include <vector>

#include "engine/analysis/sample.h"
#include "engine/graph/evaluate.h"

namespace deckle {

/// Combined standard uncertainty of a node at the values given [unit of the node]. Each input
/// counts with the standard deviation of its distribution and the slope at its value; correlations
/// of draws count as those of the inputs (5.2.2), which they are for normals. 0 where the rounding
/// of the value explains it.
[[nodiscard]] double first_order_uncertainty(const Graph& graph, const Evaluation& at,
                                             Gradient& gradient, NodeId node);

/// Whether a first-order interval may stand for the one of the draws.
enum class FirstOrderVerdict : std::uint8_t {
    accepted,   ///< both ends agree within the tolerance
    refused,    ///< they do not
    undecided,  ///< too few draws: the ends are not settled to a fifth of the tolerance
    not_judged  ///< no spread, or no symmetric interval to hold it against
};

struct FirstOrder {
    double standard_uncertainty = 0.0;
    double low = 0.0, high = 0.0;  ///< value -+ 1.96 standard uncertainties
    int digits = 0;                ///< accepted with so many digits; of the others the one asked
    FirstOrderVerdict verdict = FirstOrderVerdict::not_judged;
};

/// `value`: the figure at the inputs. The most digits (2, else 1) that can be accepted.
[[nodiscard]] FirstOrder judged(double value, double standard_uncertainty, const Sample& sample,
                                IntervalKind kind);

}  // namespace deckle
