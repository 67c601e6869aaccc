// Reads a factor table: its head, the indicators it declares, and its factors one by one.
#include <fmt/format.h>

#include <array>

#include "engine/tables/table_reader.h"

namespace deckle {
namespace {

constexpr std::array table_key_list{Key{"table", Need::required},
                                    Key{"title", Need::required},
                                    Key{"source"},
                                    Key{"edition"},
                                    Key{"licence"},
                                    Key{"note"},
                                    Key{"indicators"},
                                    Key{"factors", Need::required}};
constexpr std::array own_indicator_key_list{Key{"title", Need::required},
                                            Key{"unit", Need::required}};

const KeyTable table_keys{"table", table_key_list};
const KeyTable own_indicator_keys{"indicator", own_indicator_key_list};

void read_indicator_declarations(const YamlValue& map, FactorTable& table, Problems& problems) {
    const YamlEntry* declared = map.entry("indicators");
    if (!is_mapping(declared, "{dust: {title: Dust, unit: g}}", problems)) return;
    for (const YamlEntry& entry : declared->value.entries) {
        if (!check_id(entry.key, key_place(entry), "an indicator", problems)) continue;
        if (!check_keys(entry.value, own_indicator_keys, key_place(entry), problems)) continue;
        OwnIndicator own{entry.key, {}, {}, entry.place};
        if (const YamlValue* title = entry.value.find("title"))
            own.title = read_text(*title, "title", problems);
        if (const YamlValue* unit = entry.value.find("unit")) {
            own.unit = read_text(*unit, "unit", problems);
            if (const UnitResult parsed = parse_unit(own.unit); !parsed.unit)
                add(problems, *unit, parsed.error);
        }
        table.indicators.push_back(std::move(own));
    }
}

}  // namespace

void read_factor_table(const YamlValue& root, Tables& tables, Problems& problems) {
    FactorTable table;
    if (!read_head(root, table_keys, table, problems)) return;
    for (const std::string_view key : {"edition", "licence"}) {
        const YamlValue* value = root.find(key);
        if (value == nullptr) continue;
        const std::string text = read_text(*value, key, problems);
        if (!table.source.empty() && table.source.field(key).empty())
            table.source.fields.emplace_back(key, text);
    }
    read_indicator_declarations(root, table, problems);
    const YamlEntry* factors = root.entry("factors");
    if (factors == nullptr) return;
    if (!factors->value.is_map()) {
        problems.add(key_place(*factors), "not-a-mapping", "factors is a mapping of ids to factors",
                     "");
        return;
    }
    table.factors.reserve(factors->value.entries.size());
    for (const YamlEntry& entry : factors->value.entries) {
        if (!check_id(entry.key, key_place(entry), "a factor", problems)) continue;
        table.factors.push_back(read_factor(entry, table, problems));
    }
    tables.factors.push_back(std::move(table));
}

std::vector<const KeyTable*> factor_table_key_tables() {
    return {&table_keys, &own_indicator_keys};
}

}  // namespace deckle
