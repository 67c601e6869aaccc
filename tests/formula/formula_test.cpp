#include "engine/formula/formula.h"

#include <fmt/format.h>

#include <catch2/catch.hpp>
#include <cmath>

#include "tests/formula/formula_values.h"

using namespace deckle;

namespace {

Formula good(std::string_view text) {
    FormulaResult result = parse_formula(text);
    INFO(text << ": " << result.error.message);
    REQUIRE(result.formula);
    return *result.formula;
}

double value(std::string_view text) {
    const FormulaValues values{{{"a", 2.0}, {"b", 3.0}, {"c", 5.0}, {"mill.figures.x", 7.0}}};
    return walk<double>(good(text), values);
}

std::string repeated(std::string_view part, std::size_t times) {
    std::string text;
    for (std::size_t i = 0; i < times; ++i) text += part;
    return text;
}

}  // namespace

TEST_CASE("formulas have the values of school arithmetic (by hand)", "[formula]") {
    const auto [text, expected] = GENERATE(table<std::string, double>({
        {"a + b * c", 17.0},
        {"(a + b) * c", 25.0},
        {"c - b - a", 0.0},
        {"c - (b - a)", 4.0},
        {"12 / b / a", 2.0},
        {"12 / b * a", 8.0},
        {"-a^2", -4.0},
        {"(-a)^2", 4.0},
        {"a^-1", 0.5},
        {"a^(-1)", 0.5},
        {"a^ - 2", 0.25},
        {"2 * a^3 * b", 48.0},
        {"-a * -b", 6.0},
        {"--a", 2.0},
        {"a - -b", 5.0},
        {"-a + b", 1.0},
        {"min(c, a, b)", 2.0},
        {"max(a + 1, b - 1)", 3.0},
        {"sqrt(a * 8)", 4.0},
        {"exp(0 * a)", 1.0},
        {"ln(1) + a", 2.0},
        {"sqrt (a+2)", 2.0},
        {"52_000 / a", 26000.0},
        {"52 000 / a", 26000.0},
        {"1e3*a", 2000.0},
        {"a × b ÷ c \u2212 1", 0.2},
        {"mill.figures.x + 1", 8.0},
        {"  a  ", 2.0},
        {"a\n + b", 5.0},
    }));
    CAPTURE(text);
    CHECK(value(text) == Approx(expected).epsilon(1e-15));
}

TEST_CASE("nodes stand after their arguments and cover their text", "[formula]") {
    const Formula formula = good("reel_dryness / press_dryness - 1");
    REQUIRE(formula.nodes.size() == 5);
    CHECK(formula.names == std::vector<std::string>{"reel_dryness", "press_dryness"});
    CHECK(formula.root().operation == FormulaOperation::subtract);
    CHECK(formula.root().offset == 0);
    CHECK(formula.root().length == 32);
    for (std::uint32_t i = 0; i < formula.nodes.size(); ++i) {
        for (const std::uint32_t argument : formula.arguments_of(formula.nodes[i]))
            CHECK(argument < i);
    }
    const FormulaNode& quotient = formula.nodes[formula.arguments_of(formula.root())[0]];
    CHECK(quotient.operation == FormulaOperation::divide);
    CHECK(quotient.length == 28);
    CHECK(formula.nodes[1].text == "press_dryness");
    CHECK(formula.nodes[1].offset == 15);
}

TEST_CASE("a name used twice is listed once", "[formula]") {
    CHECK(good("x * y + x").names == std::vector<std::string>{"x", "y"});
}

TEST_CASE("numbers and exponents keep their digits", "[formula]") {
    const Formula formula = good("2.50 * x^-0.50");
    CHECK(formula.nodes[0].text == "2.50");
    CHECK(formula.nodes[2].operation == FormulaOperation::power);
    CHECK(formula.nodes[2].text == "-0.50");
    CHECK(formula.nodes[2].value == -0.5);
}

