// Pieces that several JSON reports share. For the writers of this folder only.
#pragma once

#include <optional>
#include <string_view>

#include "engine/analysis/asked.h"
#include "engine/study/study.h"
#include "reports/json_text.h"

namespace deckle {

/// Head of every JSON report: format, version of the format, program.
[[nodiscard]] Json report_head(std::string_view format, std::string_view program);
[[nodiscard]] Json text_or_null(const std::string& text);
[[nodiscard]] Json number_or_null(const std::optional<double>& value);
/// {id, title, period, boundary, ...} of a study.
[[nodiscard]] Json study_json(const StudyHead& head);
/// {file, line, column, length}; null for a place that is not known.
[[nodiscard]] Json place_json(Place place, const Files& files);
/// {address, of, per, indicator, value, unit, coverage, unrounded} of a result that was asked for.
[[nodiscard]] Json asked_json(const Study& study, const AskedResult& asked, double value);
/// {address, title, typed} of an input; its title null without one.
[[nodiscard]] Json input_head_json(const Study& study, const Input& input,
                                   const std::string& address);
/// What loading noticed: {code, severity, message, file, line, column}.
[[nodiscard]] Json problem_json(const Problem& problem, const Files& files);
/// SHA-256 of the report of a shard, its own digest in it left out: what merging holds against it.
[[nodiscard]] std::string shard_digest(Json report);

}  // namespace deckle
