// The writers of a sensitivity report: a table for reading, JSON and CSV with every number
// unrounded. What is shown was worked out in engine/analysis/sensitivity.h and sobol.h.
#pragma once

#include <optional>
#include <string>

#include "engine/analysis/sensitivity.h"
#include "engine/analysis/sobol.h"
#include "reports/style.h"

namespace deckle {

struct SensitivityReport {
    Sensitivity found;
    std::optional<SobolIndices> sobol;
    std::string typed;  ///< the address asked for, as typed
};

[[nodiscard]] std::string sensitivity_text(const SensitivityReport& report, const Study& study,
                                           const Style& style);
[[nodiscard]] std::string sensitivity_json(const SensitivityReport& report, const Study& study,
                                           const std::string& program);
/// One line an input.
[[nodiscard]] std::string sensitivity_csv(const SensitivityReport& report, const Study& study);

}  // namespace deckle
