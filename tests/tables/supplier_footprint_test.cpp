// Product footprints of suppliers as factors: PACT data model 3.0.3, and 2.x as its change log says
// it is read. All files are invented.
#include <fmt/format.h>
#include <catch2/catch.hpp>

#include "engine/study/model.h"
#include "tests/tables/table_study.h"

namespace {

using namespace deckle;
using namespace deckle::test;

/// Version 3 per `amount` of `unit`, with these properties of `pcf` as JSON writes them.
std::string version_3(const std::string& unit, const std::string& amount,
                      const std::string& figures) {
    constexpr std::string_view text = R"json({{
  "id": "3f8a2c10-5b7e-4d19-9c42-6e0d1f7a8b35",
  "specVersion": "3.0.3",
  "created": "2026-01-20T00:00:00Z",
  "status": "Active",
  "companyName": "Pulp works (invented)",
  "companyIds": ["urn:company:example:pulp-works"],
  "productDescription": "Invented",
  "productIds": ["urn:product:example:pulp"],
  "productNameCompany": "Bleached pulp",
  "pcf": {{
    "declaredUnitOfMeasurement": "{0}",
    "declaredUnitAmount": "{1}",
    "productMassPerDeclaredUnit": "{1}",
    "referencePeriodStart": "2025-01-01T00:00:00Z",
    "referencePeriodEnd": "2026-01-01T00:00:00Z",
    {2},
    "fossilCarbonContent": "0",
    "packagingEmissionsIncluded": false,
    "ccsTechnologicalCO2CaptureIncluded": false,
    "ipccCharacterizationFactors": ["AR6", "AR5"],
    "crossSectoralStandards": ["ISO14067"],
    "exemptedEmissionsPercent": "0",
    "secondaryEmissionFactorSources": [{{"name": "Invented", "version": "1"}}],
    "primaryDataShare": "62.5"
  }}
}}
)json";
    return fmt::format(text, unit, amount, figures);
}

const std::string pulp_figures = R"json("pcfExcludingBiogenicUptake": "0.420",
    "pcfIncludingBiogenicUptake": "-1.120",
    "biogenicCarbonContent": "0.420",
    "biogenicCO2Uptake": "-1.540",
    "fossilGhgEmissions": "0.400",
    "landUseChangeGhgEmissions": "0.012",
    "biogenicNonCO2Emissions": "0.008")json";

std::string version_2(const std::string& unit, const std::string& amount,
                      const std::string& figures) {
    constexpr std::string_view text = R"json({{
  "id": "7c1d9e20-5b7e-4d19-9c42-6e0d1f7a8b35",
  "specVersion": "2.2.0",
  "created": "2024-05-02T00:00:00Z",
  "companyName": "Bottler (invented)",
  "productNameCompany": "Bottle",
  "pcf": {{
    "declaredUnit": "{}",
    "unitaryProductAmount": "{}",
    {},
    "characterizationFactors": "AR5",
    "primaryDataShare": 40
  }}
}}
)json";
    return fmt::format(text, unit, amount, figures);
}

Book with(const std::string& json, const std::string& more = {}) {
    Book book{.own = "  pulp: {kind: fibre, factor_from: supplier/pulp.json" + more + "}\n"};
    book.beside["supplier/pulp.json"] = json;
    return book;
}

const Questions a_tonne{{"x", "pulp: 1000 kg"}};

}  // namespace

TEST_CASE("a supplier's footprint is a factor: its total is the sum it states (PACT 3.0.3)",
          "[tables][declaration]") {
    const Answers answers(with(version_3("kilogram", "1", pulp_figures)), a_tonne);
    CHECK_THAT(answers.of("x"), equals(420.0));
    CHECK_THAT(answers.of("x", "climate_fossil"), equals(400.0));
    CHECK_THAT(answers.of("x", "climate_biogenic"), equals(8.0));
    CHECK_THAT(answers.of("x", "climate_land_use"), equals(12.0));
}

