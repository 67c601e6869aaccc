// Sobol indices against functions whose indices are known exactly, and what must hold of every run.
// Values: Ishigami and Homma (1990) and Sobol's g-function in the forms of Saltelli et al., Comput
// Phys Commun 181 (2010) 259-270; recomputed to all digits shown from the closed formulas.
#include "engine/analysis/sobol.h"

#include <algorithm>
#include <catch2/catch.hpp>

#include "engine/analysis/rank_correlation.h"
#include "engine/analysis/sensitivity.h"
#include "engine/graph/draws.h"
#include "engine/text/problem.h"
#include "tests/analysis/matrix_graphs.h"

using namespace deckle;
using Catch::WithinAbs;
using Catch::WithinRel;

namespace {

SobolIndices indices(const test::Maker& maker, NodeId result, SobolQuestion question = {}) {
    return sobol_indices(maker.graph, evaluate(maker.graph), result, question);
}

const SobolInput& of(const SobolIndices& found, const std::string& address) {
    return *std::ranges::find_if(
        found.inputs, [&](const SobolInput& one) { return one.addresses.front() == address; });
}

/// Within twice its own error bar, that is 3.9 standard errors.
void check_near(const SobolIndex& found, double exact) {
    INFO("exact " << exact << ", found " << found.value << " +- " << found.half_width);
    CHECK(std::abs(found.value - exact) <= 2.0 * found.half_width);
}

}  // namespace

TEST_CASE("D1: indices of the Ishigami function, a = 7, b = 0.1 (exact formulas)",
          "[analysis][literature]") {
    const test::Ishigami ishigami;
    const auto found = indices(ishigami.maker, ishigami.result, {.rows = 1U << 16U, .seed = 7});
    CHECK(found.runs == (1U << 16U) * 5);
    CHECK_THAT(found.mean, WithinAbs(3.5, 0.05));
    CHECK_THAT(found.deviation * found.deviation, WithinRel(13.844587941, 0.02));
    struct Row {
        const char* address;
        double first, total;
    };
    for (const Row& row : {Row{"x1", 0.313905191, 0.557588855}, Row{"x2", 0.442411145, 0.442411145},
                           Row{"x3", 0.0, 0.243683664}}) {
        INFO(row.address);
        const SobolInput& input = of(found, row.address);
        check_near(input.first, row.first);
        check_near(input.total, row.total);
        CHECK(input.first.half_width < 0.02);
        CHECK(input.total.half_width < 0.02);
    }
    CHECK(found.inputs.front().addresses.front() == "x1");  // largest total first
    CHECK_THAT(found.sum_of_first, WithinAbs(0.756316336, 0.03));
}

TEST_CASE("D2: indices of the g-function, eight inputs and six (exact formulas)",
          "[analysis][literature]") {
    const test::GFunction eight({0, 1, 4.5, 9, 99, 99, 99, 99});
    const auto found = indices(eight.maker, eight.result, {.rows = 1U << 15U, .seed = 3});
    CHECK_THAT(found.mean, WithinAbs(1.0, 0.01));
    CHECK_THAT(found.deviation * found.deviation, WithinRel(0.4654244319, 0.03));
    constexpr double first[] = {0.7161921689, 0.1790480422, 0.0236757742, 0.0071619217,
                                0.0000716192};
    constexpr double total[] = {0.7871441267, 0.2421981928, 0.0343169102, 0.0104603871,
                                0.0001049491};
    for (std::size_t i = 0; i < 8; ++i) {
        const SobolInput& input = of(found, "x" + std::to_string(i + 1));
        INFO(input.addresses.front());
        check_near(input.first, first[std::min<std::size_t>(i, 4)]);
        check_near(input.total, total[std::min<std::size_t>(i, 4)]);
    }
    const test::GFunction six({0, 0.5, 3, 9, 99, 99});
    const auto other = indices(six.maker, six.result, {.rows = 1U << 15U, .seed = 4});
    CHECK_THAT(other.deviation * other.deviation, WithinRel(0.5680709252, 0.03));
    constexpr double first_6[] = {0.5867811898, 0.2607916399, 0.0366738244, 0.0058678119};
    constexpr double total_6[] = {0.6900858923, 0.3561733638, 0.0563335422, 0.0091705766};
    for (std::size_t i = 0; i < 4; ++i) {
        const SobolInput& input = of(other, "x" + std::to_string(i + 1));
        INFO(input.addresses.front());
        check_near(input.first, first_6[i]);
        check_near(input.total, total_6[i]);
    }
}

