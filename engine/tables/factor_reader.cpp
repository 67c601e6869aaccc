// Reads a factor: every key, its kind and its unit are checked here, whether the factor is used or
// not.
#include <fmt/format.h>

#include <algorithm>
#include <array>

#include "engine/tables/factor.h"
#include "engine/tables/spread_reader.h"
#include "engine/tables/supplier_footprint.h"
#include "engine/tables/table_reader.h"
#include "engine/text/nearest.h"

namespace deckle {
namespace {

constexpr std::array factor_key_list{Key{"factor_from"},
                                     Key{"title", Need::required},
                                     Key{"kind", Need::required},
                                     Key{"per", Need::required},
                                     Key{"releases"},
                                     Key{"climate"},
                                     Key{"water"},
                                     Key{"fibre"},
                                     Key{"fibre_is"},
                                     Key{"energy"},
                                     Key{"biogenic_carbon"},
                                     Key{"land_occupied"},
                                     Key{"cost"},
                                     Key{"indicators"},
                                     Key{"discharges"},
                                     Key{"brings"},
                                     Key{"heating_value"},
                                     Key{"density"},
                                     Key{"dryness"},
                                     Key{"region"},
                                     Key{"reference_period"},
                                     Key{"valid"},
                                     Key{"primary_share"},
                                     Key{"data_quality"},
                                     Key{"scope"},
                                     Key{"source"},
                                     Key{"supplier_footprint"},
                                     Key{"confirmed"},
                                     Key{"note"}};
constexpr std::array climate_key_list{Key{"fossil"},
                                      Key{"biogenic"},
                                      Key{"land_use"},
                                      Key{"land_management"},
                                      Key{"removals"},
                                      Key{"aircraft"},
                                      Key{"land_management_fossil"},
                                      Key{"total"},
                                      Key{"characterization"}};
constexpr std::array supplier_footprint_key_list{Key{"edition", Need::required},
                                                 Key{"id"},
                                                 Key{"status"},
                                                 Key{"potentials"},
                                                 Key{"not_carried"},
                                                 Key{"ratings"},
                                                 Key{"exempted"}};
constexpr std::array water_key_list{Key{"withdrawn"}, Key{"consumed"}, Key{"region"}, Key{"use"}};
constexpr std::array energy_key_list{Key{"renewable"}, Key{"non_renewable"}};
constexpr std::array heating_value_key_list{Key{"LHV"}, Key{"HHV"}};

const KeyTable factor_keys{"factor", factor_key_list};
const KeyTable climate_keys{"climate", climate_key_list};
const KeyTable supplier_footprint_keys{"supplier_footprint", supplier_footprint_key_list};
const KeyTable water_keys{"water", water_key_list};
const KeyTable energy_keys{"energy", energy_key_list};
const KeyTable heating_value_keys{"heating_value", heating_value_key_list};

class FactorReader {
public:
    FactorReader(Factor& factor, const std::vector<OwnIndicator>& own, Problems& problems)
        : factor_(factor), own_(own), problems_(problems) {}

    void read(const YamlValue& map, const Citation& table_source) {
        if (!check_keys(map, factor_keys, factor_.place, problems_)) return;
        factor_.title = text(map, "title");
        factor_.region = text(map, "region");
        factor_.reference_period = period(map, "reference_period");
        factor_.valid = period(map, "valid");
        factor_.note = text(map, "note");
        read_quality(map);
        read_kind(map);
        read_per(map);
        read_releases_and_climate(map);
        read_water(map);
        read_single_lines(map);
        read_energy(map);
        read_own_indicators(map);
        read_discharges(map);
        read_brings(map);
        read_conversions(map);
        share_scores();
        read_confirmed(map);
        read_source(map, table_source);
        read_supplier_footprint(map);
    }

private:
    std::string text(const YamlValue& map, std::string_view key) {
        const YamlValue* value = map.find(key);
        return value == nullptr ? std::string{} : read_text(*value, key, problems_);
    }

    std::string period(const YamlValue& map, std::string_view key) {
        const YamlValue* value = map.find(key);
        return value == nullptr ? std::string{} : read_period(*value, key, problems_);
    }

