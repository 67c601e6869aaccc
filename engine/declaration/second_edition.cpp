#include "engine/declaration/second_edition.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>

#include "engine/declaration/model.h"

namespace deckle {
namespace {

/// What became of a property of `pcf`. Those that no row names kept their name and meaning.
struct SuccessorRow {
    std::string_view name, successor;
    bool for_one_unit = false;  ///< its amount was for one unit, and becomes one for all of them
};
constexpr std::array successor_rows{
    SuccessorRow{"declaredUnit", "declaredUnitOfMeasurement"},
    SuccessorRow{"unitaryProductAmount", "declaredUnitAmount"},
    SuccessorRow{"productMassPerDeclaredUnit", "productMassPerDeclaredUnit", true},
    SuccessorRow{"fossilCarbonContent", "fossilCarbonContent", true},
    SuccessorRow{"biogenicCarbonContent", "biogenicCarbonContent", true},
    SuccessorRow{"fossilGhgEmissions", "fossilGhgEmissions", true},
    SuccessorRow{"dLucGhgEmissions", "landUseChangeGhgEmissions", true},
    SuccessorRow{"iLucGhgEmissions", "landCarbonLeakage", true},
    SuccessorRow{"landManagementGhgEmissions", "landManagementBiogenicCO2Emissions", true},
    SuccessorRow{"otherBiogenicGhgEmissions", "biogenicNonCO2Emissions", true},
    SuccessorRow{"biogenicCarbonWithdrawal", "biogenicCO2Uptake", true},
    SuccessorRow{"aircraftGhgEmissions", "aircraftGhgEmissions", true},
    SuccessorRow{"packagingGhgEmissions", "packagingGhgEmissions", true},
    SuccessorRow{"crossSectoralStandardsUsed", "crossSectoralStandards"},
    SuccessorRow{"characterizationFactors", "ipccCharacterizationFactors"},
    SuccessorRow{"ipccCharacterizationFactorsSources", "ipccCharacterizationFactors"},
    SuccessorRow{"assurance", "verification"}};

/// Totals of both editions: they are made anew.
constexpr std::array<std::string_view, 4> totals{"pCfExcludingBiogenic", "pCfIncludingBiogenic",
                                                 "pcfExcludingBiogenicUptake",
                                                 "pcfIncludingBiogenicUptake"};

struct LostRow {
    std::string_view property, what;
    bool on_reliability = false;
};
constexpr std::array lost_of_footprint{
    LostRow{"version", "its version, since every change makes a new footprint"},
    LostRow{"updated", "when it was last changed"},
    LostRow{"statusComment", "the comment on its status"}};
constexpr std::array lost_of_carbon{
    LostRow{"biogenicAccountingMethodology", "how biogenic carbon was accounted for"},
    LostRow{"uncertaintyAssessmentDescription", "its statement on uncertainty", true},
    LostRow{"dqi", "its ratings, of a scale from 1 to 3 and of the larger inputs alone", true}};
constexpr std::array lost_of_assurance{LostRow{"level", "the level of assurance"},
                                       LostRow{"boundary", "the boundary of the assurance"}};

/// Names of standards that the third edition spells otherwise (from memory).
constexpr std::array<std::pair<std::string_view, std::string_view>, 3> spellings{
    {{"GHG Protocol Product standard", "GHGP-Product"},
     {"ISO Standard 14067", "ISO14067"},
     {"ISO Standard 14044", "ISO14040-44"}}};

YamlValue list_of(const YamlValue& value) {
    if (value.is_list()) return value;
    YamlValue list = made_empty(value.place, YamlValue::Kind::list);
    list.items.push_back(value);
    return list;
}

class Converter {
public:
    Converter(const Declared& one, DeclaredAmount amount)
        : one_(one), whole_(amount == DeclaredAmount::whole) {}

    FromSecondEdition run() {
        const YamlValue& root = *one_.root;
        made_.root = made_empty(root.place, YamlValue::Kind::map);
        if (whole_) read_amount();
        for (const YamlEntry& entry : root.entries) {
            if (!is_stated(&entry.value) || is_lost(entry, lost_of_footprint, "")) continue;
            if (entry.key == "specVersion")
                add(made_.root, entry,
                    made_text(entry.value.place, std::string(declaration_version)));
            else if (entry.key == "productCategoryCpc") add_class(entry);
            else if (entry.key == "pcf" && entry.value.is_map())
                add(made_.root, entry, carbon(entry.value));
            else add(made_.root, entry, entry.value);
        }
        return std::move(made_);
    }

private:
    static void add(YamlValue& map, const YamlEntry& from, YamlValue value,
                    std::string_view name = {}) {
        const std::string key(name.empty() ? std::string_view(from.key) : name);
        if (map.entry(key) == nullptr) map.entries.push_back({key, from.place, std::move(value)});
    }

