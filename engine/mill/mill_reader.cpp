#include <fmt/format.h>

#include <algorithm>
#include <array>

#include "engine/mill/mill.h"
#include "engine/tables/factor.h"
#include "engine/tables/kind.h"
#include "engine/text/nearest.h"

namespace deckle {
namespace {

constexpr std::array mill_key_list{Key{"mill", Need::required},
                                   Key{"title", Need::required},
                                   Key{"period"},
                                   Key{"note"},
                                   Key{"figures"},
                                   Key{"waters"},
                                   Key{"processes", Need::required}};
constexpr std::array process_key_list{
    Key{"title"},    Key{"stage"},      Key{"run_by"},   Key{"makes", Need::required},
    Key{"uses"},     Key{"returns"},    Key{"releases"}, Key{"discharges"},
    Key{"takes_in"}, Key{"gives_back"}, Key{"leaves"},   Key{"allocation"},
    Key{"exergy"},   Key{"reason"},     Key{"losses"},   Key{"note"}};
constexpr std::array made_key_list{Key{"amount", Need::required},
                                   Key{"kind"},
                                   Key{"dryness"},
                                   Key{"composition"},
                                   Key{"carbon"},
                                   Key{"price"},
                                   Key{"pressure"},
                                   Key{"temperature"},
                                   Key{"condensate"},
                                   Key{"make_up"},
                                   Key{"spread"},
                                   Key{"data_quality"},
                                   Key{"amount_is"},
                                   Key{"source"},
                                   Key{"note"}};
constexpr std::array use_key_list{Key{"amount", Need::required},
                                  Key{"dryness"},
                                  Key{"freight"},
                                  Key{"supply"},
                                  Key{"pressure"},
                                  Key{"temperature"},
                                  Key{"condensate"},
                                  Key{"make_up"},
                                  Key{"spread"},
                                  Key{"data_quality"},
                                  Key{"amount_is"},
                                  Key{"source"},
                                  Key{"note"}};
constexpr std::array condensate_key_list{Key{"return", Need::required},
                                         Key{"temperature", Need::required}};
constexpr std::array freight_key_list{Key{"by", Need::required}, Key{"distance", Need::required}};
constexpr std::array water_key_list{Key{"from"}, Key{"to"},     Key{"basin"}, Key{"region"},
                                    Key{"use"},  Key{"factor"}, Key{"note"}};
constexpr std::array flow_key_list{Key{"amount", Need::required},
                                   Key{"purpose"},
                                   Key{"spread"},
                                   Key{"data_quality"},
                                   Key{"amount_is"},
                                   Key{"source"},
                                   Key{"note"}};
constexpr std::array carbon_key_list{Key{"biogenic"}, Key{"fossil"}};
constexpr std::array allocation_key_list{Key{"reference_efficiencies", Need::required}};
constexpr std::array efficiencies_key_list{Key{"heat", Need::required},
                                           Key{"power", Need::required}};
constexpr std::array exergy_key_list{Key{"ambient", Need::required}};
constexpr std::array leaves_key_list{Key{"vapour"}, Key{"solids"}};

const KeyTable mill_keys{"mill", mill_key_list};
const KeyTable process_keys{"process", process_key_list};
const KeyTable made_keys{"makes", made_key_list};
const KeyTable use_keys{"use", use_key_list};
const KeyTable condensate_keys{"condensate", condensate_key_list};
const KeyTable freight_keys{"freight", freight_key_list};
const KeyTable water_keys{"waters", water_key_list};
const KeyTable flow_keys{"flow", flow_key_list};
const KeyTable carbon_keys{"carbon", carbon_key_list};
const KeyTable allocation_keys{"allocation by reference efficiencies", allocation_key_list};
const KeyTable efficiencies_keys{"reference_efficiencies", efficiencies_key_list};
const KeyTable exergy_keys{"exergy", exergy_key_list};
const KeyTable leaves_keys{"leaves", leaves_key_list};

constexpr std::array<std::string_view, 3> runners{"own", "energy_supplier", "other"};
constexpr std::array<std::string_view, 5> allocation_methods{"mass", "energy", "exergy", "price",
                                                             "value_ratio"};
constexpr std::array<std::string_view, 5> water_sources{"surface", "ground", "supply", "rain",
                                                        "sea"};

constexpr StatedRules formula_rules{Allow::formula, Within::not_negative, {}};
constexpr StatedRules any_sign{Allow::formula, Within::any, {}};
constexpr StatedRules share_rules{Allow::formula, Within::share, {}};
constexpr StatedRules dryness_rules{Allow::formula, Within::part, {}};
constexpr StatedRules losses_rules{Allow::formula, Within::below_whole, {}};
constexpr StatedRules carbon_rules{Allow::formula, Within::not_negative, {}, true};
constexpr StatedRules positive_rules{Allow::formula, Within::positive, {}};

constexpr std::string_view shares_hint =
    "a share for each product: allocation: {steam: 60 %, power: 40 %}";

/// A method that is one word; one that needs numbers is a mapping.
void check_allocation_word(const YamlValue& value, Problems& problems) {
    if (value.text == "reference_efficiencies" || value.text == "shares") {
        problems.add(value.place, "unknown-word",
                     fmt::format("allocation: {} needs its numbers", value.text),
                     value.text == "shares"
                         ? std::string(shares_hint)
                         : "allocation: {reference_efficiencies: {heat: 90 %, power: 52.5 %}}");
        return;
    }
    check_word(value, value.text, allocation_methods, "allocation", problems);
}

std::string text_at(const YamlValue& map, std::string_view key, Problems& problems) {
    const YamlValue* value = map.find(key);
    return value == nullptr ? std::string{} : read_text(*value, key, problems);
}

/// An optional amount under `key`, of a given dimension.
std::optional<Stated> amount_at(const YamlValue& map, std::string_view key, const std::string& base,
                                const Dimension& dimension, std::string_view example,
                                Problems& problems, const StatedRules& rules = formula_rules) {
    const YamlEntry* entry = map.entry(key);
    if (entry == nullptr) return std::nullopt;
    auto stated = read_stated(entry->value, fmt::format("{}.{}", base, key), key_place(*entry),
                              amount_keys, rules, problems);
    if (stated && !require_dimension(*stated, dimension, key, example, problems))
        return std::nullopt;
    return stated;
}

std::optional<Stated> free_amount_at(const YamlValue& map, std::string_view key,
                                     const std::string& base, Problems& problems,
                                     const StatedRules& rules = formula_rules) {
    const YamlEntry* entry = map.entry(key);
    if (entry == nullptr) return std::nullopt;
    return read_stated(entry->value, fmt::format("{}.{}", base, key), key_place(*entry),
                       amount_keys, rules, problems);
}

/// A mapping under `key`, or nullptr; anything else there is reported.
const YamlEntry* mapping_at(const YamlValue& map, std::string_view key, Problems& problems) {
    const YamlEntry* entry = map.entry(key);
    if (entry == nullptr || entry->value.kind == YamlValue::Kind::nothing) return nullptr;
    if (entry->value.is_map()) return entry;
    problems.add(key_place(*entry), "not-a-mapping",
                 fmt::format("{} is a mapping, not {}", key, entry->value.kind_text()), "");
    return nullptr;
}

SteamState read_steam(const YamlValue& map, const std::string& base, Problems& problems) {
    SteamState steam;
    if (!map.is_map()) return steam;
    for (const std::string_view key : {"make_up", "condensate", "temperature", "pressure"}) {
        if (const YamlEntry* entry = map.entry(key)) steam.place = key_place(*entry);
    }
    steam.pressure =
        amount_at(map, "pressure", base, dimensions::pressure(), "7 bar or 6 barg", problems);
    steam.temperature = amount_at(map, "temperature", base, dimensions::temperature, "175 degC",
                                  problems, any_sign);
    steam.make_up =
        amount_at(map, "make_up", base, dimensions::temperature, "15 degC", problems, any_sign);
    if (const YamlEntry* condensate = mapping_at(map, "condensate", problems);
        condensate != nullptr &&
        check_keys(condensate->value, condensate_keys, key_place(*condensate), problems)) {
        const std::string path = base + ".condensate";
        steam.condensate_return = amount_at(condensate->value, "return", path, dimensions::number,
                                            "85 %", problems, share_rules);
        steam.condensate_temperature =
            amount_at(condensate->value, "temperature", path, dimensions::temperature, "90 degC",
                      problems, any_sign);
    }
    return steam;
}

Composition read_composition(const YamlEntry& entry, const std::string& base, Problems& problems) {
    Composition composition;
    composition.place = key_place(entry);
    if (entry.value.is_scalar()) {
        composition.place = entry.value.place;
        composition.like = entry.value.text;
        return composition;
    }
    if (!entry.value.is_map()) {
        problems.add(key_place(entry), "not-a-mapping",
                     "composition is a mapping of parts to shares, or the id of a product",
                     "{fibre: 95 %, moisture: 5 %}");
        return composition;
    }
    for (const YamlEntry& part : entry.value.entries) {
        check_id(part.key, key_place(part), "a part", problems);
        auto share = amount_at(entry.value, part.key, base + ".composition", dimensions::number,
                               "94.6 %", problems, share_rules);
        if (share) composition.parts.push_back({part.key, std::move(*share)});
    }
    return composition;
}

class ProcessReader {
public:
    ProcessReader(Process& process, Problems& problems) : process_(process), problems_(problems) {}