TEST_CASE("error bars of the indices hold the exact value in about 95 of 100 runs (definition)",
          "[analysis][property]") {
    const test::GFunction three({0, 1, 4.5});
    // V_i = 1 / (3 (1 + a_i)^2), V = product of (1 + V_i) - 1
    const double v[] = {1.0 / 3.0, 1.0 / 12.0, 1.0 / 90.75};
    const double all = (1.0 + v[0]) * (1.0 + v[1]) * (1.0 + v[2]) - 1.0;
    int first = 0, total = 0;
    constexpr int runs = 200;
    for (int run = 0; run < runs; ++run) {
        const auto found = indices(three.maker, three.result,
                                   {.rows = 512, .seed = static_cast<std::uint64_t>(1000 + run)});
        for (std::size_t i = 0; i < 3; ++i) {
            const SobolInput& input = of(found, "x" + std::to_string(i + 1));
            const double others = (1.0 + all) / (1.0 + v[i]);
            const double exact_first = v[i] / all, exact_total = v[i] * others / all;
            first += std::abs(input.first.value - exact_first) <= input.first.half_width ? 1 : 0;
            total += std::abs(input.total.value - exact_total) <= input.total.half_width ? 1 : 0;
        }
    }
    // of 600; the binomial standard deviation is 5.3
    CHECK(first > 545);
    CHECK(first < 595);
    CHECK(total > 545);
    CHECK(total < 595);
}

TEST_CASE("of a sum of independent inputs both indices are the shares of the variance (exact)",
          "[analysis][property]") {
    test::Maker maker;
    const NodeId x = maker.spread("x", 5.0, SpreadKind::normal, {0.6});
    const NodeId y = maker.spread("y", 7.0, SpreadKind::uniform, {6.0, 8.0});
    const NodeId z = maker.spread("z", 2.0, SpreadKind::triangular, {1.0, 4.0});
    const NodeId sum =
        maker.make(Operation::sum, {maker.make(Operation::product, {x, maker.number(3.0)}), y, z});
    const auto found = indices(maker, sum, {.rows = 1U << 15U, .seed = 5});
    const auto budget = variance_budget(maker.graph, evaluate(maker.graph), sum);
    CHECK_THAT(found.sum_of_first, WithinAbs(1.0, 0.02));
    for (const InputSensitivity& one : budget.inputs) {
        INFO(one.address);
        check_near(of(found, one.address).first, one.share);
        check_near(of(found, one.address).total, one.share);
    }
}

TEST_CASE("correlated inputs are exchanged together: 1.75 of 2.75 (variance of a sum, by hand)",
          "[analysis]") {
    // x + y + z, x and y with correlation 0.5 and deviations 1 and 0.5: 1 + 0.25 + 2 0.5 0.5 = 1.75
    test::Maker maker;
    const auto normal = [&](const char* name, double deviation) {
        return maker.spread(name, 3.0, SpreadKind::normal, {deviation * test::half_width_95});
    };
    const NodeId z = normal("z", 1.0), y = normal("y", 0.5), x = normal("x", 1.0);
    const TextId together[] = {maker.graph.text("x"), maker.graph.text("y")};
    const double matrix[] = {1.0, 0.5, 0.5, 1.0};
    REQUIRE(maker.graph.correlate(together, matrix));
    const NodeId sum = maker.make(Operation::sum, {x, y, z});
    const auto found = indices(maker, sum, {.rows = 1U << 14U, .seed = 6});
    REQUIRE(found.inputs.size() == 2);
    CHECK(found.inputs[0].addresses == std::vector<std::string>{"y", "x"});
    check_near(found.inputs[0].first, 1.75 / 2.75);
    check_near(found.inputs[0].total, 1.75 / 2.75);
    check_near(found.inputs[1].first, 1.0 / 2.75);
    CHECK(found.runs == (1U << 14U) * 4);
    // first order (JCGM 100:2008, 5.2.2): x has 1 + 0.25, y 0.25 + 0.25
    const auto budget = variance_budget(maker.graph, evaluate(maker.graph), sum);
    CHECK_THAT(budget.standard_uncertainty, WithinRel(std::sqrt(2.75), 1e-14));
    for (const InputSensitivity& one : budget.inputs) {
        const double exact = one.address == "x" ? 1.25 : one.address == "y" ? 0.5 : 1.0;
        CHECK_THAT(one.share, WithinRel(exact / 2.75, 1e-13));
    }
}

