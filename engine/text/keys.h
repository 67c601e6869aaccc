// Which keys a mapping may have. Each reader declares its mappings as KeyTables; they check what is
// read and are compared with the schema pages by a test, so reader and page cannot differ.
#pragma once

#include <span>
#include <string>
#include <string_view>

#include "engine/text/problem.h"
#include "engine/text/yaml.h"

namespace deckle {

enum class Need : std::uint8_t { optional, required };

struct Key {
    std::string_view name;
    Need need = Need::optional;
};

struct KeyTable {
    std::string_view mapping;  ///< "factor", "process", ... as headed in the schema page
    std::span<const Key> keys;
};

/// Reports unknown and missing keys of `map`, and keys without a value. `where` serves for what is
/// missing. False when `map` is not a mapping (reported too).
/// A note is text everywhere. Codes: not-a-mapping, unknown-key, missing-key, empty-value,
/// not-text.
bool check_keys(const YamlValue& map, const KeyTable& table, Place where, Problems& problems);

/// What to do about a key without a value.
inline constexpr std::string_view empty_value_hint = "write the value, or leave the key out";

/// False, reported, when a file lacks the key that says what it holds: "mill", "study", "products".
/// Code: unknown-document.
bool check_head(const YamlValue& root, std::string_view head, std::string_view what,
                Problems& problems);

}  // namespace deckle
