#include "engine/quantity/quantity.h"

#include <catch2/catch.hpp>
#include <cmath>

using namespace deckle;

namespace {

Quantity good(std::string_view text, Points points = Points::refused) {
    QuantityResult result = parse_quantity(text, points);
    INFO(text << ": " << result.error.message);
    REQUIRE(result.quantity);
    return *result.quantity;
}

}  // namespace

TEST_CASE("a quantity is a number with its unit", "[quantity]") {
    struct Row {
        std::string text;
        double value;
        std::string digits, unit;
    };
    const auto row = GENERATE(values<Row>({
        {"4.35 GJ", 4.35, "4.35", "GJ"},
        {"4.35GJ", 4.35, "4.35", "GJ"},
        {"  4.35 GJ  ", 4.35, "4.35", "GJ"},
        {"2.10 t", 2.1, "2.10", "t"},
        {"52_000 kWh", 52000, "52_000", "kWh"},
        {"52 000 kWh", 52000, "52 000", "kWh"},
        {"40e6 roll", 4e7, "40e6", "roll"},
        {"5 %", 5, "5", "%"},
        {"5%", 5, "5", "%"},
        {"0.35", 0.35, "0.35", ""},
        {"-20 degC", -20, "-20", "degC"},
        {"-20 °C", -20, "-20", "degC"},
        {"2.5 GJ HHV", 2.5, "2.5", "GJ HHV"},
        {"4 kg dry", 4, "4", "kg dry"},
        {"1.01 ADt/t", 1.01, "1.01", "ADt/t"},
        {"38 EUR_2025/GJ LHV", 38, "38", "EUR_2025/GJ LHV"},
        {"5 1/h", 5, "5", "1/h"},
        {"1 t km", 1, "1", "t km"},
        {"1e5", 1e5, "1e5", ""},
        {"5e3 m", 5e3, "5e3", "m"},
        {"0 kg", 0, "0", "kg"},
    }));
    const Quantity quantity = good(row.text);
    CHECK(quantity.value == row.value);
    CHECK(quantity.digits == row.digits);
    CHECK(quantity.unit.text == row.unit);
    CHECK(quantity.spread.kind == SpreadKind::none);
}

TEST_CASE("a quantity knows where its unit stands", "[quantity]") {
    const Quantity quantity = good(" 4.35  GJ LHV/t ± 0.2 GJ LHV/t");
    CHECK(quantity.unit_offset == 7);
    CHECK(quantity.unit_length == 8);
    CHECK(quantity.spread.offset == 16);
    CHECK(quantity.spread.typed == "± 0.2 GJ LHV/t");
    CHECK(quantity.spread.length == quantity.spread.typed.size());
    CHECK(good("0.35").unit_length == 0);
}

TEST_CASE("of NAME goes with the quantity", "[quantity]") {
    CHECK(good("0.444 kg/kg of fibre").of == "fibre");
    CHECK(good("0.444 kg/kg of fibre ± 5 % of value").of == "fibre");
    CHECK(good("0.444 kg/kg of fibre ± 5 % of value").spread.half_width == 0.05);
}

TEST_CASE("points stand alone only where a change of a value in % is meant", "[quantity]") {
    CHECK(parse_quantity("2 points").error.code == "bad-spread");
    CHECK(good("2 points", Points::allowed).unit.text == "points");
    CHECK(good("2 points", Points::allowed).value == 2.0);
}

TEST_CASE("what is no quantity is refused with its place and code", "[quantity]") {
    struct Bad {
        std::string text, code;
        std::size_t offset, length;
    };
    const auto bad = GENERATE(values<Bad>({
        {"", "no-value", 0, 0},
        {"   ", "no-value", 0, 0},
        {"~", "no-value", 0, 1},
        {"null", "no-value", 0, 4},
        {"NULL", "no-value", 0, 4},
        {"nan", "not-finite", 0, 3},
        {".nan", "not-finite", 0, 4},
        {" .inf", "not-finite", 1, 4},
        {"-.INF", "not-finite", 0, 5},
        {"+inf", "not-finite", 0, 4},
        {"Infinity", "not-finite", 0, 8},
        {"1e999 kg", "number-out-of-range", 0, 5},
        {"52,000 kWh", "number-with-comma", 0, 6},
        {" 4,35 GJ", "number-with-comma", 1, 4},
        {"2024 000 kg", "bad-number", 0, 11},
        {"12 34 kg", "bad-number", 0, 8},
        {"0x1F kg", "bad-number", 0, 4},
        {"+5 kg", "bad-number", 0, 2},
        {"GJ 5", "bad-number", 0, 1},
        {"5 ton", "ambiguous-unit", 2, 3},
        {"5 kwh", "unknown-unit", 2, 3},
        {"5 GJ LHV HHV", "mixed-basis", 2, 10},
        {"5 m3 dry", "misplaced-basis", 5, 3},
        {"5 kg/t km", "ambiguous-unit", 7, 2},
        {"5 GJ + 2 GJ", "not-a-quantity", 5, 6},
        {"5 / h", "not-a-quantity", 2, 3},
        {"5 /h", "not-a-quantity", 2, 2},
        {"2 * 3 GJ", "not-a-quantity", 2, 6},
        {"5 kg,", "not-a-quantity", 4, 1},
        {"5 kg 3", "not-a-quantity", 5, 1},
        {"5 kg ± 1 kg ± 2 kg", "not-a-quantity", 13, 7},
        {"42 % of value", "bad-spread", 3, 10},
        {"\xC2", "bad-number", 0, 1},
        {"5 \xFF", "unknown-unit", 2, 1},
    }));
    CAPTURE(bad.text);
    const QuantityResult result = parse_quantity(bad.text);
    CHECK_FALSE(result.quantity);
    CAPTURE(result.error.message);
    CHECK(result.error.code == bad.code);
    CHECK(result.error.offset == bad.offset);
    CHECK(result.error.length == bad.length);
}

TEST_CASE("a text without end is no quantity", "[quantity]") {
    CHECK(parse_quantity(std::string(5000, '1')).error.code == "text-too-long");
    CHECK(parse_quantity("5 " + std::string(5000, 'k')).error.code == "text-too-long");
}

TEST_CASE("words that YAML readers turn into numbers are known", "[quantity]") {
    for (const char* word : {"", " ", "~", "null", "NaN", ".nan", ".inf", "-.inf", "Inf"})
        CHECK(is_number_word(word));
    for (const char* word : {"rest", "information", "nano", "no", "5"})
        CHECK_FALSE(is_number_word(word));
}

TEST_CASE(
    "temperatures and gauge pressures become absolute: 0 degC is 273.15 K, 32 degF too (NIST SP "
    "811, B.8)",
    "[quantity]") {
    CHECK(without_offset(good("0 degC")).value == 273.15);
    CHECK(without_offset(good("0 degC")).unit.text == "K");
    CHECK(without_offset(good("32 degF")).value == Approx(273.15).epsilon(1e-15));
    CHECK(without_offset(good("60 degF")).value == Approx(51967.0 / 180.0).epsilon(1e-15));
    CHECK(without_offset(good("212 degF")).value == Approx(373.15).epsilon(1e-15));
    CHECK(without_offset(good("0 barg")).value ==
          101325.0);  // standard atmosphere: SI Brochure; ISO 2533
    CHECK(without_offset(good("7 barg")).value == 801325.0);
    CHECK(without_offset(good("7 barg")).unit.text == "Pa");
    CHECK(without_offset(good("7 bar")).value == 7.0);
    CHECK(without_offset(good("7 bar")).unit.text == "bar");
}
