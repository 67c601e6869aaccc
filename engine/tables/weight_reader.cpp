// Reads the tables that weigh: gases to CO2e, water by scarcity, and prices.
#include <fmt/format.h>

#include <array>

#include "engine/tables/table_reader.h"

namespace deckle {
namespace {

constexpr std::array characterization_key_list{
    Key{"characterization", Need::required}, Key{"title", Need::required},
    Key{"source", Need::required}, Key{"note"}, Key{"gases", Need::required}};
constexpr std::array scarcity_key_list{
    Key{"scarcity", Need::required}, Key{"title", Need::required},  Key{"model", Need::required},
    Key{"version", Need::required},  Key{"source", Need::required}, Key{"note"},
    Key{"regions", Need::required}};
constexpr std::array<std::string_view, 3> uses{"non_agricultural", "agricultural", "unspecified"};
constexpr std::array region_key_list{Key{uses[0]}, Key{uses[1]}, Key{uses[2]}};

const KeyTable characterization_keys{"characterization", characterization_key_list};
const KeyTable scarcity_keys{"scarcity", scarcity_key_list};
const KeyTable region_keys{"region", region_key_list};

const YamlValue* mapping_at(const YamlValue& root, std::string_view key, Problems& problems) {
    const YamlEntry* entry = root.entry(key);
    if (entry == nullptr || entry->value.is_map())
        return entry == nullptr ? nullptr : &entry->value;
    problems.add(key_place(*entry), "not-a-mapping", fmt::format("{} is a mapping", key), "");
    return nullptr;
}

void read_region(const YamlEntry& region, Scarcity& table, Problems& problems) {
    check_id(region.key, key_place(region), "a region", problems);
    if (!check_keys(region.value, region_keys, key_place(region), problems)) return;
    for (const YamlEntry& use : region.value.entries) {
        auto stated =
            read_stated(use.value, fmt::format("{}.regions.{}.{}", table.id, region.key, use.key),
                        key_place(use), amount_keys, {}, problems);
        if (!stated) continue;
        if (stated->source.empty()) stated->source = table.source;
        if (require_dimension(*stated, dimensions::number, "a scarcity factor", "2.09", problems)) {
            table.weights.push_back({region.key, use.key, std::move(*stated)});
        }
    }
}

}  // namespace

void read_characterization(const YamlValue& root, Tables& tables, Problems& problems) {
    Characterization table;
    if (!read_head(root, characterization_keys, table, problems)) return;
    if (const YamlValue* gases = mapping_at(root, "gases", problems)) {
        for (const YamlEntry& gas : gases->entries) {
            check_id(gas.key, key_place(gas), "a gas", problems);
            auto stated = read_stated(gas.value, table.id + ".gases." + gas.key, key_place(gas),
                                      amount_keys, {Allow::quantity, Within::any, {}}, problems);
            if (!stated) continue;
            if (stated->source.empty()) stated->source = table.source;
            const bool co2e = stated->unit().dimension == dimensions::co2e;
            if (co2e || require_dimension(*stated, dimensions::mass,
                                          "the weight of a kilogram of gas", "27.0 kg", problems)) {
                table.gases.push_back({gas.key, std::move(*stated)});
            }
        }
    }
    tables.characterizations.push_back(std::move(table));
}

void read_scarcity(const YamlValue& root, Tables& tables, Problems& problems) {
    Scarcity table;
    if (!read_head(root, scarcity_keys, table, problems)) return;
    if (const YamlValue* model = root.find("model"))
        table.model = read_text(*model, "model", problems);
    if (const YamlValue* version = root.find("version"))
        table.version = read_text(*version, "version", problems);
    if (const YamlValue* regions = mapping_at(root, "regions", problems)) {
        for (const YamlEntry& region : regions->entries) read_region(region, table, problems);
    }
    tables.scarcities.push_back(std::move(table));
}

/// One amount of a price list; nullopt when it is no money per something (reported).
std::optional<Prices::Price> read_price(const YamlEntry& entry, const std::string& base,
                                        const Prices& table, Problems& problems) {
    auto stated = read_stated(entry.value, base + "." + entry.key, key_place(entry), amount_keys,
                              {Allow::quantity, Within::any, {}}, problems);
    if (!stated) return std::nullopt;
    if (stated->source.empty()) stated->source = table.source;
    if (!stated->unit().dimension.has_money()) {
        problems.add(stated->place(), "wrong-unit", "a price is money per unit",
                     "for example 38 EUR_2025/GJ LHV");
        return std::nullopt;
    }
    stated->any_unit = true;
    return Prices::Price{entry.key, key_place(entry), std::move(*stated)};
}

/// Benchmarks by process address: "0.25 t/t".
void read_free_allocation(const YamlValue& map, Prices& table, Problems& problems) {
    for (const YamlEntry& entry : map.entries) {
        auto stated = read_stated(entry.value, table.id + ".free_allocation." + entry.key,
                                  key_place(entry), amount_keys, {}, problems);
        if (!stated) continue;
        if (stated->source.empty()) stated->source = table.source;
        table.free_allocation.push_back({entry.key, key_place(entry), std::move(*stated)});
    }
}

void read_prices(const YamlValue& root, Tables& tables, Problems& problems) {
    Prices table;
    const YamlEntry& head = *root.entry("prices");
    table.id = read_text(head.value, "prices", problems);
    table.place = head.value.place;
    check_id(table.id, table.place, "a table", problems);
    if (const YamlEntry* source = root.entry("source")) {
        table.source = read_citation(source->value, key_place(*source), problems);
    }
    if (const YamlValue* free = mapping_at(root, "free_allocation", problems))
        read_free_allocation(*free, table, problems);
    if (const YamlValue* marginal = mapping_at(root, "marginal", problems)) {
        for (const YamlEntry& entry : marginal->entries) {
            if (auto price = read_price(entry, table.id + ".marginal", table, problems))
                table.marginal.push_back(std::move(*price));
        }
    }
    for (const YamlEntry& entry : root.entries) {
        if (entry.key == "prices" || entry.key == "source" || entry.key == "marginal" ||
            entry.key == "free_allocation")
            continue;
        if (entry.key == "title" || entry.key == "note") {
            const std::string text = read_text(entry.value, entry.key, problems);
            if (entry.key == "title") table.title = text;
            continue;
        }
        auto price = read_price(entry, table.id, table, problems);
        if (!price) continue;
        if (entry.key == "carbon_price") table.carbon_price = std::move(price->stated);
        else table.prices.push_back(std::move(*price));
    }
    tables.prices.push_back(std::move(table));
}

std::span<const std::string_view> water_uses() noexcept { return uses; }

std::vector<const KeyTable*> weight_key_tables() {
    return {&characterization_keys, &scarcity_keys, &region_keys};
}

}  // namespace deckle
