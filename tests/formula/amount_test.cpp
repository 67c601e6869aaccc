#include "engine/formula/amount.h"

#include <catch2/catch.hpp>

using namespace deckle;
using Kind = Amount::Kind;

TEST_CASE("what stands in place of a number is a quantity, a word or a formula",
          "[formula][amount]") {
    const auto [text, kind] = GENERATE(table<std::string, Kind>({
        {"4.35 GJ", Kind::quantity},
        {"0.35", Kind::quantity},
        {"-5 degC", Kind::quantity},
        {"4.1 .. 4.6 GJ", Kind::quantity},
        {"5 1/h", Kind::quantity},
        {"rest", Kind::word},
        {"reel_dryness", Kind::word},
        {"mill.figures.x", Kind::word},
        {" t ", Kind::word},
        {"reel_dryness / press_dryness - 1", Kind::formula},
        {"evaporated * heat_per_water", Kind::formula},
        {"2 * x", Kind::formula},
        {"2 / roll", Kind::formula},
        {"2/t", Kind::formula},
        {"1 / 3", Kind::formula},
        {"-x", Kind::formula},
        {"(x)", Kind::word},
        {"min(x, 2)", Kind::formula},
        {"2 - 1", Kind::formula},
    }));
    CAPTURE(text);
    const Amount amount = parse_amount(text);
    CHECK(amount.error.message.empty());
    CHECK(amount.kind == kind);
    if (kind != Kind::quantity) CHECK_FALSE(amount.formula.nodes.empty());
}

TEST_CASE("a word keeps its text", "[formula][amount]") {
    CHECK(parse_amount(" rest ").word == "rest");
}

TEST_CASE("points are a quantity where a change is meant", "[formula][amount]") {
    CHECK(parse_amount("2 points").kind == Kind::wrong);
    CHECK(parse_amount("2 points", Points::allowed).kind == Kind::quantity);
}

TEST_CASE("what cannot be read is reported as what it looks like", "[formula][amount]") {
    const auto [text, code, offset] = GENERATE(table<std::string, std::string, std::size_t>({
        {"", "no-value", 0},
        {"null", "no-value", 0},
        {"nan", "not-finite", 0},
        {"inf", "not-finite", 0},
        {"52,000 kWh", "number-with-comma", 0},
        {"5 ton", "ambiguous-unit", 2},
        {"5 kwh", "unknown-unit", 2},
        {"42 % ± 1", "bare-percent-spread", 5},
        {"5 kg,", "not-a-quantity", 4},
        {"4.35 GJ + 2 GJ", "number-with-unit", 0},
        {"2 * 3 GJ", "number-with-unit", 4},
        {"x * 3 GJ", "number-with-unit", 4},
        {"(4 GJ)", "number-with-unit", 1},
        {"x +", "formula-syntax", 3},
        {"(x", "formula-syntax", 0},
        {"Steam", "bad-name", 0},
        {"log(x)", "unknown-function", 0},
        {"1e999", "number-out-of-range", 0},
    }));
    CAPTURE(text);
    const Amount amount = parse_amount(text);
    CHECK(amount.kind == Kind::wrong);
    CAPTURE(amount.error.message);
    CHECK(amount.error.code == code);
    CHECK(amount.error.offset == offset);
}
