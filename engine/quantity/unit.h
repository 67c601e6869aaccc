// Units as people type them: "GJ LHV/t dry", "kg CO2e/kWh", "EUR_2025/ADt", "g/m2", "kJ/(kg K)".
// Case-sensitive symbols of a closed list (unit_table.h), no free prefixes, no guesses.
// Start at parse_unit and conversion.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "engine/quantity/decimal.h"
#include "engine/quantity/dimension.h"
#include "engine/quantity/text_error.h"

namespace deckle {

/// Units whose zero is not the quantity's: they stand alone, and only for plain quantities.
enum class Offset : std::uint8_t { none, deg_c, deg_f, bar_gauge };

/// One symbol with the word after it and its power: {"t", "dry", -1}.
struct UnitTerm {
    std::string symbol;
    std::string word;  ///< dry, LHV, HHV, CO2e, world-eq or none
    int power = 1;
    friend bool operator==(const UnitTerm&, const UnitTerm&) = default;
};

/// A default Unit is that of plain numbers, text "".
struct Unit {
    std::string text;  ///< in one spelling: "kg CO2e/kWh", "m3", "kJ/(kg K)"
    Dimension dimension;
    Ratio to_base;  ///< value in base units (kg, m, s, K, A, mol, cd, Nm3, piece, ...) = value × p
                    ///< ÷ q
    Offset offset = Offset::none;
    std::vector<UnitTerm> terms;
};

struct UnitResult {
    std::optional<Unit> unit;
    std::string of;   ///< NAME of "kg/kg of NAME", else empty
    TextError error;  ///< when there is no unit
};

/// The unit of a text; "" is the plain number. `points` (of a value in %) is known here and refused
/// by parse_quantity. Codes: unknown-unit, ambiguous-unit, unit-syntax, misplaced-basis,
/// mixed-basis, offset-unit, unit-too-large.
[[nodiscard]] UnitResult parse_unit(std::string_view text);

/// The unit of a text that is known to be good. Errors: logic_error.
[[nodiscard]] Unit known_unit(std::string_view text);

/// Product, quotient and power of units: equal symbols join, others stand as typed (kWh/MJ stays).
/// The result's dimension is not usable when an argument has an offset or nothing exact is left.
[[nodiscard]] Unit operator*(const Unit& a, const Unit& b);
[[nodiscard]] Unit operator/(const Unit& a, const Unit& b);
[[nodiscard]] Unit raised(const Unit& a, int exponent);
/// The unit whose `root`-th power this is, symbol by symbol, or nothing.
[[nodiscard]] std::optional<Unit> root(const Unit& a, int root);

/// value in the other unit = value × p ÷ q. Two exact decimals and the doubles nearest to them.
struct UnitConversion {
    double p = 1.0;
    double q = 1.0;
    std::string p_text = "1";
    std::string q_text = "1";

    [[nodiscard]] double apply(double value) const { return value * p / q; }
    [[nodiscard]] bool changes_nothing() const { return p == q; }
};

/// How a value in `from` becomes one in `to`: kWh to MJ is × 3.6 ÷ 1. Nothing when the dimensions
/// differ or one of them has an offset (see without_offset in quantity.h).
[[nodiscard]] std::optional<UnitConversion> conversion(const Unit& from, const Unit& to);

/// The unit of differences: K for degC and degF, Pa for barg, else the unit itself.
[[nodiscard]] Unit difference_unit(const Unit& of);

}  // namespace deckle