    bool is_lost(const YamlEntry& entry, std::span<const LostRow> rows, std::string_view inside) {
        const auto found = std::ranges::find(rows, entry.key, &LostRow::property);
        if (found == rows.end()) return false;
        made_.lost.push_back({fmt::format("{}{}/{}", one_.pointer, inside, entry.key), entry.place,
                              found->what, entry.value.text, found->on_reliability});
        return true;
    }

    void read_amount() {
        auto amount = one_.number("pcf/unitaryProductAmount");
        if (!amount) amount = one_.number("pcf/declaredUnitAmount");
        if (amount) made_.amount = *amount;
    }

    void add_class(const YamlEntry& entry) {
        if (!entry.value.is_scalar() || entry.value.text.empty()) return;
        add(made_.root, entry, list_of(made_text(entry.value.place, "urn:cpc:" + entry.value.text)),
            "productClassifications");
    }

    // --- the carbon footprint ---
    YamlValue carbon(const YamlValue& pcf) {
        YamlValue made = made_empty(pcf.place, YamlValue::Kind::map);
        for (const YamlEntry& entry : pcf.entries) {
            if (!is_stated(&entry.value) || is_lost(entry, lost_of_carbon, "/pcf")) continue;
            if (std::ranges::find(totals, entry.key) != totals.end() || is_replaced(entry, pcf))
                continue;
            if (entry.key == "assurance") add_assurance(made, entry);
            else add_successor(made, entry);
        }
        if (!whole_) add_one_unit(made);
        fill_mass(made);
        add_totals(made, pcf);
        return made;
    }

    /// The second edition has two names for the sets of potentials; the newer goes before.
    static bool is_replaced(const YamlEntry& entry, const YamlValue& pcf) {
        return entry.key == "characterizationFactors" &&
               is_stated(pcf.find("ipccCharacterizationFactorsSources"));
    }

    void add_successor(YamlValue& made, const YamlEntry& entry) {
        const auto row = std::ranges::find(successor_rows, entry.key, &SuccessorRow::name);
        const bool known = row != successor_rows.end();
        std::string_view name = known ? row->successor : entry.key;
        if (!whole_ && name == unit_amount) return;
        YamlValue value =
            known && row->for_one_unit && whole_ ? for_all(entry.value) : as_text(entry.value);
        if (name == "crossSectoralStandards") respell(value);
        if (name == "ipccCharacterizationFactors") value = list_of(value);
        if (entry.key == "landManagementGhgEmissions" && value.text.starts_with('-'))
            name = "landManagementBiogenicCO2Removals";
        add(made, entry, std::move(value), name);
    }

    /// Shares were numbers of JSON and are texts.
    static YamlValue as_text(YamlValue value) {
        if (value.is_scalar() && Exact::from(value.text)) value.quoted = true;
        return value;
    }

    YamlValue for_all(const YamlValue& value) const {
        const auto number =
            value.is_scalar() && value.quoted ? Exact::from(value.text) : std::nullopt;
        return number ? made_text(value.place, number->times(made_.amount).text()) : value;
    }

    static void respell(YamlValue& standards) {
        for (YamlValue& one : standards.items) {
            const auto found = std::ranges::find_if(
                spellings, [&](const auto& pair) { return pair.first == one.text; });
            if (found != spellings.end()) one.text = found->second;
        }
    }

    /// A verification where there was one; its level and boundary have no place.
    void add_assurance(YamlValue& made, const YamlEntry& entry) {
        const YamlValue* there = entry.value.find("assurance");
        if (there == nullptr || there->text != "true") return;
        YamlValue verification = made_empty(entry.value.place, YamlValue::Kind::map);
        for (const YamlEntry& part : entry.value.entries) {
            if (!is_stated(&part.value) || part.key == "assurance" ||
                is_lost(part, lost_of_assurance, "/pcf/assurance"))
                continue;
            const auto words = verification_coverages();
            if (part.key == "coverage" &&
                std::ranges::find(words, part.value.text) == words.end()) {
                made_.lost.push_back({one_.pointer + "/pcf/assurance/coverage", part.place,
                                      "what the assurance covers, by words that are gone"});
                continue;
            }
            add(verification, part, part.value);
        }
        add(made, entry, std::move(verification), "verification");
    }

