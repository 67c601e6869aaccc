// Scenarios. The strongest check: a scenario gives what the study gives whose files were edited by
// hand, for every kind of change. Whoever doubts the edit can do the arithmetic, which stands
// beside it. Then mixes that follow demand, against sums that fit on a line; parents; and what a
// scenario must not do.
#include <catch2/catch.hpp>

#include <algorithm>
#include <cmath>
#include <fstream>
#include <map>
#include <sstream>
#include <string>
#include <vector>

#include "engine/graph/draws.h"
#include "engine/study/study.h"

namespace {

using namespace deckle;

using Texts = std::map<std::string, std::string>;

struct Edit {
    std::string file, find, put;
};

std::string source_text(const std::string& path) {
    std::ifstream stream(std::string(DECKLE_SOURCE_DIR) + "/" + path, std::ios::binary);
    REQUIRE(stream.good());
    return {std::istreambuf_iterator<char>(stream), std::istreambuf_iterator<char>()};
}

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

/// The worked example, with more factors at hand, two views of electricity and prices of products.
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

struct Loaded {
    Study study;
    Evaluation at;

    explicit Loaded(const Texts& texts, const ScenarioChoice& choice = {}) {
        for (const auto& [name, text] : texts) study.files.add(name, text);
        load_study("study.yaml", study, choice);
        at = evaluate(study.graph);
    }
    [[nodiscard]] double value(const std::string& address) const {
        const NodeId node = study.graph.find(address);
        INFO(address);
        REQUIRE(node != no_node);
        return at.value[node];
    }
    [[nodiscard]] const Scenario& scenario(std::string_view id) const {
        const Scenario* found = study.scenario(id);
        REQUIRE(found != nullptr);
        return *found;
    }
};

Texts with_scenarios(Texts texts, const std::string& scenarios) {
    texts["scenarios.yaml"] = scenarios;
    return edited(std::move(texts), {{"study.yaml", "\nproducts: products.yaml",
                                      "\nproducts: products.yaml\nscenarios: scenarios.yaml"}});
}

/// One scenario "s" of these changes, each a line of YAML in flow style.
std::string one_scenario(const std::vector<std::string>& changes) {
    std::string text = "scenarios:\n  s:\n    title: The scenario of the test\n    changes:\n";
    for (const std::string& change : changes) text += "      - " + change + "\n";
    return text;
}

Loaded changed(const std::vector<std::string>& changes) {
    return Loaded(with_scenarios(example(), one_scenario(changes)));
}

/// The one problem a study is refused with.
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

constexpr double rounding = 1e-12;  ///< where the order of operations differs

// --- a scenario against the study edited by hand
// ----------------------------------------------

struct Case {
    const char* name;
    std::vector<std::string> changes;
    std::vector<Edit> edits;
    bool same_bits;  ///< else relative difference below `rounding`
};

void check_same(const Case& one) {
    INFO(one.name);
    const Loaded scenario = changed(one.changes);
    const Loaded by_hand(edited(example(), one.edits));
    const Loaded today(example());
    std::size_t moved = 0;
    for (const Result& result : by_hand.study.results) {
        std::string address = result.address;
        address.insert(std::string("results").size(), "@s");
        for (const std::string& view :
             {std::string(), std::string(".market"), std::string(".location")}) {
            const double expected = by_hand.value(result.address + view);
            const double found = scenario.value(address + view);
            INFO(address << view << " " << found << " " << expected);
            if (one.same_bits) CHECK(found == expected);
            else CHECK(std::abs(found - expected) <= rounding * std::abs(expected));
            if (today.study.graph.find(result.address) != no_node &&
                today.value(result.address + view) != expected)
                ++moved;
        }
    }
    CHECK(moved > 0);
    CHECK(scenario.study.results.size() ==
          by_hand.study.results.size() + today.study.results.size());
}

const std::vector<Case>& cases() {
    static const std::vector<Case> all{
        {"set a figure that formulas use",
         {"{set: vellomere.figures.press_dryness, to: 44 %, reason: r}"},
         {{"mill.yaml", "press_dryness: 42 %", "press_dryness: 44 %"}},
         true},
        {"set a formula to a number",
         {"{set: vellomere.figures.evaporated, to: 1.2, reason: r}"},
         {{"mill.yaml", "evaporated: reel_dryness / press_dryness - 1", "evaporated: 1.2"}},
         true},
        {"set a number to a formula",
         {"{set: vellomere.tissue_machine.uses.electricity, to: evaporated * heat_per_water / 2, "
          "reason: r}"},
         {{"mill.yaml", "electricity: 930 kWh/t", "electricity: evaporated * heat_per_water / 2"}},
         true},
        {"set an amount used in another unit",
         {"{set: vellomere.tissue_machine.uses.natural_gas, to: 60 Nm3, reason: r}"},
         {{"mill.yaml", "amount: 2.5 GJ HHV", "amount: 60 Nm3"}},
         true},
        {"set an amount made",
         {"{set: vellomere.boiler_house.makes.boiler_steam, to: 1.01 GJ, reason: r}"},
         {{"mill.yaml", "boiler_steam: {amount: 1 GJ", "boiler_steam: {amount: 1.01 GJ"}},
         true},
        {"set a rest to an amount",
         {"{set: vellomere.switchboard.uses.grid, to: 0.85 kWh, reason: r}"},
         {{"mill.yaml", "grid: rest", "grid: 0.85 kWh"}},
         true},
        {"set freight, losses, water, a dryness",
         {"{set: vellomere.tissue_machine.uses.bleached_pulp.freight.2.distance, to: 40 km, "
          "reason: r}",
          "{set: vellomere.steam_header.losses, to: 3 %, reason: r}",
          "{set: vellomere.tissue_machine.takes_in.river, to: 7 m3, reason: r}",
          "{set: vellomere.tissue_machine.uses.wet_strength_resin.dryness, to: 25 %, reason: r}"},
         {{"mill.yaml", "distance: 110 km", "distance: 40 km"},
          {"mill.yaml", "losses: 2 %", "losses: 3 %"},
          {"mill.yaml", "river: 8.80 m3", "river: 7 m3"},
          {"mill.yaml", "dryness: 20 %", "dryness: 25 %"}},
         true},
        {"set what a factor releases, and how much of another it brings",
         {"{set: example.natural_gas.releases.co2_fossil, to: 57 kg, reason: r}",
          "{set: example.natural_gas.brings.natural_gas_supply, to: 1.1 GJ LHV, reason: r}"},
         {{"factors.yaml", "co2_fossil: 56.1 kg", "co2_fossil: 57 kg"},
          {"factors.yaml", "natural_gas_supply: 1 GJ LHV", "natural_gas_supply: 1.1 GJ LHV"}},
         true},
        {"set climate, water and a heating value of factors",
         {"{set: example.bleached_pulp.climate.fossil, to: 0.3 t, reason: r}",
          "{set: example.bleached_pulp.water.consumed, to: 2 m3, reason: r}",
          "{set: example.natural_gas.heating_value.HHV, to: 39.6 MJ/Nm3, reason: r}"},
         {{"factors.yaml", "fossil: 410 kg", "fossil: 0.3 t"},
          {"factors.yaml", "consumed: 3.1 m3", "consumed: 2 m3"},
          {"factors.yaml", "HHV: 40.0 MJ/Nm3", "HHV: 39.6 MJ/Nm3"}},
         true},
        {"set the weight of a gas",
         {"{set: ar6_100.gases.ch4_fossil, to: 82.5 kg, reason: r}"},
         {{"climate.yaml", "ch4_fossil: 29.8 kg", "ch4_fossil: 82.5 kg"}},
         true},
        {"set the grammage of a product by its own address: its heir follows",
         {"{set: products.bath_3ply.grammage, to: 14.6 g/m2, reason: r}"},
         {{"products.yaml", "grammage: 15.2 g/m2", "grammage: 14.6 g/m2"}},
         true},
        {"set the grammage by the heir's address: the ancestor keeps its own",
         {"{set: products.bath_3ply_long.grammage, to: 14.6 g/m2, reason: r}"},
         {{"products.yaml", "like: bath_3ply\n", "like: bath_3ply\n    grammage: 14.6 g/m2\n"}},
         true},
        {"set a diameter: the count that follows from it is another",
         {"{set: products.bath_3ply.roll.diameter, to: 118 mm, reason: r}"},
         {{"products.yaml", "diameter: 114 mm", "diameter: 118 mm"}},
         true},
        {"set what a packing level uses, and the output of a year",
         {"{set: products.bath_3ply.packed.pack.uses.film, to: 12 g, reason: r}",
          "{set: study.output.bath_3ply, to: 42e6 roll, reason: r}"},
         {{"products.yaml", "film: 15 g", "film: 12 g"},
          {"study.yaml", "bath_3ply: 40e6 roll", "bath_3ply: 42e6 roll"}},
         true},
        {"scale an amount used",
         {"{scale: vellomere.tissue_machine.uses.electricity, by: 90 %, reason: r}"},
         {{"mill.yaml", "electricity: 930 kWh/t", "electricity: 837 kWh/t"}},
         false},
        {"scale a formula and a factor",
         {"{scale: vellomere.tissue_machine.uses.steam, by: 0.5, reason: r}",
          "{scale: example.bleached_pulp.climate.fossil, by: 110 %, reason: r}"},
         {{"mill.yaml", "steam: evaporated * heat_per_water",
           "steam: evaporated * heat_per_water / 2"},
          {"factors.yaml", "fossil: 410 kg", "fossil: 451 kg"}},
         false},
        {"add points to a figure",
         {"{add: 2 points, to: vellomere.figures.press_dryness, reason: r}"},
         {{"mill.yaml", "press_dryness: 42 %", "press_dryness: 44 %"}},
         false},
        {"add to an amount used, and take from a factor",
         {"{add: 20 kWh/t, to: vellomere.tissue_machine.uses.electricity, reason: r}",
          "{add: -10 kg, to: example.bleached_pulp.climate.fossil, reason: r}"},
         {{"mill.yaml", "electricity: 930 kWh/t", "electricity: 950 kWh/t"},
          {"factors.yaml", "fossil: 410 kg", "fossil: 400 kg"}},
         false},
        {"several changes of one amount: each acts on what stands",
         {"{scale: vellomere.tissue_machine.uses.electricity, by: 200 %, reason: lost}",
          "{set: vellomere.tissue_machine.uses.electricity, to: 900 kWh/t, reason: r}",
          "{scale: vellomere.tissue_machine.uses.electricity, by: 90 %, reason: r}",
          "{add: 10 kWh/t, to: vellomere.tissue_machine.uses.electricity, reason: r}",
          "{scale: vellomere.tissue_machine.uses.electricity, by: 50 %, reason: r}"},
         {{"mill.yaml", "electricity: 930 kWh/t", "electricity: 410 kWh/t"}},  // (900·0.9 + 10)/2
         false},
        {"use one fibre instead of another: its freight stays",
         {"{use: straw_pulp, instead_of: vellomere.tissue_machine.uses.bleached_pulp, reason: r}"},
         {{"mill.yaml", "bleached_pulp:\n", "straw_pulp:\n"}},
         true},
        {"use one fibre instead of a part of another, brought otherwise",
         {"{use: straw_pulp, instead_of: bleached_pulp, share: 30 %, ratio: 1.1, freight: [{by: "
          "truck, distance: 80 km}], reason: r}"},
         {{"mill.yaml", "amount: 1.01 ADt", "amount: 0.707 ADt"},
          {"mill.yaml", "      broke: 0.05 t\n",
           "      broke: 0.05 t\n      straw_pulp: {amount: 0.3333 ADt, freight: [{by: truck, "
           "distance: 80 km}]}\n"}},  // 1.01 · 0.3 · 1.1
         false},
        {"use a fuel that is counted in another unit",
         {"{use: wood_chips, instead_of: vellomere.boiler_house.uses.natural_gas, reason: r}"},
         {{"mill.yaml", "uses: {natural_gas: 1.10 GJ LHV, electricity",
           "uses: {wood_chips: 1.10 GJ LHV, electricity"}},
         true},
        {"use a fuel by a ratio with units",
         {"{use: wood_chips, instead_of: vellomere.boiler_house.uses.natural_gas, ratio: 90 kg/GJ "
          "LHV, reason: r}"},
         {{"mill.yaml", "uses: {natural_gas: 1.10 GJ LHV, electricity",
           "uses: {wood_chips: 99 kg, electricity"}},
         false},
        {"use a fuel everywhere: what the old one brings goes with it",
         {"{use: biogas, instead_of: natural_gas, reason: r}"},
         {{"mill.yaml", "uses: {natural_gas: 1.10 GJ LHV, electricity",
           "uses: {biogas: 1.10 GJ LHV, electricity"},
          {"mill.yaml", "uses: {natural_gas: 1 GJ LHV}", "uses: {biogas: 1 GJ LHV}"},
          // 2.5 GJ HHV of natural gas are 2.25 GJ LHV, and so much biogas
          {"mill.yaml", "natural_gas: {amount: 2.5 GJ HHV", "biogas: {amount: 2.25 GJ LHV"}},
         false},
        {"use another source as the rest of a mix",
         {"{use: wind, instead_of: vellomere.switchboard.uses.grid, reason: r}"},
         {{"mill.yaml", "grid: rest", "wind: rest"}},
         true},
        {"a part of a rest, once it has an amount",
         {"{set: vellomere.switchboard.uses.grid, to: 0.8 kWh, reason: r}",
          "{use: wind, instead_of: vellomere.switchboard.uses.grid, share: 25 %, reason: r}"},
         {{"mill.yaml", "grid: rest", "grid: 0.6 kWh, wind: 0.2 kWh"}},
         false},
        {"use something more",
         {"{use: electricity as vacuum_pumps, amount: 12 kWh/t, in: vellomere.tissue_machine, "
          "reason: r}"},
         {{"mill.yaml", "      electricity: 930 kWh/t\n",
           "      electricity: 930 kWh/t\n      electricity as vacuum_pumps: 12 kWh/t\n"}},
         true},
        {"swap a thing that one process uses twice",
         {"{use: electricity as vacuum_pumps, amount: 12 kWh/t, in: vellomere.tissue_machine, "
          "reason: r}",
          "{use: wind, instead_of: electricity, in: vellomere.tissue_machine, reason: r}"},
         {{"mill.yaml", "      electricity: 930 kWh/t\n",
           "      wind: 930 kWh/t\n      wind as vacuum_pumps: 12 kWh/t\n"}},
         true},
        {"a part of a part",
         {"{use: biogas, instead_of: vellomere.tissue_machine.uses.natural_gas, share: 20 %, "
          "reason: r}",
          "{use: wood_chips, instead_of: vellomere.tissue_machine.uses.natural_gas, share: 50 %, "
          "reason: r}"},
         // 2.25 GJ LHV: 0.45 of biogas, half of the other 1.8 of chips
         {{"mill.yaml", "natural_gas: {amount: 2.5 GJ HHV", "natural_gas: {amount: 0.9 GJ LHV"},
          {"mill.yaml", "      electricity: 930 kWh/t\n",
           "      electricity: 930 kWh/t\n      biogas: 0.45 GJ LHV\n      wood_chips: 0.9 GJ "
           "LHV\n"}},
         false},
        {"shift all useful heat: 2.25 GJ LHV × 0.90 ÷ 0.96 = 585.9375 kWh",
         {"{shifts: {from: vellomere.tissue_machine.uses.natural_gas, to: electricity as hood, "
          "useful_heat: all, efficiency: {from: 90 %, to: 96 %}}, reason: r}"},
         {{"mill.yaml",
           "      natural_gas: {amount: 2.5 GJ HHV, note: \"hood burners; the meter counts the "
           "higher heating value\"}\n",
           "      electricity as hood: 585.9375 kWh\n"}},
         false},
        {"shift a share of the heat: 0.4 × 2.25 × 0.90 ÷ 3 = 0.27 GJ = 75 kWh",
         {"{shifts: {from: vellomere.tissue_machine.uses.natural_gas, to: electricity as pump, "
          "useful_heat: 40 %, efficiency: {from: 90 %, to: 3}}, reason: r}"},
         {{"mill.yaml", "natural_gas: {amount: 2.5 GJ HHV", "natural_gas: {amount: 1.5 GJ HHV"},
          {"mill.yaml", "      electricity: 930 kWh/t\n",
           "      electricity: 930 kWh/t\n      electricity as pump: 75 kWh\n"}},
         false},
        {"shift 0.9 GJ: 1 GJ LHV of gas less, 0.3 GJ of power more",
         {"{shifts: {from: vellomere.tissue_machine.uses.natural_gas, to: electricity as pump, "
          "useful_heat: 0.9 GJ, efficiency: {from: 90 %, to: 300 %}}, reason: r}"},
         {{"mill.yaml", "natural_gas: {amount: 2.5 GJ HHV", "natural_gas: {amount: 1.25 GJ LHV"},
          {"mill.yaml", "      electricity: 930 kWh/t\n",
           "      electricity: 930 kWh/t\n      electricity as pump: 0.3 GJ\n"}},
         false},
        {"shift 0.9 GJ for each tonne made, to a fuel counted in kilograms: 1.2 GJ LHV of chips",
         {"{shifts: {from: vellomere.tissue_machine.uses.natural_gas, to: wood_chips, useful_heat: "
          "0.9 GJ/t, efficiency: {from: 90 %, to: 75 %}}, reason: r}"},
         {{"mill.yaml", "natural_gas: {amount: 2.5 GJ HHV", "natural_gas: {amount: 1.25 GJ LHV"},
          {"mill.yaml", "      electricity: 930 kWh/t\n",
           "      electricity: 930 kWh/t\n      wood_chips: 100 kg\n"}},
         false},
        {"buy by contract",
         {"{buy_from: {contract: {grid: grid, certificate: {kind: k, cancelled_for: c, market: m, "
          "document: d}}}, for: vellomere.switchboard.uses.grid, reason: r}"},
         {{"mill.yaml", "grid: rest",
           "grid: {amount: rest, supply: {contract: {grid: grid, certificate: {kind: k, "
           "cancelled_for: c, market: m, document: d}}}}"}},
         true},
        {"a process in place of another",
         {"{process: vellomere.electrode_boilers, in_place_of: vellomere.boiler_house, is: {stage: "
          "energy, makes: {boiler_steam: {amount: 1 GJ, kind: heat}}, uses: {electricity: 280 "
          "kWh}}, reason: r}"},
         {{"mill.yaml", "boiler_house:\n    title: Gas-fired steam boilers\n",
           "electrode_boilers:\n"},
          {"mill.yaml", "uses: {natural_gas: 1.10 GJ LHV, electricity: 5 kWh}",
           "uses: {electricity: 280 kWh}"}},
         true},
        {"a new process, and its product in use",
         {"{process: vellomere.heat_pump, is: {stage: energy, makes: {warm_water: {amount: 3 GJ, "
          "kind: heat}}, uses: {electricity: 1 GJ}}, reason: r}",
          "{use: made.warm_water, instead_of: vellomere.tissue_machine.uses.steam, share: 25 %, "
          "reason: r}"},
         {{"mill.yaml", "  switchboard:\n",
           "  heat_pump:\n    stage: energy\n    makes: {warm_water: {amount: 3 GJ, kind: heat}}\n"
           "    uses: {electricity: 1 GJ}\n  switchboard:\n"},
          {"mill.yaml", "      steam: evaporated * heat_per_water\n",
           "      steam: evaporated * heat_per_water * 0.75\n      warm_water: evaporated * "
           "heat_per_water * 0.25\n"}},
         false},
        {"another set of warming potentials",
         {"{rule: characterization, is: ar5_100, reason: r}"},
         {{"study.yaml", "characterization: ar6_100", "characterization: ar5_100"}},
         true},
        {"the market view as headline",
         {"{rule: electricity, is: market, reason: r}"},
         {{"study.yaml", "electricity: location", "electricity: market"}},
         true},
        {"another allocation",
         {"{rule: allocation, is: price, in: vellomere.converting, reason: r}"},
         {{"mill.yaml", "allocation: mass", "allocation: price"}},
         true},
    };
    return all;
}

}  // namespace