    void read(const YamlValue& map) {
        if (!check_keys(map, process_keys, process_.place, problems_)) return;
        process_.title = text_at(map, "title", problems_);
        process_.stage = text_at(map, "stage", problems_);
        process_.reason = text_at(map, "reason", problems_);
        process_.note = text_at(map, "note", problems_);
        if (const YamlValue* stage = map.find("stage");
            stage != nullptr && !process_.stage.empty()) {
            check_id(process_.stage, stage->place, "a stage", problems_);
        }
        if (const YamlValue* runner = map.find("run_by")) {
            process_.run_by = read_text(*runner, "run_by", problems_);
            check_word(*runner, process_.run_by, runners, "run_by", problems_);
        }
        read_makes(map);
        if (const YamlEntry* uses = mapping_at(map, "uses", problems_))
            process_.uses = read_uses(uses->value, base() + ".uses", problems_);
        process_.returns = named(map, "returns");
        process_.releases = named(map, "releases");
        process_.discharges = named(map, "discharges");
        process_.leaves = named(map, "leaves");
        if (const YamlEntry* leaves = mapping_at(map, "leaves", problems_))
            check_keys(leaves->value, leaves_keys, key_place(*leaves), problems_);
        process_.takes_in = flows(map, "takes_in");
        process_.gives_back = flows(map, "gives_back");
        read_allocation_of(map);
        process_.losses =
            amount_at(map, "losses", base(), dimensions::number, "2 %", problems_, losses_rules);
        if (const YamlEntry* exergy = mapping_at(map, "exergy", problems_);
            exergy != nullptr &&
            check_keys(exergy->value, exergy_keys, key_place(*exergy), problems_)) {
            process_.ambient = amount_at(exergy->value, "ambient", base() + ".exergy",
                                         dimensions::temperature, "10 degC", problems_, any_sign);
        }
    }

private:
    std::string base() const { return process_.address(); }

