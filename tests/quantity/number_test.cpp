#include "engine/quantity/number.h"

#include <catch2/catch.hpp>
#include <charconv>
#include <cmath>
#include <cstdlib>
#include <random>

using namespace deckle;

TEST_CASE("numbers are read as typed", "[quantity][number]") {
    const auto [text, value] = GENERATE(table<std::string, double>({
        {"0", 0.0},
        {"4.35", 4.35},
        {"-4.35", -4.35},
        {"007", 7.0},
        {"1e3", 1000.0},
        {"1.5e-3", 0.0015},
        {"1E+2", 100.0},
        {"52_000", 52000.0},
        {"52 000", 52000.0},
        {"1 234 567.5", 1234567.5},
        {"1_234_567e-3", 1234.567},
        {"\u22125", -5.0},
        {"52\u00A0000", 52000.0},
        {"52\u202F000", 52000.0},
        {"0e999", 0.0},
    }));
    CAPTURE(text);
    const NumberScan scan = scan_number(text, 0);
    CHECK(scan.error.message.empty());
    CHECK(scan.value == value);
    CHECK(scan.digits == text);
    CHECK(scan.end == text.size());
}

TEST_CASE("a number ends where its grammar ends", "[quantity][number]") {
    const auto [text, end] = GENERATE(table<std::string, std::size_t>({
        {"4.1..4.6", 3},
        {"4.1 .. 4.6", 3},
        {"5 GJ", 1},
        {"5e GJ", 1},
        {"12 34", 2},
        {"1 0000", 1},
        {"2024 000", 4},
        {"5 1/h", 1},
        {"3)", 1},
        {"3^2", 1},
        {"3, 4", 1},
        {"1 000 00", 5},
    }));
    CAPTURE(text);
    const NumberScan scan = scan_number(text, 0);
    CHECK_FALSE(scan.error.any());
    CHECK(scan.end == end);
}

TEST_CASE("what is no number is refused with its place and a hint", "[quantity][number]") {
    struct Bad {
        std::string text, code;
        std::size_t length;
        std::string hint;
    };
    const auto bad = GENERATE(values<Bad>({
        {"52,000", "number-with-comma", 6,
         "write 52000 or 52_000 if the comma parts thousands, 52.000 if it is the decimal point"},
        {"4,35", "number-with-comma", 4, "write 4.35"},
        {"1.234,56", "number-with-comma", 8, "write 1234.56"},
        {"1,234.56", "number-with-comma", 8, "write 1234.56"},
        {"1,234,567", "number-with-comma", 9, "write 1234567"},
        {"5'000", "bad-number", 5, "part thousands by _ or one space: 52_000"},
        {"52_00", "bad-number", 5,
         "_ or one space stands between groups of exactly three digits: 52_000"},
        {"5200_000", "bad-number", 8,
         "_ or one space stands between groups of exactly three digits: 52_000"},
        {"1__000", "bad-number", 6,
         "_ or one space stands between groups of exactly three digits: 52_000"},
        {"0.123_456", "bad-number", 9,
         "_ or one space stands between groups of exactly three digits: 52_000"},
        {"1.2.3", "bad-number", 5, "a number has one decimal point"},
        {"5.", "bad-number", 2, "write a digit after the decimal point, or no point"},
        {".5", "bad-number", 2, "write a digit before the decimal point: 0.5"},
        {"+5", "bad-number", 2, "write it without +"},
        {"0x1F", "bad-number", 4, "write decimal digits"},
        {"1e999", "number-out-of-range", 5, "numbers lie between 1e-307 and 1e308"},
        {"-1e999", "number-out-of-range", 6, "numbers lie between 1e-307 and 1e308"},
        {"1e-999", "number-out-of-range", 6, "numbers lie between 1e-307 and 1e308"},
        {"", "bad-number", 0, "a quantity begins with a number: 4.35 GJ"},
        {"-", "bad-number", 0, "a quantity begins with a number: 4.35 GJ"},
        {"x", "bad-number", 1, "a quantity begins with a number: 4.35 GJ"},
    }));
    CAPTURE(bad.text);
    const NumberScan scan = scan_number(bad.text, 0);
    CHECK(scan.error.code == bad.code);
    CHECK(scan.error.length == bad.length);
    CHECK(scan.error.hint == bad.hint);
}

TEST_CASE("minus zero is zero", "[quantity][number]") {
    CHECK_FALSE(std::signbit(scan_number("-0.0", 0).value));
}

TEST_CASE("any finite double reads back from its shortest text to the same bits",
          "[quantity][number][property]") {
    std::mt19937_64 random(11);
    std::uniform_real_distribution<double> mantissa(1.0, 10.0);
    for (int i = 0; i < 5000; ++i) {
        const double value =
            mantissa(random) *
            std::pow(10.0, static_cast<double>(static_cast<int>(random() % 560) - 280));
        char buffer[32];
        const auto end = std::to_chars(std::begin(buffer), std::end(buffer), value);
        const std::string text(std::begin(buffer), end.ptr);
        CAPTURE(text);
        const NumberScan scan = scan_number(text, 0);
        REQUIRE_FALSE(scan.error.any());
        REQUIRE(scan.value == value);
        REQUIRE(scan.value == std::strtod(text.c_str(), nullptr));
    }
}
