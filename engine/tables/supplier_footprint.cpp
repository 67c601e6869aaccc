#include "engine/tables/supplier_footprint.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <filesystem>

#include "engine/declaration/check.h"
#include "engine/declaration/second_edition.h"
#include "engine/tables/stated.h"
#include "engine/text/keys.h"

namespace deckle {
namespace {

namespace fs = std::filesystem;

struct UnitRow {
    std::string_view declared, ours;
};
constexpr std::array unit_rows{UnitRow{"kilogram", "kg"},        UnitRow{"liter", "L"},
                               UnitRow{"cubic meter", "m3"},     UnitRow{"square meter", "m2"},
                               UnitRow{"kilowatt hour", "kWh"},  UnitRow{"megajoule", "MJ"},
                               UnitRow{"ton kilometer", "t km"}, UnitRow{"hour", "h"},
                               UnitRow{"piece", "piece"}};

/// A line of `climate`, and the property that states it.
struct ClimateRow {
    std::string_view line, property;
};
constexpr std::array climate_rows{
    ClimateRow{"fossil", "fossilGhgEmissions"},
    ClimateRow{"biogenic", "biogenicNonCO2Emissions"},
    ClimateRow{"land_use", "landUseChangeGhgEmissions"},
    ClimateRow{"land_management", "landManagementBiogenicCO2Emissions"},
    ClimateRow{"removals", "landManagementBiogenicCO2Removals"},
    ClimateRow{"land_management_fossil", "landManagementFossilGhgEmissions"},
    ClimateRow{"aircraft", "aircraftGhgEmissions"}};

/// Parts of the total that a factor has no line for: they may only be nothing.
constexpr std::array<std::string_view, 2> without_a_line{"technologicalCO2Removals",
                                                         "ccsTechnologicalCO2Capture"};

/// What stands beside the total, and a factor has no line for.
struct BesideRow {
    std::string_view property, what;
};
constexpr std::array beside_rows{
    BesideRow{"landCarbonLeakage", "indirect land-use change"},
    BesideRow{"fossilCarbonContent", "the fossil carbon that it holds"},
    BesideRow{"outboundLogisticsGhgEmissions", "freight to its customer"}};

constexpr std::array<std::string_view, 3> rating_properties{
    "dqi/technologicalDQR", "dqi/geographicalDQR", "dqi/temporalDQR"};

/// Water of an extension by reports/water.schema.json, as a factor states it.
struct WaterRow {
    std::string_view property, key;
};
constexpr std::array water_rows{WaterRow{"waterWithdrawn_m3", "withdrawn"},
                                WaterRow{"waterConsumed_m3", "consumed"}};

/// What a factor may state otherwise than its supplier does: words, and water, which has no region
/// there.
constexpr std::array<std::string_view, 3> own_words{"title", "note", "water"};

std::string day_text(Instant instant) { return instant_text(instant).substr(0, 10); }

/// "2025-01-01 .. 2025-12-31" of a period that ends when its last day is over.
std::string days_text(const Period& period) {
    return fmt::format("{} .. {}", day_text(period.start),
                       day_text(period.end - std::chrono::seconds(1)));
}

void add(YamlValue& map, std::string key, YamlValue value) {
    const Place place = value.place;
    map.entries.push_back({std::move(key), place, std::move(value)});
}

/// The keys of a factor, from one footprint: of version 2 as it is converted, per one unit.
class SupplierFactor {
public:
    SupplierFactor(const Declared& file, Problems& problems)
        : file_(file), earlier_(file.is_version_2()), from_(file), problems_(problems) {
        keys_ = made_empty(file.root->place, YamlValue::Kind::map);
        if (!earlier_) return;
        converted_ = from_second_edition(file, DeclaredAmount::one_unit);
        from_.root = &converted_.root;
    }
    SupplierFactor(const SupplierFactor&) = delete;  // from_ points into it
    SupplierFactor& operator=(const SupplierFactor&) = delete;

    YamlValue run() {
        add_title();
        add_per();
        add_climate();
        add_water();
        add_carbon();
        add_periods();
        add_text("primary_share", "pcf/primaryDataShare", " %");
        add_source();
        if (earlier_) {
            for (const Problem& one : check_second_totals(file_))
                problems_.add(one.where, "total-not-its-terms", one.message, one.hint);
        }
        add_supplier();
        return std::move(keys_);
    }

private:
    [[nodiscard]] const YamlValue* pcf(std::string_view name) const {
        return from_.find(fmt::format("pcf/{}", name));
    }