    std::optional<Stated> amount(const YamlValue& value, const std::string& path, Place where,
                                 Within within = Within::not_negative) {
        auto stated = read_stated(value, factor_.address() + "." + path, where, amount_keys,
                                  {Allow::quantity, within, {}}, problems_);
        if (stated && stated->note.empty()) stated->note = remarks();
        return stated;
    }

    /// What a reader of any of its figures should know.
    std::string remarks() const {
        std::vector<std::string> parts;
        if (!factor_.note.empty()) parts.push_back(factor_.note);
        if (factor_.primary_share)
            parts.push_back(fmt::format("primary data {}", factor_.primary_share->scalar.text));
        for (const Score& one : factor_.data_quality)
            parts.push_back(fmt::format("{} scored {} of 5", one.criterion, one.score));
        return fmt::format("{}", fmt::join(parts, "; "));
    }

    /// An amount of one of some dimensions; an example for the hint.
    std::optional<Stated> amount_of(const YamlEntry& entry, const std::string& path,
                                    std::span<const Dimension> dimensions, std::string_view example,
                                    Within within = Within::not_negative) {
        auto stated = amount(entry.value, path, key_place(entry), within);
        if (!stated) return stated;
        const bool fits = std::ranges::any_of(
            dimensions, [&](const Dimension& d) { return stated->unit().dimension == d; });
        if (!fits && !require_dimension(*stated, dimensions.front(), path, example, problems_))
            return std::nullopt;
        return stated;
    }

    void add_entry(std::string group, std::string key, Stated stated, std::size_t part = 0) {
        if (factor_.per && factor_.per->amount.quantity.value == 1.0)
            stated.per = factor_.per->unit().text;
        factor_.entries.push_back({std::move(group), std::move(key), std::move(stated), part});
    }

    void read_kind(const YamlValue& map) {
        const YamlValue* value = map.find("kind");
        if (value == nullptr || !value->is_scalar()) return;
        factor_.kind = find_kind(value->text);
        if (factor_.kind != nullptr) return read_fibre_is(map);
        std::vector<std::string> names;
        for (const KindRow& row : all_kinds()) names.emplace_back(row.name);
        const std::string near = did_you_mean(value->text, names);
        problems_.add(value->place, "unknown-kind", fmt::format("there is no kind {}", value->text),
                      near.empty() ? fmt::format("known: {}", fmt::join(names, ", ")) : near);
    }

    /// What the trade tells a composition by. Recovered fibre says it by its kind.
    void read_fibre_is(const YamlValue& map) {
        constexpr std::array<std::string_view, 4> words{"chemical", "mechanical", "recycled",
                                                        "other"};
        if (factor_.kind->name == "recovered_fibre") factor_.fibre_is = "recycled";
        const YamlEntry* entry = map.entry("fibre_is");
        if (entry == nullptr) return;
        factor_.fibre_is = text(map, "fibre_is");
        const bool is_fibre = factor_.kind->family == Family::fibre;
        if (entry->value.is_scalar() &&
            (!is_fibre || std::ranges::find(words, factor_.fibre_is) == words.end()))
            problems_.add(entry->value.place, "unknown-word",
                          is_fibre ? fmt::format("no fibre is {}", factor_.fibre_is)
                                   : fmt::format("{} is no fibre", factor_.id),
                          is_fibre ? fmt::format("{}", fmt::join(words, ", "))
                                   : std::string("leave it to what is fibre"));
    }

    void read_per(const YamlValue& map) {
        const YamlEntry* entry = map.entry("per");
        if (entry == nullptr) return;
        factor_.per = amount(entry->value, "per", key_place(*entry), Within::positive);
        if (factor_.per && factor_.per->amount.quantity.unit.text.empty()) {
            problems_.add(factor_.per->place(), "missing-unit",
                          "per says no unit, and what uses this factor is counted in it",
                          "per: 1 kg, per: 1 kWh, per: 1 piece");
        }
    }

