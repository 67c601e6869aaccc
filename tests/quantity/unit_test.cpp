#include "engine/quantity/unit.h"

#include <algorithm>
#include <catch2/catch.hpp>
#include <cctype>
#include <random>
#include <set>
#include <stdexcept>

#include "engine/quantity/unit_table.h"

using namespace deckle;

TEST_CASE("units have one spelling whatever was typed", "[quantity][unit]") {
    const auto [typed, text] = GENERATE(table<std::string, std::string>({
        {"kg", "kg"},
        {" GJ  LHV / t  dry ", "GJ LHV/t dry"},
        {"m³", "m3"},
        {"m^3", "m3"},
        {"g/m²", "g/m2"},
        {"t·km", "t km"},
        {"t⋅km", "t km"},
        {"t km", "t km"},
        {"°C", "degC"},
        {"°F", "degF"},
        {"µm", "um"},
        {"μg", "ug"},
        {"kg CO2e/kWh", "kg CO2e/kWh"},
        {"g CO₂e", "g CO2e"},
        {"kJ/(kg K)", "kJ/(kg K)"},
        {"kJ/(kg·K)", "kJ/(kg K)"},
        {"m3/t/d", "m3/(t d)"},
        {"s-1", "1/s"},
        {"s⁻¹", "1/s"},
        {"m^-2", "1/m2"},
        {"1/h", "1/h"},
        {"/h", "1/h"},
        {"kg/kg", "kg/kg"},
        {"kWh h/MJ", "kWh h/MJ"},
        {"m3 world-eq/m3", "m3 world-eq/m3"},
        {"EUR_2025/ADt", "EUR_2025/ADt"},
        {"short_ton mile", "short_ton mile"},
        {"MWh HHV", "MWh HHV"},
        {"MW LHV", "MW LHV"},
        {"", ""},
        {"  ", ""},
        {"%", "%"},
        {"points", "points"},
        {"Nm3/h", "Nm3/h"},
        {"Nm3^2", "Nm3^2"},
        {"t/EUR_2025^2", "t/EUR_2025^2"},
    }));
    CAPTURE(typed);
    const UnitResult result = parse_unit(typed);
    CHECK(result.error.message.empty());
    REQUIRE(result.unit);
    CHECK(result.unit->text == text);
    CHECK(parse_unit(text).unit->dimension == result.unit->dimension);
}

TEST_CASE("of NAME ends a unit", "[quantity][unit]") {
    const UnitResult result = parse_unit("kg/kg of fibre");
    REQUIRE(result.unit);
    CHECK(result.of == "fibre");
    CHECK(result.unit->text == "kg/kg");
    CHECK(result.unit->dimension.is_number());
    CHECK(parse_unit("g of wet_strength_resin").of == "wet_strength_resin");
}

