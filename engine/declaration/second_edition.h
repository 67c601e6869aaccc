// A product footprint of the second edition of the model (2.x) read as one of the third, by what
// became of each property: PACT, change log of the Technical Specifications 3.0.
#pragma once

#include <cstdint>
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
    std::string text = {};        ///< of a scalar, as typed
    bool on_reliability = false;  ///< it tells how far its amounts can be relied on
};

/// What the converted amounts are for: all that the file declares, as the third edition has it, or
/// one unit of it, with the digits of the file.
enum class DeclaredAmount : std::uint8_t { whole, one_unit };

struct FromSecondEdition {
    /// Its places are those of the file. Both totals are made of their terms.
    YamlValue root;
    std::vector<LostProperty> lost;
    Exact amount{1, 0};  ///< that amounts were multiplied by
};

/// For one unit its declared amount is 1, whether the file states one or not.
[[nodiscard]] FromSecondEdition from_second_edition(const Declared& one, DeclaredAmount amount);

/// "dLucGhgEmissions" of "landUseChangeGhgEmissions": what the second edition calls a property of
/// `pcf`. The property itself where it kept its name.
[[nodiscard]] std::string_view second_edition_name(std::string_view property) noexcept;

/// Both totals against their terms, within what the digits leave open; code total-not-its-terms.
/// What is without biogenic emissions is the fossil term, and may hold direct land-use change and
/// land management: writers of the second edition differ.
[[nodiscard]] std::vector<Problem> check_second_totals(const Declared& one);

}  // namespace deckle