TEST_CASE("fossil land management is a part of fossil (PACT, How-to Guide V3, worked total)",
          "[tables][declaration][literature]") {
    // The guide: land-use change 5, land management CO2 0, fossil land management 0.7 of fossil
    // 1.7, biogenic other than CO2 0.2; 6.9 without uptake.
    const std::string figures = R"json("pcfExcludingBiogenicUptake": "6.9",
    "pcfIncludingBiogenicUptake": "6.9",
    "fossilGhgEmissions": "1.7",
    "landUseChangeGhgEmissions": "5",
    "landManagementFossilGhgEmissions": "0.7",
    "landManagementBiogenicCO2Emissions": "0",
    "biogenicNonCO2Emissions": "0.2")json";
    const Answers answers(with(version_3("kilogram", "1", figures)), {{"x", "pulp: 1 kg"}});
    CHECK_THAT(answers.of("x"), equals(6.9));
    CHECK_THAT(answers.of("x", "land_management_fossil"), equals(0.7));
}

TEST_CASE("its unit, potentials, validity, primary share and source come from the file",
          "[tables][declaration]") {
    const Answers answers(with(version_3("kilogram", "1", pulp_figures)), a_tonne);
    const Factor& pulp = *answers.study.model->tables.find("own.pulp").at(0);
    CHECK(pulp.title == "Bleached pulp");
    CHECK(pulp.characterization == "ar5_100");  // of both sets the older
    CHECK(pulp.reference_period == "2025-01-01 .. 2025-12-31");
    CHECK(pulp.valid == "2026-01-01 .. 2028-12-31");  // three years from the end of the period
    CHECK(pulp.primary_share->scalar.text == "62.5 %");
    CHECK(pulp.source.field("title") == "Product footprint 3f8a2c10-5b7e-4d19-9c42-6e0d1f7a8b35");
    CHECK(pulp.source.field("publisher") == "Pulp works (invented)");
    const FactorEntry& fossil = *pulp.entry("climate", "fossil");
    CHECK(answers.study.files.where(fossil.stated.place()).starts_with("supplier/pulp.json:21:"));
}

TEST_CASE(
    "12 litres at 1.5 kg a litre: version 2 states one litre, version 3 all twelve (PACT, decision "
    "record 36)",
    "[tables][declaration][literature]") {
    const Questions a_litre{{"x", "pulp: 1 L"}};
    const std::string whole =
        R"("pcfExcludingBiogenicUptake": "18", "pcfIncludingBiogenicUptake": "18", "fossilGhgEmissions": "18")";
    const std::string each = R"("pCfExcludingBiogenic": "1.5", "fossilGhgEmissions": "1.5")";
    CHECK_THAT(Answers(with(version_3("liter", "12", whole)), a_litre).of("x"), equals(1.5));
    CHECK_THAT(Answers(with(version_2("liter", "12", each)), a_litre).of("x"), equals(1.5));
}

TEST_CASE("properties of version 2 go where its successor has them (PACT change log)",
          "[tables][declaration]") {
    const std::string figures =
        R"("fossilGhgEmissions": "1.0", "dLucGhgEmissions": "0.2", "otherBiogenicGhgEmissions": "0.03",
           "landManagementGhgEmissions": "-0.4", "biogenicCarbonContent": "0.45")";
    const Answers answers(with(version_2("kilogram", "5", figures)), {{"x", "pulp: 1 kg"}});
    CHECK_THAT(answers.of("x", "climate_fossil"), equals(1.0));
    CHECK_THAT(answers.of("x", "climate_land_use"), equals(0.2));
    CHECK_THAT(answers.of("x", "climate_biogenic"), equals(0.03));
    const Factor& pulp = *answers.study.model->tables.find("own.pulp").at(0);
    CHECK(pulp.entry("climate", "removals")->stated.amount.quantity.value == 0.4);
    CHECK(pulp.characterization == "ar5_100");
    CHECK(pulp.primary_share->scalar.text == "40 %");
}

TEST_CASE("a total of version 2 that its terms do not give is refused", "[tables][declaration]") {
    // by hand: 0.41, and with the others 0.41 + 0.006 + 0.014 = 0.43; less an uptake of 1.65 it is
    // -1.22
    const std::string terms =
        R"("fossilGhgEmissions": "0.41", "dLucGhgEmissions": "0.006", "otherBiogenicGhgEmissions": "0.014",
           "biogenicCarbonWithdrawal": "-1.65", "pCfExcludingBiogenic": )";
    const auto codes = [&](const std::string& totals) {
        return problems_of(with(version_2("kilogram", "1", terms + totals)), a_tonne);
    };
    CHECK(codes(R"("0.9")") == std::vector<std::string>{"total-not-its-terms"});
    CHECK(codes(R"("0.41")").empty());
    CHECK(codes(R"("0.43", "pCfIncludingBiogenic": "-1.2")").empty());
    CHECK(codes(R"("0.43", "pCfIncludingBiogenic": "-1.1")") ==
          std::vector<std::string>{"total-not-its-terms"});
}

