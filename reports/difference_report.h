// The writers of a difference: what moved a figure, part by part, with the rule they follow.
#pragma once

#include <string>

#include "engine/analysis/difference.h"
#include "reports/style.h"

namespace deckle {

struct DifferenceReport {
    const Difference* found = nullptr;
    const StudyHead *was = nullptr, *now = nullptr;
    std::string old_name, new_name;  ///< as typed
};

[[nodiscard]] std::string difference_text(const DifferenceReport& report, const Style& style);
[[nodiscard]] std::string difference_json(const DifferenceReport& report,
                                          const std::string& program);
/// One line a part.
[[nodiscard]] std::string difference_csv(const DifferenceReport& report);

}  // namespace deckle
