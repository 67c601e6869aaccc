// One file of tables: its head key says what it holds.
#include <fmt/format.h>

#include <array>

#include "engine/tables/supplier_footprint.h"
#include "engine/tables/table_reader.h"

namespace deckle {
namespace {

struct Document {
    std::string_view head;
    void (*read)(const YamlValue&, Tables&, Problems&);
};

constexpr std::array documents{
    Document{"table", read_factor_table},
    Document{"characterization", read_characterization},
    Document{"scarcity", read_scarcity},
    Document{"prices", read_prices},
    Document{"data_quality_spread", read_quality_spread},
};

}  // namespace

void read_table_file(Files& files, std::uint32_t file, Tables& tables, Problems& problems) {
    YamlValue root = read_yaml(files, file, problems);
    if (!root.is_map()) return;
    bring_in_footprints(root, files, file, problems);
    for (const Document& document : documents) {
        if (root.entry(document.head) == nullptr) continue;
        return document.read(root, tables, problems);
    }
    problems.add(root.place, "unknown-document", "this file is no table of Deckle's",
                 "a factor table begins with `table: ID`; others with characterization, scarcity, "
                 "prices or data_quality_spread");
}

std::vector<const KeyTable*> table_key_tables() {
    auto all = factor_table_key_tables();
    for (const KeyTable* table : factor_key_tables()) all.push_back(table);
    for (const KeyTable* table : weight_key_tables()) all.push_back(table);
    for (const KeyTable* table : quality_key_tables()) all.push_back(table);
    return all;
}

}  // namespace deckle
