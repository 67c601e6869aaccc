#include "tests/study/scenario_studies.h"

#include <catch2/catch.hpp>
#include <fstream>
#include <iterator>

namespace deckle::test {
namespace {

std::string source_text(const std::string& path) {
    std::ifstream stream(std::string(DECKLE_SOURCE_DIR) + "/" + path, std::ios::binary);
    REQUIRE(stream.good());
    return {std::istreambuf_iterator<char>(stream), std::istreambuf_iterator<char>()};
}

/// What the worked example does not use today and a scenario may. Invented.
const char* const more_factors = R"(
table: more
title: What the mill could use instead (invented)
source: {title: Invented for the test, year: 2026}
factors:
  biogas: {title: Biogas, kind: fuel, per: 1 GJ LHV, heating_value: {LHV: 23 MJ/Nm3, HHV: 25.3 MJ/Nm3}, releases: {co2_fossil: 3 kg}}
  wood_chips: {title: Wood chips, kind: fuel, per: 1 kg, heating_value: {LHV: 12 MJ/kg}, releases: {co2_fossil: 0.05 kg}}
  straw_pulp: {title: Pulp of straw, kind: fibre, per: 1 ADt, dryness: 88 %, climate: {total: 300 kg, characterization: ar6_100}}
  wind: {title: Wind power, kind: electricity, per: 1 kWh, climate: {total: 0.012 kg, characterization: ar6_100}}
  residual: {title: Power that nobody claims, kind: electricity, per: 1 kWh, climate: {total: 0.5 kg, characterization: ar6_100}}
)";
const char* const other_gases = R"(
characterization: ar5_100
title: Three gases over 100 years, fifth assessment report
source: {title: IPCC AR5 Working Group I, chapter: 8, table: "8.7", publisher: IPCC, year: 2013}
gases: {co2_fossil: 1 kg, co2_land_use: 1 kg, ch4_fossil: 30 kg, ch4_biogenic: 28 kg, n2o_fossil: 265 kg, n2o_biogenic: 265 kg}
)";

}  // namespace

Texts edited(Texts texts, const std::vector<Edit>& edits) {
    for (const Edit& edit : edits) {
        std::string& text = texts.at(edit.file);
        const std::size_t at = text.find(edit.find);
        INFO(edit.find);
        REQUIRE(at != std::string::npos);
        REQUIRE(text.find(edit.find, at + 1) == std::string::npos);
        text.replace(at, edit.find.size(), edit.put);
    }
    return texts;
}

Texts example() {
    Texts texts;
    for (const char* name :
         {"study.yaml", "mill.yaml", "products.yaml", "factors.yaml", "climate.yaml"})
        texts[name] = source_text(std::string("inventories/worked_example/") + name);
    texts["more.yaml"] = more_factors;
    texts["ar5.yaml"] = other_gases;
    return edited(std::move(texts),
                  {{"study.yaml", "[climate.yaml, factors.yaml]",
                    "[climate.yaml, factors.yaml, more.yaml, ar5.yaml]\ngrids: {grid: {location: "
                    "grid, residual: residual}}"},
                   {"mill.yaml", "converted_tissue: {amount: 0.95 t, ",
                    "converted_tissue: {amount: 0.95 t, price: 1_500 EUR_2025/t, "},
                   {"mill.yaml", "broke: {amount: 0.05 t, ",
                    "broke: {amount: 0.05 t, price: 150 EUR_2025/t, "}});
}

Loaded::Loaded(const Texts& texts, const ScenarioChoice& choice) {
    for (const auto& [name, text] : texts) study.files.add(name, text);
    load_study("study.yaml", study, choice);
    at = evaluate(study.graph);
}

double Loaded::value(const std::string& address) const {
    const NodeId node = study.graph.find(address);
    INFO(address);
    REQUIRE(node != no_node);
    return at.value[node];
}

const Scenario& Loaded::scenario(std::string_view id) const {
    const Scenario* found = study.scenario(id);
    REQUIRE(found != nullptr);
    return *found;
}

Texts with_scenarios(Texts texts, const std::string& scenarios) {
    texts["scenarios.yaml"] = scenarios;
    return edited(std::move(texts), {{"study.yaml", "\nproducts: products.yaml",
                                      "\nproducts: products.yaml\nscenarios: scenarios.yaml"}});
}

std::string one_scenario(const std::vector<std::string>& changes) {
    std::string text = "scenarios:\n  s:\n    title: The scenario of the test\n    changes:\n";
    for (const std::string& change : changes) text += "      - " + change + "\n";
    return text;
}

Loaded changed(const std::vector<std::string>& changes) {
    return Loaded(with_scenarios(example(), one_scenario(changes)));
}

Problem refused(const Texts& texts) {
    Study study;
    for (const auto& [name, text] : texts) study.files.add(name, text);
    try {
        load_study("study.yaml", study);
    } catch (const InputError& error) {
        REQUIRE(error.problems.size() == 1);
        return error.problems[0];
    } catch (const NoAnswer& error) {
        return error.problem;
    }
    FAIL("the study loads");
    return {};
}

void check_near(double found, double expected) {
    CHECK_THAT(found, Catch::Matchers::WithinRel(expected, rounding));
}

}  // namespace deckle::test
