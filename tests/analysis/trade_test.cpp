// What the trade says of dry crepe, textured and through-air dried tissue, from the inputs: rolls,
// fibre, absorbency, indices, and which heat, power and water claims of CO2e and water need.
#include <algorithm>
#include <catch2/catch.hpp>

#include "engine/analysis/breakeven.h"
#include "tests/analysis/compare_study.h"

namespace {

using namespace deckle;
using namespace deckle::test;
using Catch::Contains;
using Catch::Matchers::WithinRel;

/// Of rolls of one size, of 125, 135 and 145 % of a bulk: 0.7434 of its mass.
constexpr double mean_mass = (1.0 / 1.25 + 1.0 / 1.35 + 1.0 / 1.45) / 3.0;

}  // namespace

namespace {

/// Four bathroom tissues of the same diameter and two towels, on a dry-crepe and a textured line.
/// Grammages follow from the masses: mass ÷ (count × length × width).
const std::string products = R"(products:
  bath_crepe: {title: Bathroom tissue, from: sheet, plies: 1, grammage: 44.897959183673469 g/m2, dryness: 95 %, sheet: {length: 125 mm, width: 98 mm}, roll: {diameter: 115 mm, count: 200}, core: {outside: 40 mm}, properties: {bulk: {value: 8.0 cm3/g, method: made up}}}
  bath_textured: {title: Bathroom tissue, like: bath_crepe, grammage: 33.877551020408163 g/m2, properties: {bulk: {value: 10.8 cm3/g, method: made up}}}
  thick_crepe: {title: Bathroom tissue, like: bath_crepe, grammage: 53.061224489795919 g/m2}
  thick_textured: {title: Bathroom tissue, like: bath_crepe, grammage: 36.734693877551024 g/m2}
  towel_crepe: {title: Towel, from: sheet, plies: 1, grammage: 46.296296296296298 g/m2, dryness: 95 %, sheet: {length: 240 mm, width: 225 mm}, roll: {diameter: 120 mm, count: 60}, core: {outside: 40 mm}, properties: {absorbency: {value: 9.4 g/g, method: one method}}}
  towel_textured: {title: Towel, like: towel_crepe, grammage: 40.123456790123456 g/m2, properties: {absorbency: {value: 12.7 g/g, method: one method}}}
  towel_other_method: {title: Towel, like: towel_crepe, properties: {absorbency: {value: 12.7 g/g, method: another method}}}
)";
const std::string lines = R"(products: [products.yaml]
line:
  crepe: {of: bath_crepe, gross: 200 t/d, time_efficiency: 95 %, days: 350}
  textured: {of: bath_textured, gross: 200 t/d, time_efficiency: 90 %, days: 350}
equivalents:
  trees: {title: trees, of: fibre, amount: 14 piece/t, source: "Common practice, no published source"}
)";

MemoryStudy two_lines() { return of_mill(lines, {{"products.yaml", products}}); }

const ComparedRow::Count& count(const ComparedRow& row, const std::string& what) {
    for (const auto& one : row.counts) {
        if (one.what == what) return one;
    }
    FAIL("no count " << what);
    return row.counts[0];
}

}  // namespace

