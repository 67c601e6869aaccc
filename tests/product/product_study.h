// Products over a mill so plain that their footprints are worked out on paper: what one kilogram of
// each sheet, board and film brings stands here, and the tests calculate with it.
#pragma once

#include <string>
#include <vector>

#include "tests/study/memory_study.h"

namespace deckle::test {

// kg CO2e per kg (all invented)
constexpr double soft = 1.0;    ///< soft_sheet, 95 % dry, holds `carbon` of its fibre
constexpr double strong = 2.0;  ///< strong_sheet, 90 % dry
constexpr double plain = 1.5;   ///< plain_sheet, dryness not stated
constexpr double board = 0.75;  ///< core_board, also in 1 kg of case board
constexpr double film = 2.5;
constexpr double glue = 3.0;    ///< of dry glue
constexpr double pallet = 0.9;  ///< of one pallet
constexpr double lorry = 0.08;  ///< of one t km

// kg C per kg
constexpr double soft_carbon = 0.444 * 0.95;
constexpr double board_carbon = 0.40;
constexpr double film_carbon = 0.0;

/// A study of the products in a text that begins with "products:", or in a CSV text.
[[nodiscard]] MemoryStudy product_study(const std::string& products,
                                        const std::string& name = "products.yaml");

/// Codes of what is wrong with them, in the order of their places.
[[nodiscard]] std::vector<std::string> product_problems(const std::string& products,
                                                        const std::string& name = "products.yaml");

/// Equal but for roundings on the way: a few units in the last of sixteen digits.
[[nodiscard]] inline auto equals(double expected) {
    return Catch::Matchers::WithinRel(expected, 1e-14);
}

}  // namespace deckle::test