    /// As the file calls it, for messages.
    [[nodiscard]] std::string_view name_in_file(std::string_view name) const {
        return earlier_ ? second_edition_name(name) : name;
    }

    void add_text(std::string key, std::string_view property, std::string_view unit = {}) {
        const YamlValue* value = from_.find(property);
        if (value != nullptr && value->is_scalar())
            add(keys_, std::move(key), made_text(value->place, value->text + std::string(unit)));
    }

    /// Reported where it is missing: version 2 is not checked by rules of its own.
    const YamlValue* needed(std::string_view name, std::string_view inside = {}) {
        const YamlValue* value = from_.find(fmt::format("{}{}", inside, name));
        if (value == nullptr || !value->is_scalar()) {
            problems_.add(
                file_.root->place, "property-missing",
                fmt::format("{}/{}{} is not stated", file_.pointer, inside, name_in_file(name)),
                "a factor needs it: ask the supplier");
            return nullptr;
        }
        return value;
    }

    void add_title() { add_text("title", "productNameCompany"); }

    void add_per() {
        const YamlValue* unit = needed("declaredUnitOfMeasurement", "pcf/");
        if (unit == nullptr) return;
        const auto row = std::ranges::find(unit_rows, unit->text, &UnitRow::declared);
        if (row == unit_rows.end()) {
            problems_.add(unit->place, "unit-not-carried",
                          fmt::format("no factor is per {}", unit->text),
                          "ask for a footprint per kilogram, or per another unit of matter, energy "
                          "or transport");
            return;
        }
        if (const YamlValue* amount = needed("declaredUnitAmount", "pcf/"))
            add(keys_, "per",
                made_text(amount->place, fmt::format("{} {}", amount->text, row->ours)));
    }

    void add_climate() {
        YamlValue climate = made_empty(from_.root->place, YamlValue::Kind::map);
        for (const ClimateRow& row : climate_rows) {
            const YamlValue* value = pcf(row.property);
            if (value == nullptr || !value->is_scalar()) continue;
            // a removal is stated below zero; any other line so is refused by the reader of factors
            const bool taken_up = row.line == "removals" && value->text.starts_with('-');
            add(climate, std::string(row.line),
                made_text(value->place, value->text.substr(taken_up ? 1 : 0) + " kg CO2e"));
        }
        for (const std::string_view property : without_a_line) refuse_if_any(property);
        if (const YamlValue* sets = potentials())
            add(climate, "characterization", made_text(sets->place, potentials_text(*sets)));
        add(keys_, "climate", std::move(climate));
    }

    void refuse_if_any(std::string_view property) {
        const YamlValue* value = pcf(property);
        if (value == nullptr || !value->is_scalar()) return;
        const auto amount = Exact::from(value->text);
        if (amount && amount->sign() == 0) return;
        problems_.add(value->place, "line-not-carried",
                      fmt::format("{} is {}, and a factor has no line for it",
                                  name_in_file(property), value->text),
                      "state the factor by hand, with what its supplier says of this part");
    }

    [[nodiscard]] const YamlValue* potentials() { return pcf("ipccCharacterizationFactors"); }

    /// "ar5_100": of several sets the oldest, which is what may be doubted.
    static std::string potentials_text(const YamlValue& sets) {
        std::string oldest;
        for (const YamlValue& one : sets.items) {
            if (oldest.empty() || one.text < oldest) oldest = one.text;
        }
        std::ranges::transform(oldest, oldest.begin(), [](char c) {
            return c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c;
        });
        return oldest + "_100";
    }

    /// Extensions whose data nothing here reads are not carried.
    void add_water() {
        const YamlValue* extensions = from_.find("extensions");
        if (extensions == nullptr || !extensions->is_list()) return;
        for (const YamlValue& extension : extensions->items) {
            const YamlValue* data = extension.find("data");
            YamlValue water = made_empty(extension.place, YamlValue::Kind::map);
            for (const WaterRow& row : water_rows) {
                const YamlValue* value = data == nullptr ? nullptr : data->find(row.property);
                const auto amount = value == nullptr || !value->is_scalar()
                                        ? std::nullopt
                                        : Exact::from(value->text);
                if (!amount) continue;
                if (amount->sign() < 0)  // a factor gives no water back
                    lose(fmt::format("water {} ({} m3)", row.key, value->text));
                else add(water, std::string(row.key), made_text(value->place, value->text + " m3"));
            }
            if (water.entries.empty()) {
                const YamlValue* schema = extension.find("dataSchema");
                lose(fmt::format("its extension {}", schema == nullptr ? "" : schema->text));
                continue;
            }
            if (data->find("waterScarcityFootprint_m3WorldEq") != nullptr)
                lose("its water scarcity");
            if (data->find("atLeast") != nullptr) lose("that its water is at least so much");
            if (keys_.entry("water") == nullptr) add(keys_, "water", std::move(water));
        }
    }