TEST_CASE("threads and width of lanes change no bit of an index", "[analysis][property]") {
    const test::GFunction three({0, 1, 4.5});
    const auto one = indices(three.maker, three.result,
                             {.rows = 3000, .seed = 9, .threads = 1, .width = LaneWidth::sse2});
    for (const unsigned threads : {2U, 7U}) {
        for (const LaneWidth width : {LaneWidth::sse2, LaneWidth::avx2, LaneWidth::avx512}) {
            if (!has_lane_width(width)) continue;
            const auto other =
                indices(three.maker, three.result,
                        {.rows = 3000, .seed = 9, .threads = threads, .width = width});
            CHECK(other.mean == one.mean);
            for (std::size_t i = 0; i < 3; ++i) {
                CHECK(other.inputs[i].first.value == one.inputs[i].first.value);
                CHECK(other.inputs[i].total.value == one.inputs[i].total.value);
                CHECK(other.inputs[i].total.half_width == one.inputs[i].total.half_width);
                CHECK(other.inputs[i].rank_correlation == one.inputs[i].rank_correlation);
            }
        }
    }
    const auto other_seed = indices(three.maker, three.result, {.rows = 3000, .seed = 10});
    CHECK(other_seed.mean != one.mean);
}

TEST_CASE("the two halves are the draws of streams 1 and 2 (order of draws, by hand)",
          "[analysis]") {
    test::Maker maker;
    const NodeId x = maker.spread("x", 1.0, SpreadKind::uniform, {0.0, 1.0});
    const NodeId twice = maker.make(Operation::sum, {x, x});
    const auto found = indices(maker, twice, {.rows = 64, .seed = 11});
    double sum = 0.0;
    for (std::uint64_t row = 0; row < 64; ++row) {
        for (const std::uint32_t stream : {1U, 2U})
            sum += 2.0 * unit_draw({11, stream}, stable_id("x"), row);
    }
    CHECK_THAT(found.mean, WithinRel(sum / 128.0, 1e-14));
}

TEST_CASE("rows that only the exchange of one input makes impossible are refused by name",
          "[analysis]") {
    test::Maker maker;
    const NodeId x = maker.spread("x", 3.0, SpreadKind::uniform, {0.0, 6.0});
    const NodeId y = maker.spread("y", 2.0, SpreadKind::uniform, {0.0, 4.3});
    const NodeId rest =
        maker.make(Operation::sum, {maker.number(10.0), maker.make(Operation::negate, {x}),
                                    maker.make(Operation::negate, {y})});
    maker.graph.require_not_negative({rest, maker.graph.text("mix.uses.rest")});
    const auto negative_row = [&](std::uint64_t seed, std::uint32_t stream) {
        for (std::uint64_t row = 0; row < 64; ++row) {
            const double sum = 6.0 * unit_draw({seed, stream}, stable_id("x"), row) +
                               4.3 * unit_draw({seed, stream}, stable_id("y"), row);
            if (sum > 10.0) return true;
        }
        return false;
    };
    int of_exchange = 0;
    for (std::uint64_t seed = 0; seed < 100; ++seed) {
        try {
            (void)indices(maker, rest, {.rows = 64, .seed = seed});
        } catch (const NoAnswer& failure) {
            CHECK(failure.problem.code == "negative-rest");
            CHECK_THAT(failure.problem.message, Catch::Contains("mix.uses.rest"));
            of_exchange += negative_row(seed, 1) || negative_row(seed, 2) ? 0 : 1;
        }
    }
    CHECK(of_exchange > 0);
}

