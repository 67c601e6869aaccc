// What every verb does around its own work: read the study, evaluate it, report problems with their
// lines, and turn what happened into an exit status.
#pragma once

#include <functional>
#include <optional>
#include <string>

#include "engine/graph/evaluate.h"
#include "engine/study/study.h"
#include "reports/command/arguments.h"
#include "reports/style.h"

namespace deckle::command {

inline constexpr int exit_done = 0;
inline constexpr int exit_above_limit = 1;
inline constexpr int exit_bad_input = 2;
inline constexpr int exit_no_answer = 3;
inline constexpr int exit_defect = 70;

/// "deckle 0.1.0"
[[nodiscard]] std::string program_name();

/// Runs `work`; problems go to standard error, shown with the lines of `files`.
[[nodiscard]] int guarded(const Files& files, const std::function<int()>& work);

/// Reads and evaluates the study that was typed, then does `work` with both. `work` returns the
/// exit status; problems end in 2, 3 or 70 with standard output untouched. Today is read, and of
/// the scenarios those chosen.
[[nodiscard]] int with_study(const Arguments& arguments,
                             const std::function<int(const Study&, const Evaluation&)>& work,
                             const ScenarioChoice& scenarios = {.all = false});

/// The scenarios that addresses speak of: results@ID..., scenarios.ID...
[[nodiscard]] ScenarioChoice scenarios_in(const std::vector<std::string>& addresses);

/// A share such as `5 %` that an option takes; none when it was not typed. Errors: usage, and those
/// of asked_value.
[[nodiscard]] std::optional<double> asked_share(const Arguments& arguments, const char* option);

/// The view of electricity that --electricity asks for; none when it was not typed.
[[nodiscard]] std::optional<ElectricityView> asked_view(const Arguments& arguments);

/// The style of the report: the terminal's when it goes there.
[[nodiscard]] Style report_style(const Arguments& arguments);

/// Writes the report where `--output` says.
void write_report(const Arguments& arguments, const Study& study, const std::string& text);

}  // namespace deckle::command
