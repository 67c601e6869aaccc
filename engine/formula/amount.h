// What stands in place of a number: a quantity, a word (perhaps a name, perhaps `rest`), or a
// formula.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>

#include "engine/formula/formula.h"
#include "engine/quantity/quantity.h"

namespace deckle {

struct Amount {
    enum class Kind : std::uint8_t { wrong, quantity, word, formula };

    Kind kind = Kind::wrong;
    Quantity quantity;  ///< of a quantity
    std::string word;   ///< of a word: a lone lower_snake_case name, perhaps dotted
    Formula formula;    ///< of a formula, and of a word (the name alone)
    TextError error;    ///< when wrong
};

/// Tries a quantity, then a word, then a formula. What cannot be read is reported as what it looks
/// like: as a formula when it begins with a name or a parenthesis or has an operator, else as a
/// quantity.
[[nodiscard]] Amount parse_amount(std::string_view text, Points points = Points::refused);

}  // namespace deckle
