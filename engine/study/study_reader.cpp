#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <filesystem>

#include "engine/product/result_words.h"
#include "engine/study/correlations.h"
#include "engine/study/model.h"
#include "engine/text/nearest.h"

namespace deckle {
namespace {

constexpr std::array study_key_list{Key{"study", Need::required},
                                    Key{"title", Need::required},
                                    Key{"owner"},
                                    Key{"period"},
                                    Key{"boundary"},
                                    Key{"note"},
                                    Key{"characterization", Need::required},
                                    Key{"scarcity"},
                                    Key{"prices"},
                                    Key{"electricity"},
                                    Key{"grids"},
                                    Key{"stands_for"},
                                    Key{"factors", Need::required},
                                    Key{"mills", Need::required},
                                    Key{"products"},
                                    Key{"scenarios"},
                                    Key{"output"},
                                    Key{"functions"},
                                    Key{"line"},
                                    Key{"equivalents"},
                                    Key{"exempted"},
                                    Key{"rules"},
                                    Key{"disclosure"},
                                    Key{"data_quality_spread"},
                                    Key{"correlated"}};
constexpr std::array grid_key_list{Key{"location"}, Key{"residual"}};
constexpr std::array exempted_key_list{Key{"what", Need::required}, Key{"why", Need::required},
                                       Key{"highest_plausible", Need::required}};
constexpr std::array function_key_list{Key{"title", Need::required}, Key{"flows", Need::required},
                                       Key{"note"}};
constexpr std::array line_key_list{Key{"title"},
                                   Key{"of", Need::required},
                                   Key{"gross", Need::required},
                                   Key{"time_efficiency"},
                                   Key{"broke"},
                                   Key{"days", Need::required},
                                   Key{"note"}};
constexpr std::array equivalent_key_list{Key{"title", Need::required}, Key{"of", Need::required},
                                         Key{"amount", Need::required},
                                         Key{"source", Need::required}, Key{"note"}};

const KeyTable study_keys{"study", study_key_list};
const KeyTable grid_keys{"grids", grid_key_list};
const KeyTable exempted_keys{"exempted", exempted_key_list};
const KeyTable function_keys{"functions", function_key_list};
const KeyTable line_keys{"line", line_key_list};
const KeyTable equivalent_keys{"equivalents", equivalent_key_list};

namespace fs = std::filesystem;

class StudyReader {
public:
    StudyReader(Files& files, StudyModel& model, Problems& problems)
        : files_(files), model_(model), problems_(problems) {}

    void read(const std::string& path) {
        std::error_code error;
        fs::path file(path);
        if (!files_.held() && fs::is_directory(file, error)) file /= "study.yaml";
        folder_ = file.parent_path();
        const std::uint32_t index = files_.read(file.lexically_normal().string());
        const YamlValue root = read_yaml(files_, index, problems_);
        if (!root.is_map() || !check_head(root, "study", "study", problems_) ||
            !check_keys(root, study_keys, {index, 1, 1, 1}, problems_))
            return;
        read_head(root);
        read_grids(root);
        read_stands_for(root);
        read_exempted(root);
        if (const YamlEntry* entry = root.entry("correlated"))
            model_.correlated = read_correlated(*entry, problems_);
        read_rules(root);
        if (const YamlEntry* entry = mapping(root, "disclosure"))
            model_.disclosure = read_disclosure(*entry, model_.owner, problems_);
        read_tables(root);
        read_mills(root);
        read_products_of(root);
        if (const YamlEntry* output = mapping(root, "output"))
            model_.output = outputs(output->value, "study.output");
        read_functions(root);
        read_lines(root);
        read_equivalents(root);
        model_.scenarios = read_scenarios(files_, files_at(root, "scenarios"), problems_);
        check_names();
    }

private:
    std::string text(const YamlValue& map, std::string_view key) {
        const YamlValue* value = map.find(key);
        return value == nullptr ? std::string{} : read_text(*value, key, problems_);
    }