TEST_CASE("a scenario gives what the study gives whose files were edited", "[scenario]") {
    for (const Case& one : cases()) check_same(one);
}

TEST_CASE("only the market view changes with the contract", "[scenario]") {
    const Loaded bought = changed(
        {"{buy_from: {contract: {grid: grid, certificate: {kind: k, cancelled_for: c, market: m, "
         "document: d}}}, for: grid, in: vellomere, reason: r}"});
    for (const char* of : {"base_sheet.t", "bath_3ply.roll"}) {
        const std::string path = std::string(".") + of + ".climate";
        CHECK(bought.value("results@s" + path + ".location") ==
              bought.value("results" + path + ".location"));
        // 500 g/kWh that nobody claims, 218 + 1 g/kWh under contract
        CHECK(bought.value("results@s" + path + ".market") <
              bought.value("results" + path + ".market"));
    }
}

// --- what a set takes over ----------------------------------------------------------------------

namespace {

/// Values of two addresses in one draw.
std::pair<double, double> drawn(const Loaded& loaded, const std::string& one,
                                const std::string& other, std::uint64_t draw) {
    const Overlay overlay = drawn_inputs(loaded.study.graph, loaded.at, {}, {7, 0}, draw);
    const Evaluation at = evaluate(loaded.study.graph, overlay);
    return {at.value[loaded.study.graph.find(one)], at.value[loaded.study.graph.find(other)]};
}

}  // namespace

