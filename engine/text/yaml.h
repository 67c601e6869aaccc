// A YAML file as a tree of mappings, lists and scalars in which everything keeps its place.
// Scalars stay text: no word becomes a boolean and no digits become a number here.
// Anchors, aliases, merge keys, tags, several documents, duplicate keys and depth above 32 are
// errors.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

#include "engine/text/files.h"
#include "engine/text/place.h"
#include "engine/text/problem.h"

namespace deckle {

struct YamlEntry;

struct YamlValue {
    enum class Kind : std::uint8_t { nothing, scalar, list, map };

    Kind kind = Kind::nothing;
    Place place;           ///< of the scalar, or of the first element of a list or map
    bool quoted = false;   ///< a quoted scalar: its text has no offset inside the file
    bool refused = false;  ///< it, or a key of it, is a feature that is not read (reported)
    std::string text;      ///< of a scalar, as typed
    std::vector<YamlValue> items;
    std::vector<YamlEntry> entries;

    [[nodiscard]] bool is_scalar() const noexcept { return kind == Kind::scalar; }
    [[nodiscard]] bool is_list() const noexcept { return kind == Kind::list; }
    [[nodiscard]] bool is_map() const noexcept { return kind == Kind::map; }
    /// The value of a key, or nullptr.
    [[nodiscard]] const YamlValue* find(std::string_view key) const;
    /// The entry of a key, or nullptr.
    [[nodiscard]] const YamlEntry* entry(std::string_view key) const;
    /// "a mapping", "a list", "text" or "nothing", for messages.
    [[nodiscard]] const char* kind_text() const noexcept;
};

struct YamlEntry {
    std::string key;
    Place place;  ///< of the key
    YamlValue value;
};

/// What no file holds as it is: a text made of what stands at `place`, and an empty list or
/// mapping.
[[nodiscard]] YamlValue made_text(Place place, std::string text);
[[nodiscard]] YamlValue made_empty(Place place, YamlValue::Kind kind);

/// Place of `length` bytes at `offset` inside a scalar; the whole scalar when it is quoted or
/// folded.
[[nodiscard]] Place place_inside(const YamlValue& scalar, std::size_t offset, std::size_t length);

/// What the whole file may be: ours are mappings, files of others lists too.
enum class YamlRoot : std::uint8_t { map, map_or_list };

/// The tree of a file. Errors go to `problems`: yaml-syntax (one a file),
/// yaml-feature, duplicate-key, too-deep, empty-file, empty-value; what could be read is returned.
[[nodiscard]] YamlValue read_yaml(const Files& files, std::uint32_t file, Problems& problems,
                                  YamlRoot whole = YamlRoot::map);

}  // namespace deckle
