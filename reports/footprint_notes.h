// What must be said beside the tables of a footprint: electricity, marks, warming-potential sets,
// scarcity, counts, coverage. For footprint_text.cpp and the guide of the workbook.
#pragma once

#include <string>

#include "reports/footprint.h"
#include "reports/words.h"

namespace deckle {

/// "Notes" and "Not covered", each paragraph wrapped to the width. Explains the marks in `tables`.
[[nodiscard]] std::string footprint_notes(const Footprint& footprint, std::string_view tables,
                                          const Style& style);

/// The sets of warming potentials that figures rest on, and whether the study's own is among them.
[[nodiscard]] std::string potentials_text(const StudyHead& head);

}  // namespace deckle
