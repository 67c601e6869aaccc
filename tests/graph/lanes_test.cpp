// Blocks of draws against the scalar evaluation of each draw, bit for bit, over the three widths
// and several numbers of threads; and what ends a run.
#include "engine/graph/lanes.h"

#include <bit>
#include <catch2/catch.hpp>
#include <cmath>
#include <cstdlib>
#include <cstring>

#include "engine/graph/solve.h"
#include "engine/text/problem.h"
#include "tests/graph/graph_maker.h"

using namespace deckle;

namespace {

constexpr LaneWidth all_widths[] = {LaneWidth::sse2, LaneWidth::avx2, LaneWidth::avx512};

std::vector<LaneWidth> widths_here() {
    std::vector<LaneWidth> found;
    for (const LaneWidth width : all_widths) {
        if (has_lane_width(width)) found.push_back(width);
        else
            WARN("this processor has no " << lane_table(width).name
                                          << ": that width is not tested here");
    }
    return found;
}

bool same_bits(double a, double b) {
    return std::bit_cast<std::uint64_t>(a) == std::bit_cast<std::uint64_t>(b);
}

/// Scalar values of the results in one draw.
std::vector<double> scalar(const test::RandomGraph& random, const Evaluation& base, DrawKey key,
                           std::uint64_t draw) {
    const auto values =
        evaluate(random.graph(), drawn_inputs(random.graph(), base, {}, key, draw)).value;
    std::vector<double> results;
    for (const NodeId result : random.results) results.push_back(values[result]);
    return results;
}

/// Results of draws 0 to draws - 1, one row a draw.
std::vector<double> run(const LanePlan& plan, DrawKey key, std::uint64_t draws, unsigned threads) {
    std::vector<double> rows(draws * plan.wanted_count());
    evaluate_draws(plan, key, draws, threads, [&](std::uint64_t first, const Block& block) {
        for (std::size_t k = 0; k < plan.wanted_count(); ++k) {
            const auto lanes = block.lanes(k);
            for (std::size_t i = 0; i < lanes.size(); ++i)
                rows[(first + i) * plan.wanted_count() + k] = lanes[i];
        }
    });
    return rows;
}

Problem failure_of(const LanePlan& plan, std::uint64_t draws, unsigned threads = 1) {
    try {
        (void)run(plan, {42, 0}, draws, threads);
    } catch (const NoAnswer& failure) {
        return failure.problem;
    }
    return {};
}

}  // namespace

TEST_CASE("the random graphs of these tests use every operation", "[graph]") {
    std::vector<int> count(operation_count, 0);
    for (std::uint64_t seed = 1; seed <= 12; ++seed) {
        const test::RandomGraph random = test::random_graph(seed, 500);
        for (NodeId node = 0; node < random.graph().size(); ++node) {
            ++count[static_cast<std::size_t>(random.graph().operation(node))];
        }
    }
    for (const OperationRow& row : all_operations()) {
        INFO(row.name);
        CHECK(count[static_cast<std::size_t>(row.operation)] >= 5);
    }
}

TEST_CASE("lanes have the bits of scalar evaluation, whatever operations, loops and spreads",
          "[graph][property]") {
    const DrawKey key{0x123456789ULL, 3};
    for (std::uint64_t seed = 1; seed <= 12; ++seed) {
        const test::RandomGraph random = test::random_graph(seed, 500);
        const Evaluation base = evaluate(random.graph());
        for (const LaneWidth width : widths_here()) {
            const LanePlan plan(random.graph(), base, {random.results}, width);
            Block block(plan);
            block.evaluate(key, 5);
            for (std::uint32_t i = 0; i < block_draws; i += 3) {
                const auto expected = scalar(random, base, key, 5 * block_draws + i);
                for (std::size_t k = 0; k < expected.size(); ++k) {
                    INFO("seed " << seed << ", " << lane_table(width).name << ", draw " << i
                                 << ", result " << k);
                    REQUIRE(same_bits(block.lanes(k)[i], expected[k]));
                }
            }
        }
    }
}

