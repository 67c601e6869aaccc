// Amounts whose draws go together, as the study's `correlated` names them.
#pragma once

#include "engine/study/model.h"

namespace deckle {

/// Puts the groups into the graph. Codes: unknown-address, correlated-without-spread,
/// correlated-twice, not-positive-definite.
void add_correlations(Graph& graph, const std::vector<CorrelatedGroup>& groups, Problems& problems);

}  // namespace deckle
