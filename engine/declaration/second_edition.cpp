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
    SuccessorRow{"ipccCharacterizationFactorsSources", "ipccCharacterizationFactors"}};

/// Totals of both editions: they are made anew.
constexpr std::array<std::string_view, 4> totals{"pCfExcludingBiogenic", "pCfIncludingBiogenic",
                                                 "pcfExcludingBiogenicUptake",
                                                 "pcfIncludingBiogenicUptake"};

struct LostRow {
    std::string_view property, what;
};
constexpr std::array lost_of_footprint{
    LostRow{"version", "its version, since every change makes a new footprint"},
    LostRow{"updated", "when it was last changed"},
    LostRow{"statusComment", "the comment on its status"}};
constexpr std::array lost_of_carbon{
    LostRow{"biogenicAccountingMethodology", "how biogenic carbon was accounted for"},
    LostRow{"uncertaintyAssessmentDescription", "its statement on uncertainty"},
    LostRow{"dqi", "its ratings, of a scale from 1 to 3 and of the larger inputs alone"}};
constexpr std::array lost_of_assurance{LostRow{"level", "the level of assurance"},
                                       LostRow{"boundary", "the boundary of the assurance"}};

/// Names of standards that the third edition spells otherwise (from memory).
constexpr std::array<std::pair<std::string_view, std::string_view>, 3> spellings{
    {{"GHG Protocol Product standard", "GHGP-Product"},
     {"ISO Standard 14067", "ISO14067"},
     {"ISO Standard 14044", "ISO14040-44"}}};

YamlValue text_at(Place place, std::string text) {
    YamlValue value;
    value.kind = YamlValue::Kind::scalar;
    value.place = place;
    value.quoted = true;  // its text is not what stands at the place
    value.text = std::move(text);
    return value;
}

YamlValue empty_at(Place place, YamlValue::Kind kind) {
    YamlValue value;
    value.kind = kind;
    value.place = place;
    return value;
}

YamlValue list_of(const YamlValue& value) {
    if (value.is_list()) return value;
    YamlValue list = empty_at(value.place, YamlValue::Kind::list);
    list.items.push_back(value);
    return list;
}

class Converter {
public:
    explicit Converter(const Declared& one) : one_(one) {}

    FromSecondEdition run() {
        const YamlValue& root = *one_.root;
        made_.root = empty_at(root.place, YamlValue::Kind::map);
        read_amount();
        for (const YamlEntry& entry : root.entries) {
            if (!is_stated(&entry.value) || is_lost(entry, lost_of_footprint, "")) continue;
            if (entry.key == "specVersion")
                add(made_.root, entry,
                    text_at(entry.value.place, std::string(declaration_version)));
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
        made_.lost.push_back(
            {fmt::format("{}{}/{}", one_.pointer, inside, entry.key), entry.place, found->what});
        return true;
    }

    void read_amount() {
        auto amount = one_.number("pcf/unitaryProductAmount");
        if (!amount) amount = one_.number("pcf/declaredUnitAmount");
        if (amount) made_.amount = *amount;
    }

    void add_class(const YamlEntry& entry) {
        if (!entry.value.is_scalar() || entry.value.text.empty()) return;
        add(made_.root, entry, list_of(text_at(entry.value.place, "urn:cpc:" + entry.value.text)),
            "productClassifications");
    }

    // --- the carbon footprint ---
    YamlValue carbon(const YamlValue& pcf) {
        YamlValue made = empty_at(pcf.place, YamlValue::Kind::map);
        for (const YamlEntry& entry : pcf.entries) {
            if (!is_stated(&entry.value) || is_lost(entry, lost_of_carbon, "/pcf")) continue;
            if (std::ranges::find(totals, entry.key) != totals.end()) continue;
            if (entry.key == "assurance") add_assurance(made, entry);
            else add_successor(made, entry);
        }
        fill_mass(made);
        add_totals(made, pcf);
        return made;
    }

    void add_successor(YamlValue& made, const YamlEntry& entry) {
        const auto row = std::ranges::find(successor_rows, entry.key, &SuccessorRow::name);
        if (row == successor_rows.end()) return add(made, entry, as_text(entry.value));
        std::string_view name = row->successor;
        YamlValue value = row->for_one_unit ? for_all(entry.value) : as_text(entry.value);
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
        auto all = number ? number->times(made_.amount) : std::nullopt;
        if (number && !all)
            all = Exact::rounded(number->value() * made_.amount.value(), number->places());
        return all ? text_at(value.place, all->text()) : value;
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
        YamlValue verification = empty_at(entry.value.place, YamlValue::Kind::map);
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

    /// A kilogram weighs a kilogram; the third edition wants it said.
    void fill_mass(YamlValue& made) const {
        constexpr std::string_view name = "productMassPerDeclaredUnit";
        const YamlEntry *unit = made.entry("declaredUnitOfMeasurement"),
                        *amount = made.entry("declaredUnitAmount");
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
            {"pcfExcludingBiogenicUptake", without_place, text_at(without_place, sum.text())});
        made.entries.push_back(
            {"pcfIncludingBiogenicUptake", with_place, text_at(with_place, with.text())});
    }

    const Declared& one_;
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

FromSecondEdition from_second_edition(const Declared& one) { return Converter(one).run(); }

std::vector<Problem> check_second_totals(const Declared& one) {
    std::vector<Problem> problems;
    const auto fossil = term_of(one, "fossilGhgEmissions");
    if (!fossil) return problems;
    std::vector<Sum> without{*fossil}, with{*fossil};
    for (const std::string_view name :
         {"dLucGhgEmissions", "iLucGhgEmissions", "landManagementGhgEmissions",
          "otherBiogenicGhgEmissions"}) {
        const auto term = term_of(one, name);
        if (!term) continue;
        without.push_back(without.back() + *term);
        with.front() = with.front() + *term;
    }
    if (const auto taken = term_of(one, "biogenicCarbonWithdrawal"))
        with.front() = with.front() + *taken;
    compare_total(one, "pCfExcludingBiogenic", without, problems);
    compare_total(one, "pCfIncludingBiogenic", with, problems);
    return problems;
}

}  // namespace deckle
