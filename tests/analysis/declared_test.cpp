// Share of primary data and ratings against the vectors that the PACT How-to Guide to its
// Methodology V3 (2 February 2026) prints.
#include <catch2/catch.hpp>

#include "engine/analysis/declared.h"
#include "engine/declaration/second_edition.h"

namespace {

using namespace deckle;

const Instant end_of_2025 = *instant_from("2026-01-01", true);

}  // namespace

TEST_CASE("share of primary data: the vector of the guide gives 30 %", "[declared]") {
    const std::vector<double> parts{800, 2400, 90, 1000}, shares{36, 0, 0, 100};
    CHECK(weighted_mean(parts, shares) == Approx(30.02).margin(0.005));
}

TEST_CASE("share of primary data counts a removal by its size", "[declared]") {
    // sum(|PCF| × share) ÷ sum(|PCF|), by hand: (3 × 100 + 1 × 0) ÷ 4
    const std::vector<double> parts{-3, 1}, shares{100, 0};
    CHECK(weighted_mean(parts, shares) == 75.0);
    CHECK(weighted_mean({}, {}) == 0.0);
}

TEST_CASE("ratings: the vector of the guide gives 1.55, 2.45, 2.65", "[declared]") {
    const std::vector<double> parts{25, 30, 45};
    CHECK(weighted_mean(parts, std::vector<double>{2, 2, 1}) == Approx(1.55));
    CHECK(weighted_mean(parts, std::vector<double>{2, 2, 3}) == Approx(2.45));
    CHECK(weighted_mean(parts, std::vector<double>{1, 5, 2}) == Approx(2.65));
}

TEST_CASE("ratings of time by days, of place by what holds it", "[declared]") {
    // the matrix: 366, 731, 1096, 1461 days; unknown is 5
    CHECK(rating_of_time("2025-01-01 .. 2025-12-31", end_of_2025) == 1);
    CHECK(rating_of_time("2024-01-01 .. 2024-12-30", end_of_2025) == 1);  // 366 days
    CHECK(rating_of_time("2024-01-01 .. 2024-12-29", end_of_2025) == 2);  // 367 days
    CHECK(rating_of_time("2022-01-01 .. 2023-12-31", end_of_2025) == 2);  // 731 days
    CHECK(rating_of_time("2022-01-01 .. 2022-12-31", end_of_2025) == 3);
    CHECK(rating_of_time("2021-01-01 .. 2021-12-31", end_of_2025) == 4);  // 1461 days
    CHECK(rating_of_time("2021-01-01 .. 2021-12-30", end_of_2025) == 5);
    CHECK(rating_of_time("", end_of_2025) == 5);
    Disclosure part, country, region;
    part.subdivision = "QM-N";
    country.country = "QM";
    region.region = "Northern Europe";
    CHECK(rating_of_place("qm-n", part) == 1);
    CHECK(rating_of_place("QM", part) == 1);  // its subdivisions are not told apart
    CHECK(rating_of_place("QM", country) == 1);
    CHECK(rating_of_place("northern_europe", region) == 3);
    CHECK(rating_of_place("world", country) == 4);
    CHECK(rating_of_place("elsewhere", country) == 5);
    CHECK(rating_of_place("", country) == 5);
}

TEST_CASE("ratings of place: countries by name or code, and the regions that hold them",
          "[declared]") {
    // the matrix of the guide; Austria and Western Europe, Europe by M49
    Disclosure austria, california, states;
    austria.country = "AT";
    california.subdivision = "US-CA";
    states.country = "US";
    CHECK(rating_of_place("austria", austria) == 1);
    CHECK(rating_of_place("AT", austria) == 1);
    CHECK(rating_of_place("Europe", austria) == 3);
    CHECK(rating_of_place("western_europe", austria) == 3);
    CHECK(rating_of_place("eu27", austria) == 3);
    CHECK(rating_of_place("northern_europe", austria) == 5);
    CHECK(rating_of_place("germany", austria) == 5);
    CHECK(rating_of_place("us_ca", california) == 1);
    CHECK(rating_of_place("united_states", california) == 2);
    CHECK(rating_of_place("united_states", states) == 2);
    CHECK(rating_of_place("Northern America", california) == 3);
    CHECK(rating_of_place("europe", california) == 5);
}

