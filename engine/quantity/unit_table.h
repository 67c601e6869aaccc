// The closed list of unit symbols: exact value in base units, definition and source of each.
// A symbol that is not here does not exist; prefixes are not free. Powers and products: unit.h.
#pragma once

#include <optional>
#include <span>
#include <string_view>

#include "engine/quantity/decimal.h"
#include "engine/quantity/dimension.h"
#include "engine/quantity/unit.h"

namespace deckle {

/// What a symbol measures, and so which words may follow it: dry and CO2e a mass, LHV and HHV an
/// energy or a power.
enum class Measured : std::uint8_t {
    number,
    mass,
    dry_mass,
    length,
    area,
    volume,
    time,
    temperature,
    energy,
    power,
    pressure,
    force,
    gas_volume,
    piece,
    amount,
    current,
    voltage,
    luminous_intensity,
};

struct UnitSymbol {
    std::string_view symbol;
    Ratio to_base;  ///< exact, in kg, m, s, K, A, mol, cd, Nm3, piece and their products
    Measured measure = Measured::number;
    std::string_view definition;
    std::string_view source;
    Offset offset = Offset::none;
};

[[nodiscard]] std::span<const UnitSymbol> unit_table();
/// The row of a symbol, or nullptr.
[[nodiscard]] const UnitSymbol* find_symbol(std::string_view symbol);
[[nodiscard]] Dimension dimension_of(Measured measure);

/// What people write for a unit of the table and what it is called here: "hr" is h.
struct UnitHint {
    std::string_view typed;
    std::string_view hint;
};
[[nodiscard]] std::span<const UnitHint> unit_hints();

}  // namespace deckle
