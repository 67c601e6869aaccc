// Names results: each indicator of one unit of a mill's product, and of what a consumer product has
// pers for.
#pragma once

#include <string>

#include "engine/study/stage.h"

namespace deckle {

/// Results of all products of the stage, and what they are of (Stage::subjects).
void add_product_results(Stage& stage);

/// results.OF.PER.WHAT, of a scenario results@SCENARIO.OF.PER.WHAT.
struct ResultName {
    std::string of, per, what;
};

/// Gives a node the address of a result. Ids of users meet each other and ours in these addresses:
/// one that another node has is reported at `place`, and "" returned. Code: duplicate-id.
[[nodiscard]] std::string name_result(Stage& stage, NodeId node, const ResultName& name,
                                      Place place);

/// One result, with its address: results.OF.PER.INDICATOR, with .market and .location beside it.
/// Code: duplicate-id, at `place`.
void add_result(Stage& stage, const Subject& subject, const std::string& per, IndicatorId id,
                const Views& views, Place place);

}  // namespace deckle
