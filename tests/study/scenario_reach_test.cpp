// What a change of a scenario reaches: heat of one use or of several, power that a mill makes
// itself, what an earlier change took, prices; and where its problems stand.
#include <catch2/catch.hpp>

#include <algorithm>
#include <string>

#include "tests/study/scenario_studies.h"

using namespace deckle;
using namespace deckle::test;
using Catch::Contains;

namespace {

Problem refusal_of(const std::vector<std::string>& changes) {
    return refused(with_scenarios(example(), one_scenario(changes)));
}

/// The example with a price list whose gas has a price at the margin too.
Texts priced(const std::vector<std::string>& changes) {
    Texts texts = with_scenarios(example(), one_scenario(changes));
    texts["prices.yaml"] =
        "prices: list\ntitle: Prices of the test (invented)\n"
        "source: {title: Invented for the test, year: 2026}\n"
        "natural_gas: 38 EUR_2025/MWh HHV\nmarginal: {natural_gas: 30 EUR_2025/MWh LHV}\n";
    return edited(std::move(texts), {{"study.yaml", "\nproducts: products.yaml",
                                      "\nprices: prices.yaml\nproducts: products.yaml"}});
}

const std::string heat_of_gas = "efficiency: {from: 90 %, to: 96 %}}";

}  // namespace

TEST_CASE("so much useful heat is that of one use, a share that of all", "[scenario]") {
    // gas is used by the boilers (for 1 GJ), the engine (for 0.42 GJ) and the machine (for a tonne)
    const std::string all = "{shifts: {from: natural_gas, to: biogas as heater, useful_heat: ";
    const Problem several = refusal_of({all + "0.1 GJ, " + heat_of_gas + ", reason: r}"});
    CHECK(several.code == "several-uses");
    CHECK_THAT(several.message, Contains("0.1 GJ") && Contains("3 places"));
    CHECK_THAT(several.hint, Contains("vellomere.boiler_house.uses.natural_gas"));
    // biogas gives 96 for the 90 that gas gave: a tenth of 1.10 GJ needs 0.11 · 90 / 96
    const Loaded tenth = changed({all + "10 %, " + heat_of_gas + ", reason: r}"});
    const Loaded by_hand(edited(
        example(), {{"mill.yaml", "{natural_gas: 1.10 GJ LHV,",
                     "{natural_gas: 0.99 GJ LHV, biogas: 0.103125 GJ LHV,"},
                    {"mill.yaml", "uses: {natural_gas: 1 GJ LHV}",
                     "uses: {natural_gas: 0.9 GJ LHV, biogas: 0.09375 GJ LHV}"},
                    {"mill.yaml", "natural_gas: {amount: 2.5 GJ HHV,",
                     "biogas: 0.2109375 GJ LHV\n      natural_gas: {amount: 2.25 GJ HHV,"}}));
    CHECK(tenth.value("results@s.base_sheet.t.climate") ==
          Approx(by_hand.value("results.base_sheet.t.climate")).epsilon(1e-9));
    CHECK_THAT(tenth.scenario("s").steps[0].change,
               Contains(", at 3 uses: vellomere.boiler_house.uses.natural_gas, "));
    // one process alone, by `in`
    const Loaded one =
        changed({all + "0.1 GJ, " + heat_of_gas + ", in: vellomere.boiler_house, reason: r}"});
    CHECK_THAT(one.scenario("s").steps[0].change,
               Contains("in vellomere.boiler_house, at vellomere.boiler_house.uses.natural_gas"));
    const Loaded addressed =
        changed({"{shifts: {from: vellomere.boiler_house.uses.natural_gas, to: biogas as heater, "
                 "useful_heat: 0.1 GJ, " +
                 heat_of_gas + ", reason: r}"});
    CHECK(one.value("results@s.base_sheet.t.climate") ==
          addressed.value("results@s.base_sheet.t.climate"));
}

TEST_CASE("power that the mill makes itself has no supply", "[scenario]") {
    const std::string contract = "{contract: {grid: grid}}";
    for (const std::string& change :
         {"{buy_from: " + contract + ", for: electricity, in: vellomere, reason: r}",
          "{buy_from: " + contract + ", for: vellomere.tissue_machine.uses.electricity, reason: r}",
          "{shifts: {from: vellomere.boiler_house.uses.natural_gas, to: electricity as heater, "
          "useful_heat: all, efficiency: {from: 90 %, to: 99 %}, supply: " +
              contract + "}, reason: r}"}) {
        INFO(change);
        const Problem problem = refusal_of({change});
        CHECK(problem.code == "supply-of-own-power");
        CHECK_THAT(problem.hint, Contains("vellomere.switchboard.uses.grid"));
    }
    const Problem typed = refused(
        edited(example(), {{"mill.yaml", "electricity: 930 kWh/t",
                            "electricity: {amount: 930 kWh/t, supply: " + contract + "}"}}));
    CHECK(typed.code == "supply-of-own-power");
}

