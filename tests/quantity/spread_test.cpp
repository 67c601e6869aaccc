#include <catch2/catch.hpp>
#include <cmath>

#include "engine/quantity/quantity.h"

using namespace deckle;
using Kind = SpreadKind;

namespace {

Quantity good_quantity(std::string_view text) {
    QuantityResult result = parse_quantity(text);
    INFO(text << ": " << result.error.message);
    REQUIRE(result.quantity);
    return *result.quantity;
}

}  // namespace

TEST_CASE("an absolute half-width is in the unit of the value", "[quantity][spread]") {
    struct Row {
        std::string text;
        double half_width;
        std::string typed;
    };
    const auto row = GENERATE(values<Row>({
        {"4.35 ± 0.20 GJ", 0.2, "± 0.20 GJ"},
        {"4.35 +/- 0.20 GJ", 0.2, "+/- 0.20 GJ"},
        {"4.35±0.20 GJ", 0.2, "±0.20 GJ"},
        {"4.35 GJ ± 0.20 GJ", 0.2, "± 0.20 GJ"},
        {"4.35 GJ ± 200 MJ", 0.2, "± 200 MJ"},
        {"42 % ± 1 points", 1.0, "± 1 points"},
        {"175 degC ± 3 K", 3.0, "± 3 K"},
        {"300 degF ± 3 K", 3.0, "± 3 K"},
        {"7 barg ± 0.1 bar", 1e4, "± 0.1 bar"},
        {"448 ± 3 K", 3.0, "± 3 K"},
        {"0.35 ± 0.02", 0.02, "± 0.02"},
        {"52 000 ± 1 000 kWh", 1000.0, "± 1 000 kWh"},
        {"5 kg ± 0 kg", 0.0, "± 0 kg"},
    }));
    const Quantity quantity = good_quantity(row.text);
    CHECK(quantity.spread.kind == Kind::normal);
    CHECK_FALSE(quantity.spread.relative);
    CHECK(quantity.spread.half_width == Approx(row.half_width).epsilon(1e-15));
    CHECK(quantity.spread.typed == row.typed);
}

TEST_CASE("a relative half-width stays a share of the value", "[quantity][spread]") {
    for (const char* text : {"4.35 GJ ± 5 % of value", "42 % ± 5 % of value", "0.35 ± 5 % of value",
                             "4.35 GJ +/- 5% of value", "-4.35 GJ ± 5 % of value"}) {
        const Quantity quantity = good_quantity(text);
        CHECK(quantity.spread.kind == Kind::normal);
        CHECK(quantity.spread.relative);
        CHECK(quantity.spread.half_width == 0.05);
    }
}

TEST_CASE("a factor makes a lognormal", "[quantity][spread]") {
    for (const char* text : {"4.35 GJ ×÷ 1.3", "4.35 GJ */ 1.3", "4.35 GJ×÷1.3"}) {
        const Quantity quantity = good_quantity(text);
        CHECK(quantity.spread.kind == Kind::lognormal);
        CHECK(quantity.spread.factor == 1.3);
        CHECK(quantity.value == 4.35);
    }
}

TEST_CASE("a range in parentheses makes a triangular, a bare one a uniform", "[quantity][spread]") {
    const Quantity triangular = good_quantity("4.35 GJ (4.1 .. 4.8)");
    CHECK(triangular.spread.kind == Kind::triangular);
    CHECK(triangular.value == 4.35);
    CHECK(triangular.spread.low == 4.1);
    CHECK(triangular.spread.high == 4.8);
    CHECK(good_quantity("4.35 GJ(4.1..4.8)").spread.high == 4.8);
    CHECK(good_quantity("4.1 GJ (4.1 .. 4.8)").spread.low == 4.1);
    const Quantity uniform = good_quantity("4.1 .. 4.6 GJ");
    CHECK(uniform.spread.kind == Kind::uniform);
    CHECK(uniform.value == Approx(4.35).epsilon(1e-15));
    CHECK(uniform.spread.low == 4.1);
    CHECK(uniform.spread.high == 4.6);
    CHECK(uniform.digits == "4.1 .. 4.6");
    CHECK(uniform.unit.text == "GJ");
    CHECK(good_quantity("-3..-1").value == -2.0);
    CHECK(std::isfinite(good_quantity("-1.7e308 .. 1.7e308").value));
}

TEST_CASE("the range of a temperature moves with its zero, its half-width does not",
          "[quantity][spread]") {
    const Quantity range = without_offset(good_quantity("175 degC (170 .. 185)"));
    CHECK(range.spread.low == Approx(443.15).epsilon(1e-15));
    CHECK(range.spread.high == Approx(458.15).epsilon(1e-15));
    CHECK(without_offset(good_quantity("175 degC ± 3 K")).spread.half_width == 3.0);
}

TEST_CASE("a bare percent is refused and both readings are shown", "[quantity][spread]") {
    const auto [text, length] =
        GENERATE(table<std::string, std::size_t>({{"42 % ± 1", 4}, {"42 % ± 1 %", 6}}));
    const QuantityResult result = parse_quantity(text);
    CHECK(result.error.code == "bare-percent-spread");
    CHECK(result.error.offset == 5);
    CHECK(result.error.length == length);
    CHECK(result.error.hint == "write 42 % ± 1 points or 42 % ± 1 % of value");
    CHECK(parse_quantity("42 ± 1 %").error.hint == "write 42 % ± 1 points or 42 % ± 1 % of value");
    CHECK(parse_quantity("4.35 GJ ± 5 %").error.hint == "write ± 5 % of value");
}

