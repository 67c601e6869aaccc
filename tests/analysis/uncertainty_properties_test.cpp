// What must hold for any graph: the same bits however a run is divided, draws of their own for
// every input, exact order statistics, and the rules of JCGM 101:2008, 7.7 and 7.9.
#include <algorithm>
#include <bit>
#include <catch2/catch.hpp>
#include <limits>
#include <random>

#include "engine/text/problem.h"
#include "tests/analysis/uncertainty_graphs.h"

using namespace deckle;
using test::Model;

namespace {

std::vector<double> numbers_of(const Sample& s) {
    return {static_cast<double>(s.draws),
            s.summary.mean,
            s.summary.standard_uncertainty,
            s.summary.median,
            s.summary.low,
            s.summary.high,
            s.errors.mean,
            s.errors.standard_uncertainty,
            s.errors.low,
            s.errors.high};
}

std::vector<double> numbers_of(const FigureUncertainty& figure) {
    std::vector<double> all = numbers_of(figure.sample);
    const auto add = [&](const std::vector<double>& more) {
        all.insert(all.end(), more.begin(), more.end());
    };
    add({figure.value, figure.first_order.standard_uncertainty});
    for (const auto& comparison : {figure.paired, figure.unpaired}) {
        if (!comparison) continue;
        add({comparison->below});
        add(numbers_of(comparison->difference));
        if (comparison->ratio) add(numbers_of(*comparison->ratio));
    }
    return all;
}

/// A mill of shared inputs and a loop, and products with inputs of their own; the first product is
/// the reference of all.
struct Portfolio {
    Model model;
    std::vector<UncertainGroup> groups;

    explicit Portfolio(int products) {
        std::vector<NodeId> shared;
        for (int k = 0; k < 6; ++k)
            shared.push_back(model.lognormal("mill." + std::to_string(k), 1.0 + k, 1.2));
        const NodeId small = model.number(0.05);
        const Solution loop =
            model.solve(2, {{0, 1}, {1, 0}},
                        {model.product({shared[0], small}), model.product({shared[1], small})}, 2,
                        {shared[2], shared[3], shared[4], shared[5]});
        for (int p = 0; p < products; ++p) {
            const std::string name = "product." + std::to_string(p);
            const NodeId own = model.lognormal(name + ".amount", 2.0, 1.1);
            const NodeId more = model.normal(name + ".film", 1.0, 0.1);
            UncertainGroup group;
            for (std::size_t side = 0; side < 2; ++side) {
                const NodeId node = model.make(Operation::sum_of_products,
                                               {own, loop.parts[side], more, loop.parts[2 + side]});
                group.push_back({node, groups.empty() ? no_node : groups[0][side].node});
            }
            groups.push_back(group);
        }
    }

    [[nodiscard]] std::vector<std::vector<double>> run(const UncertaintyQuestion& question) const {
        std::vector<std::vector<double>> all;
        for (const auto& group :
             uncertainty(model.graph, evaluate(model.graph), groups, question)) {
            for (const auto& figure : group) all.push_back(numbers_of(figure));
        }
        return all;
    }
};

UncertaintyQuestion asked(std::uint64_t draws) {
    UncertaintyQuestion question;
    question.draws = draws;
    question.unpaired = true;
    return question;
}

}  // namespace

