#include <fmt/format.h>

#include <algorithm>
#include <array>

#include "engine/product/product.h"
#include "engine/product/product_csv.h"
#include "engine/product/result_words.h"
#include "engine/text/nearest.h"

namespace deckle {
namespace {

constexpr std::array file_key_list{Key{"products", Need::required}, Key{"note"}};
constexpr std::array product_key_list{
    Key{"title"},      Key{"like"},        Key{"from"},  Key{"plies"},  Key{"grammage"},
    Key{"dryness"},    Key{"form"},        Key{"sheet"}, Key{"roll"},   Key{"folded"},
    Key{"core"},       Key{"glue"},        Key{"uses"},  Key{"packed"}, Key{"outbound"},
    Key{"properties"}, Key{"compression"}, Key{"note"}};
constexpr std::array ply_key_list{Key{"from", Need::required}, Key{"grammage", Need::required},
                                  Key{"stretch"}};
constexpr std::array sheet_key_list{Key{"length"}, Key{"width", Need::required}};
constexpr std::array roll_key_list{Key{"diameter"}, Key{"wound_thickness"}, Key{"count"},
                                   Key{"length"}};
constexpr std::array folded_key_list{Key{"sheets", Need::required}};
constexpr std::array core_key_list{Key{"outside", Need::required}, Key{"board"}, Key{"mass"},
                                   Key{"counts_as"}};
constexpr std::array property_key_list{Key{"value", Need::required}, Key{"method"}, Key{"scale"},
                                       Key{"note"}};

const KeyTable file_keys{"products", file_key_list};
const KeyTable product_keys{"product", product_key_list};
const KeyTable ply_keys{"ply", ply_key_list};
const KeyTable sheet_keys{"sheet", sheet_key_list};
const KeyTable roll_keys{"roll", roll_key_list};
const KeyTable folded_keys{"folded", folded_key_list};
const KeyTable core_keys{"core", core_key_list};
const KeyTable property_keys{"property", property_key_list};

/// A key of a product with the product it was written for; its heirs share the same inputs.
struct Inherited {
    const YamlEntry* entry;
    std::vector<std::string>
        owners;  ///< the writer first, then every heir down to the product itself
};
using Keys = std::vector<Inherited>;

class ProductReader {
public:
    ProductReader(Product& product, const Keys& keys, Problems& problems)
        : product_(product), keys_(keys), problems_(problems) {}

    void read() {
        for (const Inherited& key : keys_) read_key(key);
    }

    /// Reports what is missing; not asked of a product whose `like` led nowhere.
    void check_whole() {
        check_sheet_source();
        check_form();
    }

private:
    const Inherited* find(std::string_view name) const {
        const auto found =
            std::ranges::find_if(keys_, [&](const Inherited& k) { return k.entry->key == name; });
        return found == keys_.end() ? nullptr : &*found;
    }

    void read_key(const Inherited& key) {
        const std::string& name = key.entry->key;
        const YamlValue& value = key.entry->value;
        if (value.kind == YamlValue::Kind::nothing) return;  // reported
        if (name == "title") product_.title = read_text(value, name, problems_);
        else if (name == "note") product_.note = read_text(value, name, problems_);
        else if (name == "from") {
            product_.from = read_text(value, name, problems_);
            product_.from_place = value.place;
        } else if (name == "plies") read_plies(key);
        else if (name == "grammage")
            product_.grammage = amount(key, value, "", dimensions::mass / dimensions::area(),
                                       "15.2 g/m2", {}, Within::positive);
        else if (name == "dryness")
            product_.dryness = amount(key, value, "", dimensions::number, "95 %", {}, Within::part);
        else if (name == "compression")
            product_.compression =
                amount(key, value, "", dimensions::number, "20 %", {}, Within::below_whole);
        else if (name == "form") read_form(value);
        else if (name == "sheet") read_sheet(key);
        else if (name == "roll") read_roll(key);
        else if (name == "folded") read_folded(key);
        else if (name == "core") read_core(key);
        else if (name == "glue") product_.glue = uses(key, value);
        else if (name == "uses") product_.uses = uses(key, value);
        else if (name == "packed") read_packed(key);
        else if (name == "outbound") read_outbound(key);
        else if (name == "properties") read_properties(key);
    }

    std::string base(const Inherited& key, std::size_t owner, std::string_view path) const {
        return fmt::format("products.{}.{}{}{}", key.owners[owner], key.entry->key,
                           path.empty() ? "" : ".", path);
    }

