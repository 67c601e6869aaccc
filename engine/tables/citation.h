// Where a figure was published or measured, as the file says it.
#pragma once

#include <string>
#include <utility>
#include <vector>

#include "engine/text/keys.h"
#include "engine/text/yaml.h"

namespace deckle {

struct Citation {
    Place place;
    std::vector<std::pair<std::string, std::string>>
        fields;  ///< in reading order: title, publisher, year...

    [[nodiscard]] bool empty() const noexcept { return fields.empty(); }
    [[nodiscard]] std::string field(std::string_view key) const;
    /// In one line: "2006 IPCC Guidelines ..., IPCC, 2006, volume 2, chapter 2, table 2.3".
    [[nodiscard]] std::string text() const;
};

extern const KeyTable source_keys;

/// Of a mapping with title and year, or of plain text (a meter, an invoice).
[[nodiscard]] Citation read_citation(const YamlValue& value, Place where, Problems& problems);

}  // namespace deckle
