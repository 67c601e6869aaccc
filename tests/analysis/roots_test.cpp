// Roots in a range against functions whose roots are known in closed form.
#include "engine/analysis/roots.h"

#include <catch2/catch.hpp>
#include <cmath>

using namespace deckle;
using Catch::WithinAbs;
using Catch::WithinRel;

namespace {

Roots roots(const std::function<double(double)>& f, Range range) {
    return find_roots([&](double x) { return Reading{true, f(x), 1.0}; }, range);
}

}  // namespace

TEST_CASE("one root of a line, none of a line that stays above", "[analysis]") {
    const Roots one = roots([](double x) { return 2.0 * x - 3.0; }, {0.0, 10.0});
    REQUIRE(one.crossings.size() == 1);
    CHECK(one.crossings[0].kind == CrossingKind::smooth);
    CHECK_THAT(one.crossings[0].at, WithinRel(1.5, 1e-15));
    CHECK(one.crossings[0].low <= 1.5);
    CHECK(one.crossings[0].high >= 1.5);
    CHECK(one.gaps.empty());
    const Roots none = roots([](double x) { return 2.0 * x + 3.0; }, {0.0, 10.0});
    CHECK(none.crossings.empty());
    CHECK(none.at_from.value == 3.0);
    CHECK(none.at_to.value == 23.0);
}

TEST_CASE("a bracket is two neighbouring doubles with the sign between them", "[analysis]") {
    const auto f = [](double x) { return x * x - 2.0; };
    const Roots found = roots(f, {0.0, 3.0});
    REQUIRE(found.crossings.size() == 1);
    const Crossing& root = found.crossings[0];
    CHECK(std::nextafter(root.low, 3.0) == root.high);
    CHECK(f(root.low) < 0.0);
    CHECK(f(root.high) >= 0.0);
    CHECK_THAT(root.at, WithinRel(std::sqrt(2.0), 1e-15));
}

TEST_CASE("two roots of a quadratic, and two that lie within one step of the scan", "[analysis]") {
    const Roots far = roots([](double x) { return (x - 1.3) * (x - 4.7); }, {0.0, 10.0});
    REQUIRE(far.crossings.size() == 2);
    CHECK_THAT(far.crossings[0].at, WithinRel(1.3, 1e-14));
    CHECK_THAT(far.crossings[1].at, WithinRel(4.7, 1e-14));
    const Roots near = roots([](double x) { return (x - 5.011) * (x - 5.012); }, {0.0, 10.0});
    REQUIRE(near.crossings.size() == 2);
    CHECK_THAT(near.crossings[0].at, WithinRel(5.011, 1e-12));
    CHECK_THAT(near.crossings[1].at, WithinRel(5.012, 1e-12));
}

TEST_CASE("a second root a thousandth beside one that a point of the scan meets, and at both ends",
          "[analysis]") {
    for (const double first : {0.011, 1.0, 5.0, 9.9711}) {
        INFO(first);
        const double second = first + 0.001;
        const Roots found =
            roots([&](double x) { return (x - first) * (x - second); }, {0.0, 10.0});
        REQUIRE(found.crossings.size() == 2);
        CHECK(found.crossings[0].kind == CrossingKind::smooth);
        CHECK_THAT(found.crossings[0].at, WithinRel(first, 1e-9));
        CHECK_THAT(found.crossings[1].at, WithinRel(second, 1e-9));
    }
    const Roots touch = roots([](double x) { return (x - 5.0) * (x - 5.0); }, {0.0, 10.0});
    REQUIRE(touch.crossings.size() == 1);
    CHECK(touch.crossings[0].kind == CrossingKind::touch);
}

TEST_CASE("a parabola that touches zero, one that comes near, one that hides below the scan",
          "[analysis]") {
    const Roots touch = roots([](double x) { return (x - 4.321) * (x - 4.321); }, {0.0, 10.0});
    REQUIRE(touch.crossings.size() == 1);
    CHECK(touch.crossings[0].kind == CrossingKind::touch);
    CHECK_THAT(touch.crossings[0].at, WithinAbs(4.321, 1e-6));
    CHECK(roots([](double x) { return (x - 4.321) * (x - 4.321) + 1e-6; }, {0.0, 10.0})
              .crossings.empty());
    const Roots below =
        roots([](double x) { return 1e-6 - (x - 4.321) * (x - 4.321); }, {0.0, 10.0});
    REQUIRE(below.crossings.size() == 2);
    CHECK_THAT(below.crossings[0].at, WithinAbs(4.320, 1e-9));
    CHECK_THAT(below.crossings[1].at, WithinAbs(4.322, 1e-9));
}