    void read_makes(const YamlValue& map) {
        const YamlEntry* makes = mapping_at(map, "makes", problems_);
        if (makes == nullptr) return;
        if (makes->value.entries.empty()) {
            problems_.add(key_place(*makes), "empty-value", "a process makes at least one product",
                          "");
        }
        for (const YamlEntry& entry : makes->value.entries) {
            if (!check_id(entry.key, key_place(entry), "a product", problems_)) continue;
            read_made(entry);
        }
    }

    void read_made(const YamlEntry& entry) {
        const std::string path = fmt::format("{}.makes.{}", base(), entry.key);
        auto amount =
            read_stated(entry.value, path, key_place(entry), made_keys, positive_rules, problems_);
        if (!amount) return;
        Made made;
        made.id = entry.key;
        made.place = key_place(entry);
        made.amount = std::move(*amount);
        if (entry.value.is_map()) read_made_keys(entry.value, path, made);
        process_.makes.push_back(std::move(made));
    }

    void read_made_keys(const YamlValue& map, const std::string& path, Made& made) {
        if (const YamlValue* kind = map.find("kind")) {
            made.kind = read_text(*kind, "kind", problems_);
            std::vector<std::string_view> known;
            for (const ProductKind& row : all_product_kinds()) known.push_back(row.name);
            check_word(*kind, made.kind, known, "kind", problems_);
        }
        made.dryness =
            amount_at(map, "dryness", path, dimensions::number, "95 %", problems_, dryness_rules);
        made.price = free_amount_at(map, "price", path, problems_);
        if (made.price && made.price->is_quantity() && !made.price->unit().dimension.has_money()) {
            problems_.add(made.price->place(), "wrong-unit", "a price is money per unit",
                          "for example 1400 EUR_2025/t");
        }
        made.steam = read_steam(map, path, problems_);
        if (const YamlEntry* composition = map.entry("composition"))
            made.composition = read_composition(*composition, path, problems_);
        if (const YamlEntry* carbon = mapping_at(map, "carbon", problems_);
            carbon != nullptr &&
            check_keys(carbon->value, carbon_keys, key_place(*carbon), problems_)) {
            made.carbon = Carbon{
                free_amount_at(carbon->value, "biogenic", path + ".carbon", problems_,
                               carbon_rules),
                free_amount_at(carbon->value, "fossil", path + ".carbon", problems_, carbon_rules),
                carbon->place};
        }
    }

