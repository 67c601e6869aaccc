// What a production line makes in a day and in a year: net tonnes, pieces, packing levels, each
// indicator of them, and plain equivalents by ratios that have a source.
#pragma once

#include "engine/study/stage.h"

namespace deckle {

/// Codes: duplicate-id, unknown-product, unknown-word, wrong-unit.
void add_line_results(Stage& stage);

}  // namespace deckle
