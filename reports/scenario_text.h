// What a report says of a scenario: its steps with their reasons, what building it noticed, and the
// caution that stands beside every comparison of fuels and equipment.
#pragma once

#include <string>

#include "engine/study/study.h"
#include "reports/style.h"

namespace deckle {

/// "Scenario heat_pump: ..." with its steps; empty for today.
[[nodiscard]] std::string scenario_text(const Study& study, std::string_view scenario,
                                        const Style& style);

/// The footprints compared are no design. Common practice, no published source.
[[nodiscard]] std::string_view equipment_caution() noexcept;

}  // namespace deckle