    std::vector<NamedAmount> named(const YamlValue& map, std::string_view key) {
        std::vector<NamedAmount> list;
        const YamlEntry* entry = mapping_at(map, key, problems_);
        if (entry == nullptr) return list;
        for (const YamlEntry& one : entry->value.entries) {
            if (!check_id(one.key, key_place(one), key == "releases" ? "a gas" : "a flow",
                          problems_))
                continue;
            if (key == "discharges" && find_discharge(one, problems_) == nullptr) continue;
            auto stated =
                free_amount_at(entry->value, one.key, fmt::format("{}.{}", base(), key), problems_);
            if (stated) list.push_back({one.key, key_place(one), std::move(*stated)});
        }
        return list;
    }

    std::vector<WaterFlow> flows(const YamlValue& map, std::string_view key) {
        std::vector<WaterFlow> list;
        const YamlEntry* entry = mapping_at(map, key, problems_);
        if (entry == nullptr) return list;
        for (const YamlEntry& one : entry->value.entries) {
            auto stated = read_stated(one.value, fmt::format("{}.{}.{}", base(), key, one.key),
                                      key_place(one), flow_keys, formula_rules, problems_);
            if (!stated) continue;
            WaterFlow flow{one.key, {}, key_place(one), std::move(*stated)};
            if (one.value.is_map()) flow.purpose = text_at(one.value, "purpose", problems_);
            list.push_back(std::move(flow));
        }
        return list;
    }

    void read_allocation_of(const YamlValue& map) {
        if (const YamlEntry* entry = map.entry("allocation"))
            process_.allocation = read_allocation(*entry, base() + ".allocation", problems_);
    }

