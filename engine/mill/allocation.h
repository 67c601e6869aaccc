// How the burdens of a process are shared among its products. Methods are named by their formula,
// since public sources call different ones by the same name.
#pragma once

#include "engine/mill/mill_graph.h"

namespace deckle {

/// Gives each product of a process with two or more its share; leaves a single product without one.
/// Sets ProcessNodes::allocation: what is stated, or what stands behind it where its products do
/// not fit the method of a rule for many processes. Returns how its method was come by.
/// Reports missing-allocation, wrong-unit, shares-do-not-add, missing-key.
[[nodiscard]] AllocationPath allocate(Build& build, const Build::NameLookup& names,
                                      ProcessNodes& process, std::vector<ProductNodes>& products);

}  // namespace deckle
