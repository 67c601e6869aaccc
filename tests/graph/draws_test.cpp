// The random numbers against published vectors and against Random123, and the order in which draws
// take them, which is part of Deckle's format.
#include "engine/graph/draws.h"

#include <Random123/philox.h>

#include <catch2/catch.hpp>
#include <cmath>
#include <fstream>
#include <regex>
#include <string>

#include "tests/graph/graph_maker.h"

using namespace deckle;
using Words = std::array<std::uint32_t, 4>;

TEST_CASE(
    "Philox4x32-10 gives its published vectors (Random123 1.14, kat_vectors, Salmon et al., SC11 "
    "2011)",
    "[graph][literature]") {
    CHECK(philox_words({0, 0, 0, 0}, {0, 0}) ==
          Words{0x6627e8d5, 0xe169c58d, 0xbc57ac4c, 0x9b00dbd8});
    constexpr std::uint32_t ones = 0xffffffff;
    CHECK(philox_words({ones, ones, ones, ones}, {ones, ones}) ==
          Words{0x408f276d, 0x41c83b0e, 0xa20bc7c6, 0x6d5451fd});
    CHECK(
        philox_words({0x243f6a88, 0x85a308d3, 0x13198a2e, 0x03707344}, {0xa4093822, 0x299f31d0}) ==
        Words{0xd16cfe09, 0x94fdcceb, 0x5001e420, 0x24126ea1});
}

TEST_CASE("Philox4x32-10 gives what Random123's own header gives", "[graph][literature]") {
    test::Numbers numbers(1);
    const auto word = [&] { return static_cast<std::uint32_t>(numbers.word()); };
    for (int i = 0; i < 10'000; ++i) {
        const Words counter = {word(), word(), word(), word()};
        const std::array<std::uint32_t, 2> key = {word(), word()};
        const auto expected = r123::Philox4x32()({{counter[0], counter[1], counter[2], counter[3]}},
                                                 {{key[0], key[1]}});
        REQUIRE(philox_words(counter, key) ==
                Words{expected[0], expected[1], expected[2], expected[3]});
    }
}

TEST_CASE(
    "an address has the FNV-1a hash of its bytes as its id (test vectors of the FNV reference "
    "page)",
    "[graph][literature]") {
    CHECK(stable_id("") == 0xcbf29ce484222325ULL);
    CHECK(stable_id("a") == 0xaf63dc4c8601ec8cULL);
    CHECK(stable_id("foobar") == 0x85944171f73967e8ULL);
}

TEST_CASE(
    "the first two numbers of key 0 and counter 0 (52-bit map, by hand from the published vector)",
    "[graph]") {
    // x0 = 0xe169c58d6627e8d5, x1 = 0x9b00dbd8bc57ac4c; u = ((x >> 12) + 1/2) / 2^52
    CHECK(unit_draw({0, 0}, 0, 0) == 0.8805201978886142);
    CHECK(unit_draw({0, 0}, 0, 256) == 0.6054818538799213);
}

TEST_CASE(
    "the order of draws: vector of the format, as its page has it (made by an independent script "
    "from the published cipher)",
    "[graph]") {
    std::ifstream page(DECKLE_SOURCE_DIR "/engine/graph/README.md");
    const std::regex row(R"(\| (\d+) \| `(\S+)` \| (\d+) \| (\S+) \| (\S+) \|)");
    std::size_t rows = 0;
    for (std::string line; std::getline(page, line);) {
        std::smatch cell;
        if (!std::regex_match(line, cell, row)) continue;
        INFO(line);
        const double number =
            unit_draw({std::stoull(cell[1]), 0}, stable_id(cell[2].str()), std::stoull(cell[3]));
        CHECK(number == std::stod(cell[4]));
        CHECK_THAT(normal_of(number), Catch::WithinRel(std::stod(cell[5]), 1e-15));
        ++rows;
    }
    CHECK(rows == 6);
}

TEST_CASE("streams, ids, seeds and draws all give other numbers", "[graph]") {
    const double number = unit_draw({42, 0}, 7, 3);
    CHECK(number != unit_draw({42, 1}, 7, 3));
    CHECK(number != unit_draw({43, 0}, 7, 3));
    CHECK(number != unit_draw({42, 0}, 8, 3));
    CHECK(number != unit_draw({42, 0}, 7, 4));
    CHECK(number != unit_draw({42 + (std::uint64_t{1} << 32U), 0}, 7, 3));
    CHECK(number != unit_draw({42, 0}, 7 + (std::uint64_t{1} << 32U), 3));
}

