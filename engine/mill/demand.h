// How much of each product the final products of a mill ask for, all loops closed; and what a mix
// comes to when one of its sources meets the change of demand and the others keep their amount.
#pragma once

#include <string>
#include <utility>
#include <vector>

#include "engine/mill/mill_graph.h"

namespace deckle {

/// How much of `of` one unit of `by` needs; no_node when it needs none. Both are indices into
/// MillNodes::products.
[[nodiscard]] NodeId need_of(Build& build, const MillNodes& mill, std::size_t by, std::size_t of);

/// True for what nothing else in the mill uses.
[[nodiscard]] bool is_final(const MillNodes& mill, std::size_t product);

/// Levels of all products, each in its own unit, at what is asked of each from outside: by product,
/// no_node for nothing.
[[nodiscard]] std::vector<NodeId> demand_levels(Build& build, const MillNodes& mill,
                                                const std::vector<NodeId>& asked);

/// A mill with what is asked of its products.
struct AskedMill {
    const MillNodes& mill;
    const std::vector<NodeId>& asked;
};

/// A product whose mix follows demand by one source.
struct MixSwing {
    std::string product, source;  ///< id; name of a use of the process that makes it
    Place place;
};

/// What `now` (a scenario's) makes of each swinging product, and what its sources give, so that
/// the change of demand against `before` (today's) is met by the one source. Levels of both are
/// counted as in demand_levels. Problems: unknown-product, not-a-mix.
[[nodiscard]] std::vector<SwungMix> swing(Build& build, const AskedMill& before,
                                          const AskedMill& now,
                                          const std::vector<MixSwing>& swings);

}  // namespace deckle
