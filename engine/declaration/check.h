// Checks a product footprint as it is exchanged, its own or another's: the schema and the rules
// between properties are errors, the reporting rules and what a careful reader would question are
// findings. Every problem names the property by its JSON pointer and stands at its place.
#pragma once

#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "engine/declaration/forms.h"
#include "engine/declaration/model.h"
#include "engine/text/problem.h"
#include "engine/text/yaml.h"

namespace deckle {

/// One footprint of a file: the object, and where it stands ("", "/data", "/data/3").
struct Declared {
    const YamlValue* root = nullptr;
    std::string pointer;

    /// The property of the footprint or, behind "pcf/", of its carbon footprint; nullptr when it is
    /// absent or null.
    [[nodiscard]] const YamlValue* find(std::string_view property) const;
    [[nodiscard]] std::string text(std::string_view property) const;
    [[nodiscard]] std::optional<Exact> number(std::string_view property) const;
    /// Written in the model before version 3 (its properties are others: convert.h).
    [[nodiscard]] bool is_version_2() const;
};

/// The footprints of a file: one, or those under `data` as a system answers with them.
[[nodiscard]] std::vector<Declared> declared_in(const YamlValue& root);

/// Errors and findings of one footprint. Codes: property-* for the schema and the reporting rules,
/// V-01 to V-22 for the rules between properties.
[[nodiscard]] std::vector<Problem> check_declared(const Declared& one);

/// What several footprints say of each other: nothing but the status may change under one id, what
/// is replaced is deprecated, and a change of 10 % or more asks for a new calculation (V-10).
[[nodiscard]] std::vector<Problem> check_history(std::span<const Declared> all);

/// When it may be used: as stated, else three years from the end of its reference period (V-09).
[[nodiscard]] std::optional<Period> validity_of(const Declared& one);

struct DeclarationRule {
    std::string_view id, meaning;
};
/// V-01 to V-22 in words.
[[nodiscard]] std::span<const DeclarationRule> declaration_rules() noexcept;

}  // namespace deckle
