// The spread of an amount as a mapping, for shapes that have no short form:
//   {amount: 4.35 GJ, spread: {shape: arcsine, low: 4.1 GJ, high: 4.6 GJ}}
// What each shape takes stands in one table (graph/spread.h); here its values are read and held
// against the amount. Used inside this room only, but for the key table.
#pragma once

#include "engine/graph/spread.h"
#include "engine/tables/stated.h"

namespace deckle {

extern const KeyTable spread_keys;

/// Fills the spread of a stated quantity from its mapping. False when it does not fit (reported).
/// Codes: spread-without-number, two-spreads, unknown-word, missing-key, bad-spread and those of
/// quantities.
bool read_spread(const YamlEntry& entry, Stated& stated, Problems& problems);

/// Puts the spread of an entry, a mapping or the short form ("± 5 % of value"), in place of the one
/// that a stated quantity has. What does not fit is reported and changes nothing. Codes: as above.
void take_spread(const YamlEntry& entry, Stated& stated, Problems& problems);

/// A typed quantity with its spread as the graph takes it.
[[nodiscard]] SpreadValues typed_spread_values(const Quantity& quantity);

}  // namespace deckle