    static void add_one_unit(YamlValue& made) {
        const YamlEntry* unit = made.entry("declaredUnitOfMeasurement");
        if (unit == nullptr) return;
        const YamlEntry from = *unit;
        add(made, from, made_text(from.value.place, "1"), unit_amount);
    }

    /// A kilogram weighs a kilogram; the third edition wants it said.
    void fill_mass(YamlValue& made) const {
        constexpr std::string_view name = "productMassPerDeclaredUnit";
        const YamlEntry *unit = made.entry("declaredUnitOfMeasurement"),
                        *amount = made.entry(unit_amount);
        if (unit == nullptr || amount == nullptr || unit->value.text != "kilogram") return;
        const YamlEntry from = *amount;
        add(made, from, from.value, name);
    }

    /// Of the terms: what the second edition called its totals left some of them out.
    static void add_totals(YamlValue& made, const YamlValue& pcf) {
        const Declared terms{&made, {}};
        Exact sum;
        bool known = false;
        for (const std::string_view name : terms_of_total()) {
            const auto term = terms.number(name);
            if (!term) continue;
            sum = sum + *term;
            known = true;
        }
        if (!known) return;
        const Exact with = sum + terms.number("biogenicCO2Uptake").value_or(Exact{});
        const auto place_of = [&](std::string_view earlier) {
            const YamlValue* value = pcf.find(earlier);
            return value == nullptr ? pcf.place : value->place;
        };
        const Place without_place = place_of("pCfExcludingBiogenic"),
                    with_place = place_of("pCfIncludingBiogenic");
        made.entries.push_back(
            {"pcfExcludingBiogenicUptake", without_place, made_text(without_place, sum.text())});
        made.entries.push_back(
            {"pcfIncludingBiogenicUptake", with_place, made_text(with_place, with.text())});
    }

    static constexpr std::string_view unit_amount = "declaredUnitAmount";

    const Declared& one_;
    bool whole_;  ///< amounts are for all that it declares
    FromSecondEdition made_;
};

struct Sum {
    Exact value, rounding;
    Sum operator+(const Sum& other) const {
        return {value + other.value, rounding + other.rounding};
    }
};

std::optional<Sum> term_of(const Declared& one, std::string_view name) {
    const auto number = one.number(fmt::format("pcf/{}", name));
    if (!number) return std::nullopt;
    return Sum{*number, number->half_place()};
}

void compare_total(const Declared& one, std::string_view name, const std::vector<Sum>& sums,
                   std::vector<Problem>& problems) {
    const auto total = term_of(one, name);
    if (!total) return;
    const bool fits = std::ranges::any_of(sums, [&](const Sum& sum) {
        return !(sum.rounding + total->rounding < (total->value - sum.value).magnitude());
    });
    if (fits) return;
    problems.push_back({one.find(fmt::format("pcf/{}", name))->place,
                        Severity::error,
                        "total-not-its-terms",
                        fmt::format("{} is {}, and its terms add up to {}", name,
                                    total->value.text(), sums.back().value.text()),
                        "a factor is made of the terms: ask the supplier which of them is missing",
                        {}});
}

}  // namespace

FromSecondEdition from_second_edition(const Declared& one, DeclaredAmount amount) {
    return Converter(one, amount).run();
}

std::string_view second_edition_name(std::string_view property) noexcept {
    const auto row = std::ranges::find(successor_rows, property, &SuccessorRow::successor);
    return row == successor_rows.end() ? property : row->name;
}

std::vector<Problem> check_second_totals(const Declared& one) {
    std::vector<Problem> problems;
    const auto fossil = term_of(one, "fossilGhgEmissions");
    if (!fossil) return problems;
    // indirect land-use change may stand in the total or outside it, as the edition leaves open
    const auto indirect = term_of(one, "iLucGhgEmissions");
    std::vector<Sum> without, with;
    for (const bool inside : {true, false}) {
        if (inside && !indirect) continue;
        Sum sum = *fossil, all = *fossil;
        if (inside) all = all + *indirect;
        without.push_back(sum);
        if (inside) without.push_back(sum = sum + *indirect);
        for (const std::string_view name :
             {"dLucGhgEmissions", "landManagementGhgEmissions", "otherBiogenicGhgEmissions"}) {
            const auto term = term_of(one, name);
            if (!term) continue;
            without.push_back(sum = sum + *term);
            all = all + *term;
        }
        if (const auto taken = term_of(one, "biogenicCarbonWithdrawal")) all = all + *taken;
        with.push_back(all);
    }
    compare_total(one, "pCfExcludingBiogenic", without, problems);
    compare_total(one, "pCfIncludingBiogenic", with, problems);
    return problems;
}

}  // namespace deckle
