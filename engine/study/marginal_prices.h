// A price that a scenario changes while the marginal price beside it stays: what measures cost is
// counted at the marginal one, and would not show it.
#pragma once

#include "engine/study/model.h"

namespace deckle {

/// Adds to each scenario a finding (marginal-price-kept) for each such price.
void name_kept_marginals(Study& study, const StudyModel& model);

}  // namespace deckle