    /// Gives what stands under a key the addresses of all heirs: the same input, one draw.
    void share(Stated& stated, const Inherited& key) const {
        const std::string tail = stated.address.substr(base(key, 0, "").size());
        for (std::size_t heir = 1; heir < key.owners.size(); ++heir)
            stated.also.push_back(base(key, heir, "") + tail);
    }

    /// An amount at `path` under a key, with the addresses of all heirs.
    std::optional<Stated> amount(const Inherited& key, const YamlValue& value,
                                 std::string_view path, const std::optional<Dimension>& dimension,
                                 std::string_view example, Place where = {},
                                 Within within = Within::not_negative) {
        auto stated =
            read_stated(value, base(key, 0, path), where.known() ? where : key_place(*key.entry),
                        amount_keys, {Allow::quantity, within, {}}, problems_);
        if (!stated) return stated;
        const std::string_view what =
            path.empty() ? std::string_view(key.entry->key) : path.substr(path.rfind('.') + 1);
        if (dimension && !require_dimension(*stated, *dimension, what, example, problems_))
            return std::nullopt;
        share(*stated, key);
        return stated;
    }

    std::optional<Stated> amount_at(const Inherited& key, std::string_view name,
                                    const Dimension& dimension, std::string_view example) {
        const YamlEntry* entry = key.entry->value.entry(name);
        if (entry == nullptr) return std::nullopt;
        return amount(key, entry->value, name, dimension, example, key_place(*entry),
                      Within::positive);
    }

    /// A number of pieces: typed plainly, or with a unit that counts.
    std::optional<Stated> number_at(const Inherited& key, const YamlEntry& entry,
                                    std::string_view path, Within within = Within::pieces) {
        auto stated = amount(key, entry.value, path, std::nullopt, "200", key_place(entry), within);
        if (!stated) return stated;
        const Unit& found = stated->unit();
        const bool plain = found.dimension == dimensions::number && found.text.empty();
        if (!plain && found.dimension != dimensions::piece) {
            problems_.add(stated->place(), "wrong-unit",
                          fmt::format("{} is a number of pieces, found {}", entry.key,
                                      found.text == "%" ? "%" : found.dimension.text()),
                          "for example 200");
            return std::nullopt;
        }
        return stated;
    }

    bool is_map(const Inherited& key, const KeyTable& table) {
        return check_keys(key.entry->value, table, key_place(*key.entry), problems_);
    }

    void read_plies(const Inherited& key) {
        const YamlValue& value = key.entry->value;
        if (!value.is_list()) {
            product_.plies = number_at(key, *key.entry, "", Within::plies);
            return;
        }
        if (value.items.empty()) {
            problems_.add(key_place(*key.entry), "empty-value", "plies has no value",
                          "plies: 3, or a list of {from: SHEET, grammage: 15.2 g/m2}");
        }
        for (std::size_t i = 0; i < value.items.size(); ++i) {
            const YamlValue& item = value.items[i];
            if (!check_keys(item, ply_keys, item.place.known() ? item.place : key_place(*key.entry),
                            problems_))
                continue;
            Ply ply;
            ply.place = item.place;
            if (const YamlValue* from = item.find("from"))
                ply.from = read_text(*from, "from", problems_);
            const std::string path = std::to_string(i + 1);
            if (const YamlEntry* grammage = item.entry("grammage")) {
                ply.grammage = amount(key, grammage->value, path + ".grammage",
                                      dimensions::mass / dimensions::area(), "15.2 g/m2",
                                      key_place(*grammage), Within::positive);
            }
            if (const YamlEntry* stretch = item.entry("stretch")) {
                ply.stretch =
                    amount(key, stretch->value, path + ".stretch", dimensions::number, "8 %");
            }
            product_.different_plies.push_back(std::move(ply));
        }
    }

    void read_form(const YamlValue& value) {
        const std::string form = read_text(value, "form", problems_);
        product_.folded = form == "folded";
        if (form != "folded" && form != "roll") {
            form_unknown_ = true;
            problems_.add(value.place, "unknown-word", fmt::format("there is no form {}", form),
                          "roll or folded");
        }
    }

    void read_sheet(const Inherited& key) {
        if (!is_map(key, sheet_keys)) return;
        product_.sheet_length = amount_at(key, "length", dimensions::length, "125 mm");
        product_.sheet_width = amount_at(key, "width", dimensions::length, "98 mm");
    }