TEST_CASE("inputs of a group are drawn together, whatever plan draws which of them", "[graph]") {
    test::Maker maker;
    const NodeId a = maker.spread("a", 2.0, SpreadKind::normal, {0.1});
    const NodeId b = maker.spread("b", 3.0, SpreadKind::arcsine, {2.0, 4.0});
    const std::vector<TextId> addresses = {maker.graph.text("a"), maker.graph.text("b")};
    REQUIRE(maker.graph.correlate(addresses, std::vector<double>{1.0, 0.9, 0.9, 1.0}));
    const NodeId sum = maker.make(Operation::sum, {a, b});
    const Evaluation base = evaluate(maker.graph);
    const std::vector<NodeId> all = {a, b, sum}, alone = {b}, last = {sum}, given = {a};
    for (const LaneWidth width : widths_here()) {
        const LanePlan plan_all(maker.graph, base, {all}, width),
            plan_b(maker.graph, base, {alone}, width),
            plan_sum(maker.graph, base, {last, given}, width);
        CHECK(plan_sum.drawn_count() == 1);
        const Block both = evaluate_block(plan_all, {5, 0}, 2);
        const Block only_b = evaluate_block(plan_b, {5, 0}, 2);
        Block from_a(plan_sum);
        const double* const lanes_of_a[] = {both.lanes(0).data()};
        from_a.evaluate({5, 0}, 2, block_draws, lanes_of_a);
        for (std::uint32_t i = 0; i < block_draws; ++i) {
            REQUIRE(same_bits(both.lanes(1)[i], only_b.lanes(0)[i]));
            REQUIRE(same_bits(both.lanes(2)[i], from_a.lanes(0)[i]));
        }
    }
}

TEST_CASE(
    "loops of 2, 17 and 64 products are eliminated alike in lanes and scalars, larger ones by KLU",
    "[graph][property]") {
    for (const std::uint32_t size : {2U, 17U, 64U, 65U, 120U}) {
        test::RandomGraph random = test::random_loop(size, size, 3, std::min(size, 6U));
        const Evaluation base = evaluate(random.graph());
        random.results.resize(std::min<std::size_t>(random.results.size(), 40));
        for (const LaneWidth width : widths_here()) {
            const LanePlan plan(random.graph(), base, {random.results}, width);
            const Block block = evaluate_block(plan, {9, 0}, 1);
            for (const std::uint32_t i : {0U, 1U, 100U, 511U}) {
                const auto expected = scalar(random, base, {9, 0}, block_draws + i);
                for (std::size_t k = 0; k < expected.size(); ++k) {
                    INFO("size " << size << ", " << lane_table(width).name << ", draw " << i
                                 << ", result " << k);
                    REQUIRE(same_bits(block.lanes(k)[i], expected[k]));
                }
            }
        }
    }
}

TEST_CASE("a run has the same bits over three widths and 1, 2 and 7 threads", "[graph][property]") {
    const test::RandomGraph random = test::random_graph(77, 500);
    const Evaluation base = evaluate(random.graph());
    constexpr std::uint64_t draws = 5003;
    std::vector<double> first;
    for (const LaneWidth width : widths_here()) {
        const LanePlan plan(random.graph(), base, {random.results}, width);
        for (const unsigned threads : {1U, 2U, 7U}) {
            const auto rows = run(plan, {42, 0}, draws, threads);
            if (first.empty()) first = rows;
            INFO(lane_table(width).name << ", " << threads << " threads");
            REQUIRE(std::memcmp(first.data(), rows.data(), rows.size() * sizeof(double)) == 0);
        }
    }
    CHECK(first.size() == draws * random.results.size());
}

TEST_CASE("a cut block has the draws of the whole one", "[graph]") {
    const test::RandomGraph random = test::random_graph(5, 200);
    const Evaluation base = evaluate(random.graph());
    const LanePlan plan(random.graph(), base, {random.results});
    const Block whole = evaluate_block(plan, {1, 0}, 0);
    for (const std::uint32_t count : {1U, 7U, 8U, 9U, 256U, 300U}) {
        const Block cut = evaluate_block(plan, {1, 0}, 0, count);
        REQUIRE(cut.lanes(0).size() == count);
        for (std::uint32_t i = 0; i < count; ++i)
            REQUIRE(same_bits(cut.lanes(0)[i], whole.lanes(0)[i]));
    }
}

