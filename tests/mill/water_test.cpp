// Water of a mill: what is taken, and what does not go back to the basins it came from. Terms:
// ISO 14046:2014 (from memory): consumption is withdrawal that does not return to the same drainage
// basin. Scarcity factors are invented.
#include <catch2/catch.hpp>

#include <string>

#include "tests/mill/mill_study.h"

namespace {

using namespace deckle;
using namespace deckle::test;

const std::string scarcity =
    "scarcity: places\ntitle: Scarcity\nmodel: invented\nversion: \"1\"\nsource: {title: Invented, "
    "year: 2026}\nregions: {north: {non_agricultural: 2, agricultural: 5}, south: "
    "{non_agricultural: "
    "40}}\n";

MillText mill(const std::string& waters, const std::string& flows) {
    MillText text;
    text.factors =
        "  town_water: {title: X, kind: water_supply, per: 1 m3, releases: {co2_fossil: 0.3 "
        "kg}, water: {withdrawn: 1.1 m3, consumed: 0.2 m3, region: south}}\n";
    text.mill = "waters: {" + waters +
                "}\nprocesses:\n  machine:\n    stage: papermaking\n    makes: {sheet: 1 t}\n" +
                flows;
    text.study = "scarcity: places\n";
    text.scarcity = scarcity;
    return text;
}

struct Expected {
    double withdrawn, consumed;
};

void check(const MillStudy& study, const Expected& expected) {
    const auto near = [](double value) { return Catch::Matchers::WithinAbs(value, 1e-12); };
    CHECK_THAT(study.result("sheet", "t", "water_withdrawn"), near(expected.withdrawn));
    CHECK_THAT(study.result("sheet", "t", "water_consumed"), near(expected.consumed));
}

Coverage coverage(const MillStudy& study, const char* indicator) {
    return study.study.result("sheet", "t", indicator)->coverage;
}

const std::string river = "river: {from: surface, basin: valley, region: north}";

}  // namespace

TEST_CASE(
    "consumption is what is taken less what goes back to a basin the mill takes from (ISO "
    "14046:2014)",
    "[mill][literature]") {
    struct Row {
        const char* waters;
        const char* flows;
        Expected expected;
    };
    const Row row = GENERATE(
        // The river's own water, 1.22 m3 evaporated.
        Row{"", "    takes_in: {river: 8.80 m3}\n    gives_back: {river: 7.58 m3}\n", {8.80, 1.22}},
        // To a sewer of the same basin, and to one of another basin.
        Row{", sewer: {to: works, basin: valley}",
            "    takes_in: {river: 8.80 m3}\n    gives_back: {sewer: 7.58 m3}\n",
            {8.80, 1.22}},
        Row{", sewer: {to: works, basin: coast}",
            "    takes_in: {river: 8.80 m3}\n    gives_back: {sewer: 7.58 m3}\n",
            {8.80, 8.80}},
        // From two basins, back to both, one by one.
        Row{", well: {from: ground, basin: plain}",
            "    takes_in: {river: 5 m3, well: 3 m3}\n    gives_back: {river: 6 m3, well: 1 m3}\n",
            {8.0, 1.0}},
        // A basin the mill names and takes nothing from.
        Row{", well: {from: ground, basin: plain}", "    gives_back: {well: 2 m3}\n", {0.0, 0.0}},
        // Rain and sea enter the balance only.
        Row{", roof: {from: rain}, bay: {from: sea}",
            "    takes_in: {river: 1 m3, roof: 2 m3, bay: 400 m3}\n    gives_back: {bay: 400 m3}\n",
            {1.0, 1.0}},
        // Given per tonne made.
        Row{"",
            "    takes_in: {river: 8.80 m3/t}\n    gives_back: {river: 7580 L/t}\n",
            {8.80, 1.22}});
    CAPTURE(row.waters, row.flows);
    check(MillStudy(mill(river + row.waters, row.flows)), row.expected);
}

TEST_CASE("a process gives back to a basin that another process of the mill takes from", "[mill]") {
    const std::string intake =
        "  intake:\n    stage: papermaking\n    makes: {fresh: 10 m3}\n    takes_in: {river: 10 "
        "m3}\n";
    const MillStudy study(
        mill(river, "    uses: {fresh: 5 m3}\n    gives_back: {river: 4 m3}\n" + intake));
    check(study, {5.0, 1.0});  // 5 of the 10 m3 for the sheet; 4 of them go back
}

TEST_CASE("a mill that gives a basin more than it takes: consumption below zero, nothing clipped",
          "[mill]") {
    // Water that came in with pulp leaves by the river.
    const MillStudy study(
        mill(river, "    takes_in: {river: 1.0 m3}\n    gives_back: {river: 1.1 m3}\n"));
    check(study, {1.0, -0.1});
    CHECK_THAT(study.result("sheet", "t", "water_scarcity"), exactly(-0.2));
}