    void read_releases_and_climate(const YamlValue& map) {
        const YamlEntry* releases = map.entry("releases");
        const YamlEntry* climate = map.entry("climate");
        if (releases != nullptr && climate != nullptr) {
            problems_.add(key_place(*climate), "releases-and-climate",
                          "a factor states the gases it releases or its CO2e, not both",
                          "keep `releases` when the source gives the gases", {releases->place});
        }
        if (releases != nullptr) read_releases(*releases);
        if (climate != nullptr) read_climate(*climate);
    }

    void read_releases(const YamlEntry& releases) {
        if (!releases.value.is_map()) {
            problems_.add(key_place(releases), "not-a-mapping",
                          "releases is a mapping of gases to masses", "{co2_fossil: 56.1 kg}");
            return;
        }
        const std::array masses{dimensions::mass};
        for (const YamlEntry& gas : releases.value.entries) {
            if (!check_id(gas.key, key_place(gas), "a gas", problems_)) continue;
            if (auto stated = amount_of(gas, "releases." + gas.key, masses, "1.2 kg")) {
                add_entry("releases", gas.key, std::move(*stated));
            }
        }
        if (releases.value.entries.empty()) {
            problems_.add(key_place(releases), "empty-value", "releases lists no gas",
                          "write co2_fossil: 0 kg for none");
        }
    }

    void read_climate(const YamlEntry& climate) {
        if (!check_keys(climate.value, climate_keys, key_place(climate), problems_)) return;
        const std::array masses{dimensions::mass, dimensions::co2e};
        for (const YamlEntry& line : climate.value.entries) {
            if (line.key == "characterization") {
                factor_.characterization = read_text(line.value, "characterization", problems_);
            } else if (climate_key_list.end() !=
                       std::ranges::find_if(climate_key_list,
                                            [&](const Key& k) { return k.name == line.key; })) {
                if (auto stated = amount_of(line, "climate." + line.key, masses, "0.218 kg CO2e")) {
                    add_entry("climate", line.key, std::move(*stated));
                }
            }
        }
        check_total(climate);
        for (const std::string_view memo : {"aircraft", "land_management_fossil"}) {
            check_memo(memo, "fossil");
            check_memo(memo, "total");
        }
        if (factor_.characterization.empty()) {
            problems_.add(key_place(climate), "missing-characterization",
                          "CO2e needs the set of warming potentials it rests on",
                          "add characterization: ar5_100, or the set the source names");
        }
    }

    /// A memo is part of the line it stands inside.
    void check_memo(std::string_view memo, std::string_view line) {
        const FactorEntry *part = factor_.entry("climate", memo),
                          *whole = factor_.entry("climate", line);
        if (part == nullptr || whole == nullptr) return;
        const auto same = conversion(part->stated.unit(), whole->stated.unit());
        if (!same ||
            same->apply(part->stated.amount.quantity.value) <= whole->stated.amount.quantity.value)
            return;
        problems_.add(part->stated.place(), "part-above-whole",
                      fmt::format("{} of {} is more than {} of {}", part->stated.scalar.text, memo,
                                  whole->stated.scalar.text, line),
                      fmt::format("{} is already inside {}", memo, line), {whole->stated.place()});
    }

    void check_total(const YamlEntry& climate) {
        const FactorEntry* total = factor_.entry("climate", "total");
        for (const std::string_view part : {"fossil", "biogenic", "land_use"}) {
            if (total != nullptr && factor_.entry("climate", part) != nullptr) {
                problems_.add(total->stated.place(), "total-and-parts",
                              "total stands beside one of its parts",
                              "keep the parts, or the total alone", {climate.place});
                return;
            }
        }
    }

    void read_water(const YamlValue& map) {
        const YamlEntry* water = map.entry("water");
        if (water == nullptr) return;
        if (!water->value.is_list()) {
            read_water_part(water->value, "water", key_place(*water));
            return;
        }
        std::size_t number = 0;
        for (const YamlValue& item : water->value.items) {
            read_water_part(item, fmt::format("water.{}", ++number), key_place(*water));
        }
    }

