// Amounts whose draws go together, as the study's `correlated` names them.
#pragma once

#include "engine/study/model.h"

namespace deckle {

/// The groups of `correlated` as typed. What does not fit is reported and left out. Codes:
/// not-a-list, bad-correlation, not-a-quantity, wrong-unit, and those of keys and quantities.
[[nodiscard]] std::vector<CorrelatedGroup> read_correlated(const YamlEntry& entry,
                                                           Problems& problems);
[[nodiscard]] std::vector<const KeyTable*> correlated_key_tables();

/// Puts the groups into the graph. Codes: unknown-address, correlated-without-spread,
/// correlated-twice, not-positive-definite.
void add_correlations(Graph& graph, const std::vector<CorrelatedGroup>& groups, Problems& problems);

}  // namespace deckle
