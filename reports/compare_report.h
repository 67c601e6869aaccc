// The three writers of a comparison (engine/analysis/compare.h).
#pragma once

#include <string>

#include "engine/analysis/compare.h"
#include "reports/style.h"

namespace deckle {

/// Tables for reading: figures with their index, climate by scope, steps, laboratory properties.
[[nodiscard]] std::string compare_text(const Compared& compared, const Style& style);
[[nodiscard]] std::string compare_json(const Compared& compared, const std::string& program);
/// One line a row and indicator.
[[nodiscard]] std::string compare_csv(const Compared& compared);

/// "bath_2ply", "bath_2ply@heat_pump"
[[nodiscard]] std::string name_of_row(const ComparedRow& row);

}  // namespace deckle
