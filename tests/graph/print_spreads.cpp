// Prints every shape of spread for spreads_against_scipy.py. Without an argument one line a shape:
// name, value, parameters (three, open ones as 1.7e308), mean and standard deviation, then its
// values at the shares of `shares`. With "draws": 100,000 draws of each as raw doubles, one shape
// after the other, then as many of each of five inputs of different shapes that are correlated.
#include <cstdio>
#include <cstring>

#include "engine/graph/lanes.h"
#include "engine/graph/spread.h"
#include "tests/graph/graph_maker.h"

using namespace deckle;

namespace {

struct Shape {
    SpreadKind kind;
    double value;
    std::vector<double> parameters;
};

const std::vector<Shape> shapes = {
    {SpreadKind::normal, 4.35, {0.2}},
    {SpreadKind::lognormal, 4.35, {1.3}},
    {SpreadKind::lognormal, 0.02, {12.0}},
    {SpreadKind::triangular, 2.0, {1.0, 5.0}},
    {SpreadKind::uniform, 4.35, {4.1, 4.6}},
    {SpreadKind::arcsine, 4.3, {4.1, 4.6}},
    {SpreadKind::curvilinear_trapezoid, 0.0, {-1.0e-6, 1.0e-6, 0.1e-6}},
    {SpreadKind::curvilinear_trapezoid, 20.0, {19.95, 20.05, 0.025}},
    {SpreadKind::curvilinear_trapezoid, 5.0, {4.0, 6.0, 0.99}},
    {SpreadKind::curvilinear_trapezoid, 5.0, {4.0, 6.0, 1e-5}},
    {SpreadKind::student_t, 215.0, {6.0, 24.0}},
    {SpreadKind::student_t, 10.0, {4.0, 5.0}},
    {SpreadKind::student_t, 10.0, {4.0, 2.5}},
    {SpreadKind::student_t, 10.0, {4.0, 16.65}},
    {SpreadKind::student_t, 10.0, {4.0, 1e6}},
    {SpreadKind::student_t, 10.0, {4.0, 2e4}},
    {SpreadKind::student_t, 10.0, {4.0, 9e3}},
    {SpreadKind::truncated_normal, 0.5, {0.98, 0.0, 2.0}},
    {SpreadKind::truncated_normal, 3.0, {2.0, 1.0, 3.01}},
};

constexpr double shares[] = {1e-12, 1e-6, 0.001, 0.025, 0.05, 0.1,   0.25,  0.4,
                             0.5,   0.6,  0.75,  0.9,   0.95, 0.975, 0.999, 1.0 - 1e-6};
constexpr std::uint64_t draws = 100'000;

void print_shapes() {
    for (const Shape& shape : shapes) {
        SpreadValues spread{shape.kind, false, shape.value, {}};
        for (std::size_t k = 0; k < shape.parameters.size(); ++k)
            spread.parameters[k] = shape.parameters[k];
        const auto [mean, deviation] = spread_moments(spread);
        std::printf("%s %.17g %.17g %.17g %.17g %.17g %.17g", row_of(shape.kind).name.data(),
                    spread.value, spread.parameters[0], spread.parameters[1], spread.parameters[2],
                    mean, deviation);
        for (const double p : shares) std::printf(" %.17g %.17g", p, spread_quantile(spread, p));
        std::printf("\n");
    }
}

/// Correlation 0.8 between neighbours, less by the same factor for each step further.
void correlate(Graph& graph, const std::vector<TextId>& addresses) {
    const std::size_t size = addresses.size();
    std::vector<double> matrix(size * size, 1.0);
    for (std::size_t i = 0; i < size; ++i) {
        for (std::size_t j = 0; j < size; ++j) {
            const std::size_t apart = i < j ? j - i : i - j;
            for (std::size_t k = 0; k < apart; ++k) matrix[i * size + j] *= 0.8;
        }
    }
    if (!graph.correlate(addresses, matrix)) throw std::logic_error("not definite");
}

void print_draws() {
    test::Maker maker;
    std::vector<NodeId> wanted;
    for (const Shape& shape : shapes) {
        wanted.push_back(maker.spread("shape." + std::to_string(wanted.size()), shape.value,
                                      shape.kind, shape.parameters));
    }
    std::vector<TextId> addresses;
    for (const std::size_t k : {0U, 1U, 5U, 11U, 17U}) {
        const std::string address = "together." + std::to_string(k);
        addresses.push_back(maker.graph.text(address));
        wanted.push_back(
            maker.spread(address, shapes[k].value, shapes[k].kind, shapes[k].parameters));
    }
    correlate(maker.graph, addresses);
    const Evaluation base = evaluate(maker.graph);
    const LanePlan plan(maker.graph, base, {wanted});
    std::vector<double> all(draws * wanted.size());
    evaluate_draws(plan, {42, 0}, draws, 2, [&](std::uint64_t first, const Block& block) {
        for (std::size_t k = 0; k < wanted.size(); ++k) {
            const auto lanes = block.lanes(k);
            std::copy(lanes.begin(), lanes.end(),
                      all.begin() + static_cast<std::ptrdiff_t>(k * draws + first));
        }
    });
    std::fwrite(all.data(), sizeof(double), all.size(), stdout);
}

}  // namespace

int main(int count, char** words) {
    if (count > 1 && std::strcmp(words[1], "draws") == 0) print_draws();
    else print_shapes();
}