    void read_roll(const Inherited& key) {
        if (!is_map(key, roll_keys)) return;
        product_.roll_place = key_place(*key.entry);
        product_.diameter = amount_at(key, "diameter", dimensions::length, "114 mm");
        product_.wound_thickness = amount_at(key, "wound_thickness", dimensions::length, "0.38 mm");
        product_.length = amount_at(key, "length", dimensions::length, "24 m");
        if (const YamlEntry* count = key.entry->value.entry("count"))
            product_.count = number_at(key, *count, "count");
    }

    void read_folded(const Inherited& key) {
        if (!is_map(key, folded_keys)) return;
        product_.roll_place = key_place(*key.entry);
        if (const YamlEntry* sheets = key.entry->value.entry("sheets"))
            product_.sheets = number_at(key, *sheets, "sheets");
    }

    void read_core(const Inherited& key) {
        if (!is_map(key, core_keys)) return;
        Core core;
        core.place = key_place(*key.entry);
        core.outside = amount_at(key, "outside", dimensions::length, "42 mm");
        core.mass = amount_at(key, "mass", dimensions::mass, "4.4 g");
        if (const YamlValue* board = key.entry->value.find("board")) {
            core.board = read_text(*board, "board", problems_);
            core.board_place = board->place;
        }
        if (const YamlValue* counts = key.entry->value.find("counts_as")) {
            const std::string word = read_text(*counts, "counts_as", problems_);
            core.counts_as_product = word == "product";
            if (word != "product" && word != "packaging")
                problems_.add(counts->place, "unknown-word",
                              fmt::format("counts_as: {} is not known", word),
                              "product or packaging");
        }
        const YamlValue& typed = key.entry->value;
        if ((typed.entry("board") == nullptr) != (typed.entry("mass") == nullptr)) {
            problems_.add(core.place, "missing-key",
                          "a core has both a board and a mass, or neither",
                          "board: FACTOR, mass: 4.4 g");
        }
        product_.core = std::move(core);
    }

    std::vector<Use> uses(const Inherited& key, const YamlValue& value) {
        if (value.is_map()) return uses_at(key, value, base(key, 0, ""));
        problems_.add(key_place(*key.entry), "not-a-mapping",
                      fmt::format("{} is a mapping of things to amounts", key.entry->key),
                      "{glue: 0.2 g}");
        return {};
    }

    /// Uses of the mapping at a path, with the addresses of all heirs.
    std::vector<Use> uses_at(const Inherited& key, const YamlValue& value,
                             const std::string& path) {
        auto list = read_uses(value, path, problems_);
        for (Use& use : list) {
            share(use.amount, key);
            if (use.dryness) share(*use.dryness, key);
            for (Freight& leg : use.freight) share(leg.distance, key);
            if (use.amount.is_word("rest"))
                problems_.add(use.amount.place(), "rest-of-several",
                              "a product has no rest: it is made of many things",
                              "type the amount");
        }
        return list;
    }

    void read_packed(const Inherited& key) {
        const YamlValue& value = key.entry->value;
        if (!value.is_map()) {
            problems_.add(key_place(*key.entry), "not-a-mapping",
                          "packed is a mapping of packing levels",
                          "{pack: {rolls: 8, uses: {film: 15 g}}}");
            return;
        }
        std::string inside = product_.piece();
        if (const Inherited* form = find("form");
            form != nullptr && form->entry->value.text == "folded")
            inside = "bundle";
        std::vector<const YamlEntry*> left;
        for (const YamlEntry& entry : value.entries) left.push_back(&entry);
        while (const YamlEntry* level = take_holder_of(left, inside)) {
            check_level_name(*level);
            read_level(key, *level, inside);
            inside = level->key;
        }
        for (const YamlEntry* loose : left) {
            problems_.add(
                key_place(*loose), "loose-level",
                fmt::format("{} does not hold {}s, the level inside it", loose->key, inside),
                fmt::format("each level holds the one before it: {}: {{{}s: 8}}", loose->key,
                            inside));
        }
    }

    /// Levels hold each other by name, whatever their order in the file.
    static const YamlEntry* take_holder_of(std::vector<const YamlEntry*>& left,
                                           const std::string& inside) {
        const auto holder = std::ranges::find_if(left, [&](const YamlEntry* level) {
            return level->value.entry(inside + "s") != nullptr;
        });
        if (holder == left.end()) return nullptr;
        const YamlEntry* taken = *holder;
        left.erase(holder);
        return taken;
    }

