// The workbook: a study as a file of live formulas that any spreadsheet program recalculates.
// Inputs with their sources, every number below the results asked for as a formula over them,
// results beside the engine's own values, break-outs as live sums, charts. Start at workbook();
// cells are in workbook_cells.h, break-outs in workbook_breakout.h, the file itself in
// workbook_book.h.
#pragma once

#include <string>

#include "reports/footprint.h"

namespace deckle {

/// The bytes of an Office Open XML workbook (ECMA-376) of the results that `question` asks for;
/// break-outs are of those that are read at a glance. Same study, same bytes.
/// Errors: those of ask_footprint; InputError cannot-write without room for temporary files;
/// NoAnswer workbook-too-large.
[[nodiscard]] std::string workbook(const Study& study, const Evaluation& at,
                                   FootprintQuestion question, const std::string& program);

}  // namespace deckle
