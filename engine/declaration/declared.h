// A product footprint in a file as it is exchanged: the object, with the places of its properties.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "engine/declaration/exact.h"
#include "engine/declaration/forms.h"
#include "engine/text/yaml.h"

namespace deckle {

/// A property that is there and not null.
[[nodiscard]] bool is_stated(const YamlValue* value);

/// One footprint of a file: the object, and where it stands ("", "/data", "/data/3").
struct Declared {
    const YamlValue* root = nullptr;
    std::string pointer;

    /// The property of the footprint or, behind "pcf/", of its carbon footprint; nullptr when it is
    /// absent or null.
    [[nodiscard]] const YamlValue* find(std::string_view property) const;
    [[nodiscard]] std::string text(std::string_view property) const;
    [[nodiscard]] std::optional<Exact> number(std::string_view property) const;
    /// Written in the model before version 3, whose properties are others.
    [[nodiscard]] bool is_version_2() const;
};

/// The footprints of a file: one, a list of them, or either under `data` as a system answers.
[[nodiscard]] std::vector<Declared> declared_in(const YamlValue& root);

/// When it may be used: as stated, else three years from the end of its reference period (V-09).
[[nodiscard]] std::optional<Period> validity_of(const Declared& one);

}  // namespace deckle