    /// Results are given per level, so a level is not named like another unit of results.
    void check_level_name(const YamlEntry& entry) {
        if (!check_id(entry.key, key_place(entry), "a packing level", problems_)) return;
        if (is_result_word(entry.key)) {
            problems_.add(key_place(entry), "reserved-id",
                          fmt::format("results per {} mean something else", entry.key),
                          "choose another name for the level: pack, case, pallet");
        }
    }

    void read_level(const Inherited& key, const YamlEntry& entry, const std::string& inside) {
        const std::string wanted = inside + "s";
        const std::array level_list{Key{std::string_view(wanted), Need::required}, Key{"uses"}};
        const KeyTable level_keys{"packing level", level_list};
        if (!check_keys(entry.value, level_keys, key_place(entry), problems_)) return;
        const YamlEntry* holds = entry.value.entry(wanted);
        if (holds == nullptr) return;
        auto number = number_at(key, *holds, fmt::format("{}.{}", entry.key, wanted));
        if (!number) return;
        PackingLevel level{entry.key, key_place(entry), std::move(*number), {}};
        if (const YamlEntry* used = entry.value.entry("uses");
            used != nullptr && used->value.is_map()) {
            level.uses = uses_at(key, used->value, base(key, 0, entry.key + ".uses"));
        } else if (used != nullptr && used->value.kind != YamlValue::Kind::nothing) {
            problems_.add(key_place(*used), "not-a-mapping",
                          "uses is a mapping of things to amounts", "{film: 15 g}");
        }
        product_.packed.push_back(std::move(level));
    }

    void read_outbound(const Inherited& key) {
        product_.outbound = read_freight(key.entry->value, base(key, 0, ""), problems_);
        for (Freight& leg : product_.outbound) share(leg.distance, key);
    }

    void read_properties(const Inherited& key) {
        if (!key.entry->value.is_map()) {
            problems_.add(key_place(*key.entry), "not-a-mapping", "properties is a mapping",
                          "{bulk: {value: 10.2 cm3/g, method: ISO 12625-3}}");
            return;
        }
        for (const YamlEntry& entry : key.entry->value.entries) {
            Property property;
            property.name = entry.key;
            const YamlValue* value = &entry.value;
            if (entry.value.is_map()) {
                if (!check_keys(entry.value, property_keys, key_place(entry), problems_)) continue;
                value = entry.value.find("value");
                if (const YamlValue* method = entry.value.find("method"))
                    property.method = read_text(*method, "method", problems_);
                if (const YamlValue* scale = entry.value.find("scale"))
                    property.scale = read_text(*scale, "scale", problems_);
            }
            if (value == nullptr) continue;
            const bool length = entry.key == "caliper";
            if (auto stated =
                    amount(key, *value, entry.key,
                           length ? std::optional(dimensions::length) : std::nullopt, "0.45 mm",
                           key_place(entry), length ? Within::positive : Within::not_negative)) {
                property.value = std::move(*stated);
                product_.properties.push_back(std::move(property));
            }
        }
    }

    void check_sheet_source() {
        const Inherited* plies = find("plies");
        if (plies != nullptr && plies->entry->value.is_list()) return;
        for (const auto& [missing, key, hint] :
             {std::tuple{product_.from.empty(), "from", "from: the sheet it is converted from"},
              std::tuple{!product_.plies.has_value() && plies == nullptr, "plies", "plies: 3"},
              std::tuple{!product_.grammage.has_value() && find("grammage") == nullptr, "grammage",
                         "grammage: 15.2 g/m2 (one finished ply)"}}) {
            if (missing)
                problems_.add(product_.place, "missing-key",
                              fmt::format("{} lacks the key {}", product_.id, key), hint);
        }
    }

    void check_form() {
        if (!product_.sheet_width && find("sheet") == nullptr) {
            problems_.add(product_.place, "missing-key",
                          fmt::format("{} lacks the key sheet", product_.id),
                          "sheet: {length: 125 mm, width: 98 mm}");
        }
        if (product_.folded) {
            if (!product_.sheets && find("folded") == nullptr)
                problems_.add(product_.place, "missing-key",
                              fmt::format("{} is folded and lacks the key folded", product_.id),
                              "folded: {sheets: 100}");
            if (!product_.sheet_length && find("sheet") != nullptr)
                problems_.add(product_.place, "missing-key", "a folded sheet has a length",
                              "sheet: {length: 210 mm, width: 210 mm}");
            return;
        }
        if (find("roll") == nullptr && !form_unknown_)
            problems_.add(product_.place, "missing-key",
                          fmt::format("{} lacks the key roll", product_.id),
                          "roll: {diameter: 114 mm, wound_thickness: 0.38 mm}");
    }