TEST_CASE("a set without a spread keeps the relative spread and the draw", "[scenario]") {
    const std::string address = "vellomere.tissue_machine.uses.natural_gas";
    for (const char* spread : {"2.5 GJ HHV ± 5 % of value", "2.5 GJ HHV ± 0.125 GJ HHV",
                               "2.5 GJ HHV ×÷ 1.2", "2.5 GJ HHV (2.2 .. 2.7)"}) {
        const Texts texts = edited(example(), {{"mill.yaml", "amount: 2.5 GJ HHV",
                                                "amount: \"" + std::string(spread) + "\""}});
        const Loaded loaded(with_scenarios(
            texts, one_scenario({"{set: " + address + ", to: 3.5 GJ HHV, reason: r}"})));
        INFO(spread);
        bool differs = false;
        for (std::uint64_t draw = 0; draw < 20; ++draw) {
            const auto [before, now] = drawn(loaded, address, "scenarios.s.changes.1.to", draw);
            CHECK_THAT(now / before, Catch::Matchers::WithinRel(3.5 / 2.5, 1e-12));
            differs = differs || std::abs(before - 2.5) > 0.001;
        }
        CHECK(differs);
    }
}

TEST_CASE("a set with a spread of its own is drawn alone", "[scenario]") {
    const std::string address = "vellomere.tissue_machine.uses.natural_gas";
    const Texts texts = edited(
        example(), {{"mill.yaml", "amount: 2.5 GJ HHV", "amount: 2.5 GJ HHV ± 5 % of value"}});
    const Loaded loaded(with_scenarios(
        texts, one_scenario({"{set: " + address + ", to: 3.5 GJ HHV ± 5 % of value, reason: r}"})));
    const auto [before, now] = drawn(loaded, address, "scenarios.s.changes.1.to", 3);
    CHECK(std::abs(now / before - 1.4) > 1e-6);
}

