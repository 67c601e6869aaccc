// The writers of what a verifier looks at, and of what was found there.
#pragma once

#include <string>
#include <vector>

#include "engine/analysis/spot_check.h"
#include "reports/style.h"

namespace deckle {

[[nodiscard]] std::string spot_check_text(const SpotCheck& check, const Study& study,
                                          const Style& style);
[[nodiscard]] std::string spot_check_json(const SpotCheck& check, const Study& study,
                                          const std::string& program);
/// One line an input, its column "found" empty: filled in, deckle check --found reads it.
[[nodiscard]] std::string spot_check_csv(const SpotCheck& check, const Study& study);

[[nodiscard]] std::string deviations_text(const std::vector<Deviations>& all, const Style& style);
[[nodiscard]] std::string deviations_json(const std::vector<Deviations>& all, const Study& study,
                                          const std::string& program);
[[nodiscard]] std::string deviations_csv(const std::vector<Deviations>& all);

}  // namespace deckle
