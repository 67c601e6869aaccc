// Whether each change of a scenario reached something that its results rest on.
#pragma once

#include "engine/study/model.h"
#include "engine/study/scenario.h"
#include "engine/study/study.h"

namespace deckle {

/// A change that touches nothing is a mistake; one of a parent may have lost what it changed.
/// `first_result`: of the scenario, to the last of the study. Codes: unknown-address,
/// nothing-changed.
void check_touched(const Study& study, const Assembly& assembly, const ScenarioModel& scenario,
                   const ValueChanges& changes, std::size_t first_result, Problems& problems);

}  // namespace deckle