// --- mixes that follow demand -------------------------------------------------------------------

namespace {

constexpr double gas = 50.0, waste = 10.0, grid = 100.0;  // kg CO2e per GJ, GJ, MWh

/// A machine with steam from waste heat and a boiler; `header` and `boiler_more` are flow mappings.
Texts steam_mill(const std::string& header, const std::string& boiler_more = "") {
    Texts texts;
    texts["study.yaml"] =
        "study: s\ntitle: Steam (invented)\ncharacterization: gases\nfactors: [gases.yaml, "
        "factors.yaml]\nmills: [mill.yaml]\nscenarios: scenarios.yaml\n";
    texts["gases.yaml"] =
        "characterization: gases\ntitle: t\nsource: {title: Invented, year: 2026}\ngases: "
        "{co2_fossil: 1 kg}\n";
    texts["factors.yaml"] =
        "table: f\ntitle: t\nsource: {title: Invented, year: 2026}\nfactors:\n"
        "  gas: {title: Gas, kind: fuel, per: 1 GJ LHV, climate: {total: 50 kg, characterization: "
        "gases}}\n"
        "  waste: {title: Waste heat, kind: heat, per: 1 GJ, climate: {total: 10 kg, "
        "characterization: gases}}\n";
    texts["mill.yaml"] =
        "mill: m\ntitle: M\nprocesses:\n"
        "  machine:\n    makes: {sheet: {amount: 100 t, kind: sheet}}\n    uses: {steam: 200 GJ}\n"
        "  header:\n    makes: {steam: {amount: 200 GJ, kind: heat}}\n" +
        header +
        "  boiler:\n    makes: {boiler_steam: {amount: 100 GJ, kind: heat}}\n    uses: {gas: 110 "
        "GJ LHV" +
        boiler_more + "}\n";
    return texts;
}

/// climate of 100 t of sheet in the scenario "s".
double sheet_climate(Texts texts, const std::vector<std::string>& changes) {
    texts["scenarios.yaml"] = one_scenario(changes);
    const Loaded loaded(texts);
    return 100.0 * loaded.value("results@s.sheet.t.climate");
}

const char* const less_steam = "{set: m.machine.uses.steam, to: 160 GJ, reason: r}";
const char* const boiler_swings = "{meet_change_of: steam, with: boiler_steam, reason: r}";

void check_near(double found, double expected) {
    CHECK_THAT(found, Catch::Matchers::WithinRel(expected, rounding));
}

}  // namespace

