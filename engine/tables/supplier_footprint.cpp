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

/// A line of `climate`, the property that states it, and the property of version 2.
struct ClimateRow {
    std::string_view line, property, earlier;
};
constexpr std::array climate_rows{
    ClimateRow{"fossil", "fossilGhgEmissions", "fossilGhgEmissions"},
    ClimateRow{"biogenic", "biogenicNonCO2Emissions", "otherBiogenicGhgEmissions"},
    ClimateRow{"land_use", "landUseChangeGhgEmissions", "dLucGhgEmissions"},
    ClimateRow{"land_management", "landManagementBiogenicCO2Emissions",
               "landManagementGhgEmissions"},
    ClimateRow{"removals", "landManagementBiogenicCO2Removals", {}},
    ClimateRow{"land_management_fossil", "landManagementFossilGhgEmissions", {}},
    ClimateRow{"aircraft", "aircraftGhgEmissions", "aircraftGhgEmissions"}};

/// Parts of the total that a factor has no line for: they may only be nothing.
constexpr std::array<std::string_view, 3> without_a_line{
    "technologicalCO2Removals", "ccsTechnologicalCO2Capture", "iLucGhgEmissions"};

/// Properties of version 2 that neither a factor nor the third version holds.
struct LostRow {
    std::string_view property, what;
};
constexpr std::array lost_rows{
    LostRow{"uncertaintyAssessmentDescription", "its statement on uncertainty"},
    LostRow{"dqi", "its ratings, of a scale from 1 to 3 and of the larger inputs alone"},
    LostRow{"assurance", "its assurance"}};

/// What a factor may call otherwise than its supplier does.
constexpr std::array<std::string_view, 2> own_words{"title", "note"};

std::string day_text(Instant instant) { return instant_text(instant).substr(0, 10); }

/// "2025-01-01 .. 2025-12-31" of a period that ends when its last day is over.
std::string days_text(const Period& period) {
    return fmt::format("{} .. {}", day_text(period.start),
                       day_text(period.end - std::chrono::seconds(1)));
}

YamlValue scalar(std::string text, Place place) {
    YamlValue value;
    value.kind = YamlValue::Kind::scalar;
    value.place = place;
    value.quoted = true;  // its text is not what stands at the place
    value.text = std::move(text);
    return value;
}

void add(YamlValue& map, std::string key, YamlValue value) {
    const Place place = value.place;
    map.entries.push_back({std::move(key), place, std::move(value)});
}

YamlValue map_at(Place place) {
    YamlValue map;
    map.kind = YamlValue::Kind::map;
    map.place = place;
    return map;
}

/// The keys of a factor, from one footprint.
class SupplierFactor {
public:
    SupplierFactor(const Declared& from, Problems& problems)
        : from_(from), earlier_(from.is_version_2()), problems_(problems) {
        keys_ = map_at(from.root->place);
    }

    YamlValue run() {
        add_title();
        add_per();
        add_climate();
        add_carbon();
        add_periods();
        add_text("primary_share", "pcf/primaryDataShare", " %");
        add_source();
        if (earlier_) {
            for (const Problem& one : check_second_totals(from_))
                problems_.add(one.where, "total-not-its-terms", one.message, one.hint);
        }
        add_supplier();
        return std::move(keys_);
    }

private:
    [[nodiscard]] const YamlValue* pcf(std::string_view name) const {
        return name.empty() ? nullptr : from_.find(fmt::format("pcf/{}", name));
    }

    void add_text(std::string key, std::string_view property, std::string_view unit = {}) {
        const YamlValue* value = from_.find(property);
        if (value != nullptr && value->is_scalar())
            add(keys_, std::move(key), scalar(value->text + std::string(unit), value->place));
    }

    /// Reported where it is missing: version 2 is not checked by rules of its own.
    const YamlValue* needed(std::string_view property) {
        const YamlValue* value = from_.find(property);
        if (value == nullptr || !value->is_scalar()) {
            problems_.add(from_.root->place, "property-missing",
                          fmt::format("{}/{} is not stated", from_.pointer, property),
                          "a factor needs it: ask the supplier");
            return nullptr;
        }
        return value;
    }

    void add_title() { add_text("title", "productNameCompany"); }

    void add_per() {
        const YamlValue* unit =
            needed(earlier_ ? "pcf/declaredUnit" : "pcf/declaredUnitOfMeasurement");
        if (unit == nullptr) return;
        const auto row = std::ranges::find(unit_rows, unit->text, &UnitRow::declared);
        if (row == unit_rows.end()) {
            problems_.add(unit->place, "unit-not-carried",
                          fmt::format("no factor is per {}", unit->text),
                          "ask for a footprint per kilogram, or per another unit of matter, energy "
                          "or transport");
            return;
        }
        if (earlier_)  // its amounts are for one unit, however many it declares
            return add(keys_, "per", scalar(fmt::format("1 {}", row->ours), unit->place));
        if (const YamlValue* amount = needed("pcf/declaredUnitAmount"))
            add(keys_, "per", scalar(fmt::format("{} {}", amount->text, row->ours), amount->place));
    }

