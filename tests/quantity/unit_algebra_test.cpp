#include <catch2/catch.hpp>
#include <random>

#include "engine/quantity/unit.h"
#include "engine/quantity/unit_table.h"

using namespace deckle;

namespace {

Unit u(std::string_view text) { return known_unit(text); }

}  // namespace

TEST_CASE("equal symbols join in products and quotients", "[quantity][unit]") {
    CHECK((u("GJ/t") * u("t")).text == "GJ");
    CHECK((u("g/m2") * u("m") * u("m")).text == "g");
    CHECK((u("kg CO2e/kWh") * u("kWh/t")).text == "kg CO2e/t");
    CHECK((u("t") / u("t")).text.empty());
    CHECK((u("t") / u("t")).dimension.is_number());
    CHECK((u("kg") / u("m3") / u("m3")).text == "kg/m6");
    CHECK((Unit{} / u("h")).text == "1/h");
    CHECK((u("%") * u("kg")).text == "% kg");
}

TEST_CASE("a basis joins only itself", "[quantity][unit]") {
    CHECK((u("GJ LHV/t dry") * u("t dry")).text == "GJ LHV");
    CHECK((u("GJ LHV/t dry") * u("t")).text == "GJ LHV t/t dry");
    CHECK((u("t dry") / u("t")).text == "t dry/t");
    CHECK((u("t dry") / u("t")).dimension.exponent(Base::dry) == 1);
}

TEST_CASE("unlike units of one kind stand as typed and convert as a whole", "[quantity][unit]") {
    const Unit mixed = u("kWh") / u("MJ");
    CHECK(mixed.text == "kWh/MJ");
    CHECK(mixed.dimension.is_number());
    const auto change = conversion(mixed, Unit{});
    REQUIRE(change);
    CHECK(change->p_text == "3.6");
    CHECK(change->q_text == "1");
}

TEST_CASE("powers and roots of units", "[quantity][unit]") {
    CHECK(raised(u("m"), 3).text == "m3");
    CHECK(raised(u("GJ/t"), -1).text == "t/GJ");
    CHECK(raised(u("GJ/t"), 0).text.empty());
    CHECK(root(u("m2"), 2)->text == "m");
    CHECK(root(u("kg2/m4"), 2)->text == "kg/m2");
    CHECK_FALSE(root(u("m3"), 2));
    CHECK_FALSE(root(u("degC"), 1));
    CHECK_FALSE(root(u("m2"), 0));
}

TEST_CASE("a unit with its own zero has no products", "[quantity][unit]") {
    CHECK_FALSE((u("degC") * u("kg")).dimension.usable());
    CHECK_FALSE((u("kg") / u("barg")).dimension.usable());
    CHECK_FALSE(raised(u("degF"), 2).dimension.usable());
    CHECK_FALSE(conversion(u("degC") * u("kg"), u("K kg")));
}

TEST_CASE("powers that are too large for exact ratios leave no usable unit", "[quantity][unit]") {
    CHECK_FALSE(raised(u("scf"), 9).dimension.usable());
    CHECK_FALSE(raised(u("m"), 101).dimension.usable());
    CHECK_FALSE((raised(u("m"), 100) * u("m")).dimension.usable());
}

TEST_CASE("a product's dimension and ratio are the products of those of its factors",
          "[quantity][unit][property]") {
    std::mt19937 random(5);
    const auto table = unit_table();
    for (int i = 0; i < 3000; ++i) {
        const UnitSymbol& a = table[random() % table.size()];
        const UnitSymbol& b = table[random() % table.size()];
        const UnitSymbol& c = table[random() % table.size()];
        if (a.offset != Offset::none || b.offset != Offset::none || c.offset != Offset::none)
            continue;
        CAPTURE(a.symbol, b.symbol, c.symbol);
        const Unit all = u(a.symbol) * u(b.symbol) / u(c.symbol);
        REQUIRE(all.dimension.usable());
        CHECK(all.dimension ==
              dimension_of(a.measure) * dimension_of(b.measure) / dimension_of(c.measure));
        CHECK(equal(all.to_base, *quotient(*product(a.to_base, b.to_base), c.to_base)));
    }
}

TEST_CASE("there and back again is the same ratio turned over", "[quantity][unit][property]") {
    const auto table = unit_table();
    for (const UnitSymbol& a : table) {
        for (const UnitSymbol& b : table) {
            const auto there = conversion(u(a.symbol), u(b.symbol)),
                       back = conversion(u(b.symbol), u(a.symbol));
            REQUIRE(there.has_value() == back.has_value());
            if (!there) continue;
            CAPTURE(a.symbol, b.symbol);
            CHECK(there->p_text == back->q_text);
            CHECK(there->q_text == back->p_text);
        }
    }
}