TEST_CASE("given lanes stand in for what other plans computed", "[graph]") {
    const test::RandomGraph random = test::random_graph(8, 300);
    const Evaluation base = evaluate(random.graph());
    // the shared part: some nodes half-way; the second plan starts from their lanes
    std::vector<NodeId> shared;
    for (NodeId node = 150; node < 190; ++node) {
        if (random.graph().operation(node) != Operation::solve) shared.push_back(node);
    }
    const LanePlan all(random.graph(), base, {random.results});
    const LanePlan first(random.graph(), base, {shared});
    const auto varying = varying_nodes(random.graph());
    const LanePlan second(random.graph(), base, {random.results, shared, varying});
    const Block whole = evaluate_block(all, {4, 0}, 2);
    const Block below = evaluate_block(first, {4, 0}, 2);
    std::vector<const double*> given;
    for (std::size_t k = 0; k < shared.size(); ++k) given.push_back(below.lanes(k).data());
    Block above(second);
    above.evaluate({4, 0}, 2, block_draws, given);
    for (std::size_t k = 0; k < random.results.size(); ++k) {
        for (std::uint32_t i = 0; i < block_draws; ++i)
            REQUIRE(same_bits(above.lanes(k)[i], whole.lanes(k)[i]));
    }
}

TEST_CASE("only what a result rests on is drawn, and buffers are shared by last use", "[graph]") {
    test::Maker maker;
    const NodeId a = maker.spread("a", 2.0, SpreadKind::lognormal, {1.1});
    const NodeId b = maker.spread("b", 3.0, SpreadKind::lognormal, {1.1});
    const NodeId c = maker.input("c", 4.0);
    NodeId chain = maker.make(Operation::product, {a, c});
    for (int i = 0; i < 50; ++i) chain = maker.make(Operation::sum, {chain, c, maker.number(i)});
    const NodeId other = maker.make(Operation::sum, {b, c});
    const NodeId constant = maker.make(Operation::product, {c, c});
    const Evaluation base = evaluate(maker.graph);
    const NodeId wanted[] = {chain};
    const LanePlan plan(maker.graph, base, {wanted});
    CHECK(plan.drawn_count() == 1);
    CHECK(plan.buffer_count() == 1);
    const NodeId more[] = {other, constant, chain};
    const LanePlan wider(maker.graph, base, {more});
    CHECK(wider.drawn_count() == 2);
    const Block block = evaluate_block(wider, {1, 0}, 0, 100);
    CHECK(block.lanes(1).size() == 100);
    CHECK(block.lanes(1)[99] == 16.0);
    CHECK(same_bits(block.lanes(2)[7], evaluate_block(plan, {1, 0}, 0).lanes(0)[7]));
}

TEST_CASE("an uncertain exponent is computed draw by draw", "[graph]") {
    test::Maker maker;
    const NodeId a = maker.spread("a", 2.0, SpreadKind::lognormal, {1.1});
    const NodeId b = maker.spread("b", 1.5, SpreadKind::uniform, {1.0, 2.0});
    const NodeId wanted[] = {maker.make(Operation::power, {a, b})};
    const Evaluation base = evaluate(maker.graph);
    const Block block = evaluate_block(LanePlan(maker.graph, base, {wanted}), {1, 0}, 0);
    for (const std::uint32_t i : {0U, 300U}) {
        const auto values =
            evaluate(maker.graph, drawn_inputs(maker.graph, base, {}, {1, 0}, i)).value;
        CHECK(same_bits(block.lanes(0)[i], values[wanted[0]]));
    }
}