TEST_CASE("a mix follows demand with the source that swings", "[scenario]") {
    const std::string rest = "    uses: {waste: 50 GJ, boiler_steam: rest}\n";
    const std::string typed = "    uses: {waste: 50 GJ, boiler_steam: 150 GJ}\n";
    for (const std::string& header : {rest, typed}) {
        // as a whole: 160 GJ, a quarter of it waste heat
        check_near(sheet_climate(steam_mill(header), {less_steam}),
                   120.0 * 1.1 * gas + 40.0 * waste);
        // the boiler swings: 50 GJ of waste heat as before
        check_near(sheet_climate(steam_mill(header), {less_steam, boiler_swings}),
                   110.0 * 1.1 * gas + 50.0 * waste);
        check_near(sheet_climate(steam_mill(header), {boiler_swings, less_steam}),
                   110.0 * 1.1 * gas + 50.0 * waste);
        // more of it than today
        check_near(
            sheet_climate(steam_mill(header),
                          {"{set: m.machine.uses.steam, to: 260 GJ, reason: r}", boiler_swings}),
            210.0 * 1.1 * gas + 50.0 * waste);
        // the other source changes: the boiler gives what is left of 200 GJ
        check_near(
            sheet_climate(steam_mill(header),
                          {"{set: m.header.uses.waste, to: 80 GJ, reason: r}", boiler_swings}),
            120.0 * 1.1 * gas + 80.0 * waste);
    }
}