    Process& process_;
    Problems& problems_;
};

/// Keys that would count for nothing. What goes back to the sea or with the rain is in no basin's
/// account, and what a supply brings stands in its factor.
void check_idle_keys(const YamlValue& map, const Water& water, Problems& problems) {
    const auto refuse = [&](std::string_view key, bool serves, std::string_view hint) {
        const YamlEntry* entry = map.entry(key);
        if (entry == nullptr || serves) return;
        problems.add(key_place(*entry), "unknown-key",
                     fmt::format("{} of {} counts for nothing", key, water.id), std::string(hint));
    };
    refuse("factor", water.from == "supply", "only water from a supply has a factor");
    const bool weighed = water.is_basin() || water.from.empty();
    refuse("region", weighed,
           "scarcity is told of surface and ground water, and of a supply's factor");
    refuse("use", weighed,
           "scarcity is told of surface and ground water, and of a supply's factor");
}

void read_waters(const YamlValue& root, Mill& mill, Problems& problems) {
    const YamlEntry* waters = mapping_at(root, "waters", problems);
    if (waters == nullptr) return;
    for (const YamlEntry& entry : waters->value.entries) {
        if (!check_id(entry.key, key_place(entry), "a water", problems)) continue;
        if (!check_keys(entry.value, water_keys, key_place(entry), problems)) continue;
        Water water{entry.key,
                    text_at(entry.value, "from", problems),
                    text_at(entry.value, "to", problems),
                    text_at(entry.value, "basin", problems),
                    text_at(entry.value, "region", problems),
                    text_at(entry.value, "use", problems),
                    text_at(entry.value, "factor", problems),
                    key_place(entry),
                    {}};
        if (const YamlValue* region = entry.value.find("region"))
            water.region_place = region->place;
        if (const YamlValue* from = entry.value.find("from"))
            check_word(*from, water.from, water_sources, "from", problems);
        if (const YamlValue* use = entry.value.find("use"))
            check_word(*use, water.use, water_uses(), "use", problems);
        if (water.from.empty() && water.to.empty()) {
            problems.add(water.place, "missing-key",
                         fmt::format("{} comes from or goes to somewhere", water.id),
                         "from: surface, ground, supply, rain or sea; or to: works");
        }
        if (water.from == "supply" && water.factor.empty()) {
            problems.add(water.place, "missing-key",
                         fmt::format("{} comes from a supply without a factor", water.id),
                         "factor: ID of a water_supply factor");
        }
        if ((water.from == "surface" || water.from == "ground") && water.basin.empty()) {
            problems.add(water.place, "missing-key",
                         fmt::format("{} comes from no basin", water.id),
                         "basin: a name; what returns to it is not consumed");
        }
        if (water.from.empty() ||
            std::ranges::find(water_sources, water.from) != water_sources.end())
            check_idle_keys(entry.value, water, problems);
        mill.waters.push_back(std::move(water));
    }
}

void read_figures(const YamlValue& root, Mill& mill, Problems& problems) {
    const YamlEntry* figures = mapping_at(root, "figures", problems);
    if (figures == nullptr) return;
    for (const YamlEntry& entry : figures->value.entries) {
        if (!check_id(entry.key, key_place(entry), "a figure", problems)) continue;
        auto stated =
            free_amount_at(figures->value, entry.key, mill.id + ".figures", problems, any_sign);
        if (stated) mill.figures.push_back({entry.key, key_place(entry), std::move(*stated)});
    }
}

}  // namespace

const Made* Process::made(std::string_view wanted) const {
    const auto found = std::ranges::find_if(makes, [&](const Made& m) { return m.id == wanted; });
    return found == makes.end() ? nullptr : &*found;
}

const Water* Mill::water(std::string_view wanted) const {
    const auto found = std::ranges::find_if(waters, [&](const Water& w) { return w.id == wanted; });
    return found == waters.end() ? nullptr : &*found;
}

std::string flow_label(const Water& water, const WaterFlow& flow) {
    return flow.purpose.empty() ? water.id : fmt::format("{}, {}", water.id, flow.purpose);
}

const Process* Mill::process(std::string_view wanted) const {
    const auto found =
        std::ranges::find_if(processes, [&](const Process& p) { return p.id == wanted; });
    return found == processes.end() ? nullptr : &*found;
}

void split_use_key(std::string_view key, Place place, Use& use, Problems& problems) {
    if (const std::size_t as = key.find(" as "); as != std::string_view::npos) {
        use.name = std::string(key.substr(as + 4));
        key = key.substr(0, as);
        check_id(use.name, place, "a use", problems);
    }
    if (key.starts_with("made.")) {
        use.space = Use::Space::made;
        key.remove_prefix(5);
    } else if (key.starts_with("factor.")) {
        use.space = Use::Space::factor;
        key.remove_prefix(7);
    }
    use.thing = std::string(key);
    if (use.name.empty())
        use.name = std::string(
            key.substr(key.rfind('.') == std::string_view::npos ? 0 : key.rfind('.') + 1));
}

Allocation read_allocation(const YamlEntry& entry, const std::string& base, Problems& problems) {
    const YamlValue& value = entry.value;
    Allocation allocation;
    allocation.place = key_place(entry);
    if (value.is_scalar()) {
        allocation.method = value.text;
        check_allocation_word(value, problems);
    } else if (const YamlEntry* efficiencies = value.entry("reference_efficiencies")) {
        allocation.method = "reference_efficiencies";
        check_keys(value, allocation_keys, allocation.place, problems);
        if (!check_keys(efficiencies->value, efficiencies_keys, key_place(*efficiencies), problems))
            return allocation;
        const auto efficiency = [&](std::string_view key, std::string_view example) {
            return amount_at(efficiencies->value, key, base + ".reference_efficiencies",
                             dimensions::number, example, problems, positive_rules);
        };
        allocation.heat_efficiency = efficiency("heat", "90 %");
        allocation.power_efficiency = efficiency("power", "52.5 %");
    } else if (const YamlEntry* shares = value.entry("shares"); shares && shares->value.is_map()) {
        problems.add(key_place(*shares), "unknown-key", "shares stand in allocation itself",
                     std::string(shares_hint));
    } else if (value.is_map()) {
        allocation.method = "shares";
        for (const YamlEntry& one : value.entries) {
            auto share =
                amount_at(value, one.key, base, dimensions::number, "60 %", problems, share_rules);
            if (share) allocation.shares.push_back({one.key, key_place(one), std::move(*share)});
        }
    } else if (value.kind != YamlValue::Kind::nothing) {
        problems.add(allocation.place, "not-a-mapping",
                     "allocation is a method or a mapping of products to shares, not a list",
                     fmt::format("known: {}", fmt::join(allocation_methods, ", ")));
    }
    return allocation;
}

Process read_process(const std::string& mill, const std::string& id, Place place,
                     const YamlValue& map, Problems& problems) {
    Process process;
    process.mill = mill;
    process.id = id;
    process.place = place;
    ProcessReader(process, problems).read(map);
    return process;
}

std::vector<Freight> read_freight(const YamlValue& list, const std::string& base,
                                  Problems& problems) {
    std::vector<Freight> freight;
    if (!list.is_list()) {
        problems.add(list.place, "not-a-list", "freight is a list of legs",
                     "[{by: truck, distance: 120 km}]");
        return freight;
    }
    for (std::size_t i = 0; i < list.items.size(); ++i) {
        const YamlValue& item = list.items[i];
        if (!check_keys(item, freight_keys, list.place, problems)) continue;
        const std::string path = fmt::format("{}.{}", base, i + 1);
        auto distance = amount_at(item, "distance", path, dimensions::length, "120 km", problems);
        const YamlEntry* by = item.entry("by");
        if (distance && by != nullptr)
            freight.push_back(
                {read_text(by->value, "by", problems), by->value.place, std::move(*distance)});
    }
    return freight;
}

std::vector<Use> read_uses(const YamlValue& map, const std::string& base, Problems& problems) {
    std::vector<Use> uses;
    for (const YamlEntry& entry : map.entries) {
        Use use;
        use.place = key_place(entry);
        if (entry.value.kind == YamlValue::Kind::nothing && !entry.value.refused) {
            problems.add(use.place, "empty-value", fmt::format("{} has no value", entry.key),
                         std::string(empty_value_hint));
            continue;
        }
        split_use_key(entry.key, use.place, use, problems);
        const auto twin =
            std::ranges::find_if(uses, [&](const Use& u) { return u.name == use.name; });
        if (twin != uses.end()) {
            problems.add(use.place, "duplicate-name",
                         fmt::format("two uses are named {}", use.name),
                         "give one a name of its own: ID as NAME", {twin->place});
            continue;
        }
        const std::string path = fmt::format("{}.{}", base, use.name);
        auto amount = read_stated(entry.value, path, use.place, use_keys,
                                  {Allow::formula, Within::not_negative, "rest"}, problems);
        if (!amount) continue;
        use.amount = std::move(*amount);
        if (entry.value.is_map()) {
            use.dryness = amount_at(entry.value, "dryness", path, dimensions::number, "90 %",
                                    problems, dryness_rules);
            if (const YamlEntry* freight = entry.value.entry("freight"))
                use.freight = read_freight(freight->value, path + ".freight", problems);
            if (const YamlEntry* supply = entry.value.entry("supply"))
                use.supply = read_supply(*supply, problems);
            use.steam = read_steam(entry.value, path, problems);
        }
        uses.push_back(std::move(use));
    }
    return uses;
}

std::optional<Mill> read_mill(const Files& files, std::uint32_t file, Problems& problems) {
    const YamlValue root = read_yaml(files, file, problems);
    if (!root.is_map()) return std::nullopt;
    if (!check_head(root, "mill", "mill", problems)) return std::nullopt;
    if (!check_keys(root, mill_keys, {file, 1, 1, 1}, problems)) return std::nullopt;
    const YamlEntry* head = root.entry("mill");
    if (head == nullptr) return std::nullopt;
    Mill mill;
    mill.id = read_text(head->value, "mill", problems);
    mill.place = head->value.place;
    check_id(mill.id, mill.place, "a mill", problems);
    mill.title = text_at(root, "title", problems);
    if (const YamlValue* period = root.find("period"))
        mill.period = read_period(*period, "period", problems);
    mill.note = text_at(root, "note", problems);
    read_figures(root, mill, problems);
    read_waters(root, mill, problems);
    if (const YamlEntry* processes = mapping_at(root, "processes", problems)) {
        for (const YamlEntry& entry : processes->value.entries) {
            if (!check_id(entry.key, key_place(entry), "a process", problems)) continue;
            mill.processes.push_back(
                read_process(mill.id, entry.key, key_place(entry), entry.value, problems));
        }
    }
    return mill;
}

std::span<const std::string_view> ways_to_allocate() noexcept {
    static constexpr std::array<std::string_view, 8> ways{
        "avoid", "mass", "energy", "exergy", "price", "value_ratio", "reference_efficiencies",
        "shares"};
    return ways;
}

std::vector<const KeyTable*> mill_key_tables() {
    std::vector<const KeyTable*> tables{&mill_keys,         &process_keys,    &made_keys,
                                        &use_keys,          &condensate_keys, &freight_keys,
                                        &water_keys,        &flow_keys,       &carbon_keys,
                                        &efficiencies_keys, &exergy_keys,     &leaves_keys};
    for (const KeyTable* table : supply_key_tables()) tables.push_back(table);
    return tables;
}

}  // namespace deckle
