#include "engine/quantity/unit_table.h"

#include <algorithm>
#include <array>

namespace deckle {
namespace {

consteval Decimal exact(std::string_view digits) {
    return decimal_from(digits).value();  // no value: the table does not compile
}
consteval Ratio is(std::string_view p) { return {exact(p), {1, 0}}; }
consteval Ratio is(std::string_view p, std::string_view q) { return {exact(p), exact(q)}; }

// Titles and clauses from memory; the values are compared with two unit libraries in the tests.
constexpr std::string_view si =
    "BIPM, The International System of Units (SI Brochure), 9th ed., 2019, tables 2 to 7";
constexpr std::string_view si_beside =
    "BIPM, SI Brochure, 9th ed., 2019, table 8: units accepted for use with the SI";
constexpr std::string_view nist = "NIST Special Publication 811, 2008 ed., appendix B.8";
constexpr std::string_view nist_44 =
    "NIST Handbook 44, appendix C: general tables of units of measurement";
constexpr std::string_view steam =
    "5th International Conference on the Properties of Steam, London 1956, as told in NIST SP 811";
constexpr std::string_view btu_source =
    "NIST SP 811, 2008 ed., appendix B.8: from the calorie of 4.1868 J, so that 1 Btu/lb = 2.326 "
    "kJ/kg";
constexpr std::string_view trade = "common practice, no published source";

using enum Measured;
constexpr std::array symbols{
    // Mass, base kg
    UnitSymbol{"kg", is("1"), mass, "base unit", si},
    UnitSymbol{"g", is("0.001"), mass, "0.001 kg", si},
    UnitSymbol{"mg", is("1e-6"), mass, "1e-6 kg", si},
    UnitSymbol{"ug", is("1e-9"), mass, "1e-9 kg; also µg", si},
    UnitSymbol{"t", is("1000"), mass, "tonne, 1000 kg", si_beside},
    UnitSymbol{"kt", is("1e6"), mass, "1000 t", si_beside},
    UnitSymbol{"lb", is("0.45359237"), mass, "avoirdupois pound, 0.45359237 kg", nist},
    UnitSymbol{"klb", is("453.59237"), mass, "1000 lb", nist},
    UnitSymbol{"oz", is("0.028349523125"), mass, "avoirdupois ounce, lb / 16", nist},
    UnitSymbol{"short_ton", is("907.18474"), mass, "2000 lb", nist},
    UnitSymbol{"long_ton", is("1016.0469088"), mass, "2240 lb", nist},
    UnitSymbol{"ADt", is("900"), dry_mass, "air-dry tonne of pulp: 900 kg of dry mass",
               "Briggs, Forest Products Measurements and Conversion Factors, ch. 8; Regulation "
               "(EU) 2019/331"},
    // Length, base m
    UnitSymbol{"m", is("1"), length, "base unit", si},
    UnitSymbol{"km", is("1000"), length, "1000 m", si},
    UnitSymbol{"cm", is("0.01"), length, "0.01 m", si},
    UnitSymbol{"mm", is("0.001"), length, "0.001 m", si},
    UnitSymbol{"um", is("1e-6"), length, "1e-6 m; also µm", si},
    UnitSymbol{"in", is("0.0254"), length, "inch, 0.0254 m", nist},
    UnitSymbol{"ft", is("0.3048"), length, "foot, 0.3048 m", nist},
    UnitSymbol{"mile", is("1609.344"), length, "international mile, 5280 ft", nist},
    UnitSymbol{"nautical_mile", is("1852"), length, "1852 m", nist},
    // Area and volume, base m2 and m3 (m2, m3, ft2, ft3, cm3 are powers)
    UnitSymbol{"ha", is("10000"), area, "hectare, 10 000 m2", si_beside},
    UnitSymbol{"L", is("0.001"), volume, "litre, 0.001 m3", si_beside},
    UnitSymbol{"mL", is("1e-6"), volume, "0.001 L", si_beside},
    UnitSymbol{"hL", is("0.1"), volume, "100 L", si_beside},
    UnitSymbol{"gal", is("0.003785411784"), volume, "US liquid gallon, 231 in3", nist_44},
    // Time, base s
    UnitSymbol{"s", is("1"), time, "base unit", si},
    UnitSymbol{"min", is("60"), time, "60 s", si_beside},
    UnitSymbol{"h", is("3600"), time, "60 min", si_beside},
    UnitSymbol{"d", is("86400"), time, "24 h", si_beside},
    UnitSymbol{"week", is("604800"), time, "7 d", "ISO 8601-1:2019"},
    UnitSymbol{"year", is("31557600"), time, "Julian year, 365.25 d", "IAU Style Manual, 1989"},
    // Temperature, base K
    UnitSymbol{"K", is("1"), temperature, "base unit", si},
    UnitSymbol{"degC", is("1"), temperature, "value + 273.15 K; also °C", si, Offset::deg_c},
    UnitSymbol{"degF", is("5", "9"), temperature, "(value + 459.67) × 5 / 9 K; also °F", nist,
               Offset::deg_f},
    // Energy, base J
    UnitSymbol{"J", is("1"), energy, "kg m2/s2", si},
    UnitSymbol{"kJ", is("1000"), energy, "1000 J", si},
    UnitSymbol{"MJ", is("1e6"), energy, "1e6 J", si},
    UnitSymbol{"GJ", is("1e9"), energy, "1e9 J", si},
    UnitSymbol{"TJ", is("1e12"), energy, "1e12 J", si},
    UnitSymbol{"PJ", is("1e15"), energy, "1e15 J", si},
    UnitSymbol{"Wh", is("3600"), energy, "W h, 3600 J", nist},
    UnitSymbol{"kWh", is("3.6e6"), energy, "kW h, 3.6 MJ", nist},
    UnitSymbol{"MWh", is("3.6e9"), energy, "MW h, 3.6 GJ", nist},
    UnitSymbol{"GWh", is("3.6e12"), energy, "GW h, 3.6 TJ", nist},
    UnitSymbol{"TWh", is("3.6e15"), energy, "TW h, 3.6 PJ", nist},
    UnitSymbol{"cal", is("4.1868"), energy, "international table calorie, 4.1868 J", steam},
    UnitSymbol{"kcal", is("4186.8"), energy, "1000 cal", steam},
    UnitSymbol{"Gcal", is("4.1868e9"), energy, "1e9 cal", steam},
    UnitSymbol{"Btu", is("1055.05585262"), energy, "international table Btu, 1055.05585262 J",
               btu_source},
    UnitSymbol{"MMBtu", is("1055055852.62"), energy, "1e6 Btu", btu_source},
    UnitSymbol{"therm", is("105505585.262"), energy,
               "1e5 Btu (international table); 0.02 % above the US therm", nist},
    // Power, base W
    UnitSymbol{"W", is("1"), power, "J/s", si},
    UnitSymbol{"kW", is("1000"), power, "1000 W", si},
    UnitSymbol{"MW", is("1e6"), power, "1e6 W", si},
    // Pressure, base Pa, absolute unless gauge is said
    UnitSymbol{"Pa", is("1"), pressure, "N/m2, absolute", si},
    UnitSymbol{"kPa", is("1000"), pressure, "1000 Pa, absolute", si},
    UnitSymbol{"MPa", is("1e6"), pressure, "1e6 Pa, absolute", si},
    UnitSymbol{"bar", is("1e5"), pressure, "1e5 Pa, absolute", nist},
    UnitSymbol{"mbar", is("100"), pressure, "0.001 bar, absolute", nist},
    UnitSymbol{"psi", is("4.4482216152605", "0.00064516"), pressure,
               "pound-force per square inch, absolute: 0.45359237 kg × 9.80665 m/s2 / (0.0254 m)2",
               nist},
    UnitSymbol{"barg", is("1e5"), pressure, "gauge: value × 1e5 Pa + 101 325 Pa", trade,
               Offset::bar_gauge},
    // Force, base N
    UnitSymbol{"N", is("1"), force, "kg m/s2", si},
    UnitSymbol{"kN", is("1000"), force, "1000 N", si},
    // Gas, base Nm3; all at 101 325 Pa, ideal gas, so they are to each other as their temperatures
    UnitSymbol{"Nm3", is("1"), gas_volume, "m3 of gas at 0 degC (273.15 K), 101 325 Pa",
               "DIN 1343:1990"},
    UnitSymbol{"Sm3", is("273.15", "288.15"), gas_volume,
               "m3 of gas at 15 degC (288.15 K), 101 325 Pa", "ISO 13443:1996"},
    UnitSymbol{
        "scf", is("1392.254396388864", "51967"), gas_volume,
        "ft3 of gas at 60 degF (51967/180 K), 101 325 Pa: 0.028316846592 × 273.15 × 180 / 51967 "
        "Nm3",
        "temperature and pressure: common practice of US gas measurement; ft3: NIST SP 811, B.8"},
    // Counted things, all of one dimension
    UnitSymbol{"piece", is("1"), piece, "one", trade},
    UnitSymbol{"roll", is("1"), piece, "one roll", trade},
    UnitSymbol{"sheet", is("1"), piece, "one sheet", trade},
    UnitSymbol{"pack", is("1"), piece, "one pack", trade},
    UnitSymbol{"bundle", is("1"), piece, "one bundle", trade},
    UnitSymbol{"case", is("1"), piece, "one case", trade},
    UnitSymbol{"pallet", is("1"), piece, "one pallet", trade},
    // Shares
    UnitSymbol{"%", is("0.01"), number, "0.01", "BIPM, SI Brochure, 9th ed., 2019, 5.4.7"},
    UnitSymbol{"points", is("0.01"), number, "difference of two values in %", trade},
    // Other SI units
    UnitSymbol{"mol", is("1"), amount, "base unit", si},
    UnitSymbol{"kmol", is("1000"), amount, "1000 mol", si},
    UnitSymbol{"A", is("1"), current, "base unit", si},
    UnitSymbol{"V", is("1"), voltage, "W/A", si},
    UnitSymbol{"cd", is("1"), luminous_intensity, "base unit", si},
};

/// Row numbers in the order of their symbols.
constexpr auto by_symbol = [] {
    std::array<std::uint8_t, symbols.size()> order{};
    for (std::size_t i = 0; i < order.size(); ++i) order[i] = static_cast<std::uint8_t>(i);
    std::sort(order.begin(), order.end(),
              [](std::uint8_t a, std::uint8_t b) { return symbols[a].symbol < symbols[b].symbol; });
    return order;
}();

constexpr std::array hints{
    UnitHint{"per", "per one of a unit is written with a slash: kWh/t"},
    UnitHint{"l", "the litre is written L"},
    UnitHint{"lt", "the litre is written L"},
    UnitHint{"litre", "the litre is written L"},
    UnitHint{"liter", "the litre is written L"},
    UnitHint{"dm3", "write L"},
    UnitHint{"cf", "write ft3, or scf for gas at 60 degF"},
    UnitHint{"hr", "the hour is written h"},
    UnitHint{"hrs", "the hour is written h"},
    UnitHint{"hour", "the hour is written h"},
    UnitHint{"hours", "the hour is written h"},
    UnitHint{"day", "the day is written d"},
    UnitHint{"days", "the day is written d"},
    UnitHint{"sec", "the second is written s"},
    UnitHint{"yr", "write year (365.25 d)"},
    UnitHint{"y", "write year (365.25 d)"},
    UnitHint{"a", "write year (365.25 d)"},
    UnitHint{"month", "months differ in length; write d or year"},
    UnitHint{"tonne", "the metric tonne is written t"},
    UnitHint{"tonnes", "the metric tonne is written t"},
    UnitHint{"Mg", "the metric tonne is written t"},
    UnitHint{"mt", "the metric tonne is written t"},
    UnitHint{"MT", "the metric tonne is written t"},
    UnitHint{"BDt", "write t dry"},
    UnitHint{"bdt", "write t dry"},
    UnitHint{"odt", "write t dry"},
    UnitHint{"ODt", "write t dry"},
    UnitHint{"ADMT", "write ADt (900 kg of dry mass)"},
    UnitHint{"lbs", "the pound is written lb"},
    UnitHint{"mi", "write mile"},
    UnitHint{"nmi", "write nautical_mile"},
    UnitHint{"Dth", "write MMBtu"},
    UnitHint{"C",
             "the temperature is written degC, a difference K; of carbon write kg, the key says of "
             "what"},
    UnitHint{"F", "the temperature is written degF"},
    UnitHint{"deg", "write degC, or K for a difference"},
    UnitHint{"psia", "write psi, which is absolute"},
    UnitHint{"bara", "write bar, which is absolute"},
    UnitHint{"psig", "write an absolute pressure in psi, or barg"},
    UnitHint{"atm", "write bar (1 atm = 1.01325 bar)"},
    UnitHint{"ncm", "write Nm3"},
    UnitHint{"m3N", "write Nm3"},
    UnitHint{"scm", "write Sm3"},
    UnitHint{"pcs", "write piece"},
    UnitHint{"pc", "write piece"},
    UnitHint{"ea", "write piece"},
    UnitHint{"percent", "write %"},
    UnitHint{"pp", "write points"},
    UnitHint{"NCV", "the net heating value is marked LHV: GJ LHV"},
    UnitHint{"GCV", "the gross heating value is marked HHV: GJ HHV"},
    UnitHint{"net", "the net heating value is marked LHV: GJ LHV"},
    UnitHint{"gross", "the gross heating value is marked HHV: GJ HHV"},
    UnitHint{"kgCO2e", "write kg CO2e"},
    UnitHint{"tCO2e", "write t CO2e"},
    UnitHint{"gCO2e", "write g CO2e"},
    UnitHint{"CO2eq", "write CO2e: kg CO2e"},
    UnitHint{"CO2-eq", "write CO2e: kg CO2e"},
    UnitHint{"CO2-e", "write CO2e: kg CO2e"},
    UnitHint{
        "CO2",
        "a mass of gas is written kg, the key says which gas; of CO2 equivalents write kg CO2e"},
    UnitHint{"gsm", "grammage is written g/m2"},
    UnitHint{"CH4", "a mass of gas is written kg, the key says which gas"},
    UnitHint{"N2O", "a mass of gas is written kg, the key says which gas"},
};

}  // namespace

std::span<const UnitSymbol> unit_table() { return symbols; }

const UnitSymbol* find_symbol(std::string_view symbol) {
    const auto at = std::lower_bound(
        by_symbol.begin(), by_symbol.end(), symbol,
        [](std::uint8_t row, std::string_view s) { return symbols[row].symbol < s; });
    return at != by_symbol.end() && symbols[*at].symbol == symbol ? &symbols[*at] : nullptr;
}

Dimension dimension_of(Measured measure) {
    switch (measure) {
        case number: return dimensions::number;
        case mass: return dimensions::mass;
        case dry_mass: return dimensions::dry_mass();
        case length: return dimensions::length;
        case area: return dimensions::area();
        case volume: return dimensions::volume();
        case time: return dimensions::time;
        case temperature: return dimensions::temperature;
        case energy: return dimensions::energy();
        case power: return dimensions::power();
        case pressure: return dimensions::pressure();
        case force: return dimensions::mass * dimensions::length / raised(dimensions::time, 2);
        case gas_volume: return dimensions::gas_volume;
        case piece: return dimensions::piece;
        case amount: return Dimension(Base::amount);
        case current: return Dimension(Base::current);
        case voltage: return dimensions::power() / Dimension(Base::current);
        case luminous_intensity: return Dimension(Base::luminous_intensity);
    }
    return {};
}

std::span<const UnitHint> unit_hints() { return hints; }

}  // namespace deckle