    const YamlEntry* mapping(const YamlValue& map, std::string_view key) {
        const YamlEntry* entry = map.entry(key);
        if (entry == nullptr || entry->value.is_map() ||
            entry->value.kind == YamlValue::Kind::nothing) {
            return entry == nullptr || !entry->value.is_map() ? nullptr : entry;
        }
        problems_.add(key_place(*entry), "not-a-mapping",
                      fmt::format("{} is a mapping, not {}", key, entry->value.kind_text()), "");
        return nullptr;
    }

    static Place place_of(const YamlValue& map, std::string_view key) {
        const YamlValue* value = map.find(key);
        return value == nullptr ? map.place : value->place;
    }

    void read_head(const YamlValue& root) {
        model_.id = text(root, "study");
        model_.place = place_of(root, "study");
        check_id(model_.id, model_.place, "a study", problems_);
        model_.title = text(root, "title");
        model_.owner = text(root, "owner");
        if (const YamlValue* period = root.find("period"))
            model_.period = read_period(*period, "period", problems_);
        model_.note = text(root, "note");
        model_.boundary =
            root.find("boundary") == nullptr ? "cradle_to_gate" : text(root, "boundary");
        if (model_.boundary != "cradle_to_gate") {
            problems_.add(place_of(root, "boundary"), "unknown-word",
                          fmt::format("boundary: {} is not computed", model_.boundary),
                          "cradle_to_gate");
        }
        model_.characterization = text(root, "characterization");
        model_.characterization_place = place_of(root, "characterization");
        model_.scarcity = text(root, "scarcity");
        model_.scarcity_place = place_of(root, "scarcity");
        model_.prices = text(root, "prices");
        model_.prices_place = place_of(root, "prices");
        model_.data_quality_spread = text(root, "data_quality_spread");
        model_.data_quality_spread_place = place_of(root, "data_quality_spread");
        model_.electricity =
            root.find("electricity") == nullptr ? "location" : text(root, "electricity");
        if (model_.electricity != "market" && model_.electricity != "location") {
            problems_.add(place_of(root, "electricity"), "unknown-word",
                          fmt::format("electricity: {} is not known", model_.electricity),
                          "market or location");
        }
    }

    void read_grids(const YamlValue& root) {
        const YamlEntry* grids = mapping(root, "grids");
        if (grids == nullptr) return;
        for (const YamlEntry& entry : grids->value.entries) {
            if (!check_keys(entry.value, grid_keys, key_place(entry), problems_)) continue;
            model_.grids.push_back({entry.key, text(entry.value, "location"),
                                    text(entry.value, "residual"), key_place(entry)});
        }
    }

    void read_stands_for(const YamlValue& root) {
        const YamlEntry* entry = mapping(root, "stands_for");
        if (entry == nullptr) return;
        for (const YamlEntry& one : entry->value.entries) {
            check_id(one.key, key_place(one), "a short id", problems_);
            model_.stands_for[one.key] = read_text(one.value, one.key, problems_);
            model_.stands_for_places.emplace_back(one.key, one.value.place);
        }
    }

    void read_exempted(const YamlValue& root) {
        const YamlEntry* entry = root.entry("exempted");
        if (entry == nullptr || entry->value.kind == YamlValue::Kind::nothing) return;
        if (!entry->value.is_list()) {
            problems_.add(key_place(*entry), "not-a-list", "exempted is a list",
                          "[{what: ..., why: ..., highest_plausible: 0.2 %}]");
            return;
        }
        model_.says_what_is_exempted = true;
        for (std::size_t i = 0; i < entry->value.items.size(); ++i) {
            const YamlValue& item = entry->value.items[i];
            if (!check_keys(item, exempted_keys, key_place(*entry), problems_)) continue;
            Exemption exemption{text(item, "what"), text(item, "why"), item.place, std::nullopt};
            if (const YamlEntry* highest = item.entry("highest_plausible")) {
                exemption.highest_plausible = read_stated(
                    highest->value, fmt::format("study.exempted.{}.highest_plausible", i + 1),
                    key_place(*highest), amount_keys, {}, problems_);
            }
            model_.exempted.push_back(std::move(exemption));
        }
    }

