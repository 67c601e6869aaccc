// What must be said beside the tables of a footprint: electricity, marks, warming-potential sets,
// scarcity, counts, coverage. For footprint_text.cpp only.
#pragma once

#include <string>

#include "reports/footprint.h"
#include "reports/words.h"

namespace deckle {

/// "Notes" and "Not covered", each paragraph wrapped to the width. Explains the marks in `tables`.
[[nodiscard]] std::string footprint_notes(const Footprint& footprint, std::string_view tables,
                                          const Style& style);

}  // namespace deckle