TEST_CASE("a normal draw outside the bounds of its input ends the run and names both", "[graph]") {
    test::Maker maker;
    Input input;
    input.addresses = {maker.graph.text("vellomere.machine.uses.steam")};
    input.value = 1.0;
    input.bounds = {0.0, std::numeric_limits<double>::infinity()};
    input.spread.kind = SpreadKind::normal;
    input.spread.parameters[0] = maker.input("half_width", 0.7);
    const NodeId wanted[] = {maker.graph.add_input(input, 0, {})};
    const Evaluation base = evaluate(maker.graph);
    const LanePlan plan(maker.graph, base, {wanted});

    // 2.8 standard deviations: 26 in 10,000; the first one by the scalar draws
    std::uint64_t expected = 0;
    while (drawn_inputs(maker.graph, base, {}, {42, 0}, expected).changes.front().value >= 0.0)
        ++expected;
    const Problem problem = failure_of(plan, 10'000);
    CHECK(problem.code == "draw-outside-bounds");
    CHECK_THAT(problem.message, Catch::StartsWith("draw " + std::to_string(expected) +
                                                  " gives vellomere.machine.uses.steam") &&
                                    Catch::Contains("outside 0 to any above"));
    for (const unsigned threads : {2U, 7U})
        CHECK(failure_of(plan, 10'000, threads).message == problem.message);
    CHECK(failure_of(plan, expected).code.empty());  // the run before that draw is sound
}

TEST_CASE("a rest that a draw turns negative ends the run and says which draw", "[graph]") {
    test::Maker maker;
    const NodeId use = maker.spread("use", 0.9, SpreadKind::lognormal, {1.2});
    const NodeId rest =
        maker.make(Operation::sum, {maker.number(1.0), maker.make(Operation::negate, {use})});
    maker.graph.require_not_negative(
        {rest, maker.graph.text("vellomere.header.uses.boiler_steam")});
    const NodeId wanted[] = {maker.make(Operation::product, {rest, maker.number(3.0)})};
    const NodeId elsewhere[] = {use};
    const Evaluation base = evaluate(maker.graph);
    const Problem problem = failure_of(LanePlan(maker.graph, base, {wanted}), 5'000);
    CHECK(problem.code == "negative-rest");
    CHECK_THAT(problem.message,
               Catch::StartsWith("draw ") &&
                   Catch::Contains("makes vellomere.header.uses.boiler_steam negative"));
    CHECK(failure_of(LanePlan(maker.graph, base, {elsewhere}), 5'000).code.empty());
}

TEST_CASE("a loop that a draw makes unsolvable ends the run, small and large", "[graph]") {
    for (const std::uint32_t size : {3U, 70U}) {
        test::Maker maker;
        std::vector<Solve::Entry> entries;
        std::vector<NodeId> coefficients;
        for (std::uint32_t i = 0; i < size; ++i) {
            entries.push_back({i, (i + 1) % size});
            const std::string address = "share_" + std::to_string(i);
            coefficients.push_back(i == 0 ? maker.spread(address, 0.9, SpreadKind::lognormal, {1.1})
                                          : maker.number(1.0));
        }
        const Solution solution = maker.solve(size, entries, coefficients, 1,
                                              std::vector<NodeId>(size, maker.number(1.0)));
        const Evaluation base = evaluate(maker.graph);
        const Problem problem = failure_of(LanePlan(maker.graph, base, {solution.parts}), 5'000);
        INFO("size " << size);
        CHECK(problem.code == "unsolvable-loop");
        CHECK_THAT(problem.message, Catch::StartsWith("draw ") &&
                                        Catch::Contains("needs more of itself than it makes"));
    }
}

TEST_CASE("a value that is no number ends the run, even where a smallest would hide it",
          "[graph]") {
    test::Maker maker;
    const NodeId a = maker.spread("a", 1.0, SpreadKind::uniform, {-0.01, 2.0});
    const NodeId log = maker.make(Operation::logarithm, {a});
    const NodeId wanted[] = {maker.make(Operation::minimum, {maker.number(5.0), log})};
    const Evaluation base = evaluate(maker.graph);
    const Problem problem = failure_of(LanePlan(maker.graph, base, {wanted}), 20'000);
    CHECK(problem.code == "not-finite");
    CHECK_THAT(problem.message, Catch::StartsWith("draw "));
}

TEST_CASE("DECKLE_LANES picks the width, and refuses other words", "[graph]") {
    const char* before = std::getenv("DECKLE_LANES");
    const std::string kept = before == nullptr ? "" : before;
    REQUIRE(setenv("DECKLE_LANES", "sse2", 1) == 0);
    CHECK(chosen_lane_width() == LaneWidth::sse2);
    REQUIRE(setenv("DECKLE_LANES", "mmx", 1) == 0);
    CHECK_THROWS_AS(chosen_lane_width(), InputError);
    REQUIRE((kept.empty() ? unsetenv("DECKLE_LANES") : setenv("DECKLE_LANES", kept.c_str(), 1)) ==
            0);
    CHECK(has_lane_width(chosen_lane_width()));
}