TEST_CASE(
    "trade: 200 t/d gross are about 190 t/d net as dry crepe and 180 as textured sheet, and "
    "rolls of 83 g in place of 110 g are some 0.4 million more a day (common practice, no "
    "published source)",
    "[analysis][compare]") {
    const MemoryStudy study = two_lines();
    ComparisonQuestion question = at_equal("day", {"crepe", "textured"});
    const Compared all = compare(study.study, study.at, question);
    CHECK_THAT(count(all.rows[0], "t").value, WithinRel(190.0, 1e-12));
    CHECK_THAT(count(all.rows[1], "t").value, WithinRel(180.0, 1e-12));
    const auto& rolls = count(all.rows[1], "roll");
    CHECK_THAT(rolls.value, WithinRel(180e6 / 83.0, 1e-9));
    CHECK_THAT(rolls.difference, WithinRel(180e6 / 83.0 - 190e6 / 110.0, 1e-8));
    CHECK(rolls.difference > 0.35e6);
    CHECK(rolls.difference < 0.50e6);
    const double more = rolls.difference / count(all.rows[0], "roll").value;
    CHECK(more > 0.20);
    CHECK(more < 0.26);  // "about 20 to 25 %": these masses give 25.6
    // The trade says the additional rolls hold about 30 t of fibre a day, some 14 trees a tonne:
    // 420 trees. Its own rounded 0.4 million of 83 g, 95 % dry, hold 31.5 t and 442 trees: about
    // that. The exact 0.4415 million are 180 - 190 × 83 / 110 = 36.6 t of tissue, 34.8 t of fibre,
    // and 487 trees: a sixth more. At 27 g saved on each of the 1.73 million rolls of dry crepe it
    // would be 46.6 t.
    const double a_roll = study.result("bath_textured", "roll", "fibre") / 1e3;  // t
    CHECK_THAT(rolls.difference * a_roll / 0.95, WithinRel(180.0 - 190.0 * 83.0 / 110.0, 1e-8));
    CHECK(rolls.difference * a_roll == Approx(34.8).margin(0.05));
    const double trees_a_roll = count(all.rows[1], "trees").value / rolls.value;
    CHECK_THAT(0.4e6 * a_roll, WithinRel(0.4 * 83.0 * 0.95, 1e-8));
    CHECK(0.4e6 * a_roll == Approx(31.5).margin(0.05));
    CHECK(0.4e6 * trees_a_roll == Approx(442.0).margin(0.5));
    CHECK_THAT(trees_a_roll * rolls.difference,
               WithinRel((180.0 - 190.0 * 83.0 / 110.0) * 0.95 * 14.0, 1e-8));
    CHECK_THAT(count(all.rows[0], "trees").value, WithinRel(190.0 * 0.95 * 14.0, 1e-9));
    // the mean of both machines as one reference
    question.references = {"crepe", "textured"};
    const Compared mean = compare(study.study, study.at, question);
    const double a = figure(all, 0, "climate").value, b = figure(all, 1, "climate").value;
    CHECK_THAT(*figure(mean, 0, "climate").index, WithinRel(200.0 * a / (a + b), 1e-12));
    CHECK_THAT(count(mean.rows[0], "t").difference, WithinRel(5.0, 1e-9));
}

TEST_CASE(
    "trade: at the same diameter a roll falls from 110 to 83 g, a quarter less fibre, from 130 "
    "to 90 g over 25 %, a towel from 150 to 130 g over 10 % (common practice, no published "
    "source)",
    "[analysis][compare]") {
    const MemoryStudy study = two_lines();
    ComparisonQuestion question =
        at_equal("roll_diameter", {"bath_crepe", "bath_textured"}, {"fibre"});
    const Compared all = compare(study.study, study.at, question);
    CHECK_THAT(*figure(all, 1, "fibre").index, WithinRel(100.0 * 83.0 / 110.0, 1e-9));
    CHECK(*figure(all, 1, "fibre").index == Approx(75.0).margin(1.0));
    // thicker tissues: 200 × 0.125 × 0.098 m2 × 53.061 g/m2 = 130 g
    question.products = {"thick_crepe", "thick_textured"};
    const Compared thick = compare(study.study, study.at, question);
    CHECK_THAT(study.result("thick_crepe", "roll", "fibre"), WithinRel(0.130 * 0.95, 1e-9));
    CHECK_THAT(*figure(thick, 1, "fibre").index, WithinRel(100.0 * 90.0 / 130.0, 1e-9));
    CHECK(*figure(thick, 1, "fibre").index < 75.0);
    // towels: 60 × 0.24 × 0.225 m2 × 46.296 g/m2 = 150 g
    question.products = {"towel_crepe", "towel_textured"};
    const Compared towels = compare(study.study, study.at, question);
    CHECK_THAT(study.result("towel_crepe", "roll", "fibre"), WithinRel(0.150 * 0.95, 1e-9));
    CHECK_THAT(*figure(towels, 1, "fibre").index, WithinRel(100.0 * 130.0 / 150.0, 1e-9));
    CHECK(*figure(towels, 1, "fibre").index < 90.0);
    question.products = {"bath_crepe", "towel_crepe"};
    CHECK(code_of(study, question) == "unlike-function");
}

TEST_CASE(
    "trade: absorbency 9.4 and 12.7 g/g, 35 % up, so that the same water takes a quarter less "
    "tissue (common practice, no published source)",
    "[analysis][compare]") {
    const MemoryStudy study = two_lines();
    ComparisonQuestion question =
        at_equal("absorbed_water", {"towel_crepe", "towel_textured"}, {"fibre"});
    const Compared all = compare(study.study, study.at, question);
    // 1 kg of water ÷ 9.4 g/g = 106.38 g of tissue, 95 % dry
    CHECK_THAT(figure(all, 0, "fibre").value, WithinRel(0.95 / 9.4, 1e-9));
    CHECK_THAT(*figure(all, 1, "fibre").index, WithinRel(100.0 * 9.4 / 12.7, 1e-9));
    CHECK(100.0 / *figure(all, 1, "fibre").index == Approx(1.35).margin(0.005));
    question.products = {"towel_crepe", "towel_other_method"};
    CHECK(code_of(study, question) == "unlike-function");
}

