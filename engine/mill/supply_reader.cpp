// How electricity comes to a use: from the grid, by contract, by a line of its own, from own
// plants.
#include <fmt/format.h>

#include <array>

#include "engine/mill/mill.h"

namespace deckle {
namespace {

constexpr std::array supply_key_list{Key{"contract"}, Key{"direct_line"}, Key{"own"}};
constexpr std::array contract_key_list{Key{"certificate"}, Key{"grid"}, Key{"note"}};
constexpr std::array certificate_key_list{
    Key{"kind", Need::required}, Key{"cancelled_for", Need::required},
    Key{"market", Need::required}, Key{"document", Need::required}};
constexpr std::array direct_line_key_list{Key{"plant"}, Key{"document"}, Key{"note"}};
constexpr std::array own_key_list{Key{"certificates_sold"}, Key{"grid"}, Key{"note"}};

const KeyTable supply_keys{"supply", supply_key_list};
const KeyTable contract_keys{"contract", contract_key_list};
const KeyTable certificate_keys{"certificate", certificate_key_list};
const KeyTable direct_line_keys{"direct_line", direct_line_key_list};
const KeyTable own_keys{"own", own_key_list};

std::string grid_of(const YamlValue& map, Problems& problems) {
    const YamlValue* grid = map.find("grid");
    return grid == nullptr ? std::string{} : read_text(*grid, "grid", problems);
}

void read_contract(const YamlEntry& kind, Supply& supply, Problems& problems) {
    supply.kind = Supply::Kind::contract;
    supply.grid = grid_of(kind.value, problems);
    const YamlEntry* certificate = kind.value.entry("certificate");
    if (certificate == nullptr ||
        !check_keys(certificate->value, certificate_keys, key_place(*certificate), problems))
        return;
    supply.certificate = true;
    for (const YamlEntry& field : certificate->value.entries)
        supply.certificate_fields.emplace_back(field.key,
                                               read_text(field.value, field.key, problems));
}

}  // namespace

Supply read_supply(const YamlEntry& entry, Problems& problems) {
    Supply supply;
    supply.place = key_place(entry);
    if (entry.value.is_scalar()) {
        if (entry.value.text != "grid") {
            problems.add(entry.value.place, "unknown-word",
                         fmt::format("supply: {} is not known", entry.value.text),
                         "grid, {contract: ...}, {direct_line: ...} or {own: ...}");
        }
        return supply;
    }
    if (!check_keys(entry.value, supply_keys, supply.place, problems)) return supply;
    if (entry.value.entries.empty()) {
        problems.add(supply.place, "empty-value", "supply has no value",
                     "write the value, or leave the key out");
        return supply;
    }
    const YamlEntry& kind = entry.value.entries.front();
    if (entry.value.entries.size() > 1) {
        problems.add(supply.place, "several-supplies", "a use has one supply",
                     "split the use in two with `as`");
    }
    if (kind.key == "contract" &&
        check_keys(kind.value, contract_keys, key_place(kind), problems)) {
        read_contract(kind, supply, problems);
    } else if (kind.key == "direct_line" &&
               check_keys(kind.value, direct_line_keys, key_place(kind), problems)) {
        supply.kind = Supply::Kind::direct_line;
        for (const YamlEntry& field : kind.value.entries)
            (void)read_text(field.value, field.key, problems);
    } else if (kind.key == "own" && check_keys(kind.value, own_keys, key_place(kind), problems)) {
        supply.kind = Supply::Kind::own;
        supply.grid = grid_of(kind.value, problems);
        if (const YamlValue* sold = kind.value.find("certificates_sold"))
            supply.certificates_sold = read_yes(*sold, "certificates_sold", problems);
    }
    return supply;
}

std::vector<const KeyTable*> supply_key_tables() {
    return {&supply_keys, &contract_keys, &certificate_keys, &direct_line_keys, &own_keys};
}

}  // namespace deckle