TEST_CASE("what is no unit is refused with its place, code and hint", "[quantity][unit]") {
    struct Bad {
        std::string text, code;
        std::size_t offset, length;
        std::string hint;
    };
    const std::string look = "units look like GJ LHV/t dry, g/m2, kJ/(kg K)";
    const std::string behind = "write it behind the unit it belongs to: GJ LHV/t dry, kg CO2e/kWh";
    const std::string power =
        "a power is a whole number from 1 to 9, after / or with - in front: m2, m^2, s-1";
    const auto bad = GENERATE_REF(values<Bad>({
        {"ton", "ambiguous-unit", 0, 3,
         "write t (1000 kg), short_ton (907.18474 kg) or long_ton (1016.0469088 kg)"},
        {"kWh/Ton", "ambiguous-unit", 4, 3,
         "write t (1000 kg), short_ton (907.18474 kg) or long_ton (1016.0469088 kg)"},
        {"tons", "ambiguous-unit", 0, 4,
         "write t (1000 kg), short_ton (907.18474 kg) or long_ton (1016.0469088 kg)"},
        {"kg/t km", "ambiguous-unit", 5, 2, "write kg/(t km) or kg km/t"},
        {"kg CO2e/t km", "ambiguous-unit", 10, 2, "write kg CO2e/(t km) or kg CO2e km/t"},
        {"kwh", "unknown-unit", 0, 3, "did you mean kWh?"},
        {"KG", "unknown-unit", 0, 2, "did you mean kg?"},
        {"kWhr", "unknown-unit", 0, 4, "did you mean kWh, GWh or MWh?"},
        {"tonne", "unknown-unit", 0, 5, "the metric tonne is written t"},
        {"GJ/hr", "unknown-unit", 3, 2, "the hour is written h"},
        {"kg CO2", "unknown-unit", 3, 3,
         "a mass of gas is written kg, the key says which gas; of CO2 equivalents write kg CO2e"},
        {"kg CO2-eq", "unknown-unit", 3, 6, "write CO2e: kg CO2e"},
        {"kgCO2e", "unknown-unit", 0, 6, "write kg CO2e"},
        {"EUR", "unknown-unit", 0, 3, "money has a code and a year: EUR_2025"},
        {"€/t", "unknown-unit", 0, 3, "money has a code and a year: EUR_2025"},
        {"EUR_25", "unknown-unit", 0, 6, "money has a code and a year: EUR_2025"},
        {"zoll", "unknown-unit", 0, 4, "did you mean roll or mol?"},
        {"furlong", "unknown-unit", 0, 7,
         "units are those of a list: kg, t dry, kWh, GJ LHV, m3, roll, EUR_2025, ..."},
        {"m10", "unknown-unit", 0, 3, "did you mean m, mL or mg?"},
        {"month", "unknown-unit", 0, 5, "months differ in length; write d or year"},
        {"µ", "unknown-unit", 0, 2,
         "units are those of a list: kg, t dry, kWh, GJ LHV, m3, roll, EUR_2025, ..."},
        {"m3 dry", "misplaced-basis", 3, 3, behind},
        {"kWh CO2e", "misplaced-basis", 4, 4, behind},
        {"t LHV", "misplaced-basis", 2, 3, behind},
        {"kg world-eq", "misplaced-basis", 3, 8, behind},
        {"EUR_2025 dry", "misplaced-basis", 9, 3, behind},
        {"LHV", "misplaced-basis", 0, 3, "write it behind its unit: t dry, GJ LHV, kg CO2e"},
        {"GJ LHV HHV", "mixed-basis", 0, 10, "one basis belongs to a unit"},
        {"ADt dry", "mixed-basis", 0, 7, "ADt is dry mass already (900 kg)"},
        {"kg dry CO2e", "mixed-basis", 0, 11, "one basis belongs to a unit"},
        {"kJ/(kg degC)", "offset-unit", 7, 4, "a difference of temperature is in K"},
        {"degC2", "offset-unit", 0, 5, "a difference of temperature is in K"},
        {"barg m3", "offset-unit", 0, 4, "a difference of pressure is in bar"},
        {"points/t", "unit-syntax", 0, 6, "2 points"},
        {"kg*m", "unit-syntax", 2, 1, "write a space or · between units that multiply: t km"},
        {"kg/", "unit-syntax", 3, 0, look},
        {"kg//t", "unit-syntax", 3, 1, look},
        {"/", "unit-syntax", 1, 0, look},
        {"kg/(t km", "unit-syntax", 2, 6, "kJ/(kg K)"},
        {"kg/(t/km)", "unit-syntax", 5, 1, look},
        {"(kg)", "unit-syntax", 0, 1, look},
        {"kg 5", "unit-syntax", 3, 1, look},
        {"·kg", "unit-syntax", 0, 2, look},
        {"kg,", "unit-syntax", 2, 1, look},
        {"m^0", "unit-syntax", 1, 2, power},
        {"m^10", "unit-syntax", 1, 3, power},
        {"m2^2", "unit-syntax", 2, 2, power},
        {"m^", "unit-syntax", 1, 1, power},
        {"m²kg", "unit-syntax", 3, 2, "m2 kg"},
        {"J/(m^2kg)", "unit-syntax", 6, 2, "m2 kg"},
        {"kg of", "unit-syntax", 3, 2, "0.444 kg/kg of fibre"},
        {"kg of Fibre", "unit-syntax", 3, 8, "0.444 kg/kg of fibre"},
        {"scf9", "unit-too-large", 0, 4, "use fewer or smaller powers"},
    }));
    CAPTURE(bad.text);
    const UnitResult result = parse_unit(bad.text);
    CHECK_FALSE(result.unit);
    CAPTURE(result.error.message);
    CHECK(result.error.code == bad.code);
    CHECK(result.error.offset == bad.offset);
    CHECK(result.error.length == bad.length);
    CHECK(result.error.hint == bad.hint);
    CHECK_FALSE(result.error.message.empty());
}