namespace {

/// Three mills that differ in heat, power and water driven off for a tonne and in the mass of a
/// roll alone. From 41, 34 and 27 % dry to 95 %: 95 / 41 - 1 = 1.317 m3 of vapour, 1.794 and 2.519.
/// Three textured rolls, of 125, 135 and 145 % of the bulk of dry crepe, and one of their mean
/// mass.
MemoryStudy three_technologies() {
    const auto one = [](const std::string& id, const std::string& gas, const std::string& power,
                        const std::string& vapour) {
        return "mill: " + id + "\ntitle: A mill (invented)\nprocesses:\n  machine: {stage: " +
               "papermaking, makes: {" + id +
               "_sheet: {amount: 1 t, dryness: 95 %, kind: sheet}}, uses: {gas: " + gas +
               ", power: " + power +
               ", pulp: 0.97 t dry, fresh: 8 m3}, leaves: {vapour: " + vapour + "}}\n";
    };
    const auto roll = [](const std::string& id, const std::string& sheet,
                         const std::string& grammage) {
        return "  " + id + ": {title: Roll, from: " + sheet + ", plies: 1, grammage: " + grammage +
               " g/m2, dryness: 95 %, sheet: {length: 125 mm, width: 98 mm}, roll: {diameter: 115 "
               "mm, count: 200}, core: {outside: 40 mm}}\n";
    };
    return MemoryStudy(
        {{"study.yaml",
          "study: s\ntitle: S\ncharacterization: w\nfactors: [w.yaml, f.yaml]\nmills: [a.yaml, "
          "b.yaml, c.yaml]\nproducts: [products.yaml]\n"},
         {"w.yaml", weights},
         {"f.yaml", factors},
         {"a.yaml", one("crepe", "6.5 GJ LHV", "1000 kWh", "1.317 m3")},
         {"b.yaml", one("textured", "8.0 GJ LHV", "1100 kWh", "1.794 m3")},
         {"c.yaml", one("through_air", "12.0 GJ LHV", "1600 kWh", "2.519 m3")},
         {"products.yaml",
          "products:\n" + roll("crepe_roll", "crepe.crepe_sheet", "44.9") +
              roll("textured_roll", "textured.textured_sheet", "33.675") +
              roll("concept_one", "textured.textured_sheet", std::to_string(44.9 / 1.25)) +
              roll("concept_two", "textured.textured_sheet", std::to_string(44.9 / 1.35)) +
              roll("concept_three", "textured.textured_sheet", std::to_string(44.9 / 1.45)) +
              roll("mean_roll", "textured.textured_sheet", std::to_string(44.9 * mean_mass)) +
              roll("through_air_roll", "through_air.through_air_sheet", "31.43")}});
}

/// So much of a thing for a tonne that a roll stands at an index against dry crepe.
Equality needed_for_index(const MemoryStudy& study, const std::string& thing,
                          const std::string& indicator, const std::string& technology,
                          const std::string& index, const std::string& roll = "") {
    BreakevenQuestion question;
    question.result =
        "results." + (roll.empty() ? technology + "_roll" : roll) + ".roll." + indicator;
    question.index = index;
    question.against = {"results.crepe_roll.roll." + indicator};
    question.along = {{technology + ".machine.uses." + thing, "", ""}};
    const Breakeven found = breakeven(study.study, study.at, question);
    REQUIRE(found.equalities.size() == 1);
    return found.equalities[0];
}

/// The published ranges that a value leaves, by code.
std::vector<std::string> outside(const Equality& one) {
    std::vector<std::string> codes;
    for (const auto& [finding, now] : one.outside) codes.push_back(finding.code);
    return codes;
}

/// Of a tonne of the first in % of the second, where an input has another value.
double tonne_against(const MemoryStudy& study, const std::string& input, double value,
                     const std::string& one, const std::string& other) {
    const NodeId node = asked_input(study.study, input).node;
    const Evaluation there = evaluate(study.study.graph, {{{node, value}}});
    return 100.0 * there.value[study.study.result(one, "t", "climate")->node] /
           there.value[study.study.result(other, "t", "climate")->node];
}

}  // namespace

