// A product footprint of the second edition of the model (2.x) read as one of the third, by what
// became of each property: PACT, change log of the Technical Specifications 3.0.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "engine/declaration/declared.h"
#include "engine/text/problem.h"

namespace deckle {

/// A property that the third edition has no place for.
struct LostProperty {
    std::string pointer;  ///< "/pcf/dqi"
    Place place;
    std::string_view what;
};

struct FromSecondEdition {
    /// Its places are those of the file. Amounts are for the whole declared amount, no longer for
    /// one unit; both totals are made of their terms.
    YamlValue root;
    std::vector<LostProperty> lost;
    Exact amount{1, 0};  ///< that amounts were multiplied by
};

[[nodiscard]] FromSecondEdition from_second_edition(const Declared& one);

/// Both totals against their terms, within what the digits leave open; code total-not-its-terms.
/// What is without biogenic emissions is the fossil term, and may hold direct land-use change and
/// land management: writers of the second edition differ.
[[nodiscard]] std::vector<Problem> check_second_totals(const Declared& one);

}  // namespace deckle