TEST_CASE(
    "normals: exact percentage points (40-digit arithmetic, the first three are AS 241's own check "
    "points)",
    "[graph][literature]") {
    struct Row {
        double p, exact;
    };
    for (const Row& row : {Row{0.25, -0.67448975019608174320}, Row{0.001, -3.0902323061678135415},
                           Row{1e-20, -9.2623400897984075737}, Row{0.975, 1.9599639845400542355},
                           Row{0.9, 1.2815515655446004670}, Row{0.075, -1.4395314709384559153},
                           Row{0.925, 1.4395314709384559153}, Row{1e-5, -4.2648907939228246285},
                           Row{1e-10, -6.3613409024040562047}, Row{1e-100, -21.273453560965324295},
                           Row{1e-300, -37.047096299361199237}}) {
        INFO("p " << row.p);
        CHECK_THAT(normal_of(row.p), Catch::WithinRel(row.exact, 1e-15));
    }
    CHECK(normal_of(0.5) == 0.0);
    CHECK_THAT(normal_of(0x1p-53), Catch::WithinRel(-8.209536151601386, 1e-15));
    CHECK_THAT(normal_of(1.0 - 0x1p-53), Catch::WithinRel(8.209536151601386, 1e-15));
}

TEST_CASE("the normal inverts the distribution function of the standard library",
          "[graph][property]") {
    test::Numbers numbers(5);
    for (int i = 0; i < 200'000; ++i) {
        const double p =
            i % 2 == 0 ? numbers.between(1e-12, 0.5) : std::exp(numbers.between(-600.0, -0.7));
        const double z = normal_of(p);
        // p = erfc(-z / sqrt 2) / 2; its relative error is |z| times that of z
        const long double back = std::erfc(-static_cast<long double>(z) / std::sqrt(2.0L)) / 2.0L;
        const double depth = 1.0 + z * z;
        REQUIRE(std::fabs(static_cast<double>((back - static_cast<long double>(p)) /
                                              static_cast<long double>(p))) < 2e-15 * depth);
    }
}