TEST_CASE("a factor knows what its footprint says of itself", "[tables][declaration]") {
    const Answers third(with(version_3("kilogram", "1", pulp_figures)), a_tonne);
    const SupplierFootprint& new_one = third.study.model->tables.find("own.pulp").at(0)->supplier;
    CHECK(new_one.edition == "3.0.3");
    CHECK(new_one.status == "active");
    CHECK(new_one.potentials == std::vector<std::string>{"AR6", "AR5"});
    CHECK(new_one.not_carried.empty());
    const Answers second(
        with(version_2(
            "kilogram", "1",
            R"("fossilGhgEmissions": "1", "exemptedEmissionsPercent": 4.5, "dqi": {"coveragePercent": 80})")),
        a_tonne);
    const SupplierFootprint& old_one = second.study.model->tables.find("own.pulp").at(0)->supplier;
    CHECK(old_one.potentials == std::vector<std::string>{"AR5"});
    CHECK(old_one.not_carried ==
          "its ratings, of a scale from 1 to 3 and of the larger inputs alone");
    REQUIRE(old_one.exempted);
    CHECK(old_one.exempted->scalar.text == "4.5 %");
    const Answers much(
        with(version_2("kilogram", "1",
                       R"("fossilGhgEmissions": "1", "biogenicAccountingMethodology": "PEF",
            "uncertaintyAssessmentDescription": "7", "dqi": {"coveragePercent": 80},
            "assurance": {"assurance": true, "level": "limited", "providerName": "x"})")),
        a_tonne);
    CHECK(much.study.model->tables.find("own.pulp").at(0)->supplier.not_carried ==
          "its statement on uncertainty (7); its ratings, of a scale from 1 to 3 and of the larger "
          "inputs alone; its assurance");
}

TEST_CASE("version 2 without an amount, and with sets of potentials under both of their names",
          "[tables][declaration]") {
    std::string text = version_2(
        "kilogram", "5",
        R"("fossilGhgEmissions": "0.40", "ipccCharacterizationFactorsSources": ["AR6", "AR5"])");
    const std::string amount = R"("unitaryProductAmount": "5",)", older = R"(": "AR5")";
    text.erase(text.find(amount), amount.size());
    text.replace(text.find(older), older.size(), R"(": "AR4")");
    const Answers answers(with(text), a_tonne);
    CHECK_THAT(answers.of("x"), equals(400.0));
    const Factor& pulp = *answers.study.model->tables.find("own.pulp").at(0);
    CHECK(pulp.supplier.edition == "2.2.0");
    CHECK(pulp.supplier.potentials == std::vector<std::string>{"AR6", "AR5"});
}

TEST_CASE("footprints that make no factor are refused", "[tables][declaration][bad]") {
    using Codes = std::vector<std::string>;
    const std::string good = version_3("kilogram", "1", pulp_figures);
    CHECK(problems_of(with(good), a_tonne).empty());
    CHECK(problems_of(with("{\"data\": [" + good + "," + good + "]}"), a_tonne) ==
          Codes{"several-footprints"});
    CHECK(problems_of(with(version_3("megabit second", "1", pulp_figures)), a_tonne).at(0) ==
          "V-05");
    CHECK(problems_of(with(version_2("megabit second", "1", "\"fossilGhgEmissions\": \"1\"")),
                      a_tonne)
              .at(0) == "unit-not-carried");
    std::string wrong = pulp_figures;
    wrong.replace(wrong.find("0.400"), 5, "0.500");
    CHECK(problems_of(with(version_3("kilogram", "1", wrong)), a_tonne).at(0) == "V-12");
    CHECK(problems_of(with(good, ", primary_share: 90 %"), a_tonne) == Codes{"stated-twice"});
    CHECK(problems_of(with(good, ", title: Our own name for it"), a_tonne).empty());
    CHECK(problems_of(with(version_2("kilogram", "1",
                                     "\"fossilGhgEmissions\": \"1\", \"iLucGhgEmissions\": \"2\", "
                                     "\"pCfExcludingBiogenic\": \"5\"")),
                      a_tonne) == Codes{"total-not-its-terms"});
    CHECK(problems_of(with(version_2("kilogram", "1", "\"fossilGhgEmissions\": \"-1\"")),
                      a_tonne) == Codes{"negative-amount"});
    CHECK(problems_of(with(R"({"specVersion": "2.1.0", "pcf": {"declaredUnit": "kilogram"}})"),
                      a_tonne)
              .at(0) == "property-missing");
    Book elsewhere = with(good);
    elsewhere.own = "  pulp: {kind: fibre, factor_from: no_such.json}\n";
    CHECK(problems_of(elsewhere, a_tonne).at(0) == "missing-file");
    elsewhere.own = "  pulp: {kind: fibre, factor_from: [a.json, b.json]}\n";
    CHECK(problems_of(elsewhere, a_tonne).at(0) == "not-text");
}