    void add_carbon() { add_text("biogenic_carbon", "pcf/biogenicCarbonContent", " kg"); }

    void add_periods() {
        const auto from = instant_from(from_.text("pcf/referencePeriodStart")),
                   to = instant_from(from_.text("pcf/referencePeriodEnd"));
        if (from && to)
            add(keys_, "reference_period",
                made_text(pcf("referencePeriodStart")->place, days_text({*from, *to})));
        if (const auto valid = validity_of(from_))
            add(keys_, "valid", made_text(from_.root->place, days_text(*valid)));
    }

    void add_source() {
        const YamlValue* id = needed("id");
        const YamlValue* company = needed("companyName");
        const YamlValue* created = needed("created");
        if (id == nullptr || company == nullptr || created == nullptr) return;
        YamlValue source = made_empty(id->place, YamlValue::Kind::map);
        const bool replaced = from_.text("status") == "Deprecated";
        add(source, "title",
            made_text(id->place, fmt::format("Product footprint {}{}", id->text,
                                             replaced ? ", deprecated by its supplier" : "")));
        add(source, "publisher", made_text(company->place, company->text));
        add(source, "year", made_text(created->place, created->text.substr(0, 4)));
        keys_.entries.push_back({"source", id->place, std::move(source)});
    }

    /// What the footprint says of itself, for check and for disclosures that rest on it.
    void add_supplier() {
        const YamlValue* edition = needed("specVersion");
        if (edition == nullptr) return;
        YamlValue supplier = made_empty(edition->place, YamlValue::Kind::map);
        add(supplier, "edition", made_text(edition->place, file_.text("specVersion")));
        if (const YamlValue* id = from_.find("id"); id != nullptr && id->is_scalar())
            add(supplier, "id", made_text(id->place, id->text));
        if (const YamlValue* status = from_.find("status");
            status != nullptr && status->is_scalar())
            add(supplier, "status",
                made_text(status->place, status->text == "Deprecated" ? "deprecated" : "active"));
        if (const YamlValue* sets = potentials()) {
            YamlValue list = made_empty(sets->place, YamlValue::Kind::list);
            for (const YamlValue& one : sets->items)
                list.items.push_back(made_text(one.place, one.text));
            add(supplier, "potentials", std::move(list));
        }
        if (const YamlValue* left = pcf("exemptedEmissionsPercent");
            left != nullptr && left->is_scalar())
            add(supplier, "exempted", made_text(left->place, left->text + " %"));
        if (!earlier_) add_ratings(supplier);
        find_lost();
        if (!lost_.empty())
            add(supplier, "not_carried",
                made_text(edition->place, fmt::format("{}", fmt::join(lost_, "; "))));
        add(keys_, "supplier_footprint", std::move(supplier));
    }

    /// Of all three criteria or none; the second edition rated on another scale.
    void add_ratings(YamlValue& supplier) const {
        YamlValue list = made_empty(from_.root->place, YamlValue::Kind::list);
        for (const std::string_view rating : rating_properties) {
            const YamlValue* value = pcf(rating);
            if (value == nullptr || !value->is_scalar()) return;
            list.items.push_back(made_text(value->place, value->text));
        }
        list.place = list.items.front().place;
        add(supplier, "ratings", std::move(list));
    }

    void lose(std::string what) { lost_.push_back(std::move(what)); }

    /// What it states beside its lines, or tells how far it can be relied on, and a factor cannot
    /// hold.
    void find_lost() {
        for (const LostProperty& one : converted_.lost) {
            if (!one.on_reliability) continue;
            lose(Exact::from(one.text) ? fmt::format("{} ({})", one.what, one.text)
                                       : std::string(one.what));
        }
        for (const BesideRow& row : beside_rows) {
            const auto amount = Exact::from(from_.text(fmt::format("pcf/{}", row.property)));
            if (amount && amount->sign() != 0)
                lose(fmt::format("{} ({})", row.what, amount->text()));
        }
        if (from_.text("comment").find("At least") != std::string::npos)
            lose("that some of its lines are at least so much, as its comment says");
        if (file_.find(fmt::format("pcf/{}", name_in_file("verification"))) != nullptr)
            lose("its assurance");
    }