TEST_CASE("what a change took all of is not there for the next", "[scenario]") {
    const std::string boiler =
        "{shifts: {from: vellomere.boiler_house.uses.natural_gas, to: biogas "
        "as heater, useful_heat: ";
    const Problem problem = refusal_of({boiler + "all, " + heat_of_gas + ", reason: r}",
                                        boiler + "10 %, " + heat_of_gas + ", reason: r}"});
    CHECK(problem.code == "unknown-address");
    CHECK_THAT(problem.message, Contains("a change before took all of it"));
    REQUIRE(problem.related.size() == 1);
    CHECK(problem.related[0].line == 5);
    CHECK(problem.where.line == 6);
}

TEST_CASE("a wrong unit is told at the change, and what it changes beside it", "[scenario]") {
    const Problem use =
        refusal_of({"{set: vellomere.tissue_machine.uses.natural_gas, to: 3 km, reason: r}"});
    CHECK(use.code == "wrong-unit");
    CHECK(use.where.line == 5);
    const Problem plain =
        refusal_of({"{set: vellomere.tissue_machine.uses.natural_gas, to: 3, reason: r}"});
    CHECK(plain.code == "missing-unit");
    CHECK(plain.where.line == 5);
    CHECK_THAT(plain.message, Contains("3 has no unit"));
}

TEST_CASE("steam that is typed in tonnes may be set in GJ", "[scenario]") {
    const auto with = [](const std::string& amount) {
        const Loaded loaded(
            edited(with_scenarios(example(), one_scenario({"{set: vellomere.tissue_machine.uses."
                                                           "steam, to: " +
                                                           amount + ", reason: r}"})),
                   {{"mill.yaml", "steam: evaporated * heat_per_water",
                     "steam: {amount: 0.9 t, pressure: 7 bar, make_up: 15 degC}"}}));
        return loaded.value("results@s.base_sheet.t.climate");
    };
    // 7 bar: h'' = 2762.75 kJ/kg (IAPWS-IF97); water of 15 degC at the standard atmosphere: 63.08
    CHECK(with("2.69967 GJ") == Approx(with("1 t")).epsilon(1e-5));
}

TEST_CASE("an address that is not there leads to the one that was meant", "[scenario]") {
    const auto hint = [](const std::string& address, const std::string& to) {
        return refusal_of({"{set: " + address + ", to: " + to + ", reason: r}"}).hint;
    };
    CHECK(hint("vellomere.processes.tissue_machine.uses.steam", "3 GJ") ==
          "did you mean vellomere.tissue_machine.uses.steam?");
    CHECK_THAT(hint("example.natural_gas.climate.total", "3 kg"),
               Contains("there stand example.natural_gas."));
    const Texts named =
        edited(with_scenarios(example(), one_scenario({"{set: "
                                                       "vellomere.tissue_machine."
                                                       "uses.electricity, to: 900 "
                                                       "kWh, reason: r}"})),
               {{"mill.yaml", "electricity: 930 kWh/t", "electricity as drives: 930 kWh/t"}});
    CHECK(refused(named).hint ==
          "electricity is used there under another name: vellomere.tissue_machine.uses.drives");
}

TEST_CASE("a price may be set on the other heating value, as a list may state it", "[scenario]") {
    // 36.0 and 40.0 MJ/Nm3: 45 per MWh HHV are 50 per MWh LHV
    const Loaded higher(priced({"{set: list.natural_gas, to: 45 EUR_2025/MWh HHV, reason: r}"}));
    const Loaded lower(priced({"{set: list.natural_gas, to: 50 EUR_2025/MWh LHV, reason: r}"}));
    CHECK(higher.value("results@s.boiler_steam.GJ.cost") ==
          Approx(lower.value("results@s.boiler_steam.GJ.cost")).epsilon(1e-12));
    CHECK(refused(priced({"{set: list.natural_gas, to: 45 GJ, reason: r}"})).code == "wrong-unit");
}

TEST_CASE("a price that changes alone leaves the marginal one, and says so", "[scenario]") {
    const std::string price = "{set: list.natural_gas, to: 45 EUR_2025/MWh HHV, reason: r}";
    const auto kept = [](const Loaded& loaded) {
        return std::ranges::count(loaded.scenario("s").findings, "marginal-price-kept",
                                  &Problem::code);
    };
    const Loaded alone(priced({price}));
    CHECK(kept(alone) == 1);
    CHECK(alone.value("results@s.boiler_steam.GJ.cost_marginal") ==
          alone.value("results.boiler_steam.GJ.cost_marginal"));
    CHECK(kept(Loaded(priced({price,
                              "{set: list.marginal.natural_gas, to: 35 EUR_2025/MWh LHV, "
                              "reason: r}"}))) == 0);
}