TEST_CASE("what is no spread is refused with its place", "[quantity][spread]") {
    struct Bad {
        std::string text, code;
        std::size_t offset, length;
        std::string hint;
    };
    const std::string factor = "4.35 GJ ×÷ 1.3", range = "4.35 GJ (4.1 .. 4.8)";
    const std::string both = "4.35 GJ (4.1 .. 4.8), both in the unit of the value";
    const auto bad = GENERATE_REF(values<Bad>({
        {"4.35 GJ ± 0.2", "bad-spread", 8, 6, "write ± 0.2 GJ"},
        {"4.35 GJ ± 0.2 kg", "bad-spread", 8, 9, "write ± 0.2 GJ"},
        {"4.35 GJ LHV ± 0.2 GJ", "bad-spread", 12, 9, "write ± 0.2 GJ LHV"},
        {"4.35 GJ ± 2 points", "bad-spread", 8, 11, "write ± 2 % of value"},
        {"0.42 ± 1 points", "bare-percent-spread", 5, 11,
         "write 0.42 % ± 1 points or 0.42 % ± 1 % of value"},
        {"930 ± 5 % kWh/t", "bare-percent-spread", 4, 12, "write 930 kWh/t ± 5 % of value"},
        {"930 kWh/t ± 5 % kWh/t", "unit-syntax", 15, 1,
         "a spread stands behind the unit: 930 kWh/t ± 5 % of value"},
        {"930 % kWh", "unit-syntax", 4, 1,
         "a spread stands behind the unit: 930 kWh/t ± 5 % of value"},
        {"930 kWh/%", "unit-syntax", 8, 1,
         "a spread stands behind the unit: 930 kWh/t ± 5 % of value"},
        {"4.35 GJ ± -0.2 GJ", "bad-spread", 8, 7, "± 0.20 GJ"},
        {"175 degC ± 3 degC", "bad-spread", 9, 9, "write 175 degC ± 3 K"},
        {"175 ± 3 degC", "bad-spread", 4, 9, "write 175 degC ± 3 K"},
        {"175 degC ± 5 % of value", "bad-spread", 9, 15, "write an absolute half-width: ± 3 K"},
        {"7 barg ± 5 % of value", "bad-spread", 7, 15, "write an absolute half-width: ± 3 Pa"},
        {"175 degC ×÷ 1.1", "bad-spread", 9, 8, "175 degC ± 3 K"},
        {"4.35 GJ ×÷ 1", "bad-spread", 8, 6, factor},
        {"4.35 GJ ×÷ 0.8", "bad-spread", 8, 8, factor},
        {"4.35 GJ ×÷ -2", "bad-spread", 8, 7, factor},
        {"0 GJ ×÷ 2", "bad-spread", 5, 6, "give ± or a range"},
        {"-1 GJ ×÷ 2", "bad-spread", 6, 6, "give ± or a range"},
        {"4.35 GJ (4.4 .. 4.8)", "bad-spread", 8, 12, range},
        {"4.35 GJ (4.8 .. 4.1)", "bad-spread", 8, 12, "4.1 .. 4.6"},
        {"4.35 GJ (4.35 .. 4.35)", "bad-spread", 8, 14, "4.1 .. 4.6"},
        {"4.35 GJ (4.1 - 4.8)", "bad-spread", 13, 1, both},
        {"4.35 GJ (4.1 .. 4.8", "bad-spread", 19, 0, both},
        {"4.35 GJ (4.1 .. 4.8 GJ)", "bad-spread", 20, 1, both},
        {"4.6 .. 4.1 GJ", "bad-spread", 0, 10, "4.1 .. 4.6"},
        {"4.35 GJ ±", "bad-number", 10, 0, "a quantity begins with a number: 4.35 GJ"},
        {"4.35 GJ ± 1e999 GJ", "number-out-of-range", 11, 5,
         "numbers lie between 1e-307 and 1e308"},
        {"4.35 GJ ± 0,2 GJ", "number-with-comma", 11, 3, "write 0.2"},
        {"4.1 .. GJ", "bad-number", 7, 1, "a quantity begins with a number: 4.35 GJ"},
    }));
    CAPTURE(bad.text);
    const QuantityResult result = parse_quantity(bad.text);
    CHECK_FALSE(result.quantity);
    CAPTURE(result.error.message);
    CHECK(result.error.code == bad.code);
    CHECK(result.error.offset == bad.offset);
    CHECK(result.error.length == bad.length);
    CHECK(result.error.hint == bad.hint);
}

TEST_CASE(
    "sigma of a half-width: 95 % of a normal lie within 1.959964 sigma (JCGM 100:2008, table G.1: "
    "1.960)",
    "[quantity][spread]") {
    CHECK(sigma_of_half_width(1.960) == Approx(1.0).epsilon(0.0005));
    CHECK(std::erf(normal_half_width_95 / std::sqrt(2.0)) == Approx(0.95).epsilon(1e-15));
    CHECK(sigma_of_factor(std::exp(normal_half_width_95)) == Approx(1.0).epsilon(1e-15));
}