TEST_CASE(
    "trade, the claim turned round: fibre per roll 75 and 70, CO2e per roll 93 and 150 against "
    "dry crepe at 100 (common practice, no published source) need this much heat for a tonne",
    "[analysis][compare]") {
    const MemoryStudy study = three_technologies();
    // Per tonne of dry crepe: 6.5 × 56 + 1000 × 0.2 + 0.97 × 400 = 952 kg. A roll at 93 with 75 %
    // of the mass: 952 × 0.93 / 0.75 = 1180.48 kg/t, less 220 of power and 388 of pulp: 572.48 ÷ 56
    // = 10.22 GJ. At 150 with 70 %: 952 × 1.5 / 0.7 = 2040 kg/t, less 320 and 388: 1332 ÷ 56
    // = 23.79.
    const Equality textured = needed_for_index(study, "gas", "climate", "textured", "93");
    CHECK_THAT(textured.crossing.at,
               WithinRel((952.0 * 0.93 / (33.675 / 44.9) - 220.0 - 388.0) / 56.0, 1e-9));
    // No published heat of textured sheets, at 34 % between pressed and through-air dried ones; but
    // 10.22 GJ for 1.794 m3 of water are 5.70 MJ/kg, and published mills end at 5.4.
    CHECK(outside(textured) == std::vector<std::string>{"range-heat-per-water"});
    const Equality through_air = needed_for_index(study, "gas", "climate", "through_air", "150");
    CHECK_THAT(through_air.crossing.at,
               WithinRel((952.0 * 1.5 / (31.43 / 44.9) - 320.0 - 388.0) / 56.0, 1e-9));
    // Published for through-air drying: 4.9 to 13.3 GJ/t.
    CHECK(outside(through_air) ==
          std::vector<std::string>{"range-heat", "range-heat-per-water", "range-electricity"});
    CHECK_THAT(through_air.outside[0].finding.message,
               Contains("23.8 GJ/t") && Contains("4.90 to 13.3"));
    CHECK_FALSE(through_air.outside[0].now);  // 12.0
    CHECK(through_air.outside[2].now);        // 1600 kWh against 1500
    // Published: a US setting has through-air drying at +39 % per tonne (Forfora et al., North
    // Carolina State University, 2025, seen at second hand). The claim's +50 % per ROLL of 70 % of
    // the mass is +114 % per tonne, far beyond it.
    const double tonne =
        tonne_against(study, "through_air.machine.uses.gas", through_air.crossing.at,
                      "through_air.through_air_sheet", "crepe.crepe_sheet");
    CHECK_THAT(tonne, WithinRel(150.0 / (31.43 / 44.9), 1e-9));
    CHECK(tonne > 139.0);
    // Both published ranges at their upper ends, 13.3 GJ and 1500 kWh (the messages here name
    // them): 744.8 + 300 + 388 = 1432.8 kg/t, a roll at 105, not 150.
    const auto node = [&](const std::string& thing) {
        return asked_input(study.study, "through_air.machine.uses." + thing).node;
    };
    const Evaluation upper =
        evaluate(study.study.graph, {{{node("gas"), 13.3}, {node("power"), 1500.0}}});
    const auto roll = [&](const std::string& id) {
        return upper.value[study.study.result(id, "roll", "climate")->node];
    };
    const double index = 100.0 * roll("through_air_roll") / roll("crepe_roll");
    CHECK_THAT(index, WithinRel(100.0 * 1432.8 / 952.0 * (31.43 / 44.9), 1e-9));
    CHECK(index == Approx(105.0).margin(0.5));
    // All by power instead: (1180.48 - 448 - 388) / 0.2 = 1722 kWh for a tonne, for which no range
    // is published, and (2040 - 672 - 388) / 0.2 = 4900, published for through-air drying: 600 to
    // 1500.
    const Equality textured_power = needed_for_index(study, "power", "climate", "textured", "93");
    CHECK_THAT(textured_power.crossing.at,
               WithinRel((952.0 * 0.93 / (33.675 / 44.9) - 448.0 - 388.0) / 0.2, 1e-9));
    CHECK(outside(textured_power).empty());
    CHECK(textured_power.inside.empty());
    const Equality air_power = needed_for_index(study, "power", "climate", "through_air", "150");
    CHECK_THAT(air_power.crossing.at,
               WithinRel((952.0 * 1.5 / (31.43 / 44.9) - 672.0 - 388.0) / 0.2, 1e-9));
    CHECK(outside(air_power) == std::vector<std::string>{"range-electricity"});
    CHECK_THAT(air_power.outside[0].finding.message,
               Contains("4900 kWh/t") && Contains("600 to 1500"));
}

