// Loops: orders of elimination, the transposed system, and what is refused.
#include "engine/graph/solve.h"

#include <catch2/catch.hpp>
#include <cmath>

#include "tests/graph/graph_maker.h"

using namespace deckle;

namespace {

Solve system_of(std::uint32_t size, std::vector<Solve::Entry> entries, std::uint32_t sides = 1) {
    Solve system;
    system.size = size;
    system.right_sides = sides;
    system.entries = std::move(entries);
    return system;
}

/// A system with numbers, of any size.
struct Loop {
    Solve system;
    std::vector<double> coefficients, b;
};

Loop random_system(std::uint64_t seed, std::uint32_t size, std::uint32_t sides) {
    test::Numbers numbers(seed);
    Loop loop{system_of(size, {}, sides), {}, {}};
    for (std::uint32_t row = 0; row < size; ++row) {
        for (int k = 0; k < 5; ++k) {
            loop.system.entries.push_back({row, static_cast<std::uint32_t>(numbers.below(size))});
            loop.coefficients.push_back(numbers.between(0.0, 0.18));
        }
    }
    for (std::uint32_t k = 0; k < size * sides; ++k) loop.b.push_back(numbers.between(-1.0, 1.0));
    return loop;
}

}  // namespace

TEST_CASE("solutions and transposed solutions fulfil their equations, by elimination and by KLU",
          "[graph][property]") {
    for (const std::uint32_t size : {1U, 2U, 9U, 64U, 65U, 300U}) {
        const Loop loop = random_system(size, size, 3);
        std::vector<double> x(loop.b.size()), lambda(loop.b.size());
        REQUIRE(solve_system(loop.system, loop.coefficients, loop.b, x).outcome ==
                SolveOutcome::solved);
        solve_transposed(loop.system, loop.coefficients, loop.b, lambda);
        auto residual = loop.b, transposed = loop.b;
        for (std::size_t k = 0; k < x.size(); ++k) {
            residual[k] -= x[k];
            transposed[k] -= lambda[k];
        }
        for (std::size_t k = 0; k < loop.coefficients.size(); ++k) {
            const auto [row, column] = loop.system.entries[k];
            for (std::size_t s = 0; s < 3; ++s) {
                residual[row * 3 + s] += loop.coefficients[k] * x[column * 3 + s];
                transposed[column * 3 + s] += loop.coefficients[k] * lambda[row * 3 + s];
            }
        }
        INFO("size " << size);
        for (std::size_t k = 0; k < x.size(); ++k) {
            REQUIRE(std::fabs(residual[k]) < 1e-13);
            REQUIRE(std::fabs(transposed[k]) < 1e-13);
        }
    }
}

TEST_CASE("the order of elimination changes rounding only", "[graph][property]") {
    Loop loop = random_system(4, 30, 2);
    std::vector<double> x(loop.b.size()), other(loop.b.size());
    REQUIRE(solve_system(loop.system, loop.coefficients, loop.b, x).outcome ==
            SolveOutcome::solved);
    for (std::uint32_t k = 0; k < 30; ++k) loop.system.order.push_back(29 - k);
    REQUIRE(solve_system(loop.system, loop.coefficients, loop.b, other).outcome ==
            SolveOutcome::solved);
    for (std::size_t k = 0; k < x.size(); ++k) CHECK_THAT(other[k], Catch::WithinAbs(x[k], 1e-13));
}

TEST_CASE("the rows' own order is kept while its pivots serve", "[graph]") {
    std::vector<std::uint32_t> order;
    const Loop loop = random_system(2, 12, 1);
    REQUIRE(plan_order(loop.system, loop.coefficients, order).outcome == SolveOutcome::solved);
    for (std::uint32_t k = 0; k < 12; ++k) CHECK(order[k] == k);
}

TEST_CASE("a pivot that would vanish is put off to where it serves (by hand)", "[graph]") {
    // x0 = x0 + 2 x1 + 1 and x1 = -0.5 x0 + 0.5: the first row alone has pivot 0; x = (1.5, -0.5)
    // ... by hand: 0 = 2 x1 + 1 gives x1 = -0.5; x0 = (0.5 - x1) / 0.5 = 2
    Solve system = system_of(2, {{0, 0}, {0, 1}, {1, 0}});
    const std::vector<double> coefficients = {1.0, 2.0, -0.5}, b = {1.0, 0.5};
    std::vector<double> x(2);
    CHECK(solve_system(system, coefficients, b, x).outcome == SolveOutcome::singular);
    REQUIRE(plan_order(system, coefficients, system.order).outcome == SolveOutcome::solved);
    CHECK(system.order == std::vector<std::uint32_t>{1, 0});
    REQUIRE(solve_system(system, coefficients, b, x).outcome == SolveOutcome::solved);
    CHECK_THAT(x[0], Catch::WithinRel(2.0, 1e-15));
    CHECK_THAT(x[1], Catch::WithinRel(-0.5, 1e-15));
}

TEST_CASE("a loop without credits that needs more than it makes is told from a singular one",
          "[graph]") {
    for (const std::uint32_t size : {3U, 80U}) {
        std::vector<Solve::Entry> entries;
        for (std::uint32_t i = 0; i < size; ++i) entries.push_back({i, (i + 1) % size});
        const Solve system = system_of(size, entries);
        std::vector<double> coefficients(size, 1.0), b(size, 1.0), x(size);
        std::vector<std::uint32_t> order;
        const auto outcome = [&](double first) {
            coefficients[0] = first;
            const SolveOutcome planned = plan_order(system, coefficients, order).outcome;
            CHECK(solve_system(system, coefficients, b, x).outcome == planned);
            return planned;
        };
        INFO("size " << size);
        CHECK(outcome(0.9) == SolveOutcome::solved);
        CHECK(outcome(1.0) == SolveOutcome::singular);
        CHECK(outcome(1.0 - 1e-10) == SolveOutcome::singular);
        CHECK(outcome(1.0 - 1e-8) == SolveOutcome::solved);
        CHECK(outcome(1.2) == SolveOutcome::needs_more_of_itself);
        CHECK(outcome(-1.2) == SolveOutcome::solved);  // a credit: no verdict by sign
    }
}

TEST_CASE("the message of a loop names its members, the place and the largest amounts", "[graph]") {
    test::Maker maker;
    std::vector<Solve::Entry> entries;
    std::vector<NodeId> coefficients;
    constexpr std::uint32_t size = 11;
    for (std::uint32_t i = 0; i < size; ++i) {
        entries.push_back({i, (i + 1) % size});
        coefficients.push_back(maker.number(1.0 + 0.01 * i));
    }
    (void)maker.solve(size, entries, coefficients, 1, std::vector<NodeId>(size, maker.number(1.0)));
    std::vector<double> values;
    for (std::uint32_t i = 0; i < size; ++i) values.push_back(1.0 + 0.01 * i);
    const std::string message = loop_message(maker.graph, maker.graph.solves()[0], values,
                                             {SolveOutcome::needs_more_of_itself, 4});
    CHECK(message ==
          "the loop of product_0, product_1, product_2, product_3, product_4, product_5, "
          "product_6, product_7 and 3 more "
          "cannot be solved: product_4 needs more of itself than it makes; largest amounts per "
          "unit: product_10 takes "
          "1.100 of product_0, product_9 takes 1.090 of product_10, product_8 takes 1.080 of "
          "product_9");
}
