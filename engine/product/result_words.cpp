#include "engine/product/result_words.h"

#include "engine/product/product_graph.h"

#include <algorithm>

namespace deckle {

bool is_result_word(std::string_view id) {
    constexpr std::array<std::string_view, 11> units{
        "t",     tonne_with_core, "m2",     "sheet", "roll", "bundle",
        "piece", "kg_absorbed",   "period", "day",   "year"};
    return std::ranges::find(units, id) != units.end() ||
           std::ranges::find(equal_functions, id, &EqualFunction::word) != equal_functions.end() ||
           id.ends_with("_unrounded") || id.ends_with("_outbound");
}

}  // namespace deckle
