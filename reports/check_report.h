// The writers of a check: balances as a table, findings with their places; JSON and CSV.
#pragma once

#include <string>

#include "engine/analysis/check.h"
#include "reports/style.h"

namespace deckle {

[[nodiscard]] std::string check_text(const CheckReport& report, const Study& study,
                                     const Style& style);
[[nodiscard]] std::string check_json(const CheckReport& report, const Study& study,
                                     const std::string& program);
/// A line a balance, then a line a finding.
[[nodiscard]] std::string check_csv(const CheckReport& report, const Study& study);

}  // namespace deckle
