// Mixes that follow demand, against sums that fit on a line.
#include <catch2/catch.hpp>

#include <algorithm>
#include <string>
#include <vector>

#include "tests/study/scenario_studies.h"

namespace {

using namespace deckle;
using namespace deckle::test;

constexpr double gas = 50.0, waste = 10.0;  // kg CO2e per GJ

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

// --- how much is asked for
// --------------------------------------------------------------------------

namespace {

/// Two machines on one header, a sheet each; the second machine is typed for so many tonnes.
Texts two_machines(double typed, const std::string& output) {
    Texts texts = steam_mill("    uses: {waste: 50 GJ, boiler_steam: rest}\n");
    const auto amount = [&](double per_tonne) { return std::to_string(per_tonne * typed); };
    texts["mill.yaml"] += "  towel_machine:\n    makes: {towel: {amount: " + amount(1.0) +
                          " t, kind: sheet}}\n    uses: {steam: " + amount(3.0) + " GJ}\n";
    texts["study.yaml"] += output;
    return texts;
}

double towel_climate(const Texts& texts, const std::vector<std::string>& changes) {
    Texts all = texts;
    all["scenarios.yaml"] = one_scenario(changes);
    return Loaded(all).value("results@s.towel.t.climate");
}

const char* const towel_steam = "{scale: m.towel_machine.uses.steam, by: 50 %, reason: r}";

}  // namespace

TEST_CASE("demand is what the study puts out, however a process is typed", "[scenario]") {
    // 100 t of sheet at 2 GJ and 50 t of towel at 3: 350 GJ, a quarter of it waste heat, 87.5 GJ.
    // With 1.5 GJ a tonne of towel 275 GJ, and the waste heat stays.
    const double steam = ((275.0 - 87.5) * 1.1 * gas + 87.5 * waste) / 275.0;
    for (const double typed : {1.0, 50.0, 2000.0}) {
        check_near(towel_climate(two_machines(typed, "output: {sheet: 100 t, towel: 50 t}\n"),
                                 {towel_steam, boiler_swings}),
                   1.5 * steam);
    }
}

TEST_CASE("more output is met by the source that swings", "[scenario]") {
    // 150 t of towel in place of 50: 650 GJ, of which 87.5 are waste heat.
    const double steam = ((650.0 - 87.5) * 1.1 * gas + 87.5 * waste) / 650.0;
    check_near(towel_climate(two_machines(1.0, "output: {sheet: 100 t, towel: 50 t}\n"),
                             {"{set: study.output.towel, to: 150 t, reason: r}", boiler_swings}),
               3.0 * steam);
}

TEST_CASE("several products of which nobody says how much have no demand", "[scenario]") {
    for (const char* output : {"", "output: {sheet: 100 t}\n"}) {
        Texts texts = two_machines(1.0, output);
        texts["scenarios.yaml"] = one_scenario({towel_steam, boiler_swings});
        const Problem problem = refused(texts);
        CHECK(problem.code == "output-not-stated");
        CHECK_THAT(problem.message, Catch::Contains("towel"));
        texts["scenarios.yaml"] = one_scenario({towel_steam});
        const Loaded scaled(texts);
        REQUIRE(scaled.scenario("s").findings.size() == 1);
        CHECK_THAT(scaled.scenario("s").findings[0].message,
                   Catch::Contains("steam of m changes, and the mix was scaled as a whole"));
    }
}