    void read_water_part(const YamlValue& map, const std::string& path, Place where) {
        if (!check_keys(map, water_keys, where, problems_)) return;
        const std::size_t part = factor_.waters.size();
        factor_.waters.push_back({text(map, "region"), text(map, "use"), map.place});
        if (const YamlValue* use = map.find("use"))
            check_word(*use, factor_.waters.back().use, water_uses(), "use", problems_);
        const std::array volumes{dimensions::volume()};
        const Stated* withdrawn = nullptr;
        for (const std::string_view key : {"withdrawn", "consumed"}) {
            const YamlEntry* entry = map.entry(key);
            if (entry == nullptr) continue;
            if (auto stated = amount_of(*entry, path + "." + std::string(key), volumes, "9.0 L")) {
                add_entry("water", std::string(key), std::move(*stated), part);
            }
        }
        for (const FactorEntry& entry : factor_.entries) {
            if (entry.group != "water" || entry.water_part != part) continue;
            if (entry.key == "withdrawn") withdrawn = &entry.stated;
            if (entry.key == "consumed" && withdrawn != nullptr)
                check_consumed(*withdrawn, entry.stated);
        }
    }

    void check_consumed(const Stated& withdrawn, const Stated& consumed) {
        const auto converted = conversion(consumed.unit(), withdrawn.unit());
        if (!converted ||
            converted->apply(consumed.amount.quantity.value) <= withdrawn.amount.quantity.value)
            return;
        problems_.add(consumed.place(), "consumed-above-withdrawn",
                      fmt::format("{} consumed is more than {} withdrawn", consumed.scalar.text,
                                  withdrawn.scalar.text),
                      "consumption is the part of a withdrawal that does not return",
                      {withdrawn.place()});
    }

    /// Groups of one value: fibre, biogenic_carbon, land_occupied, cost.
    void read_single_lines(const YamlValue& map) {
        const std::array masses{dimensions::mass, dimensions::dry_mass()};
        const std::array land{dimensions::area() * dimensions::time};
        for (const std::string_view group : {"fibre", "biogenic_carbon", "land_occupied", "cost"}) {
            const YamlEntry* entry = map.entry(group);
            if (entry == nullptr) continue;
            std::optional<Stated> stated;
            if (group == "cost") stated = amount(entry->value, "cost", key_place(*entry));
            else if (group == "land_occupied")
                stated = amount_of(*entry, std::string(group), land, "0.8 m2 year");
            else stated = amount_of(*entry, std::string(group), masses, "0.9 t dry");
            if (stated && group == "cost" && !stated->unit().dimension.has_money()) {
                problems_.add(stated->place(), "wrong-unit",
                              "cost is an amount of money with its year",
                              "for example 38 EUR_2025");
                continue;
            }
            if (stated) add_entry(std::string(group), {}, std::move(*stated));
        }
    }

    void read_energy(const YamlValue& map) {
        const YamlEntry* energy = map.entry("energy");
        if (energy == nullptr ||
            !check_keys(energy->value, energy_keys, key_place(*energy), problems_))
            return;
        const std::array energies{dimensions::energy(), dimensions::energy_lhv()};
        for (const YamlEntry& line : energy->value.entries) {
            if (line.key != "renewable" && line.key != "non_renewable") continue;
            if (auto stated = amount_of(line, "energy." + line.key, energies, "3.6 MJ")) {
                add_entry("energy", line.key, std::move(*stated));
            }
        }
    }

    void read_own_indicators(const YamlValue& map) {
        const YamlEntry* entry = map.entry("indicators");
        if (!is_mapping(entry, "{dust: 2 g}", problems_)) return;
        for (const YamlEntry& line : entry->value.entries) {
            const auto known =
                std::ranges::find_if(own_, [&](const OwnIndicator& o) { return o.id == line.key; });
            if (known == own_.end()) {
                std::vector<std::string> names;
                for (const auto& one : own_) names.push_back(one.id);
                problems_.add(key_place(line), "unknown-indicator",
                              fmt::format("the table declares no indicator {}", line.key),
                              names.empty() ? "declare it under `indicators` of the table"
                                            : did_you_mean(line.key, names));
                continue;
            }
            const UnitResult unit = parse_unit(known->unit);
            if (!unit.unit) continue;  // reported with the declaration
            const std::array expected{unit.unit->dimension};
            if (auto stated =
                    amount_of(line, "indicators." + line.key, expected, "1 " + known->unit)) {
                add_entry("indicators", line.key, std::move(*stated));
            }
        }
    }

