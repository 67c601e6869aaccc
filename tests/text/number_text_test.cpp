// Numbers as text, against published tables and rules: shortest doubles by RFC 8785 (2020),
// appendix B, and rounding by ISO 80000-1:2009, annex B (its examples from memory).
#include <catch2/catch.hpp>

#include <bit>
#include <cmath>
#include <cstdlib>
#include <limits>
#include <random>
#include <stdexcept>
#include <string>

#include "engine/text/number_text.h"

namespace {

using deckle::format_significant;
using deckle::shortest;

/// Digits of a number without sign, point, exponent and outer zeros: "-0.00120" is "12".
std::string digits_of(const std::string& text) {
    std::string digits;
    for (const char c : text.substr(0, text.find('e'))) {
        if (c >= '0' && c <= '9' && !(digits.empty() && c == '0')) digits += c;
    }
    return digits.substr(0, digits.find_last_not_of('0') + 1);
}

}  // namespace

TEST_CASE("shortest: the samples of RFC 8785, appendix B", "[text]") {
    struct Row {
        std::uint64_t bits;
        const char* printed;
    };
    const Row row = GENERATE(
        Row{0x0000000000000001, "5e-324"}, Row{0x8000000000000001, "-5e-324"},
        Row{0x7fefffffffffffff, "1.7976931348623157e+308"},
        Row{0xffefffffffffffff, "-1.7976931348623157e+308"},
        Row{0x4340000000000000, "9007199254740992"}, Row{0xc340000000000000, "-9007199254740992"},
        Row{0x4430000000000000, "295147905179352830000"},
        Row{0x44b52d02c7e14af5, "9.999999999999997e+22"}, Row{0x44b52d02c7e14af6, "1e+23"},
        Row{0x44b52d02c7e14af7, "1.0000000000000001e+23"},
        Row{0x444b1ae4d6e2ef4e, "999999999999999700000"},
        Row{0x444b1ae4d6e2ef4f, "999999999999999900000"}, Row{0x444b1ae4d6e2ef50, "1e+21"},
        Row{0x3eb0c6f7a0b5ed8c, "9.999999999999997e-7"}, Row{0x3eb0c6f7a0b5ed8d, "0.000001"},
        Row{0x41b3de4355555553, "333333333.3333332"}, Row{0x41b3de4355555554, "333333333.33333325"},
        Row{0x41b3de4355555555, "333333333.3333333"}, Row{0x41b3de4355555556, "333333333.3333334"},
        Row{0x41b3de4355555557, "333333333.33333343"},
        Row{0xbecbf647612f3696, "-0.0000033333333333333333"},
        Row{0x43143ff3c1cb0959, "1424953923781206.2"});
    CAPTURE(row.printed);
    const auto value = std::bit_cast<double>(row.bits);
    const std::string text = shortest(value);
    CHECK(std::bit_cast<std::uint64_t>(std::strtod(text.c_str(), nullptr)) == row.bits);
    CHECK(text.size() <= std::string(row.printed).size() + 1);  // e-07 where the RFC has e-7
    // whole numbers beyond 2^53 may be written with all their digits in place of zeros
    const bool whole = text.find_first_of(".e") == std::string::npos && std::abs(value) > 0x1p53;
    if (!whole) CHECK(digits_of(text) == digits_of(row.printed));
}

TEST_CASE("shortest: zero has no sign (RFC 8785, appendix B), and what is not finite no text",
          "[text]") {
    CHECK(shortest(0.0) == "0");
    CHECK(shortest(-0.0) == "0");
    CHECK_THROWS_AS(shortest(std::numeric_limits<double>::quiet_NaN()), std::logic_error);
    CHECK_THROWS_AS(shortest(std::numeric_limits<double>::infinity()), std::logic_error);
    CHECK_THROWS_AS(format_significant(-std::numeric_limits<double>::infinity()), std::logic_error);
    CHECK_THROWS_AS(format_significant(std::nan("")), std::logic_error);
}

