// Net heat of steam as it is metered: h − r·h(condensate) − (1 − r)·h(make-up), and the mean
// temperature at which it is delivered. Source of the properties: IAPWS R7-97(2012).
#pragma once

#include "engine/mill/mill.h"
#include "engine/tables/build.h"

namespace deckle {

/// `own` completed by what `base` states (a use takes over the state of the steam it uses).
[[nodiscard]] SteamState completed(const SteamState& own, const SteamState& base);

/// Net heat [kJ/kg] over condensate returned and make-up. Unknown when a key is missing (reported).
[[nodiscard]] Measure net_heat(Build& build, const SteamState& steam,
                               const Build::NameLookup& names, Place place);

/// Mean temperature of heat delivery, (h_steam − h_condensate)/(s_steam − s_condensate) [K].
[[nodiscard]] Measure mean_temperature(Build& build, const SteamState& steam,
                                       const Build::NameLookup& names, Place place);

}  // namespace deckle