TEST_CASE("a mix that follows demand covers its losses", "[scenario]") {
    const std::string header = "    losses: 5 %\n    uses: {waste: 50 GJ, boiler_steam: rest}\n";
    check_near(sheet_climate(steam_mill(header), {less_steam, boiler_swings}),
               (160.0 / 0.95 - 50.0) * 1.1 * gas + 50.0 * waste);
    const std::string typed =
        "    losses: 5 %\n    uses: {waste: 50 GJ, boiler_steam: 160.5263157894736842 GJ}\n";
    check_near(sheet_climate(steam_mill(typed), {less_steam, boiler_swings}),
               (160.0 / 0.95 - 50.0) * 1.1 * gas + 50.0 * waste);
}

TEST_CASE("a mix that follows demand in a loop", "[scenario]") {
    // A boiler that takes 5 GJ of the header's steam for 100 GJ of its own: with x the steam and y
    // the boiler's, x = machine + 0.05 y. Today y = 3/4 x: x = 200 / 0.9625, waste heat x / 4.
    const std::string header = "    uses: {waste: 50 GJ, boiler_steam: rest}\n";
    const double waste_today = 200.0 / 0.9625 / 4.0;
    // Then the waste heat stays: y = x - waste, x = (160 - 0.05 waste) / 0.95.
    const double x = (160.0 - 0.05 * waste_today) / 0.95;
    check_near(sheet_climate(steam_mill(header, ", steam: 5 GJ"), {less_steam, boiler_swings}),
               (x - waste_today) * 1.1 * gas + waste_today * waste);
}

TEST_CASE("a source that would have to give less than nothing is refused", "[scenario]") {
    for (const char* source : {"rest", "150 GJ"}) {
        Texts texts =
            steam_mill(std::string("    uses: {waste: 50 GJ, boiler_steam: ") + source + "}\n");
        texts["scenarios.yaml"] =
            one_scenario({"{set: m.machine.uses.steam, to: 40 GJ, reason: r}", boiler_swings});
        CHECK(refused(texts).code == "negative-rest");
    }
}

TEST_CASE("a scenario says that a mix was scaled as a whole, unless a source swings",
          "[scenario]") {
    Texts texts = steam_mill("    uses: {waste: 50 GJ, boiler_steam: rest}\n");
    const auto findings = [&](const std::vector<std::string>& changes) {
        texts["scenarios.yaml"] = one_scenario(changes);
        std::vector<std::string> codes;
        const Loaded loaded(texts);
        for (const Problem& finding : loaded.scenario("s").findings) codes.push_back(finding.code);
        return codes;
    };
    CHECK(findings({less_steam}) == std::vector<std::string>{"mix-scaled"});
    CHECK(findings({less_steam, boiler_swings}).empty());
    CHECK(findings({"{set: f.gas.climate.total, to: 51 kg, reason: r}"}).empty());
}

TEST_CASE("a swinging source goes on swinging under the name of what replaces it", "[scenario]") {
    const std::string header = "    uses: {waste: 50 GJ, boiler_steam: rest}\n";
    const std::string swap =
        "{use: waste as more_waste, instead_of: m.header.uses.boiler_steam, reason: r}";
    check_near(sheet_climate(steam_mill(header), {boiler_swings, swap, less_steam}), 160.0 * waste);
}

// --- scenarios on scenarios ---------------------------------------------------------------------

TEST_CASE("parents come first, from left to right, each once, the latest wins", "[scenario]") {
    const std::string set = "{set: vellomere.tissue_machine.uses.electricity, to: ";
    const std::string scale =
        "{scale: vellomere.tissue_machine.uses.electricity, by: 50 %, reason: halved}";
    const std::string text =
        "scenarios:\n"
        "  base: {title: t, changes: [" +
        set +
        "800 kWh/t, reason: first}]}\n"
        "  left: {title: t, on: base, changes: [" +
        scale +
        "]}\n"
        "  right: {title: t, on: base, changes: [" +
        set +
        "600 kWh/t, reason: second}]}\n"
        "  left_right: {title: t, on: [left, right]}\n"
        "  right_left: {title: t, on: [right, left], changes: [" +
        scale +
        "]}\n"
        "  of_today: {title: t, on: [today], changes: [" +
        set + "600 kWh/t, reason: r}]}\n";
    const Loaded loaded(with_scenarios(example(), text));
    const auto climate = [&](const std::string& id) {
        return loaded.value("results@" + id + ".base_sheet.t.climate");
    };
    const auto by_hand = [](const char* amount) {
        return Loaded(edited(example(), {{"mill.yaml", "electricity: 930 kWh/t",
                                          std::string("electricity: ") + amount}}))
            .value("results.base_sheet.t.climate");
    };
    check_near(climate("left"), by_hand("400 kWh/t"));
    check_near(climate("left_right"), by_hand("600 kWh/t"));  // base, left, right
    check_near(climate("right_left"), by_hand("150 kWh/t"));  // base, right, left, its own
    CHECK(climate("of_today") == climate("right"));
    std::vector<std::string> reasons;
    for (const Scenario::Step& step : loaded.scenario("left_right").steps)
        reasons.push_back(step.scenario + " " + step.reason);
    CHECK(reasons == std::vector<std::string>{"base first", "left halved", "right second"});
}

