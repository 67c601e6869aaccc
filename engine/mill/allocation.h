// How the burdens of a process are shared among its products. Methods are named by their formula,
// since public sources call different ones by the same name.
#pragma once

#include "engine/mill/mill_graph.h"

namespace deckle {

/// Gives each product of a process with two or more its share; leaves a single product without one.
/// The path that value_ratio took, in words; "" for other methods.
/// Reports missing-allocation, wrong-unit, shares-do-not-add, missing-key.
[[nodiscard]] std::string allocate(Build& build, const Build::NameLookup& names,
                                   const ProcessNodes& process,
                                   std::vector<ProductNodes>& products);

}  // namespace deckle