TEST_CASE("conversions are two exact decimals", "[quantity][unit]") {
    struct Row {
        std::string from, to, p, q;
    };
    const auto row = GENERATE(values<Row>({
        {"kWh", "MJ", "3.6", "1"},  // NIST SP 811, B.8: 1 kWh = 3.6 E+06 J exactly
        {"MJ", "kWh", "1", "3.6"},
        {"GJ", "GJ", "1", "1"},
        {"MJ", "GJ", "1", "1000"},
        {"t", "kg", "1000", "1"},
        {"ADt", "t dry", "0.9", "1"},
        {"t dry", "ADt", "1", "0.9"},
        {"lb", "kg", "0.45359237", "1"},
        {"kg", "lb", "1", "0.45359237"},
        {"gal", "L", "3.785411784", "1"},
        {"ft3", "L", "28.316846592", "1"},
        {"MMBtu", "kWh", "1055.05585262", "3.6"},
        {"kWh", "MMBtu", "3.6", "1055.05585262"},
        {"Btu/lb", "kJ/kg", "2.326", "1"},
        {"short_ton mile", "t km", "1.45997231821056", "1"},  // 0.90718474 × 1.609344, by hand
        {"kg CO2e/MWh", "g CO2e/kWh", "1", "1"},
        {"t CO2e/TJ", "g CO2e/kWh", "3.6", "1"},
        {"g/m2", "kg/ha", "10", "1"},
        {"m3/t", "L/kg", "1", "1"},
        {"%", "", "1", "100"},
        {"", "%", "100", "1"},
        {"points", "%", "1", "1"},
        {"km/h", "m/s", "1", "3.6"},
        {"GJ LHV/t dry", "kWh LHV/kg dry", "1", "3.6"},
        {"Sm3", "Nm3", "273.15", "288.15"},
        {"bar", "kPa", "100", "1"},
        {"kcal", "kJ", "4.1868", "1"},
        {"therm", "MMBtu", "1", "10"},
        {"year", "d", "365.25", "1"},
        {"EUR_2025/MWh", "EUR_2025/GJ", "1", "3.6"},
    }));
    CAPTURE(row.from, row.to);
    const auto change = conversion(known_unit(row.from), known_unit(row.to));
    REQUIRE(change);
    CHECK(change->p_text == row.p);
    CHECK(change->q_text == row.q);
    CHECK(change->p == std::stod(change->p_text));
    CHECK(change->q == std::stod(change->q_text));
}

TEST_CASE("1 kWh is 3.6 MJ to the last bit", "[quantity][unit]") {
    CHECK(conversion(known_unit("kWh"), known_unit("MJ"))->apply(1.0) == 3.6);
    CHECK(conversion(known_unit("MJ"), known_unit("kWh"))->apply(3.6) == 1.0);
}