// --- sharing ------------------------------------------------------------------------------------

TEST_CASE("what a scenario leaves as it is, is the same node", "[scenario]") {
    const Loaded loaded =
        changed({"{set: products.bath_3ply_long.roll.diameter, to: 121 mm, reason: r}"});
    for (const Result& result : loaded.study.results) {
        if (!result.scenario.empty() || result.of == "bath_3ply_long" || result.of == "all")
            continue;
        const Result* same = loaded.study.result(result.of, result.per,
                                                 loaded.study.indicators[result.indicator].id, "s");
        INFO(result.address);
        REQUIRE(same != nullptr);
        CHECK(same->node == result.node);
        CHECK(same->market == result.market);
        CHECK(same->location == result.location);
    }
    const Loaded heat =
        changed({"{set: vellomere.figures.heat_per_water, to: 1.8 GJ/t, reason: r}"});
    for (const char* untouched :
         {"steam.GJ.climate", "boiler_steam.GJ.climate", "electricity.kWh.climate"})
        CHECK(heat.study.graph.find(std::string("results@s.") + untouched) ==
              heat.study.graph.find(std::string("results.") + untouched));
    CHECK(heat.study.graph.size() < 2 * Loaded(example()).study.graph.size());
}

TEST_CASE("scenarios that are not asked for are not built", "[scenario]") {
    const std::string text =
        "scenarios:\n"
        "  one: {title: t, changes: [{set: vellomere.figures.press_dryness, to: 44 %, reason: "
        "r}]}\n"
        "  two: {title: t, on: one, changes: [{set: vellomere.figures.heat_per_water, to: 1.8 "
        "GJ/t, "
        "reason: r}]}\n";
    const Texts texts = with_scenarios(example(), text);
    const Loaded none(texts, {.all = false, .ids = {"today"}});
    CHECK(none.study.scenarios.empty());
    CHECK(none.study.graph.size() == Loaded(example()).study.graph.size());
    const Loaded two(texts, {.all = false, .ids = {"two"}});
    REQUIRE(two.study.scenarios.size() == 1);
    CHECK(two.study.scenarios[0].on == std::vector<std::string>{"one"});
    const Loaded all(texts);
    CHECK(all.value("results@two.bath_3ply.roll.climate") ==
          two.value("results@two.bath_3ply.roll.climate"));
}

TEST_CASE("the order of scenarios and of keys moves no bit", "[scenario]") {
    const std::string one =
        "  one:\n    title: t\n    changes:\n      - {set: vellomere.figures.press_dryness, to: 44 "
        "%, reason: r}\n      - {use: biogas, instead_of: natural_gas, share: 20 %, in: "
        "vellomere.boiler_house, reason: r}\n";
    const std::string one_turned =
        "  one:\n    changes:\n      - {reason: r, to: 44 %, set: "
        "vellomere.figures.press_dryness}\n      - {in: vellomere.boiler_house, share: 20 %, "
        "reason: r, instead_of: natural_gas, use: biogas}\n    title: t\n";
    const std::string two =
        "  two: {title: t, on: one, changes: [{meet_change_of: steam, with: boiler_steam, reason: "
        "r}]}\n";
    const Loaded plain(with_scenarios(example(), "scenarios:\n" + one + two));
    Texts turned = with_scenarios(example(), "scenarios:\n" + two + one_turned);
    // two processes of the mill, and two uses of each, the other way round
    const std::string& mill = turned.at("mill.yaml");
    const std::size_t boiler = mill.find("  boiler_house:"), engine = mill.find("  gas_engine:"),
                      machine = mill.find("  tissue_machine:");
    turned["mill.yaml"] = mill.substr(0, boiler) + mill.substr(machine) +
                          mill.substr(engine, machine - engine) +
                          mill.substr(boiler, engine - boiler);
    turned = edited(std::move(turned),
                    {{"mill.yaml", "uses: {natural_gas: 1.10 GJ LHV, electricity: 5 kWh}",
                      "uses: {electricity: 5 kWh, natural_gas: 1.10 GJ LHV}"},
                     {"mill.yaml", "uses: {engine_steam: 0.25 GJ, boiler_steam: rest}",
                      "uses: {boiler_steam: rest, engine_steam: 0.25 GJ}"}});
    const Loaded other(turned);
    for (const Result& result : plain.study.results) {
        INFO(result.address);
        CHECK(plain.value(result.address) == other.value(result.address));
    }
}

// --- what is refused ----------------------------------------------------------------------------

