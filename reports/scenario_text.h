// What a report says of a scenario: its steps with their reasons, what building it noticed, and the
// caution that stands beside every comparison of fuels and equipment.
#pragma once

#include <set>
#include <string>
#include <vector>

#include "engine/study/study.h"
#include "reports/style.h"

namespace deckle {

/// "Scenario heat_pump: ..." with its steps; empty for today.
[[nodiscard]] std::string scenario_text(const Study& study, std::string_view scenario,
                                        const Style& style);

/// What building these scenarios noticed, a sentence each; nothing of today ("").
[[nodiscard]] std::vector<std::string> scenario_findings(const Study& study,
                                                         const std::set<std::string>& scenarios);

/// Such sentences and the caution, as the end of a report that speaks of a scenario.
[[nodiscard]] std::string scenario_notes(const std::vector<std::string>& findings,
                                         const Style& style);
/// The same of these scenarios; "" where there is none but today.
[[nodiscard]] std::string scenario_notes(const Study& study, const std::set<std::string>& scenarios,
                                         const Style& style);

/// The footprints compared are no design. Common practice, no published source.
[[nodiscard]] std::string_view equipment_caution() noexcept;

}  // namespace deckle
