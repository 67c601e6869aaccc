// What reports say of a study before any figure: whose it is, its period, boundary and rules.
#pragma once

#include "engine/study/model.h"

namespace deckle {

/// "the market-based view", "both views"
[[nodiscard]] std::string_view views_of(const ViewStandIn& one) noexcept;

/// The head of today, once it is built.
[[nodiscard]] StudyHead study_head(const StudyModel& model);

/// The head of a scenario: the study's, with the rules of that assembly.
[[nodiscard]] StudyHead scenario_head(const StudyHead& of_study, const Assembly& assembly,
                                      const Tables& tables);

}  // namespace deckle
