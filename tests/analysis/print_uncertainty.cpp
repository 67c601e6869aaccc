// Prints draws of small models with Deckle's statistics of them, as JSON, for
// uncertainty_against_python.py, which works everything out again.
#include <algorithm>
#include <cstdio>

#include "tests/analysis/uncertainty_graphs.h"

using namespace deckle;
using test::Model;

namespace {

void print_statistics(const Model& model, NodeId node, std::uint64_t draws, IntervalKind interval) {
    UncertaintyQuestion question;
    question.draws = draws;
    question.interval = interval;
    question.seed = 7;
    const Sample sample = model.run({{node}}, question).at(0).sample;
    const Summary& s = sample.summary;
    std::printf(
        "{\"interval\": \"%s\", \"mean\": %.17g, \"u\": %.17g, \"median\": %.17g, \"low\": %.17g, "
        "\"high\": %.17g, \"error_mean\": %.17g, \"error_u\": %.17g, \"error_low\": %.17g, "
        "\"draws\": [",
        interval == IntervalKind::symmetric ? "symmetric" : "shortest", s.mean,
        s.standard_uncertainty, s.median, s.low, s.high, sample.errors.mean,
        sample.errors.standard_uncertainty, sample.errors.low);
    const Evaluation base = evaluate(model.graph);
    const std::vector<NodeId> wanted{node};
    const LanePlan plan(model.graph, base, {wanted});
    Block block(plan);
    const char* separator = "";
    for (std::uint64_t first = 0; first < draws; first += block_draws) {
        const auto count = std::min<std::uint64_t>(block_draws, draws - first);
        block.evaluate({7, 0}, first / block_draws, static_cast<std::uint32_t>(count));
        for (const double value : block.lanes(0)) {
            std::printf("%s%.17g", separator, value);
            separator = ", ";
        }
    }
    std::printf("]}\n");
}

void print_first_order(const char* name, const Model& model, NodeId node) {
    const auto found = model.run(node, 100);
    std::printf("{\"model\": \"%s\", \"value\": %.17g, \"u\": %.17g}\n", name, found.value,
                found.first_order.standard_uncertainty);
}

}  // namespace

int main() {
    Model skewed;
    const NodeId y = skewed.quotient(skewed.lognormal("a", 3, 1.5), skewed.lognormal("b", 2, 1.3));
    for (const std::uint64_t draws : {1'000U, 1'019U, 16'384U, 40'001U}) {
        for (const IntervalKind kind : {IntervalKind::symmetric, IntervalKind::shortest})
            print_statistics(skewed, y, draws, kind);
    }
    Model few;  // seven distinct values
    const NodeId steps = few.make(Operation::whole, {few.uniform("x", 0, 7)});
    print_statistics(few, steps, 40'001, IntervalKind::symmetric);

    // z = exp(a b) / (c + sqrt d) - ln a, with every shape of spread
    Model mixed;
    const NodeId a = mixed.normal("a", 1.5, 0.1), b = mixed.lognormal("b", 0.7, 1.2);
    const NodeId c = mixed.spread("c", 2.0, SpreadKind::triangular, {1.5, 3.5});
    const NodeId d = mixed.uniform("d", 3, 5);
    const NodeId z =
        mixed.sum({mixed.quotient(mixed.make(Operation::exponential, {mixed.product({a, b})}),
                                  mixed.sum({c, mixed.make(Operation::square_root, {d})})),
                   mixed.minus(mixed.make(Operation::logarithm, {a}))});
    print_first_order("mixed", mixed, z);

    // x = c01 y + 1.5, y = c10 x + b1: two products that feed each other
    Model loop;
    const Solution solved = loop.solve(
        2, {{0, 1}, {1, 0}}, {loop.normal("c01", 0.3, 0.02), loop.normal("c10", 0.5, 0.04)}, 1,
        {loop.number(1.5), loop.normal("b1", 2.0, 0.1)});
    print_first_order("loop", loop, solved.parts[0]);
    return 0;
}