TEST_CASE("shortest: reads back to the same double, and no shorter one does", "[text]") {
    std::mt19937_64 random(1);
    int tried = 0;
    while (tried < 20'000) {
        const std::uint64_t bits = random();
        const auto value = std::bit_cast<double>(bits);
        if (!std::isfinite(value)) continue;
        ++tried;
        const std::string text = shortest(value);
        CHECK(std::bit_cast<std::uint64_t>(std::strtod(text.c_str(), nullptr)) == bits);
        // whole numbers beyond 2^53 have all their digits in place of zeros
        if (text.find_first_of(".e") == std::string::npos) continue;
        const auto digits = static_cast<int>(digits_of(text).size());
        CHECK(digits <= 17);
        if (digits < 2) continue;
        char shorter[64];  // one digit less, correctly rounded by the C library
        std::snprintf(shorter, sizeof shorter, "%.*e", digits - 2, value);
        CHECK(std::strtod(shorter, nullptr) != value);
    }
}

TEST_CASE("significant: rounding and ties to even (ISO 80000-1:2009, annex B, rule A)", "[text]") {
    // range 0.1: 12.223 -> 12.2, 12.251 -> 12.3, 12.275 -> 12.3; range 10: 1 222.3 -> 1 220,
    // 1 225.1 -> 1 230, 1 227.5 -> 1 230. Ties: 12.25 -> 12.2; 1 225.0 -> 1 220, 1 235.0 -> 1 240.
    CHECK(format_significant(12.223) == "12.2");
    CHECK(format_significant(12.251) == "12.3");
    CHECK(format_significant(12.275) == "12.3");
    CHECK(format_significant(1222.3) == "1220");
    CHECK(format_significant(1225.1) == "1230");
    CHECK(format_significant(1227.5) == "1230");
    CHECK(format_significant(12.25) == "12.2");
    CHECK(format_significant(1225.0) == "1220");
    CHECK(format_significant(1235.0) == "1240");
    CHECK(format_significant(-1235.0) == "-1240");
    // its tie 12.35 -> 12.4 is none here: the double nearest to 12.35 lies below it
    CHECK(format_significant(12.35) == "12.3");
    CHECK(format_significant(std::nextafter(12.35, 13.0)) == "12.4");
}

TEST_CASE("long numbers stand in groups of three, narrow spaces between (ISO 80000-1:2009, 7.3.1)",
          "[text]") {
    CHECK(format_significant(9999.0, 4) == "9999");
    CHECK(format_significant(12345.0) == "12\u202f300");
    CHECK(format_significant(-2.3e8) == "-230\u202f000\u202f000");
    CHECK(format_significant(54321.98, 7) == "54\u202f321.98");
    CHECK(deckle::format_count(100'000) == "100\u202f000");
    CHECK(deckle::format_count(1000) == "1000");
}

TEST_CASE("significant: rounding up to the next power of ten keeps three digits", "[text]") {
    CHECK(format_significant(999.5) == "1000");  // a tie; 1000 is even
    CHECK(format_significant(999.49) == "999");
    CHECK(format_significant(99.96) == "100");
    CHECK(format_significant(9.996) == "10.0");
    CHECK(format_significant(0.99951) == "1.00");
    CHECK(format_significant(0.00099951) == "0.00100");
    CHECK(format_significant(-999.5) == "-1000");
}

TEST_CASE("significant: zeros at the end stay, exponents only outside 1e-4 .. 1e15", "[text]") {
    CHECK(format_significant(1.0) == "1.00");
    CHECK(format_significant(0.1) == "0.100");
    CHECK(format_significant(1254.0) == "1250");
    CHECK(format_significant(0.0001) == "0.000100");
    CHECK(format_significant(0.00009999) == "0.000100");  // rounds into the range
    CHECK(format_significant(0.0000999) == "9.99e-05");
    CHECK(format_significant(1.23e14) == "123\u202f000\u202f000\u202f000\u202f000");
    CHECK(format_significant(9.99e14) == "999\u202f000\u202f000\u202f000\u202f000");
    CHECK(format_significant(9.996e14) == "1.00e+15");
    CHECK(format_significant(5e-324) == "4.94e-324");  // the double is 4.9406…e-324
    CHECK(format_significant(1.7976931348623157e308) == "1.80e+308");
}

TEST_CASE("significant: zero has no sign and no digits, other counts of digits hold", "[text]") {
    CHECK(format_significant(0.0) == "0");
    CHECK(format_significant(-0.0) == "0");
    CHECK(format_significant(3.14159265358979, 1) == "3");
    CHECK(format_significant(3.14159265358979, 6) == "3.14159");
    CHECK(format_significant(2.5, 1) == "2");  // a tie to the even digit
    CHECK(format_significant(3.5, 1) == "4");
    CHECK(format_significant(123456.0, 2) == "120\u202f000");
}
