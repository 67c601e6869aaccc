#include "engine/tables/citation.h"

#include <algorithm>
#include <array>

namespace deckle {
namespace {

constexpr std::array source_key_list{Key{"title", Need::required},
                                     Key{"year", Need::required},
                                     Key{"publisher"},
                                     Key{"volume"},
                                     Key{"chapter"},
                                     Key{"table"},
                                     Key{"page"},
                                     Key{"url"},
                                     Key{"edition"},
                                     Key{"retrieved"},
                                     Key{"licence"}};

/// Fields whose bare value would not say what it is.
bool needs_its_name(std::string_view key) {
    return key == "volume" || key == "chapter" || key == "table" || key == "page" ||
           key == "retrieved" || key == "licence" || key == "edition";
}

}  // namespace

const KeyTable source_keys{"source", source_key_list};

std::string Citation::field(std::string_view key) const {
    const auto found =
        std::ranges::find_if(fields, [&](const auto& field) { return field.first == key; });
    return found == fields.end() ? std::string{} : found->second;
}

std::string Citation::text() const {
    std::string line;
    for (const Key& key : source_key_list) {
        const std::string value = field(key.name);
        if (value.empty()) continue;
        if (!line.empty()) line += ", ";
        if (needs_its_name(key.name)) line += std::string(key.name) + ' ';
        line += value;
    }
    return line;
}

Citation read_citation(const YamlValue& value, Place where, Problems& problems) {
    Citation citation;
    citation.place = value.place.known() ? value.place : where;
    if (value.is_scalar()) {
        citation.fields.emplace_back("title", value.text);
        return citation;
    }
    if (!check_keys(value, source_keys, where, problems)) return citation;
    for (const YamlEntry& entry : value.entries) {
        if (entry.value.is_scalar()) {
            citation.fields.emplace_back(entry.key, entry.value.text);
        } else if (entry.value.kind != YamlValue::Kind::nothing) {
            problems.add(entry.value.place, "not-text", "a field of a source is one line of text",
                         "");
        }
    }
    return citation;
}

}  // namespace deckle
