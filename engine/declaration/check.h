// Checks a product footprint as it is exchanged, its own or another's: the schema and the rules
// between properties are errors, the reporting rules and what a careful reader would question are
// findings. Every problem names the property by its JSON pointer and stands at its place.
#pragma once

#include <span>
#include <string_view>
#include <vector>

#include "engine/declaration/declared.h"
#include "engine/text/problem.h"

namespace deckle {

/// What may be left out of a footprint [%]: PACT Methodology V3, and V2 before it.
inline constexpr double most_left_out_v3 = 3.0;
inline constexpr double most_left_out_v2 = 5.0;

/// Errors and findings of one footprint. Codes: property-* for the schema and the reporting rules,
/// V-01 to V-22 for the rules between properties. One of the second edition is converted first
/// (second_edition.h): property-edition, and property-lost for what has no successor.
/// `most_left_out`: the limit of V-17 [%] by the rules in use.
[[nodiscard]] std::vector<Problem> check_declared(const Declared& one,
                                                  double most_left_out = most_left_out_v3);

/// What several footprints say of each other: nothing but the status may change under one id, what
/// is replaced is deprecated, and a change of 10 % or more asks for a new calculation (V-10).
[[nodiscard]] std::vector<Problem> check_history(std::span<const Declared> all);

struct DeclarationRule {
    std::string_view id, meaning;
};
/// V-01 to V-22 in words.
[[nodiscard]] std::span<const DeclarationRule> declaration_rules() noexcept;

}  // namespace deckle
