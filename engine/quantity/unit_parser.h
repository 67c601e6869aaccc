// Reads a unit inside a longer text and stops where the unit can go no further; parse_unit and
// parse_quantity stand on it.
#pragma once

#include <optional>
#include <string>
#include <string_view>

#include "engine/quantity/text_error.h"
#include "engine/quantity/unit.h"

namespace deckle {

struct UnitScan {
    Unit unit;            ///< of plain numbers when none stands there
    std::string of;       ///< NAME of "of NAME"
    std::size_t end = 0;  ///< first byte after the unit and its `of NAME`
    TextError error;
};

[[nodiscard]] UnitScan scan_unit(std::string_view text, std::size_t start);

/// The unit of terms, its text in one spelling; nothing when no exact ratio is left.
[[nodiscard]] std::optional<Unit> unit_of_terms(std::vector<UnitTerm> terms);

}  // namespace deckle
