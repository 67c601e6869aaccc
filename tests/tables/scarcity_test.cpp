// Water scarcity by region and use: the shipped AWARE 2.0 set against the data set's annual values
// of the sheet for non-agricultural use (Seitfudem, Berger, Müller Schmied, Boulay, J. Industrial
// Ecology 29(3), 2025, doi 10.1111/jiec.70023; data doi 10.5281/zenodo.15133241), m3 world-eq per
// m3 consumed.
#include <fmt/format.h>
#include <catch2/catch.hpp>

#include <array>

#include "engine/text/yaml.h"
#include "tests/tables/table_study.h"

namespace {

using namespace deckle;
using namespace deckle::test;

struct Region {
    const char* id;
    double annual;
};
constexpr std::array aware{
    Region{"germany", 2.09},
    Region{"france", 4.99},
    Region{"italy", 19.0},
    Region{"spain", 35.5},
    Region{"portugal", 19.2},
    Region{"sweden", 2.17},
    Region{"finland", 2.16},
    Region{"poland", 3.16},
    Region{"united_kingdom", 2.29},
    Region{"turkiye", 25.1},
    Region{"united_states", 11.3},
    Region{"canada", 2.97},
    Region{"mexico", 20.3},
    Region{"brazil", 4.38},
    Region{"chile", 45.5},
    Region{"china", 6.29},
    Region{"india", 37.9},
    Region{"indonesia", 9.07},
    Region{"japan", 0.637},
    Region{"south_africa", 49.8},
    Region{"australia", 34.1},
    Region{"us_arizona", 99.4},
    Region{"us_louisiana", 0.359},
    Region{"us_wisconsin", 1.61},
    Region{"brazil_ceara", 23.3},
    Region{"brazil_santa_catarina", 0.63},
    Region{"canada_saskatchewan", 10.1},
    Region{"china_xinjiang", 78.9},
    Region{"india_tamil_nadu", 67.5},
    Region{"australia_tasmania", 2.83},
    Region{"norway", 0.744},
    Region{"egypt", 71.4},
    Region{"new_zealand", 1.60},
    Region{"aggregate_europe", 6.64},
    Region{"aggregate_africa", 52.0},
};

/// A factor for each region that consumes 1 of 3 m3, in m3 and in L.
std::string services() {
    std::string text;
    for (const Region& region : aware)
        text += fmt::format(
            "  f_{}: {{title: X, kind: other, per: 1 piece, releases: {{co2_fossil: 0 kg}}, "
            "water: {{withdrawn: 3 m3, consumed: 1000 L, region: {}}}}}\n",
            region.id, region.id);
    return text;
}

Book aware_book() {
    return {.shipped = {"scarcity_aware2"}, .own = services(), .scarcity = "aware_2_0"};
}

}  // namespace

TEST_CASE("scarcity: 1 m3 consumed in a region counts its published annual factor (AWARE 2.0)",
          "[tables][literature]") {
    Questions questions;
    for (const Region& region : aware)
        questions.emplace_back(fmt::format("x_{}", region.id),
                               fmt::format("f_{}: 1 piece", region.id));
    const Answers answers(aware_book(), questions);
    for (const Region& region : aware) {
        CAPTURE(region.id);
        CHECK(answers.of(fmt::format("x_{}", region.id), "water_scarcity") == region.annual);
        CHECK(answers.of(fmt::format("x_{}", region.id), "water_consumed") == 1.0);
        CHECK(answers.coverage(fmt::format("x_{}", region.id), "water_scarcity") ==
              Coverage::complete);
    }
    CHECK(answers.study.head.scarcity == "aware_2_0");
}

TEST_CASE(
    "scarcity: every shipped factor lies within the bounds of the method, 0.1 and 100 (Boulay et "
    "al. 2018, doi 10.1007/s11367-017-1333-8)",
    "[tables][literature]") {
    const Answers answers(aware_book(), {{"x", "f_germany: 1 piece"}});
    std::size_t read = 0;
    for (std::uint32_t file = 1; file <= answers.study.files.count(); ++file) {
        if (!answers.study.files.at(file).path.ends_with("scarcity_aware2.yaml")) continue;
        Problems problems;
        const YamlValue root = read_yaml(answers.study.files, file, problems);
        for (const YamlEntry& region : root.find("regions")->entries) {
            const double value = std::stod(region.value.find("non_agricultural")->text);
            CAPTURE(region.key);
            CHECK(value >= 0.1);
            CHECK(value <= 100.0);
            CHECK(region.value.find("unspecified") == nullptr);  // refused for a mill
            ++read;
        }
    }
    CHECK(read > 150);
}