    void read_rules(const YamlValue& root) {
        if (const YamlEntry* entry = mapping(root, "rules"))
            model_.rules = read_rule_set(*entry, "study.rules", problems_);
    }

    /// Files named under a key, each as its index; those that cannot be read are reported.
    std::vector<std::uint32_t> files_at(const YamlValue& root, std::string_view key) {
        std::vector<std::uint32_t> indices;
        const YamlValue* value = root.find(key);
        if (value == nullptr || value->kind == YamlValue::Kind::nothing)
            return indices;  // reported
        if (value->is_list() && value->items.empty()) {
            problems_.add(key_place(*root.entry(key)), "empty-value",
                          fmt::format("{} has no value", key),
                          "write the value, or leave the key out");
        }
        const std::vector<YamlValue> one{*value};
        const auto& list = value->is_list() ? value->items : one;
        for (const YamlValue& item : list) {
            if (!item.is_scalar()) {
                if (!item.refused)
                    problems_.add(item.place, "not-text", fmt::format("{} names files", key),
                                  "[a.yaml, b.yaml]");
                continue;
            }
            try {
                indices.push_back(files_.read(
                    fs::path(folder_ / item.text).lexically_normal().string(), item.place));
            } catch (const InputError& error) {
                problems_.add(error);
            }
        }
        return indices;
    }

    void read_tables(const YamlValue& root) {
        const YamlValue* named = root.find("factors");
        for (const std::uint32_t file : files_at(root, "factors"))
            read_table_file(files_, file, model_.tables, problems_);
        tables_lost_ = named == nullptr ||
                       model_.tables.count() < (named->is_list() ? named->items.size() : 1U);
        if (model_.prices.ends_with(".yaml")) {  // the file itself may be named
            for (const std::uint32_t file : files_at(root, "prices"))
                read_table_file(files_, file, model_.tables, problems_);
            model_.prices =
                model_.tables.prices.empty() ? std::string{} : model_.tables.prices.back().id;
        }
        check_set(model_.prices, model_.prices_place, "prices", model_.tables.prices);
        check_set(model_.characterization, model_.characterization_place, "characterization",
                  model_.tables.characterizations);
        check_set(model_.scarcity, model_.scarcity_place, "scarcity", model_.tables.scarcities);
        check_set(model_.data_quality_spread, model_.data_quality_spread_place,
                  "data_quality_spread", model_.tables.quality_spreads);
    }

    template <class Table>
    void check_set(const std::string& id, Place place, std::string_view what,
                   const std::vector<Table>& tables) {
        if (id.empty()) return;
        std::vector<std::string> names;
        for (const Table& table : tables) {
            if (table.id == id) return;
            names.push_back(table.id);
        }
        if (tables_lost_) return;  // it may stand in the file that could not be read
        const std::string near = did_you_mean(id, names);
        problems_.add(
            place, "unknown-set", fmt::format("no file under `factors` holds {}: {}", what, id),
            !near.empty() ? near
                          : (names.empty() ? fmt::format("add the file of that {} set", what)
                                           : fmt::format("known: {}", fmt::join(names, ", "))));
    }

    void read_mills(const YamlValue& root) {
        for (const std::uint32_t file : files_at(root, "mills")) {
            if (auto mill = read_mill(files_, file, problems_))
                model_.mills.push_back(std::move(*mill));
        }
    }

    void read_products_of(const YamlValue& root) {
        const auto paths = files_at(root, "products");
        if (!paths.empty()) model_.products = read_products(files_, paths, problems_);
    }