TEST_CASE(
    "water from a supply: its factor alone brings water and climate, what goes back is the "
    "mill's",
    "[mill]") {
    const std::string town = "town: {from: supply, factor: town_water}";
    const MillStudy bought(mill(town, "    takes_in: {town: 5 m3}\n"));
    check(bought, {5.5, 1.0});
    CHECK_THAT(bought.climate("sheet", "t"), exactly(1.5));
    CHECK_THAT(bought.result("sheet", "t", "water_scarcity"), exactly(40.0));
    // To a basin the mill does not withdraw from, the sewer takes nothing off.
    check(MillStudy(mill(town + ", sewer: {to: works, basin: valley}",
                         "    takes_in: {town: 5 m3}\n    gives_back: {sewer: 4 m3}\n")),
          {5.5, 1.0});
    // Nor where the mill names a water of that basin and takes nothing of it.
    check(MillStudy(mill(town + ", " + river + ", sewer: {to: works, basin: valley}",
                         "    takes_in: {town: 5 m3}\n    gives_back: {sewer: 4 m3}\n")),
          {5.5, 1.0});
    // To one it does, it does.
    check(
        MillStudy(mill(town + ", " + river + ", sewer: {to: works, basin: valley}",
                       "    takes_in: {town: 5 m3, river: 1 m3}\n    gives_back: {sewer: 4 m3}\n")),
        {6.5, -2.0});
}

TEST_CASE("once-through cooling: withdrawn in full, consumed hardly at all, told apart", "[mill]") {
    const MillStudy study(mill(river,
                               "    takes_in: {river: {amount: 120 m3, purpose: cooling}}\n"
                               "    gives_back: {river: {amount: 119.9 m3, purpose: cooling}}\n"));
    check(study, {120.0, 0.1});
    const Result* withdrawn = study.study.result("sheet", "t", "water_withdrawn");
    const Breakout rows =
        break_out(study.study, study.at, *withdrawn, withdrawn->node, BreakoutBy::gas);
    REQUIRE(rows.rows.size() == 1);
    CHECK(rows.rows[0].name == "river, cooling");
}

TEST_CASE("scarcity by region and use (invented factors 2, 5 and 40)", "[mill]") {
    const auto of = [](const std::string& waters, const std::string& flows) {
        return MillStudy(mill(waters, flows)).result("sheet", "t", "water_scarcity");
    };
    CHECK_THAT(of(river, "    takes_in: {river: 3 m3}\n"), exactly(6.0));
    CHECK_THAT(of("field: {from: surface, basin: valley, region: north, use: agricultural}",
                  "    takes_in: {field: 3 m3}\n"),
               exactly(15.0));
    // A sewer without a region counts with that of its basin.
    CHECK_THAT(of(river + ", sewer: {to: works, basin: valley}",
                  "    takes_in: {river: 3 m3}\n    gives_back: {sewer: 1 m3}\n"),
               exactly(4.0));
    CHECK_THAT(of(river + ", well: {from: ground, basin: plain, region: south}",
                  "    takes_in: {river: 3 m3, well: 1 m3}\n"),
               exactly(46.0));
}

TEST_CASE("scarcity is not covered without a region, without a use the set knows, without a set",
          "[mill]") {
    const auto covered = [](const MillText& text) {
        return coverage(MillStudy(text), "water_scarcity");
    };
    const std::string takes = "    takes_in: {river: 3 m3}\n";
    CHECK(covered(mill(river, takes)) == Coverage::complete);
    CHECK(covered(mill("river: {from: surface, basin: valley}", takes)) == Coverage::not_covered);
    CHECK(covered(mill("river: {from: surface, basin: valley, region: south, use: agricultural}",
                       takes)) == Coverage::not_covered);
    CHECK(covered(mill(river + ", well: {from: ground, basin: plain}",
                       "    takes_in: {river: 3 m3, well: 1 m3}\n")) == Coverage::at_least);
    MillText no_set = mill(river, takes);
    no_set.study = "";
    CHECK(covered(no_set) == Coverage::not_covered);
    CHECK(coverage(MillStudy(mill(river, takes)), "water_consumed") == Coverage::complete);
}

TEST_CASE("water of a process goes with what it makes (by hand)", "[mill]") {
    // The boiler house consumes 0.4 m3 for 10 GJ; the machine takes 6 GJ and 2 m3 of its own.
    const MillStudy study({"",
                           "waters: {river: {from: surface, basin: valley}}\nprocesses:\n"
                           "  boiler: {makes: {steam: {amount: 10 GJ, kind: heat}}, takes_in: "
                           "{river: 1 m3}, gives_back: "
                           "{river: 0.6 m3}}\n"
                           "  machine: {makes: {sheet: 1 t}, uses: {steam: 6 GJ}, takes_in: "
                           "{river: 9 m3}, gives_back: "
                           "{river: 7 m3}}\n"});
    check(study, {9.0 + 0.6, 2.0 + 0.24});
}
