// The words that results are given per, and those that a comparison at equal function is asked by:
// ids of users that stand beside them in addresses and questions are none of these.
#pragma once

#include <array>
#include <string_view>

namespace deckle {

/// What can be equal, the unit it is counted per, and the words for it. Of a piece: "piece".
struct EqualFunction {
    std::string_view word, per, text;
};
inline constexpr std::array<EqualFunction, 5> equal_functions{
    {{"roll_diameter", "piece", "rolls of the same diameter"},
     {"sheet_count", "piece", "the same number of sheets"},
     {"area", "m2", "the same area of sheet"},
     {"mass", "t", "the same mass of tissue"},
     {"absorbed_water", "kg_absorbed", "the same mass of water absorbed"}}};

/// Whether results per this word, or a comparison by it, mean something of their own.
[[nodiscard]] bool is_result_word(std::string_view id);

}  // namespace deckle