    void add_climate() {
        YamlValue climate = map_at(from_.root->place);
        for (const ClimateRow& row : climate_rows) {
            const YamlValue* value = pcf(earlier_ ? row.earlier : row.property);
            if (value == nullptr || !value->is_scalar()) continue;
            const bool taken_up = value->text.starts_with('-');
            const std::string_view line =
                taken_up && row.line == "land_management" ? "removals" : row.line;
            add(climate, std::string(line),
                scalar(value->text.substr(taken_up ? 1 : 0) + " kg CO2e", value->place));
        }
        for (const std::string_view property : without_a_line) refuse_if_any(property);
        if (const YamlValue* set = potentials())
            add(climate, "characterization", scalar(potentials_text(*set), set->place));
        add(keys_, "climate", std::move(climate));
    }

    void refuse_if_any(std::string_view property) {
        const YamlValue* value = pcf(property);
        if (value == nullptr || !value->is_scalar()) return;
        const auto amount = Exact::from(value->text);
        if (amount && amount->sign() == 0) return;
        problems_.add(
            value->place, "line-not-carried",
            fmt::format("{} is {}, and a factor has no line for it", property, value->text),
            "state the factor by hand, with what its supplier says of this part");
    }

    [[nodiscard]] const YamlValue* potentials() {
        for (const std::string_view name :
             {"ipccCharacterizationFactors", "ipccCharacterizationFactorsSources",
              "characterizationFactors"}) {
            if (const YamlValue* value = pcf(name)) return value;
        }
        return nullptr;
    }

    /// "ar5_100": of several sets the oldest, which is what may be doubted.
    static std::string potentials_text(const YamlValue& set) {
        std::string oldest = set.is_scalar() ? set.text : std::string{};
        for (const YamlValue& one : set.items) {
            if (oldest.empty() || one.text < oldest) oldest = one.text;
        }
        std::ranges::transform(oldest, oldest.begin(), [](char c) {
            return c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c;
        });
        return oldest + "_100";
    }

    void add_carbon() { add_text("biogenic_carbon", "pcf/biogenicCarbonContent", " kg"); }

    void add_periods() {
        const auto from = instant_from(from_.text("pcf/referencePeriodStart")),
                   to = instant_from(from_.text("pcf/referencePeriodEnd"));
        if (from && to)
            add(keys_, "reference_period",
                scalar(days_text({*from, *to}), pcf("referencePeriodStart")->place));
        if (const auto valid = validity_of(from_))
            add(keys_, "valid", scalar(days_text(*valid), from_.root->place));
    }

    void add_source() {
        const YamlValue* id = needed("id");
        const YamlValue* company = needed("companyName");
        const YamlValue* created = needed("created");
        if (id == nullptr || company == nullptr || created == nullptr) return;
        YamlValue source = map_at(id->place);
        const bool replaced = from_.text("status") == "Deprecated";
        add(source, "title",
            scalar(fmt::format("Product footprint {}{}", id->text,
                               replaced ? ", deprecated by its supplier" : ""),
                   id->place));
        add(source, "publisher", scalar(company->text, company->place));
        add(source, "year", scalar(created->text.substr(0, 4), created->place));
        keys_.entries.push_back({"source", id->place, std::move(source)});
    }

    /// What the footprint says of itself, for check and for disclosures that rest on it.
    void add_supplier() {
        const YamlValue* edition = needed("specVersion");
        if (edition == nullptr) return;
        YamlValue supplier = map_at(edition->place);
        add(supplier, "edition", scalar(edition->text, edition->place));
        if (const YamlValue* status = from_.find("status");
            status != nullptr && status->is_scalar())
            add(supplier, "status",
                scalar(status->text == "Deprecated" ? "deprecated" : "active", status->place));
        if (const YamlValue* sets = potentials()) {
            YamlValue list = map_at(sets->place);
            list.kind = YamlValue::Kind::list;
            if (sets->is_scalar()) list.items.push_back(scalar(sets->text, sets->place));
            for (const YamlValue& one : sets->items)
                list.items.push_back(scalar(one.text, one.place));
            add(supplier, "potentials", std::move(list));
        }
        if (const YamlValue* left = pcf("exemptedEmissionsPercent");
            left != nullptr && left->is_scalar())
            add(supplier, "exempted", scalar(left->text + " %", left->place));
        const std::string lost = earlier_ ? not_carried() : std::string{};
        if (!lost.empty()) add(supplier, "not_carried", scalar(lost, edition->place));
        add(keys_, "supplier_footprint", std::move(supplier));
    }

    [[nodiscard]] std::string not_carried() const {
        std::vector<std::string> lost;
        for (const LostRow& row : lost_rows) {
            const YamlValue* value = pcf(row.property);
            if (value == nullptr) value = from_.find(row.property);
            if (!is_stated(value)) continue;
            lost.push_back(value->is_scalar() && Exact::from(value->text)
                               ? fmt::format("{} ({})", row.what, value->text)
                               : std::string(row.what));
        }
        return fmt::format("{}", fmt::join(lost, "; "));
    }

    const Declared& from_;
    bool earlier_;
    Problems& problems_;
    YamlValue keys_;
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

}  // namespace

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