TEST_CASE(
    "trade: the mean of three textured concepts is fibre 75, bulk 135, CO2e 93 and water 100 "
    "against dry crepe at 100 (common practice, no published source)",
    "[analysis][compare]") {
    const MemoryStudy study = three_technologies();
    ComparisonQuestion question = at_equal(
        "roll_diameter", {"crepe_roll", "concept_one", "concept_two", "concept_three", "mean_roll"},
        {"fibre", "climate", "water_consumed"});
    question.references = {"concept_one", "concept_two", "concept_three"};
    const Compared all = compare(study.study, study.at, question);
    // Rolls of one size: fibre goes as 1 / bulk, the mean of 1 / 1.25, 1 / 1.35 and 1 / 1.45 is
    // 0.7434, and dry crepe against it 134.5: the bulk of their mean, 135, within a half.
    const double crepe = *figure(all, 0, "fibre").index;
    CHECK_THAT(crepe, WithinRel(100.0 / mean_mass, 1e-6));
    CHECK(crepe == Approx(135.0).margin(1.0));
    CHECK(1e4 / crepe == Approx(75.0).margin(1.0));
    CHECK_THAT(*figure(all, 4, "fibre").index, WithinRel(100.0, 1e-6));
    // CO2e and water of the mean, at what a roll of the mean mass needs: the three then stand at
    // 93 and 100 as one, as the comparison has it
    const auto at_need = [&](const std::string& thing, const std::string& indicator,
                             const std::string& index, double by_hand) {
        const Equality needed =
            needed_for_index(study, thing, indicator, "textured", index, "mean_roll");
        CHECK_THAT(needed.crossing.at, WithinRel(by_hand, 1e-6));
        const NodeId node = asked_input(study.study, "textured.machine.uses." + thing).node;
        const Evaluation there = evaluate(study.study.graph, {{{node, needed.crossing.at}}});
        const Compared mean = compare(study.study, there, question);
        return 1e4 / *figure(mean, 0, indicator).index;
    };
    CHECK(at_need("gas", "climate", "93", (952.0 * 0.93 / mean_mass - 220.0 - 388.0) / 56.0) ==
          Approx(93.0).epsilon(1e-6));
    CHECK(at_need("fresh", "water_consumed", "100", 9.94 / mean_mass - 1.94) ==
          Approx(100.0).epsilon(1e-6));
}

TEST_CASE(
    "trade, the claim turned round: water per roll about 100 textured and near 200 through-air "
    "dried, against dry crepe at 100 (common practice, no published source) needs this much for a "
    "tonne",
    "[analysis][compare]") {
    const MemoryStudy study = three_technologies();
    // Dry crepe: 8 m3 + 0.97 × 2 of pulp = 9.94 m3/t (invented). Textured at 100 with 75 % of the
    // mass: 9.94 / 0.75 = 13.25, less 1.94 of pulp = 11.31 m3. Through-air dried at 200 with 70 %:
    // 28.4 less 1.94 = 26.46 m3, 3.3 times that of dry crepe for a tonne. No published figure
    // splits fresh water by technology. Tissue mills take in 7 to 100 m3/t (European Commission,
    // Reference Document on BAT in the Pulp and Paper Industry, 2001, as quoted in Membranes for
    // Industrial Wastewater Recovery and Re-use, Elsevier 2003, table 3.13, p. 111; the heads of
    // its columns were not seen): so wide that it holds both.
    constexpr double least_taken_in = 7.0, most_taken_in = 100.0;
    const double textured =
        needed_for_index(study, "fresh", "water_consumed", "textured", "100").crossing.at;
    CHECK_THAT(textured, WithinRel(9.94 / (33.675 / 44.9) - 1.94, 1e-9));
    CHECK(textured > least_taken_in);
    const double air =
        needed_for_index(study, "fresh", "water_consumed", "through_air", "200").crossing.at;
    CHECK_THAT(air, WithinRel(2.0 * 9.94 / (31.43 / 44.9) - 1.94, 1e-9));
    CHECK(air < most_taken_in);
    // What is discharged is what is taken in less what is driven off. Non-integrated mills
    // discharge 3.5 to 20 m3/t (Commission Implementing Decision 2014/687/EU, BAT 5, from memory):
    // textured stays within, through-air dried does not.
    constexpr double least_discharged = 3.5, most_discharged = 20.0;
    CHECK(textured - 1.794 > least_discharged);
    CHECK(textured - 1.794 < most_discharged);
    CHECK(air - 2.519 > most_discharged);
}