TEST_CASE("a scenario that cannot be meant is refused", "[scenario]") {
    const std::map<std::string, std::string> code_of{
        {"{set: vellomere.figures.pres_dryness, to: 44 %, reason: r}", "unknown-address"},
        {"{scale: products.bath_3ply_long.grammage.x, by: 2, reason: r}", "unknown-address"},
        {"{set: vellomere.figures.press_dryness, to: 44 kg, reason: r}", "wrong-unit"},
        {"{add: 3 kWh, to: vellomere.figures.heat_per_water, reason: r}", "wrong-unit"},
        {"{set: example.natural_gas.releases.co2_fossil, to: press_dryness, reason: r}",
         "not-a-quantity"},
        {"{set: vellomere.figures.reel_dryness, to: evaporated + 0.1, reason: r}",
         "circular-formula"},
        {"{add: -1000 kWh/t, to: vellomere.tissue_machine.uses.electricity, reason: r}",
         "negative-amount"},
        {"{set: study.output.bath_3ply, to: 5e6 pack, reason: r}", "wrong-unit"},
        {"{add: 5e6 pack, to: study.output.bath_3ply, reason: r}", "wrong-unit"},
        {"{use: biogas, instead_of: coal, reason: r}", "unknown-address"},
        {"{use: biogaz, instead_of: natural_gas, reason: r}", "unknown-use"},
        {"{use: film, instead_of: natural_gas, in: vellomere.gas_engine, reason: r}", "wrong-unit"},
        {"{use: film, instead_of: products.bath_3ply.packed.pack.uses.film, reason: r}",
         "unknown-address"},
        {"{use: wind, instead_of: vellomere.switchboard.uses.grid, share: 20 %, reason: r}",
         "rest-of-several"},
        {"{use: electricity, amount: 2 kWh/t, in: vellomere.tissue_machine, reason: r}",
         "duplicate-name"},
        {"{process: vellomere.boiler_house, is: {makes: {x: {amount: 1 GJ, kind: heat}}}, reason: "
         "r}",
         "duplicate-id"},
        {"{process: vellomere.x, in_place_of: vellomere.boilerhouse, is: {makes: {x: {amount: 1 "
         "GJ, kind: heat}}}, reason: r}",
         "unknown-process"},
        {"{meet_change_of: steam, with: grid, reason: r}", "unknown-address"},
        {"{meet_change_of: heat, with: grid, reason: r}", "unknown-product"},
        {"{meet_change_of: base_sheet, with: electricity, reason: r}", "not-a-mix"},
        {"{rule: characterization, is: ar7_100, reason: r}", "unknown-set"},
        {"{rule: electricity, is: green, reason: r}", "unknown-word"},
        {"{rule: allocation, is: price, in: vellomere.boiler_house, reason: r}", "nothing-changed"},
        {"{rule: prices, is: x, in: vellomere, reason: r}", "unknown-key"},
        {"{lift: vellomere.figures.press_dryness, to: 44 %, reason: r}", "unknown-change"},
        {"{set: vellomere.figures.press_dryness, to: 44 %}", "missing-key"},
        {"{shifts: {from: vellomere.tissue_machine.uses.natural_gas, to: electricity as pump, "
         "useful_heat: 9 GJ, efficiency: {from: 90 %, to: 3}}, reason: r}",
         "negative-rest"},
    };
    for (const auto& [change, code] : code_of) {
        INFO(change);
        const Problem problem = refused(with_scenarios(example(), one_scenario({change})));
        INFO(problem.message << " / " << problem.hint);
        CHECK(problem.code == code);
        CHECK_FALSE(problem.hint.empty());
    }
}

TEST_CASE("a scenario that changes nothing, or stands on nothing known, is refused", "[scenario]") {
    const std::map<std::string, std::string> code_of{
        {"  s: {title: t}\n", "nothing-changed"},
        {"  s: {title: t, on: today, changes: []}\n", "nothing-changed"},
        {"  s: {title: t, on: r}\n", "unknown-scenario"},
        {"  s: {title: t, on: s}\n", "circular-scenario"},
        {"  today: {title: t}\n", "reserved-id"},
    };
    for (const auto& [text, code] : code_of) {
        INFO(text);
        CHECK(refused(with_scenarios(example(), "scenarios:\n" + text)).code == code);
    }
}

// --- what reports say ---------------------------------------------------------------------------

TEST_CASE("a step says in words what it took the place of", "[scenario]") {
    const Loaded loaded = changed(
        {"{set: vellomere.figures.heat_per_water, to: 1.8 GJ/t, reason: r}",
         "{set: vellomere.figures.evaporated, to: 1.2, reason: r}",
         "{set: vellomere.switchboard.uses.grid, to: 0.85 kWh, reason: r}",
         "{use: biogas as hood, instead_of: vellomere.tissue_machine.uses.natural_gas, share: 20 "
         "%, reason: r}"});
    std::vector<std::string> words;
    for (const Scenario::Step& step : loaded.scenario("s").steps) words.push_back(step.change);
    CHECK(words ==
          std::vector<std::string>{
              "vellomere.figures.heat_per_water: 1.8 GJ/t, was 1.9 GJ/t",
              "vellomere.figures.evaporated: 1.2, was the formula reel_dryness / press_dryness - 1",
              "vellomere.switchboard.uses.grid: 0.85 kWh, was the rest",
              "biogas as hood instead of 20 % of vellomere.tissue_machine.uses.natural_gas"});
}

TEST_CASE("the rules of a scenario are those that its reports name", "[scenario]") {
    const Loaded loaded = changed({"{rule: characterization, is: ar5_100, reason: r}",
                                   "{rule: electricity, is: market, reason: r}"});
    const StudyHead& today = loaded.study.head_of("");
    const StudyHead& then = loaded.study.head_of("s");
    CHECK(today.characterization == "ar6_100");
    CHECK(then.characterization == "ar5_100");
    CHECK(today.gwp_sets == std::vector<std::string>{"ar6_100"});
    CHECK(then.gwp_sets == std::vector<std::string>{"ar5_100", "ar6_100"});  // factors in CO2e
    CHECK(today.headline == ElectricityView::location);
    CHECK(then.headline == ElectricityView::market);
}