    /// Amounts of products: "40e6 roll", "61_240 t".
    std::vector<Output> outputs(const YamlValue& map, const std::string& base) {
        std::vector<Output> all;
        for (const YamlEntry& entry : map.entries) {
            YamlValue amount = entry.value;
            Output one{entry.key, key_place(entry), {}, {}};
            split_unit(amount, one.per);
            auto stated = read_stated(amount, base + "." + entry.key, key_place(entry), amount_keys,
                                      {}, problems_);
            if (!stated) continue;
            if (one.per.empty()) one.per = stated->unit().text;
            if (one.per.empty()) {
                problems_.add(stated->place(), "missing-unit",
                              fmt::format("{} of what?", stated->scalar.text),
                              "for example 40e6 roll, or 61_240 t");
                continue;
            }
            one.amount = std::move(*stated);
            all.push_back(std::move(one));
        }
        return all;
    }

    void read_functions(const YamlValue& root) {
        const YamlEntry* functions = mapping(root, "functions");
        if (functions == nullptr) return;
        for (const YamlEntry& entry : functions->value.entries) {
            const Place place = key_place(entry);
            if (!check_id(entry.key, place, "a function", problems_) ||
                !check_keys(entry.value, function_keys, place, problems_))
                continue;
            if (is_result_word(entry.key))
                problems_.add(
                    place, "reserved-id",
                    fmt::format("results per {} mean something else than a function", entry.key),
                    "choose another name for the function");
            Function function{entry.key, text(entry.value, "title"), place, {}};
            if (const YamlEntry* flows = mapping(entry.value, "flows"))
                function.flows =
                    outputs(flows->value, fmt::format("study.functions.{}.flows", entry.key));
            model_.functions.push_back(std::move(function));
        }
    }

    void read_lines(const YamlValue& root) {
        const YamlEntry* lines = mapping(root, "line");
        if (lines == nullptr) return;
        for (const YamlEntry& entry : lines->value.entries) {
            const Place place = key_place(entry);
            if (!check_id(entry.key, place, "a line", problems_) ||
                !check_keys(entry.value, line_keys, place, problems_))
                continue;
            const std::string base = "study.line." + entry.key;
            Line line{entry.key,
                      text(entry.value, "title"),
                      text(entry.value, "of"),
                      place,
                      place_of(entry.value, "of"),
                      {},
                      {},
                      {},
                      {}};
            if (const YamlEntry* gross = entry.value.entry("gross"))
                line.gross =
                    read_stated(gross->value, base + ".gross", key_place(*gross), amount_keys,
                                {Allow::quantity, Within::positive, {}}, problems_);
            line.time_efficiency = read_share(entry.value, "time_efficiency",
                                              base + ".time_efficiency", "5 %", problems_);
            line.broke = read_share(entry.value, "broke", base + ".broke", "5 %", problems_);
            if (const YamlEntry* days = entry.value.entry("days"))
                line.days = days_of_year(*days, base);
            model_.lines.push_back(std::move(line));
        }
    }

    /// nullopt, reported, when it is no number of days that a year has.
    std::optional<Stated> days_of_year(const YamlEntry& days, const std::string& base) {
        auto stated = read_stated(days.value, base + ".days", key_place(days), amount_keys,
                                  {Allow::quantity, Within::positive, {}}, problems_);
        if (!stated) return std::nullopt;
        constexpr double most_days = 366.0;
        const Quantity& quantity = stated->amount.quantity;
        const auto plain = conversion(quantity.unit, {});
        if (plain && plain->apply(quantity.value) <= most_days) return stated;
        problems_.add(stated->place(), plain ? "number-out-of-range" : "wrong-unit",
                      plain ? fmt::format("{} days of a year", stated->scalar.text)
                            : "days are counted for one year: a plain number",
                      plain ? "at most 366" : fmt::format("days: {}", quantity.digits));
        return std::nullopt;
    }

