// Winding: L = π (D² − d²) / (4 t), area conserved. Against a published puzzle, the arc length of
// Archimedes' spiral (a formula of any handbook of mathematics) and figures worked out apart from
// this project from the same formula.
#include <fmt/format.h>
#include <catch2/catch.hpp>

#include <array>
#include <cmath>
#include <numbers>
#include <string>

#include "engine/product/winding.h"
#include "tests/product/product_study.h"

namespace {

using namespace deckle;
using deckle::test::equals;
using deckle::test::product_problems;
using deckle::test::product_study;
using std::numbers::pi;

/// The winding of a roll, all in metres.
struct Wound {
    Wound(const std::string& roll, const std::string& core, const std::string& sheet,
          const std::string& more = "") {
        Files files;
        files.add(
            "products.yaml",
            fmt::format("products:\n  x:\n    from: s\n    plies: 2\n    grammage: 16.5 g/m2\n"
                        "    sheet: {{{}}}\n    roll: {{{}}}\n{}{}",
                        sheet, roll, core.empty() ? "" : "    core: {outside: " + core + "}\n",
                        more));
        Problems problems;
        const std::array<std::uint32_t, 1> paths{1};
        const auto products = read_products(files, paths, problems);
        problems.throw_if_any();
        Graph graph;
        Build build(graph, problems);
        const Winding winding = wind(build, products.at(0));
        problems.throw_if_any();
        const Evaluation at = evaluate(graph);
        const auto value = [&](const Measure& measure) {
            return measure.known() ? at.value[measure.node] : -1.0;
        };
        diameter = value(winding.diameter);
        thickness = value(winding.wound_thickness);
        length = value(winding.length);
        count = value(winding.exact_count);
        whole = value(winding.whole_count);
        derived = winding.derived;
    }
    double diameter, thickness, length, count, whole;
    bool derived;
};

const std::string no_core, sheet_120 = "length: 120 mm, width: 96 mm";

auto printed(double value, double half_last_digit) {
    return Catch::Matchers::WithinAbs(value, half_last_digit);
}

/// Length of Archimedes' spiral from radius r to R, its turns t apart: k = t / 2π,
/// [ρ √(ρ² + k²) + k² arsinh(ρ / k)] / 2k between the two.
double spiral(double diameter, double core, double t) {
    const double k = t / (2.0 * pi);
    const auto at = [k](double rho) {
        return (rho * std::sqrt(rho * rho + k * k) + k * k * std::asinh(rho / k)) / (2.0 * k);
    };
    return at(diameter / 2.0) - at(core / 2.0);
}

}  // namespace

TEST_CASE(
    "winding: 425 sheets of 4 in between 0.75 and 2.25 in of radius are 0.0083160 in thick "
    "(puzzle page of Arizona State University, math.asu.edu/~rich, its inputs, the result "
    "worked out)",
    "[product][literature]") {
    const Wound w("diameter: 4.5 in, count: 425", "1.5 in", "length: 4 in, width: 4.5 in");
    CHECK_THAT(w.thickness / 0.0254, printed(0.0083160, 5e-8));
    CHECK_THAT(w.thickness * 1000.0, printed(0.21123, 5e-6));
    CHECK_THAT(w.length, equals(425 * 4 * 0.0254));
}

TEST_CASE("winding: rolls of the trade, worked out apart from the engine, to the digits given",
          "[product]") {
    // 110/42 mm, 200 sheets of 120 mm: 0.33824 mm, 24.000 m
    const Wound bath("diameter: 110 mm, count: 200", "42 mm", sheet_120);
    CHECK_THAT(bath.thickness * 1000.0, printed(0.33824, 5e-6));
    CHECK_THAT(bath.length, printed(24.000, 5e-4));
    // rings of paper unwound: 22 996.814, 29 997.847 and 339 292.007 mm
    CHECK_THAT(Wound("diameter: 110 mm, wound_thickness: 0.353 mm", "42 mm", sheet_120).length,
               printed(22.996814, 5e-7));
    CHECK_THAT(Wound("diameter: 120 mm, wound_thickness: 0.324 mm", "45 mm", sheet_120).length,
               printed(29.997847, 5e-7));
    CHECK_THAT(Wound("diameter: 300 mm, wound_thickness: 0.20 mm", "60 mm", "width: 200 mm").length,
               printed(339.292007, 5e-7));
    // 24 m on a core of 42 mm: 130.55 mm at 0.50 mm, 120.82 mm at 0.42 mm
    CHECK_THAT(Wound("wound_thickness: 0.50 mm, length: 24 m", "42 mm", sheet_120).diameter,
               printed(0.13055, 5e-6));
    CHECK_THAT(Wound("wound_thickness: 0.42 mm, count: 200", "42 mm", sheet_120).diameter,
               printed(0.12082, 5e-6));
}

