// Spreads that files state as mappings, by scores, and together: what becomes of them in the graph.
// What draws make of the shapes is tested against scipy in tests/graph.
#include <catch2/catch.hpp>

#include <cmath>

#include "engine/graph/draws.h"
#include "tests/study/memory_study.h"

namespace {

using namespace deckle;
using deckle::test::MemoryStudy;

/// A boiler that burns two fuels; `more` are further lines of the study.
MemoryStudy boiler(const std::string& more = "") {
    return MemoryStudy({{"study.yaml",
                         "study: s\ntitle: S\ncharacterization: w\nfactors: [w.yaml, f.yaml, "
                         "scores.yaml]\nmills: [m.yaml]\n" +
                             more},
                        {"w.yaml", R"(characterization: w
title: W
source: {title: Invented, year: 2026}
gases: {co2_fossil: 1 kg, ch4_fossil: 30 kg}
)"},
                        {"f.yaml", R"(table: t
title: T
source: {title: Invented, year: 2026}
factors:
  gas:
    title: Gas
    kind: fuel
    per: 1 GJ LHV
    releases:
      co2_fossil: {amount: 56 kg, spread: {shape: curvilinear_trapezoid, low: 55 kg, high: 57_000 g, inexact_by: 200 g}}
      ch4_fossil: {amount: 2 g, spread: {shape: truncated_normal, half_width: 50 % of value, low: 0 g}}
  oil:
    title: Oil
    kind: fuel
    per: 1 GJ LHV
    data_quality: {technology: 3, reliability: 2}
    releases: {co2_fossil: 74 kg, ch4_fossil: 3 g ×÷ 1.4}
)"},
                        {"scores.yaml", R"(data_quality_spread: panel
title: P
source: Invented
numbers: geometric_deviations
basic: {other: 1.1}
scores: {technology: [1, 1.1, 1.2, 1.3, 1.4], reliability: [1, 1.05, 1.1, 1.2, 1.3]}
)"},
                        {"m.yaml", R"(mill: m
title: M
figures: {water: {amount: 175 degC, spread: {shape: arcsine, low: 170 degC, high: 185 degC}}}
processes:
  p:
    stage: energy
    makes: {heat: {amount: 10 GJ, kind: heat}}
    uses: {gas: {amount: 9 GJ LHV, spread: {shape: student_t, scale: 100 MJ LHV, degrees_of_freedom: 9}}, oil: 2 GJ LHV}
)"}});
}

const Input& input(const MemoryStudy& study, const char* address) {
    const NodeId node = study.study.graph.find(address);
    INFO(address);
    REQUIRE(node != no_node);
    REQUIRE(study.study.graph.operation(node) == Operation::input);
    return study.study.graph.inputs()[study.study.graph.payload(node)];
}

}  // namespace

TEST_CASE("parameters of a mapped spread are inputs in the unit of the amount (by hand)",
          "[study]") {
    const MemoryStudy study = boiler();
    const Input& co2 = input(study, "t.gas.releases.co2_fossil");
    CHECK(co2.spread.kind == SpreadKind::curvilinear_trapezoid);
    CHECK(study.value("t.gas.releases.co2_fossil.spread.low") == 55.0);
    CHECK(study.value("t.gas.releases.co2_fossil.spread.high") == 57.0);
    CHECK(study.value("t.gas.releases.co2_fossil.spread.inexact_by") == 0.2);
    CHECK(study.study.graph.text_of(co2.typed) ==
          "56 kg, spread curvilinear_trapezoid low 55 kg high 57_000 g inexact_by 200 g");
    const Input& ch4 = input(study, "t.gas.releases.ch4_fossil");
    CHECK(ch4.spread.kind == SpreadKind::truncated_normal);
    CHECK(ch4.spread.relative);
    CHECK(ch4.spread.parameters[2] == no_node);  // open above
    CHECK(study.value("t.gas.releases.ch4_fossil.spread.half_width") == 0.5);
    CHECK(study.value("t.gas.releases.ch4_fossil.spread.low") == 0.0);
    CHECK(input(study, "m.p.uses.gas").spread.kind == SpreadKind::student_t);
    CHECK(study.value("m.p.uses.gas.spread.scale") == 0.1);
    CHECK(study.value("m.p.uses.gas.spread.degrees_of_freedom") == 9.0);
    CHECK(study.value("m.figures.water.spread.low") == 443.15);
    CHECK(study.value("m.figures.water.spread.high") == 458.15);
}

TEST_CASE("scores become a lognormal where the study names a set, and only there (by hand)",
          "[study]") {
    CHECK(input(boiler(), "t.oil.releases.co2_fossil").spread.kind == SpreadKind::none);
    const MemoryStudy study = boiler("data_quality_spread: panel\n");
    CHECK(study.study.head.data_quality_spread == "panel");
    const Input& co2 = input(study, "t.oil.releases.co2_fossil");
    REQUIRE(co2.spread.kind == SpreadKind::lognormal);
    // sigma^2 = ln^2 1.1 + ln^2 1.2 + ln^2 1.05
    const double sigma = std::sqrt(std::pow(std::log(1.1), 2) + std::pow(std::log(1.2), 2) +
                                   std::pow(std::log(1.05), 2));
    CHECK_THAT(study.value("t.oil.releases.co2_fossil.spread"),
               Catch::WithinRel(std::exp(1.959963984540054 * sigma), 1e-14));
    const Moments moments = moments_of(co2, study.at.value);
    CHECK_THAT(moments.mean, Catch::WithinRel(74.0 * std::exp(0.5 * sigma * sigma), 1e-13));
    CHECK(study.value("t.oil.releases.ch4_fossil.spread") == 1.4);  // its own stands
}

TEST_CASE("correlated amounts of a study are drawn together, by address (by hand)", "[study]") {
    const MemoryStudy study = boiler(
        "correlated: [{of: [t.oil.releases.ch4_fossil, t.gas.releases.ch4_fossil], correlation: "
        "0.6}]\n");
    const Graph& graph = study.study.graph;
    REQUIRE(graph.correlations().size() == 1);
    CHECK(graph.text_of(graph.correlations()[0].addresses[0]) == "t.gas.releases.ch4_fossil");
    const DrawKey key{7, 0};
    const Overlay drawn = drawn_inputs(graph, study.at, {}, key, 3);
    const auto z = [&](const char* address) {
        return normal_of(unit_draw(key, stable_id(address), 3));
    };
    const NodeId oil = graph.find("t.oil.releases.ch4_fossil");
    const double together =
        0.6 * z("t.gas.releases.ch4_fossil") + 0.8 * z("t.oil.releases.ch4_fossil");
    int seen = 0;
    for (const auto& change : drawn.changes) {
        if (change.input != oil) continue;
        ++seen;
        CHECK_THAT(change.value,
                   Catch::WithinRel(3.0 * std::pow(1.4, together / 1.959963984540054), 1e-13));
    }
    CHECK(seen == 1);
}