TEST_CASE(
    "scarcity: the use of the water matters (AWARE 2.0: United States 11.3 non-agricultural, 33.7 "
    "unspecified, Germany 2.09 and 2.31, India 37.9 and 36.2)",
    "[tables][literature]") {
    const std::string set =
        "scarcity: two_uses\ntitle: T\nmodel: AWARE\nversion: \"2.0\"\nsource: {title: Cited "
        "above, year: "
        "2025}\nregions:\n  united_states: {non_agricultural: 11.3, unspecified: 33.7}\n  germany: "
        "{non_agricultural: 2.09, unspecified: 2.31}\n  india: {non_agricultural: 37.9, "
        "unspecified: 36.2}\n";
    const MemoryStudy study(
        {{"study.yaml",
          "study: s\ntitle: S\ncharacterization: c\nscarcity: two_uses\nfactors: [c.yaml, "
          "a.yaml, f.yaml]\nmills: [m.yaml]\n"},
         {"c.yaml",
          "characterization: c\ntitle: C\nsource: {title: By definition, year: 2026}\ngases: "
          "{co2_fossil: 1 kg}\n"},
         {"a.yaml", set},
         {"f.yaml",
          "table: t\ntitle: T\nsource: {title: Invented, year: 2026}\nfactors:\n"
          "  plain: {title: X, kind: other, per: 1 piece, releases: {co2_fossil: 0 kg}, water: "
          "{withdrawn: 1 "
          "m3, consumed: 1 m3, region: united_states}}\n"
          "  unspecified: {title: X, kind: other, per: 1 piece, releases: {co2_fossil: 0 kg}, "
          "water: "
          "{withdrawn: 1 m3, consumed: 1 m3, region: united_states, use: unspecified}}\n"
          "  several: {title: X, kind: other, per: 1 piece, releases: {co2_fossil: 0 kg}, water: "
          "[{withdrawn: "
          "1 m3, consumed: 0.25 m3, region: germany}, {withdrawn: 2 m3, consumed: 0.5 m3, region: "
          "india, use: "
          "unspecified}]}\n"},
         {"m.yaml",
          "mill: m\ntitle: M\nwaters:\n  river: {from: surface, basin: b_1, region: germany}\n  "
          "well: {from: "
          "ground, basin: b_2, region: india, use: unspecified}\n"
          "processes:\n  a: {stage: energy, makes: {x: 1 piece}, uses: {plain: 2 piece}}\n"
          "  b: {stage: energy, makes: {y: 1 piece}, uses: {unspecified: 2 piece}}\n"
          "  c: {stage: energy, makes: {z: 1 piece}, uses: {several: 1 piece}}\n"
          "  d: {stage: energy, makes: {w: 1 piece}, takes_in: {river: 8 m3, well: 3 m3}, "
          "gives_back: {river: 6 "
          "m3}}\n"}});
    CHECK_THAT(study.result("x", "piece", "water_scarcity"), equals(2 * 11.3));
    CHECK_THAT(study.result("y", "piece", "water_scarcity"), equals(2 * 33.7));
    CHECK_THAT(study.result("z", "piece", "water_scarcity"), equals(0.25 * 2.09 + 0.5 * 36.2));
    // own water of a mill: 2 m3 of the river, 3 m3 of the well
    CHECK_THAT(study.result("w", "piece", "water_scarcity"), equals(2 * 2.09 + 3 * 36.2));
}

TEST_CASE(
    "scarcity: no region, an unknown use or no set leave it not covered, and no consumption needs "
    "none",
    "[tables]") {
    const auto water = [](const char* stated) {
        return fmt::format(
            "  f: {{title: X, kind: other, per: 1 piece, releases: {{co2_fossil: 0 kg}}, "
            "water: {}}}\n",
            stated);
    };
    const auto coverage = [&](const char* stated, const std::string& set = "aware_2_0") {
        return Answers({.shipped = {"scarcity_aware2"}, .own = water(stated), .scarcity = set},
                       {{"x", "f: 1 piece"}})
            .coverage("x", "water_scarcity");
    };
    CHECK(coverage("{withdrawn: 1 m3, consumed: 1 m3, region: germany}") == Coverage::complete);
    CHECK(coverage("{withdrawn: 1 m3, consumed: 1 m3}") == Coverage::not_covered);
    CHECK(coverage("{withdrawn: 1 m3, consumed: 1 m3, region: germany, use: agricultural}") ==
          Coverage::not_covered);
    CHECK(coverage("{withdrawn: 1 m3, consumed: 1 m3, region: germany}", "") ==
          Coverage::not_covered);
    CHECK(coverage("{withdrawn: 1 m3, consumed: 0 m3}") == Coverage::complete);
    CHECK(coverage("{withdrawn: 1 m3, region: germany}") == Coverage::not_covered);
    CHECK(coverage("[{withdrawn: 1 m3, consumed: 1 m3, region: germany}, {withdrawn: 1 m3, "
                   "consumed: 1 m3}]") == Coverage::at_least);
}