TEST_CASE("nothing uncertain, and nothing that moves, have no indices", "[analysis]") {
    const auto code = [](const test::Maker& maker, NodeId node) -> std::string {
        try {
            (void)indices(maker, node);
        } catch (const NoAnswer& failure) {
            return failure.problem.code;
        }
        return "none";
    };
    test::Maker exact;
    CHECK(code(exact, exact.make(Operation::sum, {exact.input("x", 1.0)})) == "no-spread");
    test::Maker stepped;
    const NodeId x = stepped.spread("x", 5.5, SpreadKind::uniform, {5.2, 5.8});
    CHECK(code(stepped, stepped.make(Operation::whole, {x})) == "no-variance");
    // y = x * 3.7 / x is 3.7 whatever x, but for the last bit
    test::Maker cancelled;
    const NodeId z = cancelled.spread("z", 0.95, SpreadKind::uniform, {0.9, 1.0});
    const NodeId scaled = cancelled.make(Operation::product, {z, cancelled.input("y", 3.7)});
    CHECK(code(cancelled, cancelled.make(Operation::quotient, {scaled, z})) == "no-variance");
}

TEST_CASE(
    "D4: Spearman's coefficient of the ten pairs of a widely printed example is -29/165 (from "
    "memory, recomputed), and 0.8706358081 with ties (constructed, ranks by hand)",
    "[analysis][literature]") {
    const auto spearman = [](const std::vector<double>& x, const std::vector<double>& y) {
        return correlation_of_ranks(ranks_of(x), ranks_of(y));
    };
    CHECK_THAT(spearman({106, 86, 100, 101, 99, 103, 97, 113, 112, 110},
                        {7, 0, 27, 50, 28, 29, 20, 12, 6, 17}),
               WithinRel(-29.0 / 165.0, 1e-14));
    const std::vector<double> x = {1, 2, 2, 4, 5, 5, 5, 8}, y = {2, 1, 3, 3, 6, 5, 8, 7};
    CHECK(ranks_of(x) == std::vector<double>{1, 2.5, 2.5, 4, 6, 6, 6, 8});
    CHECK(ranks_of(y) == std::vector<double>{2, 1, 3.5, 3.5, 6, 5, 8, 7});
    CHECK_THAT(spearman(x, y), WithinAbs(0.8706358081, 5e-11));
    CHECK(spearman(x, {3, 3, 3, 3, 3, 3, 3, 3}) == 0.0);
}

TEST_CASE(
    "D3: rank correlations of the five coefficients, mean-preserving lognormals of 10 % "
    "(recomputed with 4e5 draws of numpy)",
    "[analysis][literature]") {
    // median = mean exp(-s^2 / 2), s^2 = ln(1 + 0.01); factor of the 95 % interval exp(1.96 s)
    test::Maker maker;
    const double s = std::sqrt(std::log(1.01));
    const auto input = [&](const std::string& address, double mean) {
        return maker.spread(address, mean * std::exp(-s * s / 2.0), SpreadKind::lognormal,
                            {std::exp(test::half_width_95 * s)});
    };
    const NodeId fuel_used = input("a11", 2.0), fuel_made = input("a12", 100.0);
    const NodeId made = input("a21", 10.0), b_electricity = input("b_electricity", 1.0);
    const NodeId b_fuel = input("b_fuel", 10.0);
    const NodeId fuel = maker.make(
        Operation::product, {fuel_used, maker.make(Operation::quotient, {b_fuel, fuel_made})});
    const NodeId run = maker.make(Operation::sum, {b_electricity, fuel});
    const NodeId result = maker.make(
        Operation::product, {maker.make(Operation::quotient, {run, made}), maker.number(1000.0)});
    const auto found = indices(maker, result, {.rows = 1U << 17U, .seed = 2});
    CHECK_THAT(found.mean, WithinAbs(121.42, 0.15));
    CHECK_THAT(found.deviation / found.mean, WithinAbs(0.13357, 0.001));
    struct Row {
        const char* address;
        double correlation;
    };
    for (const Row& row : {Row{"a11", 0.120}, Row{"a12", -0.124}, Row{"a21", -0.732},
                           Row{"b_electricity", 0.605}, Row{"b_fuel", 0.122}}) {
        INFO(row.address);
        CHECK_THAT(of(found, row.address).rank_correlation, WithinAbs(row.correlation, 0.012));
    }
}