    Product& product_;
    const Keys& keys_;
    Problems& problems_;
    bool form_unknown_ = false;
};

constexpr std::size_t longest_chain = 32;

/// The keys of a product, its own first, then those of the product it is like.
Keys keys_of(const YamlValue& products, const YamlEntry& product, std::vector<std::string>& chain,
             Problems& problems) {
    Keys keys;
    chain.push_back(product.key);
    for (const YamlEntry& entry : product.value.entries) {
        if (entry.key != "like") keys.push_back({&entry, {product.key}});
    }
    const YamlEntry* like = product.value.entry("like");
    if (like == nullptr) return keys;
    const std::string other = read_text(like->value, "like", problems);
    if (chain.size() > longest_chain) {
        problems.add(
            like->value.place, "circular-like",
            fmt::format("more than {} products are like each other in a row", longest_chain),
            "let them be like the first one");
        return keys;
    }
    if (std::ranges::find(chain, other) != chain.end()) {
        problems.add(like->value.place, "circular-like", fmt::format("{} is like itself", other),
                     "one of these products must be written out");
        return keys;
    }
    const YamlEntry* parent = products.entry(other);
    if (parent == nullptr) {
        std::vector<std::string> names;
        for (const YamlEntry& one : products.entries) names.push_back(one.key);
        problems.add(like->value.place, "unknown-product",
                     fmt::format("there is no product {}", other), did_you_mean(other, names));
        return keys;
    }
    for (Inherited& inherited : keys_of(products, *parent, chain, problems)) {
        const bool own = std::ranges::any_of(
            keys, [&](const Inherited& k) { return k.entry->key == inherited.entry->key; });
        if (own) continue;
        inherited.owners.push_back(product.key);
        keys.push_back(std::move(inherited));
    }
    return keys;
}

void read_all(const YamlValue& tree, std::vector<Product>& products, Problems& problems) {
    for (const YamlEntry& entry : tree.entries) {
        if (!check_id(entry.key, key_place(entry), "a product", problems)) continue;
        if (!check_keys(entry.value, product_keys, key_place(entry), problems)) continue;
        const auto twin =
            std::ranges::find_if(products, [&](const Product& p) { return p.id == entry.key; });
        if (twin != products.end()) {
            problems.add(key_place(entry), "duplicate-id",
                         fmt::format("two products are called {}", entry.key), "", {twin->place});
            continue;
        }
        std::vector<std::string> chain;
        const std::size_t before = problems.count();
        const Keys keys = keys_of(tree, entry, chain, problems);
        const bool whole = problems.count() == before;
        Product& product = products.emplace_back();
        product.id = entry.key;
        product.title = entry.key;
        product.place = key_place(entry);
        ProductReader reader(product, keys, problems);
        reader.read();
        if (whole) reader.check_whole();
    }
}

/// Mapping of ids to products of one file, YAML or CSV.
YamlValue product_tree(const Files& files, std::uint32_t file, Problems& problems) {
    if (small_letters(files.at(file).path).ends_with(".csv"))
        return read_product_csv(files, file, problems);
    YamlValue root = read_yaml(files, file, problems);
    if (!root.is_map() || !check_head(root, "products", "list of products", problems) ||
        !check_keys(root, file_keys, {file, 1, 1, 1}, problems))
        return {};
    for (YamlEntry& entry : root.entries) {
        if (entry.key != "products") continue;
        if (entry.value.is_map()) return std::move(entry.value);
        problems.add(key_place(entry), "not-a-mapping", "products is a mapping of ids to products",
                     "");
    }
    return {};
}

}  // namespace

std::vector<Product> read_products(const Files& files, std::span<const std::uint32_t> paths,
                                   Problems& problems) {
    YamlValue all;
    all.kind = YamlValue::Kind::map;
    for (const std::uint32_t file : paths) {
        YamlValue tree = product_tree(files, file, problems);
        for (YamlEntry& entry : tree.entries) all.entries.push_back(std::move(entry));
    }
    std::vector<Product> products;
    read_all(all, products, problems);
    return products;
}

std::vector<const KeyTable*> product_key_tables() {
    return {&file_keys, &product_keys, &ply_keys,  &sheet_keys,
            &roll_keys, &folded_keys,  &core_keys, &property_keys};
}

}  // namespace deckle