TEST_CASE("winding: the spiral that a sheet really lies in is as long, to 1e-5", "[product]") {
    struct Row {
        double diameter, core, thickness;  // mm
    };
    const Row row =
        GENERATE(Row{110, 42, 0.353}, Row{120, 45, 0.324}, Row{300, 60, 0.20}, Row{250, 76, 0.11});
    CAPTURE(row.diameter, row.core, row.thickness);
    const Wound w(
        fmt::format("diameter: {} mm, wound_thickness: {} mm", row.diameter, row.thickness),
        fmt::format("{} mm", row.core), "width: 100 mm");
    CHECK_THAT(w.length * 1000.0,
               Catch::Matchers::WithinRel(spiral(row.diameter, row.core, row.thickness), 1e-5));
    // as many turns as fit, each as long as its middle: π N (D + d) / 2 is the same length
    const double turns = (row.diameter - row.core) / (2.0 * row.thickness);
    CHECK_THAT(w.length * 1000.0, equals(pi * turns * (row.diameter + row.core) / 2.0));
}

TEST_CASE("winding: each two of the three give the third, all ways round", "[product]") {
    const Wound w("diameter: 110 mm, wound_thickness: 0.36 mm", "42 mm", sheet_120);
    const std::string length = fmt::format("length: {} m", w.length);
    CHECK_THAT(Wound("diameter: 110 mm, " + length, "42 mm", sheet_120).thickness, equals(0.36e-3));
    CHECK_THAT(Wound("wound_thickness: 0.36 mm, " + length, "42 mm", sheet_120).diameter,
               equals(0.110));
    const double wound = 188 * 0.120;  // sheets are counted whole
    CHECK_THAT(Wound("diameter: 110 mm, count: 188", "42 mm", sheet_120).thickness,
               equals(pi * (0.110 * 0.110 - 0.042 * 0.042) / (4 * wound)));
    CHECK_THAT(Wound("wound_thickness: 0.36 mm, count: 188", "42 mm", sheet_120).diameter,
               equals(std::sqrt(4 * wound * 0.36e-3 / pi + 0.042 * 0.042)));
    CHECK_THAT(w.count, equals(w.length / 0.120));
    const Wound no("diameter: 110 mm, wound_thickness: 0.36 mm", no_core, sheet_120);
    CHECK_THAT(no.length, equals(pi * 0.110 * 0.110 / (4 * 0.36e-3)));
}

TEST_CASE("winding: three that agree within 1 % are taken, the count as typed", "[product]") {
    // π (110² − 42²) / (4 · 0.36 · 120) = 187.91 sheets
    for (const std::string count : {"188", "189", "187"}) {
        CAPTURE(count);
        const Wound w("diameter: 110 mm, wound_thickness: 0.36 mm, count: " + count, "42 mm",
                      sheet_120);
        CHECK(w.count == std::stod(count));
        CHECK(w.whole == w.count);
        CHECK_FALSE(w.derived);
        CHECK_THAT(w.length, equals(std::stod(count) * 0.120));
    }
}

TEST_CASE("winding: three that disagree by more than 1 % are an error", "[product]") {
    const auto problems = [](const std::string& roll) {
        return product_problems(fmt::format(
            "products:\n  x: {{from: soft_sheet, plies: 2, grammage: 16.5 g/m2, sheet: {{{}}}, "
            "roll: {{{}}}, core: {{outside: 42 mm}}}}\n",
            sheet_120, roll));
    };
    const std::vector<std::string> contradiction{"winding-contradiction"};
    const std::string two = "diameter: 110 mm, wound_thickness: 0.36 mm, ";  // 187.91, 22.549 m
    CHECK(problems(two + "count: 190") == contradiction);
    CHECK(problems(two + "count: 186") == contradiction);
    CHECK(problems(two + "count: 187").empty());
    CHECK(problems(two + "length: 22.79 m") == contradiction);
    CHECK(problems(two + "length: 22.31 m") == contradiction);
    CHECK(problems(two + "length: 22.75 m").empty());
    CHECK(problems("count: 200, length: 24.3 m, diameter: 110 mm") == contradiction);  // 24.0 m
    CHECK(problems("count: 200, length: 24.2 m, diameter: 110 mm").empty());
    CHECK(problems("diameter: 42 mm, wound_thickness: 0.36 mm") == contradiction);     // the core's
    CHECK(problems("diameter: 42.01 mm, wound_thickness: 0.36 mm") == contradiction);  // no sheet
    const std::vector<std::string> underdetermined{"winding-underdetermined"};
    CHECK(problems("diameter: 110 mm") == underdetermined);
    CHECK(problems("wound_thickness: 0.36 mm") == underdetermined);
    CHECK(problems("count: 200, length: 24 m") == underdetermined);  // one and the same
}

