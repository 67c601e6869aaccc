// What must be said beside the tables of a footprint: electricity, marks, warming-potential sets,
// scarcity, counts, coverage. For footprint_text.cpp only.
#pragma once

#include <string>

#include "reports/footprint.h"

namespace deckle {

/// "≥", "≤", "≈" or nothing, before a figure.
[[nodiscard]] std::string_view mark_of(Bound bound) noexcept;

/// "Notes" and "Not covered", each paragraph wrapped to the width. Explains the marks in `tables`.
[[nodiscard]] std::string footprint_notes(const Footprint& footprint, std::string_view tables,
                                          const Style& style);

/// `text` wrapped to the width behind `indent` columns; further lines `hang` columns deeper.
[[nodiscard]] std::string paragraph(std::string_view text, std::size_t indent, std::size_t hang,
                                    const Style& style);

}  // namespace deckle
