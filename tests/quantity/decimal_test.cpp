#include "engine/quantity/decimal.h"

#include <catch2/catch.hpp>
#include <cstdlib>
#include <random>
#include <string>

using namespace deckle;

namespace {

std::string shown(std::string_view p, std::string_view q) {
    const Ratio ratio = simplest({decimal_from(p).value(), decimal_from(q).value()});
    return decimal_text(ratio.p) + " / " + decimal_text(ratio.q);
}

}  // namespace

TEST_CASE("a decimal is read exactly and written back", "[quantity][decimal]") {
    for (const char* text : {"0", "1", "3.6", "1055.05585262", "0.45359237", "3600000", "0.000001",
                             "99999999999999999999999999999999999999"}) {
        const auto value = decimal_from(text);
        REQUIRE(value);
        const std::string expected =
            std::string(text).size() > 30 ? "99999999999999999999999999999999999999e0" : text;
        CHECK(decimal_text(*value) == expected);
    }
}

TEST_CASE("an exponent moves the point", "[quantity][decimal]") {
    CHECK(decimal_text(*decimal_from("3.6e6")) == "3600000");
    CHECK(decimal_text(*decimal_from("1e-9")) == "0.000000001");
    CHECK(*decimal_from("1000") == *decimal_from("1e3"));
    CHECK(decimal_text(*decimal_from("2.5e40")) == "25e39");
}

TEST_CASE("what is no plain decimal is refused", "[quantity][decimal]") {
    for (const char* text : {"", ".", "-1", "+1", "1.2.3", "1e", "1e+3", "1e1000", "1 000", "0x10",
                             "1e-", "nan", "999999999999999999999999999999999999999"}) {
        CAPTURE(text);
        CHECK_FALSE(decimal_from(text));
    }
}

TEST_CASE("the nearest double is the one the C library reads from the same digits",
          "[quantity][decimal]") {
    std::mt19937_64 random(7);
    for (int i = 0; i < 2000; ++i) {
        const std::string text =
            std::to_string(random()) + "e" + std::to_string(static_cast<int>(random() % 60) - 30);
        CAPTURE(text);
        CHECK(nearest_double(*decimal_from(text)) == std::strtod(text.c_str(), nullptr));
    }
}

TEST_CASE("a product beyond 128 bits has no value", "[quantity][decimal]") {
    const Decimal large = *decimal_from("12345678901234567891");
    CHECK(decimal_text(*product(large, *decimal_from("3"))) == "37037036703703703673");
    CHECK_FALSE(product(*product(large, large), large));
}

TEST_CASE("a ratio shows one side as 1 where the other is then a finite decimal",
          "[quantity][decimal]") {
    CHECK(shown("3600000", "1000000") == "3.6 / 1");
    CHECK(shown("1000000", "3600000") == "1 / 3.6");
    CHECK(shown("1", "1000") == "1 / 1000");
    CHECK(shown("1000", "1") == "1000 / 1");
    CHECK(shown("0.3048", "1") == "0.3048 / 1");
    CHECK(shown("1", "0.3048") == "1 / 0.3048");
    CHECK(shown("7", "7") == "1 / 1");
    CHECK(shown("5", "18") == "1 / 3.6");
}

TEST_CASE("a ratio without such a side keeps its defining decimals, powers of ten removed",
          "[quantity][decimal]") {
    CHECK(shown("3600000", "1055.05585262") == "3600 / 1.05505585262");
    CHECK(shown("3600000", "1055055852.62") == "3.6 / 1055.05585262");
    CHECK(shown("1055055852.62", "3600000") == "1055.05585262 / 3.6");
}

TEST_CASE("common factors that make a side 1 are found: 1 Btu/lb is 2.326 kJ/kg (NIST SP 811, B.8)",
          "[quantity][decimal]") {
    CHECK(shown("1055.05585262", "453.59237") == "2.326 / 1");
}

TEST_CASE("powers of a ratio multiply it, negative ones turn it over", "[quantity][decimal]") {
    const Ratio foot{*decimal_from("0.3048"), {1, 0}};
    CHECK(decimal_text(raised(foot, 3)->p) ==
          "0.028316846592");  // NIST SP 811, B.8: 1 ft3 = 0.02831685 m3
    CHECK(decimal_text(raised(foot, -3)->q) == "0.028316846592");
    CHECK(equal(*product(*raised(foot, 2), *raised(foot, -2)), Ratio{}));
}

TEST_CASE("a ratio that outgrows 128 bits is first reduced", "[quantity][decimal]") {
    const Ratio large{*decimal_from("12345678901234567891"), *decimal_from("7")};
    const Ratio inverse{large.q, large.p};
    auto power_of_large = raised(large, 1);
    REQUIRE(power_of_large);
    const auto one = product(*power_of_large, inverse);
    REQUIRE(one);
    CHECK(equal(*one, Ratio{}));
    CHECK_FALSE(raised(large, 3));
}
