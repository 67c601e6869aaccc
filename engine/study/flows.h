// So much of a product: its indicators are those of one unit times the amount. Output of the
// period, functions that several products fulfil, and lines (line_output.h) are told in flows.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "engine/study/stage.h"

namespace deckle {

/// So much of a product, per a unit that it has results for.
struct Flow {
    Subject* subject;
    std::string per;
    NodeId amount;
    Place place;
};

/// The unit an output is told in, as results have it: "t" for any mass, else the word typed.
[[nodiscard]] std::string per_of(const Output& output);

/// The amount of an output in that unit.
[[nodiscard]] Measure output_amount(Build& build, const Output& output);

/// What marks results on the unrounded count of sheets, beside those on whole ones.
inline constexpr std::string_view unrounded = "_unrounded";

/// The same flow per a unit on the unrounded count; nullopt where its unit has none.
[[nodiscard]] std::optional<Flow> on_unrounded_count(const Flow& flow);

/// Each indicator of one unit of a flow, times the flow; `what` is for the trace.
[[nodiscard]] std::vector<std::pair<IndicatorId, Views>> times_amount(Stage& stage,
                                                                      const Flow& flow,
                                                                      std::string_view what);

/// Results of what the study says is put out in its period, and of all of it together.
/// Codes: unknown-product, unknown-per.
void add_period_results(Stage& stage);

/// Results per function of each product that fulfils it.
/// Codes: unknown-product, unknown-per, duplicate-id.
void add_function_results(Stage& stage);

}  // namespace deckle