TEST_CASE(
    "trade: bulk 145 and 135 against dry crepe at 100 is fibre 70 and 75 in a roll of the same "
    "size, softness 116 and 106 is what the laboratory says (common practice, no published "
    "source)",
    "[analysis][compare]") {
    // A roll of one diameter and count holds sheets of one thickness: t = pi (D2 - d2) / (4 L).
    // Its mass is area × t ÷ bulk, so that fibre goes as 1 / bulk: 100 / 1.45 = 69.0, 100 / 1.35 =
    // 74.1. 44.9 g/m2 at bulk 8.0 cm3/g.
    const auto roll = [](const std::string& id, double bulk, const std::string& softness) {
        return "  " + id + ": {title: Roll, from: sheet, plies: 1, grammage: " +
               std::to_string(44.9 * 8.0 / bulk) +
               " g/m2, dryness: 95 %, sheet: {length: 125 mm, width: 98 mm}, roll: {diameter: 115 "
               "mm, count: 200}, core: {outside: 40 mm}, properties: {bulk: {value: " +
               std::to_string(bulk) + " cm3/g, method: made up}, softness: {value: " + softness +
               ", scale: dry crepe at 100 (made up), method: panel}}}\n";
    };
    const MemoryStudy study =
        with_products(roll("crepe", 8.0, "100") + roll("textured", 8.0 * 1.35, "106") +
                      roll("through_air", 8.0 * 1.45, "116"));
    ComparisonQuestion question =
        at_equal("roll_diameter", {"crepe", "textured", "through_air"}, {"fibre"});
    const Compared all = compare(study.study, study.at, question);
    CHECK_THAT(*figure(all, 1, "fibre").index, WithinRel(100.0 / 1.35, 1e-6));
    CHECK(*figure(all, 1, "fibre").index == Approx(75.0).margin(1.0));
    CHECK_THAT(*figure(all, 2, "fibre").index, WithinRel(100.0 / 1.45, 1e-6));
    CHECK(*figure(all, 2, "fibre").index == Approx(70.0).margin(1.5));
    for (const auto& [row, softness] :
         {std::pair(std::size_t{1}, "106"), std::pair(std::size_t{2}, "116")}) {
        const auto& properties = all.rows[row].properties;
        const auto found = std::ranges::find(properties, "softness", &ComparedRow::Property::name);
        REQUIRE(found != properties.end());
        CHECK(found->value == softness);
    }
}

TEST_CASE(
    "trade: absorbency nearly 200 through-air dried, and 135 as the mean of three textured "
    "concepts, against dry crepe at 100 (common practice, no published source)",
    "[analysis][compare]") {
    // Three concepts of 11.75, 12.69 and 13.63 g/g: 125, 135 and 145 % of 9.4.
    const MemoryStudy study =
        with_products(towel("crepe", "9.4") + towel("one", "11.75") + towel("two", "12.69") +
                      towel("three", "13.63") + towel("air", "18.5"));
    ComparisonQuestion question =
        at_equal("absorbed_water", {"crepe", "one", "two", "three", "air"}, {"fibre"});
    const Compared all = compare(study.study, study.at, question);
    // the same water takes 100 / 1.97 of the fibre
    CHECK_THAT(*figure(all, 4, "fibre").index, WithinRel(100.0 * 9.4 / 18.5, 1e-9));
    CHECK(1e4 / *figure(all, 4, "fibre").index == Approx(200.0).margin(5.0));
    // Dry crepe against the mean of the three: 3 / (1/1.25 + 1/1.35 + 1/1.45) = 1.3451, as near 135
    // as a mean of fibre can be to a mean of absorbencies.
    question.references = {"one", "two", "three"};
    const Compared mean = compare(study.study, study.at, question);
    CHECK_THAT(*figure(mean, 0, "fibre").index,
               WithinRel(300.0 / (1.0 / 1.25 + 1.0 / 1.35 + 1.0 / 1.45), 1e-9));
    CHECK(*figure(mean, 0, "fibre").index == Approx(135.0).margin(1.0));
}
