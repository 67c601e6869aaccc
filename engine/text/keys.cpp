#include "engine/text/keys.h"

#include <fmt/format.h>

#include <algorithm>
#include <string>
#include <vector>

#include "engine/text/nearest.h"

namespace deckle {
namespace {

std::vector<std::string> names_of(const KeyTable& table) {
    std::vector<std::string> names;
    for (const Key& key : table.keys) names.emplace_back(key.name);
    return names;
}

std::string known_keys_hint(std::string_view typed, const KeyTable& table) {
    const auto names = names_of(table);
    if (auto hint = did_you_mean(typed, names); !hint.empty()) return hint;
    return fmt::format("known here: {}", fmt::join(names, ", "));
}

}  // namespace

bool check_keys(const YamlValue& map, const KeyTable& table, Place where, Problems& problems) {
    if (!map.is_map()) {
        if (map.refused) return false;  // reported
        problems.add(
            map.place.known() ? map.place : where, "not-a-mapping",
            fmt::format("{} must be a mapping of keys, not {}", table.mapping, map.kind_text()),
            fmt::format("known here: {}", fmt::join(names_of(table), ", ")));
        return false;
    }
    for (const YamlEntry& entry : map.entries) {
        Place place = entry.place;
        place.length = static_cast<std::uint32_t>(std::max<std::size_t>(1, entry.key.size()));
        const bool known = std::any_of(table.keys.begin(), table.keys.end(),
                                       [&](const Key& key) { return key.name == entry.key; });
        if (!known) {
            problems.add(place, "unknown-key",
                         fmt::format("{} has no key {}", table.mapping, entry.key),
                         known_keys_hint(entry.key, table));
        } else if (entry.value.kind == YamlValue::Kind::nothing && !entry.value.refused) {
            problems.add(place, "empty-value", fmt::format("{} has no value", entry.key),
                         std::string(empty_value_hint));
        } else if (entry.key == "note" && (entry.value.is_map() || entry.value.is_list())) {
            problems.add(entry.value.place, "not-text",
                         fmt::format("note is one line of text, not {}", entry.value.kind_text()),
                         "");
        }
    }
    if (map.refused) return true;  // what is missing may stand in what was refused
    for (const Key& key : table.keys) {
        if (key.need == Need::required && map.entry(key.name) == nullptr) {
            problems.add(where, "missing-key",
                         fmt::format("{} lacks the key {}", table.mapping, key.name),
                         fmt::format("add {}: ...", key.name));
        }
    }
    return true;
}

bool check_head(const YamlValue& root, std::string_view head, std::string_view what,
                Problems& problems) {
    if (root.entry(head) != nullptr || root.refused) return true;
    problems.add(root.place, "unknown-document", fmt::format("this file is no {}", what),
                 root.entries.empty()
                     ? fmt::format("such a file begins with the key {}", head)
                     : fmt::format("such a file begins with the key {}, this one with {}", head,
                                   root.entries.front().key));
    return false;
}

}  // namespace deckle
