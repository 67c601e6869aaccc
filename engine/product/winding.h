// Geometry of a roll: L = pi (D^2 - d^2) / (4 t). Two of diameter, wound thickness and count (or
// total length) give the third; three that disagree by more than 1 % are an error.
#pragma once

#include "engine/product/product.h"
#include "engine/tables/build.h"

namespace deckle {

struct Winding {
    Measure length;        ///< wound length on the unrounded count [m]
    Measure exact_count;   ///< sheets, unrounded; unknown for an unperforated roll
    Measure whole_count;   ///< whole sheets; equal to exact_count when the count was typed
    bool derived = false;  ///< the count follows from the geometry
    Measure diameter, wound_thickness;  ///< typed or derived [m]
};

/// Unknown measures where a key is missing (reported: winding-underdetermined,
/// winding-contradiction, not-positive).
[[nodiscard]] Winding wind(Build& build, const Product& product);

}  // namespace deckle
