// The readers of the table documents, chosen by their head key. Used inside this room only.
#pragma once

#include <vector>

#include "engine/tables/factor.h"

namespace deckle {

void read_factor_table(const YamlValue& root, Tables& tables, Problems& problems);
void read_characterization(const YamlValue& root, Tables& tables, Problems& problems);
void read_scarcity(const YamlValue& root, Tables& tables, Problems& problems);
void read_prices(const YamlValue& root, Tables& tables, Problems& problems);
void read_quality_spread(const YamlValue& root, Tables& tables, Problems& problems);

/// Id, place, title and source that a table begins with; false when its keys are wrong (reported).
template <class Table>
[[nodiscard]] bool read_head(const YamlValue& root, const KeyTable& keys, Table& table,
                             Problems& problems) {
    const YamlEntry& head = *root.entry(keys.mapping);
    if (!check_keys(root, keys, key_place(head), problems)) return false;
    table.id = read_text(head.value, keys.mapping, problems);
    table.place = head.value.place;
    check_id(table.id, table.place, "a table", problems);
    if (const YamlValue* title = root.find("title"))
        table.title = read_text(*title, "title", problems);
    if (const YamlEntry* source = root.entry("source"))
        table.source = read_citation(source->value, key_place(*source), problems);
    return true;
}

/// False for a key that is not there, has no value, or holds no mapping (the last is reported).
[[nodiscard]] bool is_mapping(const YamlEntry* entry, std::string_view example, Problems& problems);

/// A factor of a table whose head and indicators are read. What does not fit is reported and left
/// out.
[[nodiscard]] Factor read_factor(const YamlEntry& entry, const FactorTable& table,
                                 Problems& problems);

[[nodiscard]] std::vector<const KeyTable*> factor_table_key_tables();
[[nodiscard]] std::vector<const KeyTable*> factor_key_tables();
[[nodiscard]] std::vector<const KeyTable*> weight_key_tables();
[[nodiscard]] std::vector<const KeyTable*> quality_key_tables();

}  // namespace deckle
