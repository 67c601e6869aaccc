#include "engine/analysis/first_order.h"

#include <algorithm>
#include <cmath>

#include "engine/analysis/rounding.h"
#include "engine/graph/random.h"
#include "engine/graph/spread.h"

namespace deckle {

double first_order_uncertainty(const Graph& graph, const Evaluation& at, Gradient& gradient,
                               NodeId node) {
    struct Part {
        TextId address;
        double value;  ///< slope times standard deviation
    };
    std::vector<Part> correlated;
    const auto slope = gradient.of(node);
    double variance = 0.0;
    for (const NodeId one : gradient.walked()) {
        if (graph.operation(one) != Operation::input || slope[one] == 0.0) continue;
        const Input& input = graph.inputs()[graph.payload(one)];
        const Part part{input.addresses.front(),
                        slope[one] * moments_of(input, at.value).deviation};
        variance += part.value * part.value;
        if (!graph.correlation_of(part.address).known()) continue;
        for (const Part& other : correlated)
            variance +=
                2.0 * part.value * other.value * graph.correlation(part.address, other.address);
        correlated.push_back(part);
    }
    const double uncertainty = std::sqrt(std::max(variance, 0.0)), value = at.value[node];
    return uncertainty > rounding_of(value, value) ? uncertainty : 0.0;
}

FirstOrder judged(double value, double standard_uncertainty, const Sample& sample,
                  IntervalKind kind) {
    FirstOrder result;
    result.standard_uncertainty = standard_uncertainty;
    const double half_width = random::half_width_95 * standard_uncertainty;
    result.low = value - half_width;
    result.high = value + half_width;
    const double drawn = sample.summary.standard_uncertainty;
    if (drawn == 0.0 || kind != IntervalKind::symmetric) return result;
    const double off = std::max(std::fabs(result.low - sample.summary.low),
                                std::fabs(result.high - sample.summary.high));
    const double unsettled = 2.0 * std::max(sample.errors.low, sample.errors.high);
    for (result.digits = 2; result.digits > 0; --result.digits) {
        const double tolerance = numerical_tolerance(drawn, result.digits);
        if (unsettled >= tolerance / 5.0) {
            // what is off by more than the draws can be is refused all the same
            result.verdict = off > tolerance + unsettled ? FirstOrderVerdict::refused
                                                         : FirstOrderVerdict::undecided;
        } else {
            result.verdict =
                off <= tolerance ? FirstOrderVerdict::accepted : FirstOrderVerdict::refused;
        }
        if (result.verdict == FirstOrderVerdict::accepted) return result;
    }
    result.digits = 1;
    return result;
}

}  // namespace deckle
