// The writers of a trace: an indented derivation for reading, and JSON. Figures are unrounded (the
// shortest decimal that reads back), so that a reader can recompute every line outside Deckle.
#pragma once

#include <string>

#include "engine/analysis/trace.h"
#include "reports/style.h"

namespace deckle {

/// A line a number: value, unit, name or rule; then the place and the source of every input. A
/// result that is not complete says so at its head. A number shown already ends with "see above"; a
/// loop shows its equations with both sides.
[[nodiscard]] std::string trace_text(const Trace& trace, const Study& study, const Evaluation& at,
                                     const Style& style);

/// What a trace for reading shows where nothing else is asked for.
inline constexpr TraceOptions trace_at_a_glance{.depth = 6, .largest = 4};
/// What that leaves out, and how to see it; "" when it is all.
[[nodiscard]] std::string glance_note(const Trace& trace, const Style& style);

[[nodiscard]] std::string trace_json(const Trace& trace, const Study& study,
                                     const std::string& program);

}  // namespace deckle