    void read_discharges(const YamlValue& map) {
        const YamlEntry* entry = map.entry("discharges");
        if (!is_mapping(entry, "{cod: 12 kg, nitrogen: 0.2 kg}", problems_)) return;
        for (const YamlEntry& line : entry->value.entries) {
            const DischargeRow* row = find_discharge(line, problems_);
            if (row == nullptr) continue;
            const std::array expected{known_unit(row->unit).dimension};
            const std::string example = "1 " + std::string(row->unit);
            if (auto stated = amount_of(line, "discharges." + line.key, expected, example))
                add_entry("discharges", line.key, std::move(*stated));
        }
    }

    void read_brings(const YamlValue& map) {
        const YamlEntry* brings = map.entry("brings");
        if (brings == nullptr) return;
        if (!brings->value.is_map()) {
            problems_.add(key_place(*brings), "not-a-mapping",
                          "brings is a mapping of factors to amounts", "{gas_supply: 1 GJ LHV}");
            return;
        }
        for (const YamlEntry& entry : brings->value.entries) {
            if (auto stated = amount(entry.value, "brings." + entry.key, key_place(entry))) {
                factor_.brings.push_back({entry.key, key_place(entry), std::move(*stated)});
            }
        }
    }

    void read_conversions(const YamlValue& map) {
        if (const YamlEntry* values = map.entry("heating_value");
            values != nullptr &&
            check_keys(values->value, heating_value_keys, key_place(*values), problems_)) {
            for (const YamlEntry& entry : values->value.entries) read_heating_value(entry);
        }
        check_heating_values();
        if (const YamlEntry* entry = map.entry("density")) {
            const std::array densities{dimensions::mass / dimensions::volume(),
                                       dimensions::mass / dimensions::gas_volume,
                                       dimensions::dry_mass() / dimensions::volume()};
            factor_.density =
                amount_of(*entry, "density", densities, "0.832 kg/L", Within::positive);
        }
        if (const YamlEntry* entry = map.entry("dryness")) {
            const std::array numbers{dimensions::number};
            factor_.dryness = amount_of(*entry, "dryness", numbers, "90 %", Within::part);
        }
    }

    void read_heating_value(const YamlEntry& entry) {
        if (entry.key != "LHV" && entry.key != "HHV") return;
        auto stated =
            amount(entry.value, "heating_value." + entry.key, key_place(entry), Within::positive);
        if (!stated) return;
        const Dimension plain = stated->unit().dimension.without_basis();
        const bool fits = plain == dimensions::energy() / dimensions::mass ||
                          plain == dimensions::energy() / dimensions::volume() ||
                          plain == dimensions::energy() / dimensions::gas_volume;
        if (!fits) {
            problems_.add(stated->place(), "wrong-unit",
                          "a heating value is energy per mass or per volume",
                          "for example 36.0 MJ/Nm3");
            return;
        }
        (entry.key == "LHV" ? factor_.lhv : factor_.hhv) = std::move(stated);
    }

    /// The higher heating value counts the heat of condensing water besides: it is never the lower.
    void check_heating_values() {
        if (!factor_.lhv || !factor_.hhv) return;
        const auto same = conversion(factor_.lhv->unit(), factor_.hhv->unit());
        if (!same) return;
        const double lower = same->apply(factor_.lhv->amount.quantity.value);
        if (lower <= factor_.hhv->amount.quantity.value) return;
        problems_.add(factor_.hhv->place(), "lower-above-higher",
                      fmt::format("the lower heating value {} is above the higher {}",
                                  factor_.lhv->scalar.text, factor_.hhv->scalar.text),
                      "LHV is without, HHV with the heat of condensing water",
                      {factor_.lhv->place()});
    }