TEST_CASE("threads and widths of lanes change no bit", "[uncertainty][property]") {
    const Portfolio portfolio(5);
    for (const std::uint64_t draws : {std::uint64_t{1'003}, 2 * tile_draws + 77}) {
        const auto expected = portfolio.run(asked(draws));
        for (const unsigned threads : {1U, 2U, 7U}) {
            for (const LaneWidth width : {LaneWidth::sse2, LaneWidth::avx2, LaneWidth::avx512}) {
                if (!has_lane_width(width)) continue;
                UncertaintyQuestion question = asked(draws);
                question.threads = threads;
                question.width = width;
                CHECK(portfolio.run(question) == expected);
            }
        }
    }
}

TEST_CASE("windows that miss are drawn again and change no bit", "[uncertainty][property]") {
    const Portfolio portfolio(2);
    for (const auto kind : {IntervalKind::symmetric, IntervalKind::shortest}) {
        UncertaintyQuestion question = asked(3 * tile_draws);
        question.interval = kind;
        const auto expected = portfolio.run(question);
        question.window_deviations = 0.0;
        CHECK(portfolio.run(question) == expected);
    }
}

TEST_CASE("products drawn apart have the bits of products drawn together",
          "[uncertainty][property]") {
    const Portfolio together(5);
    const auto expected = together.run(asked(20'000));
    for (std::size_t p = 0; p < together.groups.size(); ++p) {
        Portfolio alone(5);
        alone.groups = {together.groups[p]};
        const auto found = alone.run(asked(20'000));
        CHECK(found[0] == expected[2 * p]);
        CHECK(found[1] == expected[2 * p + 1]);
    }
}

TEST_CASE("one more uncertain input leaves the draws of the others", "[uncertainty][property]") {
    const auto model = [](double deviation) {
        Model m;
        const NodeId x = m.normal("x", 5, 1);
        const NodeId more = deviation == 0.0 ? m.input("more", 2) : m.normal("more", 2, deviation);
        return numbers_of(m.run({{x}, {m.sum({x, more})}}, asked(20'000)).at(0));
    };
    CHECK(model(0.0) == model(0.3));
}

TEST_CASE("a figure and its reference have the same distribution paired and unpaired",
          "[uncertainty][property]") {
    Model m;
    const NodeId x = m.lognormal("x", 3, 1.4);
    const NodeId twice = m.product({m.number(2.0), x});
    const auto found = m.run({{twice, x}, {x}}, asked(400'000));
    const FigureUncertainty& figure = found[0];
    // paired: twice - x is x itself, draw by draw; unpaired: the marginal mean and variance add up
    CHECK(figure.paired->difference.summary.median == found[1].sample.summary.median);
    CHECK(figure.paired->below == 0.0);
    CHECK(figure.paired->verdict == ComparisonVerdict::above);
    const Sample& apart = figure.unpaired->difference;
    CHECK(std::fabs(apart.summary.mean - figure.paired->difference.summary.mean) <
          5.0 * apart.errors.mean);
    const double u = found[1].sample.summary.standard_uncertainty;
    CHECK(std::fabs(apart.summary.standard_uncertainty - std::sqrt(5.0) * u) <
          5.0 * apart.errors.standard_uncertainty +
              5.0 * found[1].sample.errors.standard_uncertainty);
}

TEST_CASE("order statistics are those of a full sort", "[uncertainty][property]") {
    test::Numbers numbers(3);
    const std::vector<std::uint64_t> ranks{0, 1, 24, 25, 25, 499, 500, 974, 998, 999};
    Selector selector;
    for (int shape = 0; shape < 7; ++shape) {
        std::vector<double> values(1000);
        for (double& value : values) {
            const double p = numbers.between(1e-6, 1.0);
            if (shape == 0) value = p;
            if (shape == 1) value = std::exp(30.0 * p);  // nearly all in one bin
            if (shape == 2) value = std::floor(5.0 * p);
            if (shape == 3) value = 7.0;
            if (shape == 4) value = (p < 0.5 ? -1.0 : 1.0) * 1.7e308;
            if (shape == 5) value = -1.0 / p;
            if (shape == 6) value = p * std::numeric_limits<double>::denorm_min() * 1e3;
        }
        std::vector<double> sorted = values;
        std::ranges::sort(sorted);
        const auto found = selector.at_ranks(values, ranks);
        for (std::size_t k = 0; k < ranks.size(); ++k) CHECK(found[k] == sorted[ranks[k]]);
        for (const Window window :
             {Window{sorted[20], sorted[30]}, Window{sorted[500], sorted[500]}}) {
            WindowContents contents(window);
            for (std::size_t from = 0; from < values.size(); from += 100)
                contents.add(WindowShare::of(std::span(values).subspan(from, 100), window));
            contents.close();
            for (std::uint64_t rank = 0; rank < values.size(); ++rank) {
                const auto at = contents.at(rank);
                const bool inside = sorted[rank] >= window.low && sorted[rank] <= window.high;
                REQUIRE(at.has_value() == inside);
                if (at) REQUIRE(*at == sorted[rank]);
            }
        }
    }
}

TEST_CASE("ranks of the symmetric interval (JCGM 101:2008, 7.7.2, by hand)",
          "[uncertainty][literature]") {
    struct Row {
        std::uint64_t draws, low, high;  // counted from 1, as in the standard
    };
    // M = 1000: q = 950, r = 25; M = 1010: q = 959.5 + 0.5 = 960, r = 25; M = 1019: q = whole part
    // of 968.55, r = whole part of 51.5 / 2 with M - q = 51
    for (const Row& row : {Row{1000, 25, 975}, Row{1010, 25, 985}, Row{1019, 26, 994},
                           Row{1'000'000, 25'000, 975'000}}) {
        const IntervalRanks ranks = interval_ranks(row.draws);
        CHECK(ranks.low + 1 == row.low);
        CHECK(ranks.high + 1 == row.high);
    }
}

TEST_CASE("numerical tolerance (JCGM 101:2008, 7.9.2: u = 0.00035 has 35 x 10^-5)",
          "[uncertainty][literature]") {
    CHECK(numerical_tolerance(0.00035, 2) == 5e-6);
    CHECK(numerical_tolerance(0.00035, 1) == 5e-5);
    CHECK(numerical_tolerance(2.0, 1) == 0.5);
    CHECK(numerical_tolerance(9.96, 2) == 0.5);  // rounds to 10
    CHECK(numerical_tolerance(10'149.0, 2) == 500.0);
}

TEST_CASE("an adaptive run stops where its rule holds, and not before (JCGM 101:2008, 7.9.4)",
          "[uncertainty][literature]") {
    Model m;
    const NodeId y =
        m.sum({m.normal("a", 0, 1), m.normal("b", 0, 1), m.normal("c", 0, 1), m.normal("d", 0, 1)});
    std::vector<std::uint64_t> draws;
    for (const int digits : {1, 2}) {
        UncertaintyQuestion question;
        question.adaptive_digits = digits;
        for (const unsigned threads : {1U, 3U}) {
            question.threads = threads;
            const auto found = m.run({{y}}, question).at(0);
            const auto& sample = found.sample;
            draws.push_back(sample.draws);
            CHECK(sample.draws % tile_draws == 0);
            CHECK(sample.draws >= 2 * tile_draws);
            const double tolerance =
                numerical_tolerance(sample.summary.standard_uncertainty, digits);
            CHECK(std::fabs(sample.summary.high - 3.919928) < 2.0 * tolerance);
            CHECK(std::fabs(sample.summary.low + 3.919928) < 2.0 * tolerance);
            // what the run says it stops at, what is printed, and clause 8 agree
            CHECK(digits_that_hold(sample.summary, sample.errors) >= digits);
            CHECK(found.first_order.verdict == FirstOrderVerdict::accepted);
        }
    }
    CHECK(draws[0] == draws[1]);
    CHECK(draws[2] == draws[3]);
    CHECK(draws[2] > draws[0]);
}

TEST_CASE(
    "what is claimed of the draws covers how figures of other seeds scatter, and nothing is "
    "claimed of the ends of a shortest interval",
    "[uncertainty][property]") {
    // of a sum of a normal and a uniform, whose moments are known: mean 1, variance 1 + 3
    constexpr std::size_t seeds = 30;
    Model m;
    const NodeId y = m.sum({m.normal("a", 0, 1), m.uniform("b", -2.0, 4.0)});
    for (const IntervalKind kind : {IntervalKind::symmetric, IntervalKind::shortest}) {
        std::vector<Sample> samples;
        for (std::uint64_t seed = 1; seed <= seeds; ++seed) {
            UncertaintyQuestion question = asked(3 * tile_draws);
            question.seed = seed;
            question.interval = kind;
            samples.push_back(m.run({{y}}, question).at(0).sample);
        }
        const auto scatter = [&](double Summary::*member) {
            double sum = 0.0, squares = 0.0;
            for (const Sample& one : samples) sum += one.summary.*member;
            const double average = sum / static_cast<double>(seeds);
            for (const Sample& one : samples)
                squares += std::pow(one.summary.*member - average, 2.0);
            return std::sqrt(squares / static_cast<double>(seeds - 1));
        };
        // a standard deviation of 30 lies within a factor 1.5 of the true one but once in 1000
        const auto covers = [&](double Summary::*member, double StandardErrors::*claimed) {
            const double ratio = scatter(member) / (samples.front().errors.*claimed);
            CHECK(ratio < 1.5);
            CHECK(ratio > 1.0 / 1.7);
        };
        covers(&Summary::mean, &StandardErrors::mean);
        covers(&Summary::standard_uncertainty, &StandardErrors::standard_uncertainty);
        for (const Sample& one : samples) {
            const double off = std::fabs(one.summary.standard_uncertainty - 2.0);
            CHECK(off < 4.5 * one.errors.standard_uncertainty);
        }
        if (kind == IntervalKind::symmetric) {
            covers(&Summary::low, &StandardErrors::low);
            covers(&Summary::high, &StandardErrors::high);
            continue;
        }
        CHECK(samples.front().errors.low == 0.0);
        CHECK(scatter(&Summary::low) > 2.0 * scatter(&Summary::mean));
    }
    UncertaintyQuestion adaptive;
    adaptive.adaptive_digits = 1;
    adaptive.interval = IntervalKind::shortest;
    CHECK_THROWS_AS(m.run({{y}}, adaptive), std::logic_error);
}

TEST_CASE("digits that hold: twice every standard error is below the tolerance",
          "[uncertainty][property]") {
    Summary summary;
    summary.standard_uncertainty = 2.0;
    CHECK(digits_that_hold(summary, {0.0, 0.0, 0.3, 0.0}) == 0);  // 0.6 against 0.5
    CHECK(digits_that_hold(summary, {0.0, 0.2, 0.0, 0.0}) == 1);
    CHECK(digits_that_hold(summary, {0.024, 0.0, 0.0, 0.024}) == 2);
    summary.standard_uncertainty = 0.0;
    CHECK(digits_that_hold(summary, {}) == 6);
}

TEST_CASE("a figure without spread is itself", "[uncertainty]") {
    Model m;
    const NodeId y = m.sum({m.input("a", 2.5), m.input("b", 4)});
    const auto found = m.run(y, 1000);
    CHECK(found.sample.summary.mean == 6.5);
    CHECK(found.sample.summary.standard_uncertainty == 0.0);
    CHECK(found.sample.summary.low == 6.5);
    CHECK(found.first_order.verdict == FirstOrderVerdict::not_judged);
}

TEST_CASE("equal figures are equal, and ties count half", "[uncertainty]") {
    Model m;
    const NodeId x = m.normal("x", 1, 0.1);
    const NodeId same = m.sum({x});
    const auto found = m.run({{x, same}}, asked(1000)).at(0);
    CHECK(found.paired->below == 0.5);
    CHECK(found.paired->verdict == ComparisonVerdict::equal);
    CHECK(found.unpaired->verdict == ComparisonVerdict::too_close);
}

TEST_CASE("rounding moves nothing, and makes no difference between figures", "[uncertainty]") {
    Model m;
    const NodeId x = m.uniform("x", 0.9, 1.0), y = m.normal("y", 3.7, 0.1);
    const NodeId exact = m.input("exact", 3.7);
    const NodeId cancelled = m.quotient(m.product({exact, x}), x);
    const NodeId there_and_back = m.quotient(m.product({y, x}), x);
    for (const std::uint64_t draws : {std::uint64_t{1000}, 2 * tile_draws}) {
        const auto found = m.run({{cancelled}, {there_and_back, y}}, asked(draws));
        CHECK(found[0].sample.summary.standard_uncertainty == 0.0);
        CHECK(found[0].sample.summary.low == found[0].value);
        CHECK(found[0].first_order.standard_uncertainty == 0.0);
        CHECK(found[0].first_order.verdict == FirstOrderVerdict::not_judged);
        CHECK(found[1].sample.summary.standard_uncertainty > 0.05);
        CHECK(found[1].paired->verdict == ComparisonVerdict::equal);
        CHECK(found[1].paired->below == 0.5);
        CHECK(found[1].paired->ratio->summary.standard_uncertainty == 0.0);
    }
}

TEST_CASE("no ratio to a reference that is not above zero in every draw", "[uncertainty]") {
    Model m;
    const NodeId x = m.normal("x", 5, 0.1), around_zero = m.normal("zero", 0.1, 0.2);
    CHECK_FALSE(m.run({{x, around_zero}}, asked(5000)).at(0).paired->ratio);
    CHECK(m.run({{x, m.normal("y", 4, 0.1)}}, asked(5000)).at(0).paired->ratio);
}

TEST_CASE("a rest that a draw makes negative ends the run, though no figure rests on its watcher",
          "[uncertainty]") {
    Model m;
    const NodeId whole = m.input("whole", 1.0), other = m.lognormal("other", 0.3, 1.6);
    const NodeId rest = m.sum({whole, m.minus(other)});
    const NodeId slack = m.product({whole, m.number(1e-12)});
    m.graph.require_not_negative({m.sum({rest, slack}), m.graph.text("mix.uses.rest")});
    const NodeId burden = m.product({rest, m.number(5.0)});
    // 0.3 x 1.6^z passes 1 at z = 2.56: about 0.5 % of the draws
    try {
        (void)m.run(burden, 5000);
        FAIL("drawn all the same");
    } catch (const NoAnswer& failure) {
        CHECK(failure.problem.code == "negative-rest");
        CHECK(failure.problem.message.find("mix.uses.rest") != std::string::npos);
    }
    CHECK_NOTHROW(m.run(m.product({other, m.number(2.0)}), 5000));  // does not rest on the rest
}

TEST_CASE("a draw without an answer ends the run and is named, by any number of threads",
          "[uncertainty]") {
    Portfolio portfolio(4);
    Model& m = portfolio.model;
    // 1 - x with x of 0.5 and a wide lognormal: some draw makes the loop unsolvable
    const NodeId wide = m.lognormal("wide", 0.3, 1.6);
    const Solution loop = m.solve(1, {{0, 0}}, {wide}, 1, {m.number(1.0)});
    portfolio.groups.push_back({{m.sum({loop.parts[0]})}});
    std::string first;
    for (const unsigned threads : {1U, 2U, 7U}) {
        UncertaintyQuestion question = asked(4 * tile_draws);
        question.threads = threads;
        try {
            (void)portfolio.run(question);
            FAIL("drawn all the same");
        } catch (const NoAnswer& failure) {
            CHECK(failure.problem.code == "unsolvable-loop");
            CHECK(failure.problem.message.find("draw ") == 0);
            if (first.empty()) first = failure.problem.message;
            CHECK(failure.problem.message == first);
        }
    }
}