    const Declared& file_;
    bool earlier_;
    FromSecondEdition converted_;
    Declared from_;  ///< the file, or what its version 2 was converted to
    Problems& problems_;
    YamlValue keys_;
    std::vector<std::string> lost_;  ///< what a factor cannot hold
};

/// Adds what the footprint states and the table does not.
void complete(YamlValue& factor, YamlValue stated, Problems& problems) {
    for (YamlEntry& entry : stated.entries) {
        const YamlEntry* typed = factor.entry(entry.key);
        if (typed == nullptr) {
            factor.entries.push_back(std::move(entry));
        } else if (std::ranges::find(own_words, entry.key) == own_words.end()) {
            problems.add(typed->place, "stated-twice",
                         fmt::format("{} stands here and in the footprint", entry.key),
                         "leave it to the supplier's file", {entry.place});
        }
    }
}

void bring_in(YamlValue& factor, const YamlEntry& entry, Files& files, const fs::path& folder,
              Problems& problems) {
    const YamlValue named = entry.value;  // the keys of the factor are about to move
    if (!named.is_scalar()) {
        problems.add(key_place(entry), "not-text",
                     fmt::format("factor_from names a file, not {}", named.kind_text()),
                     "factor_from: pulp_pcf.json");
        return;
    }
    const std::uint32_t file =
        files.read((folder / named.text).lexically_normal().string(), named.place);
    const std::size_t before = problems.count();
    const YamlValue root = read_yaml(files, file, problems, YamlRoot::map_or_list);
    if (problems.count() != before) return;
    const std::vector<Declared> all = declared_in(root);
    if (all.size() != 1) {
        problems.add(named.place, "several-footprints",
                     fmt::format("{} holds {} footprints", named.text, all.size()),
                     "a factor is made of one: keep that one in a file of its own");
        return;
    }
    if (!all[0].root->is_map() || !all[0].is_version_2()) {
        for (const Problem& one : check_declared(all[0])) {
            if (one.severity == Severity::error)
                problems.add(one.where, one.code, one.message, one.hint);
        }
    }
    if (problems.count() == before)
        complete(factor, SupplierFactor(all[0], problems).run(), problems);
}

void read_ratings(const YamlValue& map, SupplierFootprint& supplier, Problems& problems) {
    constexpr double best = 1.0, unknown = 5.0;
    const YamlEntry* list = map.entry("ratings");
    if (list == nullptr) return;
    if (!list->value.is_list()) {
        problems.add(key_place(*list), "not-a-list", "ratings is a list of three numbers",
                     "[2, 1, 1.5]");
        return;
    }
    std::vector<double>& ratings = supplier.ratings;
    for (const YamlValue& one : list->value.items) {
        const auto rating = one.is_scalar() ? Exact::from(one.text) : std::nullopt;
        if (rating && rating->value() >= best && rating->value() <= unknown)
            ratings.push_back(rating->value());
    }
    if (ratings.size() == 3 && list->value.items.size() == 3) return;
    ratings.clear();
    problems.add(key_place(*list), "bad-score",
                 "ratings are three numbers from 1 to 5: of technology, geography and time",
                 "ratings: [2, 1, 1.5]");
}

void read_potentials(const YamlValue& map, SupplierFootprint& supplier, Problems& problems) {
    const YamlEntry* entry = map.entry("potentials");
    if (entry == nullptr) return;
    const YamlValue* potentials = &entry->value;
    if (potentials->is_scalar())
        return supplier.potentials.push_back(read_text(*potentials, "potentials", problems));
    if (potentials->is_map()) {
        problems.add(key_place(*entry), "not-a-list", "potentials is a word or a list of words",
                     "[AR5, AR6]");
        return;
    }
    for (const YamlValue& one : potentials->items)
        supplier.potentials.push_back(read_text(one, "potentials", problems));
}

}  // namespace

void read_supplier_lists(const YamlValue& map, SupplierFootprint& supplier, Problems& problems) {
    read_ratings(map, supplier, problems);
    read_potentials(map, supplier, problems);
}

void bring_in_footprints(YamlValue& root, Files& files, std::uint32_t table_file,
                         Problems& problems) {
    const auto factors = std::ranges::find(root.entries, "factors", &YamlEntry::key);
    if (factors == root.entries.end()) return;
    const fs::path folder = fs::path(files.at(table_file).path).parent_path();
    for (YamlEntry& factor : factors->value.entries) {
        const std::size_t before = problems.count();
        const YamlEntry* named = factor.value.entry("factor_from");
        if (named == nullptr || named->value.refused) continue;
        try {
            bring_in(factor.value, *named, files, folder, problems);
        } catch (const InputError& error) {
            problems.add(error);
        }
        factor.value.refused = problems.count() != before;  // its other keys need no report
    }
}

}  // namespace deckle
