// A scenario gives what the study gives whose files were edited by hand, for every kind of change.
// Whoever doubts the edit can do the arithmetic, which stands beside it.
#include <catch2/catch.hpp>

#include <algorithm>
#include <cmath>
#include <string>
#include <vector>

#include "engine/graph/draws.h"
#include "tests/study/scenario_studies.h"

namespace {

using namespace deckle;
using namespace deckle::test;

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

const char* const shift_60 =
    "{shifts: {from: vellomere.tissue_machine.uses.natural_gas, to: electricity as pump, "
    "useful_heat: 60 %, efficiency: {from: 90 %, to: 300 %}}, reason: r}";

const std::vector<Case>& cases() {
    static const std::vector<Case> all{
        {"set an amount of a factor as reports print it, per its unit",
         {"{set: example.grid.climate.fossil, to: 0.1 kg CO2e/kWh, reason: r}"},
         {{"factors.yaml", "fossil: 0.218 kg,", "fossil: 0.1 kg,"}},
         true},
        {"set a figure that formulas use",
         {"{set: vellomere.figures.press_dryness, to: 44 %, reason: r}"},
         {{"mill.yaml", "press_dryness: 42 %", "press_dryness: 44 %"}},
         true},
        {"set a dryness with the moisture that it is tied to, which no result rests on",
         {"{set: vellomere.figures.reel_dryness, to: 94 %, reason: r}",
          "{set: vellomere.tissue_machine.makes.base_sheet.composition.moisture, to: 6 %, reason: "
          "r}",
          "{set: vellomere.tissue_machine.makes.base_sheet.composition.fibre, to: 93.6 %, reason: "
          "r}"},
         {{"mill.yaml", "reel_dryness: 95 %", "reel_dryness: 94 %"},
          {"mill.yaml", "{fibre: 94.6 %, resin: 0.4 %, moisture: 5.0 %}",
           "{fibre: 93.6 %, resin: 0.4 %, moisture: 6 %}"}},
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
        {"a shift, then an amount for what is left: 0.6 × 2.25 × 0.90 ÷ 3 = 0.405 GJ = 112.5 kWh",
         {shift_60, "{set: vellomere.tissue_machine.uses.natural_gas, to: 1.2 GJ HHV, reason: r}"},
         {{"mill.yaml", "natural_gas: {amount: 2.5 GJ HHV", "natural_gas: {amount: 1.2 GJ HHV"},
          {"mill.yaml", "      electricity: 930 kWh/t\n",
           "      electricity: 930 kWh/t\n      electricity as pump: 112.5 kWh\n"}},
         false},
        {"a shift, then half of what is left: 2.5 × 0.4 × 0.5",
         {shift_60, "{scale: vellomere.tissue_machine.uses.natural_gas, by: 50 %, reason: r}"},
         {{"mill.yaml", "natural_gas: {amount: 2.5 GJ HHV", "natural_gas: {amount: 0.5 GJ HHV"},
          {"mill.yaml", "      electricity: 930 kWh/t\n",
           "      electricity: 930 kWh/t\n      electricity as pump: 112.5 kWh\n"}},
         false},
        {"half of it, then a shift of 60 % of that",
         {"{scale: vellomere.tissue_machine.uses.natural_gas, by: 50 %, reason: r}", shift_60},
         {{"mill.yaml", "natural_gas: {amount: 2.5 GJ HHV", "natural_gas: {amount: 0.5 GJ HHV"},
          {"mill.yaml", "      electricity: 930 kWh/t\n",
           "      electricity: 930 kWh/t\n      electricity as pump: 56.25 kWh\n"}},
         false},
        {"a shift, then more of what is left, typed for a tonne made",
         {shift_60, "{add: 0.3 GJ HHV/t, to: vellomere.tissue_machine.uses.natural_gas, reason: r}",
          "{scale: vellomere.tissue_machine.uses.pump, by: 2, reason: r}"},
         {{"mill.yaml", "natural_gas: {amount: 2.5 GJ HHV", "natural_gas: {amount: 1.3 GJ HHV"},
          {"mill.yaml", "      electricity: 930 kWh/t\n",
           "      electricity: 930 kWh/t\n      electricity as pump: 225 kWh\n"}},
         false},
        {"halved under one thing, and halved again under the next",
         {"{use: biogas as hood, instead_of: vellomere.tissue_machine.uses.natural_gas, reason: r}",
          "{scale: vellomere.tissue_machine.uses.hood, by: 50 %, reason: r}",
          "{use: wood_chips, instead_of: vellomere.tissue_machine.uses.hood, reason: r}",
          "{scale: vellomere.tissue_machine.uses.hood, by: 50 %, reason: r}"},
         {{"mill.yaml", "natural_gas: {amount: 2.5 GJ HHV",
           "wood_chips as hood: {amount: 0.5625 GJ LHV"}},
         false},
        {"more of something, then less of it",
         {"{use: electricity as vacuum_pumps, amount: 12 kWh/t, in: vellomere.tissue_machine, "
          "reason: r}",
          "{scale: vellomere.tissue_machine.uses.vacuum_pumps, by: 50 %, reason: r}"},
         {{"mill.yaml", "      electricity: 930 kWh/t\n",
           "      electricity: 930 kWh/t\n      electricity as vacuum_pumps: 6 kWh/t\n"}},
         false},
        {"an heir with a grammage of its own is not scaled with what it is like",
         {"{set: products.bath_3ply_long.grammage, to: 14.6 g/m2, reason: r}",
          "{scale: products.bath_3ply.grammage, by: 50 %, reason: r}"},
         {{"products.yaml", "grammage: 15.2 g/m2", "grammage: 7.6 g/m2"},
          {"products.yaml", "like: bath_3ply\n", "like: bath_3ply\n    grammage: 14.6 g/m2\n"}},
         false},
        {"an heir is scaled, and then what it is like is set",
         {"{scale: products.bath_3ply_long.grammage, by: 50 %, reason: r}",
          "{set: products.bath_3ply.grammage, to: 14.6 g/m2, reason: r}"},
         {{"products.yaml", "grammage: 15.2 g/m2", "grammage: 14.6 g/m2"},
          {"products.yaml", "like: bath_3ply\n", "like: bath_3ply\n    grammage: 7.6 g/m2\n"}},
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
        {"an allocation that takes numbers",
         {"{rule: allocation, is: {reference_efficiencies: {heat: 90 %, power: 50 %}}, in: "
          "vellomere.gas_engine, reason: r}"},
         {{"mill.yaml", "allocation: energy",
           "allocation: {reference_efficiencies: {heat: 90 %, power: 50 %}}"}},
         true},
        {"an allocation by shares, of the one process that makes these products",
         {"{rule: allocation, is: {engine_steam: 30 %, engine_power: 70 %}, reason: r}"},
         {{"mill.yaml", "allocation: energy",
           "allocation: {engine_steam: 30 %, engine_power: 70 %}"}},
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

TEST_CASE("a correlated amount stays correlated with a spread of its own", "[scenario]") {
    const std::string address = "vellomere.tissue_machine.uses.natural_gas";
    const Texts texts =
        edited(example(),
               {{"mill.yaml", "amount: 2.5 GJ HHV", "amount: 2.5 GJ HHV ± 5 % of value"},
                {"mill.yaml", "electricity: 930 kWh/t", "electricity: 930 kWh/t ± 5 % of value"},
                {"study.yaml", "boundary: cradle_to_gate",
                 "boundary: cradle_to_gate\ncorrelated: [{of: [" + address +
                     ", vellomere.tissue_machine.uses.electricity], correlation: 0.5}]"}});
    const Loaded loaded(with_scenarios(
        texts,
        one_scenario({"{set: " + address + ", to: 3.5 GJ HHV ± 10 % of value, reason: r}"})));
    const auto [before, now] = drawn(loaded, address, "scenarios.s.changes.1.to", 3);
    CHECK_THAT((now / 3.5 - 1.0) / (before / 2.5 - 1.0), Catch::Matchers::WithinRel(2.0, 1e-9));
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

TEST_CASE("a spread that is set is the spread typed by hand, drawn with its own number",
          "[scenario]") {
    const std::string address = "vellomere.tissue_machine.uses.natural_gas";
    const std::string result = ".base_sheet.t.climate";
    const Texts texts = edited(
        example(), {{"mill.yaml", "amount: 2.5 GJ HHV", "amount: 2.5 GJ HHV ± 5 % of value"}});
    const std::vector<std::pair<std::string, std::string>> forms{
        {"± 12 % of value", "amount: 2.5 GJ HHV ± 12 % of value"},
        {"± 0.25 GJ HHV", "amount: 2.5 GJ HHV ± 0.25 GJ HHV"},
        {"×÷ 1.4", "amount: 2.5 GJ HHV ×÷ 1.4"},
        {"(2.2 .. 3.1)", "amount: 2.5 GJ HHV (2.2 .. 3.1)"},
        {"{shape: arcsine, low: 2 GJ HHV, high: 2.6 GJ HHV}",
         "amount: 2.5 GJ HHV, spread: {shape: arcsine, low: 2 GJ HHV, high: 2.6 GJ HHV}"}};
    for (const auto& [typed, by_hand] : forms) {
        INFO(typed);
        const Loaded set(with_scenarios(
            texts, one_scenario({"{set: " + address + ".spread, to: " + typed + ", reason: r}"})));
        const Loaded edit(
            edited(texts, {{"mill.yaml", "amount: 2.5 GJ HHV ± 5 % of value", by_hand}}));
        CHECK(set.value("results@s" + result) == set.value("results" + result));
        for (std::uint64_t draw = 0; draw < 20; ++draw) {
            const auto [today, now] = drawn(set, "results" + result, "results@s" + result, draw);
            const auto [expected, same] = drawn(edit, "results" + result, "results" + result, draw);
            CHECK(now == expected);
            CHECK(now != today);
        }
    }
}