TEST_CASE("what is no formula is refused with its place and code", "[formula]") {
    struct Bad {
        std::string text, code;
        std::size_t offset, length;
    };
    const auto bad = GENERATE(values<Bad>({
        {"", "formula-syntax", 0, 0},
        {"x +", "formula-syntax", 3, 0},
        {"+ x", "formula-syntax", 0, 1},
        {"x + * y", "formula-syntax", 4, 1},
        {"x y", "formula-syntax", 2, 1},
        {"x reel_dryness", "formula-syntax", 2, 12},
        {"x (y)", "unknown-function", 0, 1},
        {"(x) (y)", "formula-syntax", 4, 1},
        {"(x + y", "formula-syntax", 0, 1},
        {"x + y)", "formula-syntax", 5, 1},
        {"()", "formula-syntax", 1, 1},
        {"x, y", "formula-syntax", 1, 1},
        {"x = y", "formula-syntax", 2, 1},
        {"x ± 1", "formula-syntax", 2, 2},
        {"min", "formula-syntax", 0, 3},
        {"min(x", "formula-syntax", 3, 1},
        {"min(x)", "argument-count", 0, 6},
        {"1 + ln(x, y)", "argument-count", 4, 8},
        {"min()", "formula-syntax", 4, 1},
        {"log(x)", "unknown-function", 0, 3},
        {"2 GJ * x", "number-with-unit", 0, 4},
        {"x * 2 GJ LHV/t", "number-with-unit", 4, 4},
        {"x + 5 %", "number-with-unit", 4, 3},
        {"x + 5%", "number-with-unit", 4, 2},
        {"x + 5 °C", "number-with-unit", 4, 4},
        {"2x", "number-with-unit", 0, 2},
        {"x^2 m", "number-with-unit", 2, 3},
        {"Reel + 1", "bad-name", 0, 4},
        {"x + _y", "formula-syntax", 4, 2},
        {"reelDryness * 2", "bad-name", 0, 11},
        {"x^y", "exponent-not-a-number", 2, 1},
        {"x^(1+1)", "exponent-not-a-number", 2, 3},
        {"x^2^3", "exponent-not-a-number", 2, 2},
        {"x^--2", "exponent-not-a-number", 2, 2},
        {"x^", "exponent-not-a-number", 2, 0},
        {"x * 4,35", "number-with-comma", 4, 4},
        {"min(4,35, x)", "number-with-comma", 4, 4},
        {"x * .5", "bad-number", 4, 2},
        {"x * 1e999", "number-out-of-range", 4, 5},
        {"x * 0x10", "bad-number", 4, 4},
        {"x \xFF", "formula-syntax", 2, 1},
    }));
    CAPTURE(bad.text);
    const FormulaResult result = parse_formula(bad.text);
    CHECK_FALSE(result.formula);
    CAPTURE(result.error.message);
    CHECK(result.error.code == bad.code);
    CHECK(result.error.offset == bad.offset);
    CHECK(result.error.length == bad.length);
}

TEST_CASE("the hints of formulas say what to do", "[formula]") {
    CHECK(parse_formula("2 GJ * x").error.hint ==
          "give it a name under figures, so that it has an address and a source");
    CHECK(parse_formula("log(x)").error.hint == "did you mean ln?");
    CHECK(parse_formula("foo(x)").error.hint ==
          "functions are min, max, exp, ln and sqrt; a product is written with *");
    CHECK(parse_formula("Reel + 1").error.hint == "names are lower_snake_case: reel_dryness");
    CHECK(parse_formula("min(x)").error.hint == "min takes two or more");
    CHECK(parse_formula("x^y").error.hint == "write x^2, x^0.5, x^-1; for others exp(y * ln(x))");
}

TEST_CASE("256 levels are read, more are refused without end or crash", "[formula]") {
    CHECK(value(fmt::format("{}a{}", repeated("(", 256), repeated(")", 256))) == 2.0);
    CHECK(value(fmt::format("{}a", repeated("-", 256))) == 2.0);
    CHECK(parse_formula(fmt::format("{}a{}", repeated("(", 257), repeated(")", 257))).error.code ==
          "formula-too-deep");
    CHECK(parse_formula(fmt::format("{}a", repeated("-", 257))).error.code == "formula-too-deep");
    CHECK(parse_formula(repeated("(", 16000)).error.code == "formula-too-deep");
    CHECK(parse_formula(repeated("sqrt(", 3000)).error.code == "formula-too-deep");
    CHECK(parse_formula(repeated("(", 1000000)).error.code == "formula-too-long");
}

TEST_CASE("a long chain is flat: 5001 terms", "[formula]") {
    CHECK(value(fmt::format("a{}", repeated("+1", 5000))) == 5002.0);
    CHECK(value(fmt::format("a{}", repeated("*1", 5000))) == 2.0);
}

TEST_CASE("names are lower_snake_case, perhaps dotted", "[formula]") {
    for (const char* name : {"x", "reel_dryness", "a1", "mill.figures.x"})
        CHECK(is_formula_name(name));
    for (const char* name : {"", "X", "1a", "_x", "a.", ".a", "a..b", "a.1", "a b", "é"}) {
        CAPTURE(name);
        CHECK_FALSE(is_formula_name(name));
    }
}