TEST_CASE("winding: a derived count is whole, floor(L/l (1 + 1e-9)), and keeps the unrounded one",
          "[product]") {
    const Wound w("diameter: 110 mm, wound_thickness: 0.36 mm", "42 mm", sheet_120);
    CHECK(w.derived);
    CHECK_THAT(w.count, equals(pi * (110.0 * 110.0 - 42.0 * 42.0) / (4 * 0.36 * 120)));
    CHECK(w.whole == 187.0);
    // a roll wound for exactly 200 sheets, whose diameter is typed in sixteen digits, holds 200
    for (const int sheets : {1, 2, 3, 150, 200, 449, 1000}) {
        CAPTURE(sheets);
        const double outer = std::sqrt(42.0 * 42.0 + 4 * sheets * 120 * 0.36 / pi);
        CHECK(Wound(fmt::format("diameter: {} mm, wound_thickness: 0.36 mm", outer), "42 mm",
                    sheet_120)
                  .whole == sheets);
    }
    const auto length = [](const char* metres) {
        return Wound(fmt::format("length: {} m, diameter: 110 mm", metres), "42 mm", sheet_120);
    };
    CHECK(length("24").whole == 200.0);
    CHECK(length("23.99999999").whole == 200.0);  // 4e-10 below: a rounding of the typist
    CHECK(length("23.9999999").whole == 199.0);   // 4e-9 below
    CHECK(length("24.119").whole == 200.0);
}

TEST_CASE("winding: the caliper of ISO 12625-3 less what the roll compresses is its thickness",
          "[product]") {
    // 0.45 mm · (1 − 0.20) = 0.36 mm
    const Wound w("diameter: 110 mm", "42 mm", sheet_120,
                  "    compression: 20 %\n    properties: {caliper: {value: 0.45 mm, method: ISO "
                  "12625-3}}\n");
    CHECK_THAT(w.thickness, equals(0.45e-3 * (1 - 0.20)));
    CHECK(w.whole == 187.0);
}

TEST_CASE(
    "winding: mass, area and wound bulk of a roll of 200 sheets (worked out: 2.3040 m2, "
    "76.03 g, 10.250 cm3/g)",
    "[product]") {
    const auto study = product_study(fmt::format(
        "products:\n  x: {{from: soft_sheet, plies: 2, grammage: 16.5 g/m2, sheet: {{{}}}, roll: "
        "{{diameter: 110 mm, count: 200}}, core: {{outside: 42 mm}}}}\n",
        sheet_120));
    CHECK_THAT(study.value("products.x.area"), printed(2.3040, 5e-5));
    CHECK_THAT(study.value("products.x.tissue_mass") * 1e6, printed(76.03, 5e-3));
    CHECK_THAT(study.value("products.x.wound_length"), equals(24.0));
    const Wound w("diameter: 110 mm, count: 200", "42 mm", sheet_120);
    CHECK_THAT(w.thickness * 1e6 / 33.0, printed(10.250, 5e-4));  // µm over g/m2
}

TEST_CASE("winding: equal rolls of a bulkier sheet save fibre, 1 − b/b' (exact geometry)",
          "[product]") {
    // 8 to 10 cm3/g saves 20.0 %, 6 to 9 saves 33.3 %: same diameter, core and count, so the same
    // wound thickness t, and grammage t / b
    const double t = Wound("diameter: 110 mm, count: 200", "42 mm", sheet_120).thickness * 1e6;
    const auto mass = [&](double bulk) {
        const auto study = product_study(fmt::format(
            "products:\n  x: {{from: soft_sheet, plies: 1, grammage: {} g/m2, sheet: {{{}}}, roll: "
            "{{diameter: 110 mm, count: 200}}, core: {{outside: 42 mm}}}}\n",
            t / bulk, sheet_120));
        return study.value("products.x.tissue_mass");
    };
    CHECK_THAT(100 * (1 - mass(10) / mass(8)), printed(20.0, 0.05));
    CHECK_THAT(100 * (1 - mass(9) / mass(6)), printed(33.3, 0.05));
}