    void share_scores() {
        for (FactorEntry& line : factor_.entries) {
            if (line.stated.scores.empty()) line.stated.scores = factor_.data_quality;
        }
    }

    void read_quality(const YamlValue& map) {
        if (const YamlEntry* entry = map.entry("primary_share")) {
            const std::array numbers{dimensions::number};
            factor_.primary_share =
                amount_of(*entry, "primary_share", numbers, "40 %", Within::share);
        }
        if (const YamlEntry* entry = map.entry("data_quality")) {
            factor_.data_quality = read_scores(*entry, problems_);
        }
        factor_.scope = text(map, "scope");
        if (!factor_.scope.empty() && factor_.scope != "1" && factor_.scope != "2" &&
            factor_.scope != "3") {
            problems_.add(map.find("scope")->place, "unknown-word",
                          fmt::format("there is no scope {}", factor_.scope), "1, 2 or 3");
        }
    }

    void read_confirmed(const YamlValue& map) {
        const YamlValue* value = map.find("confirmed");
        if (value == nullptr) return;
        const std::size_t before = problems_.count();
        factor_.confirmed = read_yes(*value, "confirmed", problems_);
        if (problems_.count() == before && !factor_.confirmed && factor_.note.empty()) {
            problems_.add(value->place, "missing-note",
                          "a figure that is not confirmed needs a note",
                          "say where it comes from and what must be looked up");
        }
    }

    void read_source(const YamlValue& map, const Citation& table_source) {
        const YamlEntry* source = map.entry("source");
        factor_.source = source == nullptr
                             ? table_source
                             : read_citation(source->value, key_place(*source), problems_);
        if (factor_.source.empty() && !map.refused) {
            problems_.add(factor_.place, "missing-source",
                          fmt::format("{} has no source, nor has its table", factor_.id),
                          "source: {title: ..., year: ...}");
        }
    }

    void read_supplier_footprint(const YamlValue& map) {
        const YamlEntry* entry = map.entry("supplier_footprint");
        if (entry == nullptr ||
            !check_keys(entry->value, supplier_footprint_keys, key_place(*entry), problems_))
            return;
        SupplierFootprint& supplier = factor_.supplier;
        supplier.edition = text(entry->value, "edition");
        supplier.id = text(entry->value, "id");
        supplier.status = text(entry->value, "status");
        supplier.not_carried = text(entry->value, "not_carried");
        if (const YamlEntry* left = entry->value.entry("exempted")) {
            const std::array share{dimensions::number};
            supplier.exempted =
                amount_of(*left, "supplier_footprint.exempted", share, "2.9 %", Within::share);
        }
        if (!supplier.status.empty() && supplier.status != "active" &&
            supplier.status != "deprecated")
            problems_.add(entry->value.find("status")->place, "unknown-word",
                          fmt::format("there is no status {}", supplier.status),
                          "active or deprecated");
        read_supplier_lists(entry->value, supplier, problems_);
    }

    Factor& factor_;
    const std::vector<OwnIndicator>& own_;
    Problems& problems_;
};

}  // namespace

bool is_mapping(const YamlEntry* entry, std::string_view example, Problems& problems) {
    if (entry == nullptr || entry->value.kind == YamlValue::Kind::nothing) return false;
    if (entry->value.is_map()) return true;
    problems.add(key_place(*entry), "not-a-mapping",
                 fmt::format("{} is a mapping, not {}", entry->key, entry->value.kind_text()),
                 std::string(example));
    return false;
}

Factor read_factor(const YamlEntry& entry, const FactorTable& table, Problems& problems) {
    Factor factor;
    factor.table = table.id;
    factor.id = entry.key;
    factor.place = key_place(entry);
    FactorReader(factor, table.indicators, problems).read(entry.value, table.source);
    return factor;
}

std::vector<const KeyTable*> factor_key_tables() {
    return {&factor_keys, &climate_keys,       &supplier_footprint_keys, &water_keys,
            &energy_keys, &heating_value_keys, &data_quality_keys,       &source_keys,
            &amount_keys, &spread_keys};
}

}  // namespace deckle