    void read_equivalents(const YamlValue& root) {
        const YamlEntry* all = mapping(root, "equivalents");
        if (all == nullptr) return;
        for (const YamlEntry& entry : all->value.entries) {
            const Place place = key_place(entry);
            if (!check_id(entry.key, place, "an equivalent", problems_)) continue;
            auto ratio = read_stated(entry.value, "study.equivalents." + entry.key, place,
                                     equivalent_keys, {}, problems_);
            if (!ratio) continue;
            if (!entry.value.is_map()) {
                problems_.add(place, "missing-key", fmt::format("{} has no source", entry.key),
                              "{title: ..., of: fibre, amount: 14 piece/t, source: ...}");
                continue;
            }
            model_.equivalents.push_back({entry.key, text(entry.value, "title"),
                                          text(entry.value, "of"), place,
                                          place_of(entry.value, "of"), std::move(*ratio)});
        }
    }

    /// Takes the name of a packing level off the amount when it is no unit by itself ("12e3
    /// display_box").
    static void split_unit(YamlValue& amount, std::string& per) {
        YamlValue* scalar = &amount;
        if (amount.is_map()) {
            const auto found = std::ranges::find_if(
                amount.entries, [](const YamlEntry& e) { return e.key == "amount"; });
            if (found != amount.entries.end()) scalar = &found->value;
        }
        const std::size_t space = scalar->text.rfind(' ');
        if (space == std::string::npos) return;
        const std::string word = scalar->text.substr(space + 1);
        const UnitResult as_unit = parse_unit(word);
        if (as_unit.unit || as_unit.error.code != "unknown-unit" ||
            !std::ranges::all_of(word, [](char c) {
                return (c >= 'a' && c <= 'z') || c == '_' || (c >= '0' && c <= '9');
            }))
            return;
        per = word;
        scalar->text.erase(space);
    }

    using Names = std::vector<std::pair<std::string, Place>>;

    void claim(Names& names, const std::string& id, Place place, std::string_view what) {
        for (const auto& [known, first] : names) {
            if (known != id) continue;
            problems_.add(place, "duplicate-id", fmt::format("two {} are called {}", what, id),
                          "give one another id", {first});
            return;
        }
        names.emplace_back(id, place);
    }

    template <class Item>
    void claim_all(Names& names, const std::vector<Item>& items, std::string_view what) {
        for (const Item& item : items) claim(names, item.id, item.place, what);
    }

    /// Mills and tables share one namespace, and so do the products of mills and consumers.
    void check_names() {
        Names tables, products;
        claim_all(tables, model_.tables.factors, "tables or mills");
        claim_all(tables, model_.tables.characterizations, "tables or mills");
        claim_all(tables, model_.tables.scarcities, "tables or mills");
        claim_all(tables, model_.tables.prices, "tables or mills");
        claim_all(tables, model_.tables.quality_spreads, "tables or mills");
        claim_all(tables, model_.mills, "tables or mills");
        claim_all(products, model_.products, "products");
        const auto is_consumer = [&](const Made& made) {
            return std::ranges::any_of(model_.products,
                                       [&](const Product& p) { return p.id == made.id; });
        };
        for (const Mill& mill : model_.mills) {
            for (const Process& process : mill.processes) {
                for (const Made& made : process.makes) {
                    if (is_consumer(made)) claim(products, made.id, made.place, "products");
                }
            }
        }
    }

    Files& files_;
    StudyModel& model_;
    Problems& problems_;
    fs::path folder_;
    bool tables_lost_ = false;  ///< a file under `factors` could not be read (reported)
};

}  // namespace

void read_study(const std::string& path, Files& files, StudyModel& model, Problems& problems) {
    StudyReader(files, model, problems).read(path);
}

std::vector<const KeyTable*> study_key_tables() {
    std::vector<const KeyTable*> tables{&study_keys,      &grid_keys,     &exempted_keys,
                                        &rule_set_keys(), &function_keys, &line_keys,
                                        &equivalent_keys};
    for (const KeyTable* table : correlated_key_tables()) tables.push_back(table);
    for (const KeyTable* table : scenario_key_tables()) tables.push_back(table);
    for (const KeyTable* table : disclosure_key_tables()) tables.push_back(table);
    return tables;
}

}  // namespace deckle