namespace {

struct Drawn {
    test::Maker maker;
    NodeId node = no_node;
    double at(std::uint64_t draw) const {
        const auto overlay = drawn_inputs(maker.graph, evaluate(maker.graph), {}, {1, 0}, draw);
        for (const auto& change : overlay.changes) {
            if (change.input == node) return change.value;
        }
        return std::nan("");
    }
};

Drawn one(SpreadKind kind, double value, const std::vector<double>& parameters,
          bool relative = false) {
    Drawn made;
    made.node = made.maker.spread("x", value, kind, parameters, relative);
    return made;
}

/// Share of 20,000 draws at or below a value; its standard error is at most 0.0036.
double share_below(const Drawn& drawn, double limit) {
    int below = 0;
    for (std::uint64_t i = 0; i < 20'000; ++i) below += drawn.at(i) <= limit ? 1 : 0;
    return below / 20'000.0;
}

}  // namespace

TEST_CASE("half-widths and factors are ends of the 95 % interval (definition of the spreads)",
          "[graph][property]") {
    const auto within = [](double share, double expected) {
        return std::fabs(share - expected) < 0.015;
    };
    const Drawn normal = one(SpreadKind::normal, 4.35, {0.20});
    CHECK(within(share_below(normal, 4.15), 0.025));
    CHECK(within(share_below(normal, 4.35), 0.5));
    CHECK(within(share_below(normal, 4.55), 0.975));
    const Drawn relative = one(SpreadKind::normal, 4.0, {0.05}, true);
    CHECK(within(share_below(relative, 3.8), 0.025));
    CHECK(within(share_below(relative, 4.2), 0.975));
    const Drawn lognormal = one(SpreadKind::lognormal, 4.35, {1.3});
    CHECK(within(share_below(lognormal, 4.35 / 1.3), 0.025));
    CHECK(within(share_below(lognormal, 4.35), 0.5));
    CHECK(within(share_below(lognormal, 4.35 * 1.3), 0.975));
    // triangular on (1, 5) with mode 2: F(2) = 1/4, F(x) = 1 - (5 - x)^2 / 12 above
    const Drawn triangular = one(SpreadKind::triangular, 2.0, {1.0, 5.0});
    CHECK(within(share_below(triangular, 2.0), 0.25));
    CHECK(within(share_below(triangular, 3.0), 1.0 - 4.0 / 12.0));
    CHECK(share_below(triangular, 1.0) == 0.0);
    CHECK(share_below(triangular, 5.0) == 1.0);
    const Drawn uniform = one(SpreadKind::uniform, 4.35, {4.1, 4.6});
    CHECK(within(share_below(uniform, 4.2), 0.2));
    CHECK(share_below(uniform, 4.1) == 0.0);
}

TEST_CASE("a draw is the inverse distribution of its number (by hand)", "[graph]") {
    constexpr double half_width_95 = 1.959963984540054;
    const double p = unit_draw({1, 0}, stable_id("x"), 9);
    const double z = normal_of(p);
    CHECK_THAT(one(SpreadKind::normal, 4.35, {0.2}).at(9),
               Catch::WithinRel(4.35 + 0.2 / half_width_95 * z, 1e-15));
    CHECK_THAT(one(SpreadKind::lognormal, 4.35, {1.3}).at(9),
               Catch::WithinRel(4.35 * std::pow(1.3, z / half_width_95), 1e-14));
    CHECK_THAT(one(SpreadKind::uniform, 4.35, {4.1, 4.6}).at(9),
               Catch::WithinRel(4.1 + 0.5 * p, 1e-15));
}

namespace {

Moments moments(const Drawn& drawn) {
    const auto at = evaluate(drawn.maker.graph);
    return moments_of(drawn.maker.graph.inputs()[drawn.maker.graph.payload(drawn.node)], at.value);
}

}  // namespace

TEST_CASE("expectation and standard deviation of each spread (published laws)",
          "[graph][literature]") {
    constexpr double half_width_95 = 1.959963984540054;
    const Moments normal = moments(one(SpreadKind::normal, 4.35, {half_width_95}));
    CHECK(normal.mean == 4.35);
    CHECK_THAT(normal.deviation, Catch::WithinRel(1.0, 1e-15));
    const Moments relative = moments(one(SpreadKind::normal, -4.0, {0.05}, true));
    CHECK_THAT(relative.deviation, Catch::WithinRel(0.2 / half_width_95, 1e-15));
    // sd 1 from a rectangle of half-width sqrt 3 (JCGM 101:2008, 9.2.3)
    const Moments uniform =
        moments(one(SpreadKind::uniform, 0.0, {-std::sqrt(3.0), std::sqrt(3.0)}));
    CHECK_THAT(uniform.mean, Catch::WithinAbs(0.0, 1e-15));
    CHECK_THAT(uniform.deviation, Catch::WithinRel(1.0, 1e-15));
    // mean (a + b + c) / 3, variance (a^2 + b^2 + c^2 - ab - ac - bc) / 18
    const Moments triangular = moments(one(SpreadKind::triangular, 2.0, {1.0, 5.0}));
    CHECK_THAT(triangular.mean, Catch::WithinRel(8.0 / 3.0, 1e-15));
    CHECK_THAT(triangular.deviation, Catch::WithinRel(std::sqrt(13.0 / 18.0), 1e-15));
    // mean 100 and sd 20 are a lognormal of median 98.058067569 and GSD 1.219013836 (exact,
    // rounded)
    const double factor = std::pow(1.219013836, half_width_95);
    const Moments lognormal = moments(one(SpreadKind::lognormal, 98.058067569, {factor}));
    CHECK_THAT(lognormal.mean, Catch::WithinAbs(100.0, 1e-6));
    CHECK_THAT(lognormal.deviation, Catch::WithinAbs(20.0, 1e-6));
    CHECK(moments(one(SpreadKind::none, 7.0, {})).deviation == 0.0);
}

TEST_CASE("the value at a share of a spread: its 95 % interval as typed (definition)", "[graph]") {
    const auto at = [](const Drawn& drawn, double p) {
        const Graph& graph = drawn.maker.graph;
        return value_at(graph.inputs()[graph.payload(drawn.node)], evaluate(graph).value, p);
    };
    CHECK_THAT(at(one(SpreadKind::normal, 4.35, {0.20}), 0.975), Catch::WithinRel(4.55, 1e-15));
    CHECK_THAT(at(one(SpreadKind::lognormal, 4.35, {1.3}), 0.025),
               Catch::WithinRel(4.35 / 1.3, 1e-14));
    CHECK_THAT(at(one(SpreadKind::uniform, 4.35, {4.1, 4.6}), 0.2), Catch::WithinRel(4.2, 1e-15));
    CHECK_THAT(at(one(SpreadKind::triangular, 2.0, {1.0, 5.0}), 0.25),
               Catch::WithinRel(2.0, 1e-15));
    CHECK(at(one(SpreadKind::none, 7.0, {}), 0.3) == 7.0);
}

TEST_CASE("the distribution of the normal: exact values (40-digit arithmetic) and its inverse",
          "[graph][literature]") {
    CHECK(chance_of(0.0) == 0.5);
    CHECK_THAT(chance_of(-1.9599639845400542355), Catch::WithinRel(0.025, 1e-15));
    CHECK_THAT(chance_of(-4.2648907939228246285), Catch::WithinRel(1e-5, 1e-14));
    CHECK_THAT(chance_of(-6.3613409024040562047), Catch::WithinRel(1e-10, 1e-14));
    CHECK(chance_of(-40.0) == 0x1p-53);  // kept open, as the numbers of draws are
    CHECK(chance_of(40.0) == 1.0 - 0x1p-53);
    test::Numbers numbers(6);
    for (int i = 0; i < 20'000; ++i) {
        const double p = numbers.between(1e-12, 0.999);
        REQUIRE_THAT(chance_of(normal_of(p)), Catch::WithinRel(p, 3e-14));
    }
}

TEST_CASE(
    "Student's t: percentage points in closed form (by hand, 4 degrees of freedom) and printed",
    "[graph][literature]") {
    // F(t) = 1/2 + t (t^2 + 6) / (2 (t^2 + 4)^(3/2)) with 4 degrees of freedom
    for (const double t : {-1e3, -9.0, -2.5, -0.3, -1e-3, 0.7, 3.0}) {
        const double s = t * t + 4.0;
        double p = 0.5 + t * (t * t + 6.0) / (2.0 * s * std::sqrt(s));
        if (t < -5.0) {  // without the cancellation: 1 - x (3 - x^2) / 2 with x = |t| / sqrt s
            const double e = 4.0 / (s * (1.0 - t / std::sqrt(s)));  // 1 - x
            p = e * e * (3.0 - e) / 4.0;
        }
        INFO(t);
        CHECK_THAT(student_of(p, 4.0), Catch::WithinRel(t, 1e-12));
    }
    // t of 95 % and 99 %, two-sided: GUM (JCGM 100:2008), table G.2
    CHECK_THAT(student_of(0.975, 3.0), Catch::WithinAbs(3.18, 0.005));
    CHECK_THAT(student_of(0.975, 9.0), Catch::WithinAbs(2.26, 0.005));
    CHECK_THAT(student_of(0.995, 16.0), Catch::WithinAbs(2.92, 0.005));
    CHECK(student_of(0.5, 7.0) == 0.0);
    CHECK_THAT(student_of(0.3, 1e9), Catch::WithinRel(normal_of(0.3), 1e-8));
    CHECK(student_of(0.3, 1e300) == normal_of(0.3));
}

TEST_CASE("correlated draws are the rows of the Cholesky factor times normals (by hand)",
          "[graph]") {
    test::Maker maker;
    const NodeId b = maker.spread("b", 10.0, SpreadKind::normal, {1.0});
    const NodeId a = maker.spread("a", 20.0, SpreadKind::normal, {2.0});
    const std::vector<TextId> addresses = {maker.graph.text("b"), maker.graph.text("a")};
    const std::vector<double> matrix = {1.0, 0.6, 0.6, 1.0};
    REQUIRE(maker.graph.correlate(addresses, matrix));
    REQUIRE(maker.graph.correlate(addresses, matrix));  // again: the same group
    CHECK(maker.graph.correlations().size() == 1);
    CHECK(maker.graph.correlation(addresses[0], addresses[1]) == 0.6);
    const auto overlay = drawn_inputs(maker.graph, evaluate(maker.graph), {}, {1, 0}, 9);
    const double za = normal_of(unit_draw({1, 0}, stable_id("a"), 9)),
                 zb = normal_of(unit_draw({1, 0}, stable_id("b"), 9));
    for (const auto& change : overlay.changes) {
        if (change.input == a)
            CHECK_THAT(change.value, Catch::WithinRel(20.0 + 2.0 / 1.959963984540054 * za, 1e-15));
        if (change.input == b)
            CHECK_THAT(change.value,
                       Catch::WithinRel(10.0 + (0.6 * za + 0.8 * zb) / 1.959963984540054, 1e-15));
    }
    CHECK(overlay.changes.size() == 2);
}

TEST_CASE("correlations that no inputs can have are refused", "[graph]") {
    test::Maker maker;
    std::vector<TextId> addresses;
    for (const char* name : {"a", "b", "c"}) {
        (void)maker.spread(name, 1.0, SpreadKind::normal, {0.1});
        addresses.push_back(maker.graph.text(name));
    }
    CHECK_FALSE(maker.graph.correlate(
        addresses, std::vector<double>{1, 0.9, -0.9, 0.9, 1, 0.9, -0.9, 0.9, 1}));
    CHECK_FALSE(
        maker.graph.correlate(std::span(addresses).first(2), std::vector<double>{1, 1, 1, 1}));
    CHECK(maker.graph.correlations().empty());
    REQUIRE(maker.graph.correlate(std::span(addresses).first(2),
                                  std::vector<double>{1, -0.5, -0.5, 1}));
    CHECK_THROWS_AS(
        maker.graph.correlate(std::span(addresses).subspan(1), std::vector<double>{1, 0.2, 0.2, 1}),
        std::logic_error);
}