TEST_CASE("decimals of declarations are exact", "[declared]") {
    CHECK((*Exact::from("0.1") + *Exact::from("0.2")) == *Exact::from("0.30"));
    CHECK(Exact::from("-0.420")->times(44).over(12, 3).text() == "-1.540");
    CHECK(Exact::from("0.5")->over(1, 0).text() == "1");
    CHECK(Exact::from("-0.5")->over(1, 0).text() == "-1");
    for (const char* bad : {"", "+", "1e3", "1.", ".5", "1,5", " 1", "0x1", "--1", "1.2.3"})
        CHECK_FALSE(Exact::from(bad).has_value());
    CHECK(instant_text(years_later(*instant_from("2024-02-29", true), 3)) ==
          "2027-03-01T00:00:00Z");
    for (const char* bad : {"2026-02-30", "2026-2-1", "2026-01-01T24:00:00Z", "2026-01-01T00:00:00",
                            "2026-01-01T00:00:00+01:00"})
        CHECK_FALSE(instant_from(bad, true).has_value());
}

TEST_CASE("second edition: amounts for one unit become amounts for all of them", "[declared]") {
    // decision record 36 of the Technical Specifications: 12 litres at 1.5 kg CO2e and 0.789 kg
    Files files;
    Problems problems;
    const YamlValue root = read_yaml(
        files, files.add("bottle.json", R"({"specVersion": "2.2.0", "pcf": {"declaredUnit": "liter",
            "unitaryProductAmount": "12", "productMassPerDeclaredUnit": "0.789",
            "pCfExcludingBiogenic": "1.5", "fossilGhgEmissions": "1.5",
            "landManagementGhgEmissions": "-0.1", "primaryDataShare": 38.5,
            "crossSectoralStandardsUsed": ["ISO Standard 14067", "X"]}})"),
        problems);
    REQUIRE(problems.empty());
    const FromSecondEdition made = from_second_edition({&root, {}}, DeclaredAmount::whole);
    const Declared third{&made.root, {}};
    CHECK(third.text("pcf/declaredUnitOfMeasurement") == "liter");
    CHECK(third.text("pcf/declaredUnitAmount") == "12");
    CHECK(third.text("pcf/productMassPerDeclaredUnit") == "9.468");
    CHECK(third.text("pcf/fossilGhgEmissions") == "18.0");
    CHECK(third.text("pcf/landManagementBiogenicCO2Removals") == "-1.2");
    CHECK(third.text("pcf/pcfExcludingBiogenicUptake") == "16.8");  // of its terms, by hand
    CHECK(third.text("pcf/primaryDataShare") == "38.5");
    CHECK(third.text("pcf/crossSectoralStandards/0") == "ISO14067");
    CHECK(third.text("pcf/crossSectoralStandards/1") == "X");
    CHECK(made.lost.empty());
    const FromSecondEdition each = from_second_edition({&root, {}}, DeclaredAmount::one_unit);
    const Declared litre{&each.root, {}};
    CHECK(litre.text("pcf/declaredUnitAmount") == "1");
    CHECK(litre.text("pcf/productMassPerDeclaredUnit") == "0.789");
    CHECK(litre.text("pcf/fossilGhgEmissions") == "1.5");
    CHECK(litre.text("pcf/landManagementBiogenicCO2Removals") == "-0.1");
    CHECK(second_edition_name("landUseChangeGhgEmissions") == "dLucGhgEmissions");
    CHECK(second_edition_name("aircraftGhgEmissions") == "aircraftGhgEmissions");
}
