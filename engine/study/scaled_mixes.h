// Scenarios that change the demand on a mix without naming the source that swings: the mix is
// scaled as a whole, and the scenario says so.
#pragma once

#include "engine/study/model.h"

namespace deckle {

/// Adds `mix-scaled` to the findings of the scenarios built so far.
/// Errors: NoAnswer where the graph has no values.
void name_scaled_mixes(Study& study, const StudyModel& model);

}  // namespace deckle
