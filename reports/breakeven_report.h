// The writers of a break-even report: sentences for reading, JSON and CSV with every number
// unrounded. What is shown was worked out in engine/analysis/breakeven.h.
#pragma once

#include <string>

#include "engine/analysis/breakeven.h"
#include "reports/style.h"

namespace deckle {

[[nodiscard]] std::string breakeven_text(const Breakeven& found, const Study& study,
                                         const Style& style);
[[nodiscard]] std::string breakeven_json(const Breakeven& found, const Study& study,
                                         const std::string& program);
/// One line an equality; of two inputs one a step of the second and an equality of the first.
[[nodiscard]] std::string breakeven_csv(const Breakeven& found);

/// "equal", "step", "touch", "stretch".
[[nodiscard]] std::string_view name_of(CrossingKind kind) noexcept;

}  // namespace deckle
