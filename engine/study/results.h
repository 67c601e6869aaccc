// Names results: each indicator of one unit of a mill's product, and of what a consumer product has
// pers for.
#pragma once

#include <string>

#include "engine/study/stage.h"

namespace deckle {

/// Results of all products of the stage, and what they are of (Stage::subjects).
void add_product_results(Stage& stage);

/// One result, with its address: results.OF.PER.INDICATOR, with .market and .location beside it.
void add_result(Stage& stage, const Subject& subject, const std::string& per, IndicatorId id,
                const Views& views);

}  // namespace deckle