TEST_CASE("a jump over zero is a step, with the values on both sides", "[analysis]") {
    const Roots found = roots([](double x) { return std::floor(x) - 2.5; }, {0.2, 9.9});
    REQUIRE(found.crossings.size() == 1);
    CHECK(found.crossings[0].kind == CrossingKind::step);
    CHECK(found.crossings[0].high == 3.0);
    CHECK(found.crossings[0].before == -0.5);
    CHECK(found.crossings[0].after == 0.5);
}

TEST_CASE("a pole is no root", "[analysis]") {
    const Roots found = roots([](double x) { return 1.0 / (x - 5.02); }, {0.0, 10.0});
    CHECK(found.crossings.empty());
    REQUIRE(found.gaps.size() == 1);
    CHECK_THAT(found.gaps[0].from, WithinRel(5.02, 1e-14));
}

TEST_CASE("zero over a stretch is told with both ends", "[analysis]") {
    const Roots found = roots(
        [](double x) { return std::max(0.0, x - 7.03) - std::max(0.0, 2.04 - x); }, {0.0, 10.0});
    REQUIRE(found.crossings.size() == 1);
    CHECK(found.crossings[0].kind == CrossingKind::stretch);
    CHECK_THAT(found.crossings[0].low, WithinAbs(2.04, 1e-9));
    CHECK_THAT(found.crossings[0].high, WithinAbs(7.03, 1e-9));
    const Roots all = roots([](double) { return 0.0; }, {0.0, 1.0});
    REQUIRE(all.crossings.size() == 1);
    CHECK(all.crossings[0].kind == CrossingKind::stretch);
    CHECK(all.crossings[0].low == 0.0);
    CHECK(all.crossings[0].high == 1.0);
}

TEST_CASE("roots at the ends of the range, on a point of the scan, at zero", "[analysis]") {
    const Roots ends = roots([](double x) { return x * (10.0 - x); }, {0.0, 10.0});
    REQUIRE(ends.crossings.size() == 2);
    CHECK(ends.crossings[0].at == 0.0);
    CHECK(ends.crossings[1].at == 10.0);
    const Roots point = roots([](double x) { return x - 5.0; }, {0.0, 10.0});
    REQUIRE(point.crossings.size() == 1);
    CHECK(point.crossings[0].at == 5.0);
    const Roots zero = roots([](double x) { return x; }, {-1.0, 2.17});
    REQUIRE(zero.crossings.size() == 1);
    CHECK_THAT(zero.crossings[0].at, WithinAbs(0.0, 1e-300));
}

TEST_CASE("where there is no value there is a gap, and what lies before it is still found",
          "[analysis]") {
    // ln(x - 2): no value up to 2, zero at 3
    const auto logarithm = [](double x) -> Reading {
        return x > 2.0 ? Reading{true, std::log(x - 2.0), 1.0} : Reading{false, 0.0, 1.0};
    };
    const Roots found = find_roots(logarithm, {0.03, 10.0});
    REQUIRE(found.gaps.size() == 1);
    CHECK(found.gaps[0].from == 0.03);
    CHECK_THAT(found.gaps[0].to, WithinRel(2.0, 1e-14));
    REQUIRE(found.crossings.size() == 1);
    CHECK_THAT(found.crossings[0].at, WithinRel(3.0, 1e-14));
    // the root lies in the same step of the scan as the edge
    const auto steep = [](double x) -> Reading {
        return x < 2.0 ? Reading{true, x - 1.999, 1.0} : Reading{false, 0.0, 1.0};
    };
    const Roots near = find_roots(steep, {0.03, 10.0});
    REQUIRE(near.crossings.size() == 1);
    CHECK_THAT(near.crossings[0].at, WithinRel(1.999, 1e-12));
    REQUIRE(near.gaps.size() == 1);
    CHECK_THAT(near.gaps[0].from, WithinRel(2.0, 1e-14));
    CHECK(near.gaps[0].to == 10.0);
}

TEST_CASE("three roots of a cubic by its closed form (Viete)", "[analysis]") {
    // 4 c^3 - 3 c = 1/2: c = cos(20, 140, 260 degrees)
    const Roots found =
        roots([](double c) { return 4.0 * c * c * c - 3.0 * c - 0.5; }, {-1.0, 1.0});
    REQUIRE(found.crossings.size() == 3);
    CHECK_THAT(found.crossings[2].at, WithinRel(std::cos(M_PI / 9.0), 1e-14));
    CHECK_THAT(found.crossings[0].at, WithinRel(std::cos(7.0 * M_PI / 9.0), 1e-14));
    CHECK_THAT(found.crossings[1].at, WithinRel(std::cos(13.0 * M_PI / 9.0), 1e-14));
}