TEST_CASE("no conversion joins what differs in kind or basis", "[quantity][unit]") {
    const auto [from, to] = GENERATE(table<std::string, std::string>({
        {"kWh", "kg"},
        {"GJ LHV", "GJ HHV"},
        {"GJ LHV", "GJ"},
        {"t", "t dry"},
        {"t", "ADt"},
        {"Nm3", "m3"},
        {"EUR_2025", "EUR_2024"},
        {"EUR_2025", "USD_2025"},
        {"kg", "kg CO2e"},
        {"m3", "m3 world-eq"},
        {"degC", "K"},
        {"K", "degC"},
        {"barg", "bar"},
        {"roll", ""},
    }));
    CAPTURE(from, to);
    CHECK_FALSE(conversion(known_unit(from), known_unit(to)));
}

TEST_CASE("differences of temperatures are in K, of gauge pressures in Pa", "[quantity][unit]") {
    CHECK(difference_unit(known_unit("degC")).text == "K");
    CHECK(difference_unit(known_unit("degF")).text == "K");
    CHECK(difference_unit(known_unit("barg")).text == "Pa");
    CHECK(difference_unit(known_unit("GJ")).text == "GJ");
}

TEST_CASE("an unknown text in the program's own code is a bug", "[quantity][unit]") {
    CHECK_THROWS_AS(known_unit("nonsense"), std::logic_error);
}

TEST_CASE("every symbol is found, stands once and has a definition and a source",
          "[quantity][unit]") {
    std::set<std::string_view> seen;
    for (const UnitSymbol& row : unit_table()) {
        CAPTURE(row.symbol);
        CHECK(seen.insert(row.symbol).second);
        CHECK(find_symbol(row.symbol) == &row);
        CHECK_FALSE(row.definition.empty());
        CHECK_FALSE(row.source.empty());
        const UnitResult result = parse_unit(row.symbol);
        REQUIRE(result.unit);
        CHECK(result.unit->text == row.symbol);
        CHECK(result.unit->dimension == dimension_of(row.measure));
        CHECK(equal(result.unit->to_base, row.to_base));
    }
    CHECK(find_symbol("zzz") == nullptr);
    CHECK(find_symbol("") == nullptr);
}

TEST_CASE("no hint is for a symbol that exists", "[quantity][unit]") {
    for (const UnitHint& hint : unit_hints()) {
        CAPTURE(hint.typed);
        CHECK(find_symbol(hint.typed) == nullptr);
    }
}

namespace {

/// One to three symbols, some with a power, with a product only before the first slash.
std::string any_unit(std::mt19937& random) {
    const auto table = unit_table();
    std::string text;
    for (std::size_t terms = 1 + random() % 3, t = 0; t < terms; ++t) {
        const UnitSymbol& row = table[random() % table.size()];
        if (row.offset != Offset::none || row.symbol == "points" || row.symbol == "%") continue;
        if (!text.empty()) {
            text += random() % 2 == 0 && text.find('/') == std::string::npos ? ' ' : '/';
        }
        text += row.symbol;
        const bool letters = std::all_of(row.symbol.begin(), row.symbol.end(),
                                         [](unsigned char c) { return std::isalpha(c) != 0; });
        if (letters && random() % 3 == 0) text += random() % 2 == 0 ? '2' : '3';
    }
    return text;
}

}  // namespace

TEST_CASE("a unit made of any symbols reads back from its own text", "[quantity][unit][property]") {
    std::mt19937 random(3);
    int read = 0;
    for (int i = 0; i < 3000; ++i) {
        const std::string text = any_unit(random);
        CAPTURE(text);
        const UnitResult first = parse_unit(text);
        if (!first.unit) {
            CHECK(first.error.code == "unit-too-large");
            continue;
        }
        ++read;
        const UnitResult second = parse_unit(first.unit->text);
        CAPTURE(first.unit->text, second.error.message);
        REQUIRE(second.unit);
        CHECK(second.unit->text == first.unit->text);
        CHECK(second.unit->dimension == first.unit->dimension);
        CHECK(equal(second.unit->to_base, first.unit->to_base));
    }
    CHECK(read > 2900);
}
