#include "engine/quantity/dimension.h"

#include <catch2/catch.hpp>

#include "engine/quantity/unit.h"

using namespace deckle;

namespace {

Dimension of(std::string_view unit) { return known_unit(unit).dimension; }

}  // namespace

TEST_CASE("a joule is kg m2/s2, a watt J/s, a pascal N/m2, a volt W/A (SI Brochure, table 4)",
          "[quantity][dimension]") {
    CHECK(of("J") == of("kg m2/s2"));
    CHECK(of("W") == of("J/s"));
    CHECK(of("Pa") == of("N/m2"));
    CHECK(of("N") == of("kg m/s2"));
    CHECK(of("V") == of("W/A"));
    CHECK(of("Wh") == of("J"));
    CHECK(of("L") == of("m3"));
}

TEST_CASE("one basis is never another", "[quantity][dimension]") {
    CHECK_FALSE(of("GJ LHV") == of("GJ HHV"));
    CHECK_FALSE(of("GJ LHV") == of("GJ"));
    CHECK_FALSE(of("t dry") == of("t"));
    CHECK_FALSE(of("kg CO2e") == of("kg"));
    CHECK_FALSE(of("Nm3") == of("m3"));
    CHECK_FALSE(of("EUR_2025") == of("EUR_2024"));
    CHECK_FALSE(of("m3 world-eq") == of("m3"));
    CHECK(of("ADt") == of("t dry"));
    CHECK(of("Nm3") == of("scf"));
}

TEST_CASE("a basis can be asked for and left out", "[quantity][dimension]") {
    CHECK(of("GJ LHV/t dry").has_basis());
    CHECK(of("GJ LHV/t dry").without_basis() == of("GJ/t"));
    CHECK_FALSE(of("GJ/t").has_basis());
    CHECK(of("GJ LHV/t dry").exponent(Base::lhv) == 1);
    CHECK(of("GJ LHV/t dry").exponent(Base::dry) == -1);
    CHECK(of("EUR_2025/t").has_money());
    CHECK_FALSE(of("t").has_money());
}

TEST_CASE("dimensions are said in words", "[quantity][dimension]") {
    const auto [unit, words] = GENERATE(table<std::string, std::string>({
        {"", "a plain number"},
        {"%", "a plain number"},
        {"kWh", "energy"},
        {"GJ LHV", "energy, LHV"},
        {"t dry", "mass, dry"},
        {"GJ LHV/t dry", "energy, LHV per mass, dry"},
        {"kWh/t", "energy per mass"},
        {"ADt/t", "mass, dry per mass"},
        {"kg CO2e/kWh", "CO2e per energy"},
        {"t km", "mass × length"},
        {"kg CO2e/(t km)", "CO2e per mass × length"},
        {"g/m2", "mass per area"},
        {"1/h", "1 per time"},
        {"kg2", "mass^2"},
        {"roll", "pieces"},
        {"MJ/Nm3", "energy per gas volume"},
        {"m3 world-eq/m3", "water, world-equivalent per volume"},
        {"EUR_2025/GJ LHV", "money in EUR_2025 per energy, LHV"},
        {"kg4/m7", "mass^4 per length^7"},
    }));
    CHECK(of(unit).text() == words);
}

TEST_CASE("two currencies make an exchange rate, three are too many", "[quantity][dimension]") {
    const Dimension euro = Dimension::money("EUR_2025"), dollar = Dimension::money("USD_2024");
    CHECK(euro / dollar * dollar == euro);
    CHECK(dollar * euro == euro * dollar);
    CHECK((euro * dollar).usable());
    CHECK_FALSE((euro * dollar * Dimension::money("GBP_2020")).usable());
}

TEST_CASE("a dimension beyond all use equals nothing, not even itself", "[quantity][dimension]") {
    const Dimension far = raised(dimensions::mass, 100);
    CHECK(far.usable());
    const Dimension beyond = far * dimensions::mass;
    CHECK_FALSE(beyond.usable());
    CHECK_FALSE(beyond == beyond);
    CHECK_FALSE((beyond / dimensions::mass).usable());
    CHECK_FALSE(raised(dimensions::mass, 2'000'000'000).usable());
    CHECK_FALSE(raised(beyond, 0).is_number());
    CHECK(beyond.text() == "a unit beyond all use");
}

TEST_CASE("roots of dimensions are whole or none", "[quantity][dimension]") {
    CHECK(root(dimensions::area(), 2) == dimensions::length);
    CHECK_FALSE(root(dimensions::volume(), 2));
    CHECK_FALSE(root(dimensions::area(), 0));
    CHECK(root(dimensions::number, 2) == dimensions::number);
}