TEST_CASE("indirect land-use change is in no line of a factor, whether a total holds it or not",
          "[tables][declaration]") {
    for (const char* total : {"1", "3"}) {  // the edition leaves it open: 1, or 1 + 2
        const std::string figures = fmt::format(
            R"("fossilGhgEmissions": "1", "iLucGhgEmissions": "2", "pCfExcludingBiogenic": "{}")",
            total);
        const Answers answers(with(version_2("kilogram", "1", figures)), {{"x", "pulp: 1 kg"}});
        CHECK_THAT(answers.of("x"), equals(1.0));
        CHECK(answers.study.model->tables.find("own.pulp").at(0)->supplier.not_carried ==
              "indirect land-use change (2)");
    }
}

TEST_CASE("ratings and water come along, what has no place in a factor is said",
          "[tables][declaration]") {
    std::string file = version_3("kilogram", "1", pulp_figures + R"(,
    "dqi": {"technologicalDQR": "1.8", "geographicalDQR": "2.1", "temporalDQR": "1"},
    "landCarbonLeakage": "0.5")");
    file.insert(file.find("  \"pcf\""), R"(  "comment": "At least, since some factors are silent.",
  "extensions": [{"specVersion": "2.0.0", "dataSchema": "https://pulp.example/water.json", "data":
    {"waterWithdrawn_m3": "0.031", "waterConsumed_m3": "0.004", "atLeast": ["waterConsumed_m3"]}}],
)");
    const Answers answers(with(file), a_tonne);
    CHECK_THAT(answers.of("x", "water_withdrawn"), equals(31.0));
    CHECK_THAT(answers.of("x", "water_consumed"), equals(4.0));
    const SupplierFootprint& supplier =
        answers.study.model->tables.find("own.pulp").at(0)->supplier;
    CHECK(supplier.ratings == std::vector<double>{1.8, 2.1, 1.0});
    CHECK(supplier.not_carried ==
          "that its water is at least so much; indirect land-use change (0.5); that some of its "
          "lines are at least so much, as its comment says");
    // water with its region is the table's to say
    CHECK_THAT(Answers(with(file, ", water: {withdrawn: 1 L, consumed: 1 L}"), a_tonne)
                   .of("x", "water_withdrawn"),
               equals(1.0));
}

TEST_CASE("decimals of any length: the total is the sum of its terms, digit for digit",
          "[tables][declaration]") {
    // a third of 0.022 to thirty places; 30 digits before the point; one more digit is off
    constexpr std::string_view figures = R"json("pcfExcludingBiogenicUptake": "{}",
    "pcfIncludingBiogenicUptake": "{}", "fossilGhgEmissions": "{}")json";
    const auto file = [&](const std::string& total, const std::string& fossil) {
        return version_3("kilogram", "1", fmt::format(figures, total, total, fossil));
    };
    const std::string third = "0.007333333333333333333333333333",
                      large = std::string(30, '9') + "." + std::string(30, '1');
    CHECK(problems_of(with(file(third, third)), a_tonne).empty());
    CHECK(problems_of(with(file(large, large)), a_tonne).empty());
    CHECK(problems_of(with(file(large, "1" + large)), a_tonne) == std::vector<std::string>{"V-12"});
}
