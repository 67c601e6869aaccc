#include "engine/declaration/check.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>

#include "engine/text/nearest.h"

namespace deckle {
namespace {

constexpr double most_left_out = 3.0;       // % of the footprint (PACT Methodology V3)
constexpr int longest_validity = 3;         // years
constexpr double least_change_told = 10.0;  // % against the preceding footprint
constexpr int biogenic_percent = 5;  // of the mass: above, the land-sector lines are asked for

constexpr std::array rules{
    DeclarationRule{"V-01", "geography is global, or exactly one of region, country, subdivision"},
    DeclarationRule{"V-02", "emissions of packaging stand only where packaging is counted"},
    DeclarationRule{"V-03", "captured CO2 stands only where capture is counted"},
    DeclarationRule{"V-04", "a credit is certified only where credits are the approach"},
    DeclarationRule{"V-05", "the mass of the declared unit fits the unit"},
    DeclarationRule{"V-06", "the reference period begins before it ends"},
    DeclarationRule{"V-07", "validity begins when the reference period has ended, or later"},
    DeclarationRule{"V-08", "validity has both ends and lasts no longer than three years"},
    DeclarationRule{"V-09", "without a validity it is three years from the end of the period"},
    DeclarationRule{"V-10", "under one id nothing changes but the status, and that once"},
    DeclarationRule{"V-11", "no footprint precedes itself"},
    DeclarationRule{"V-12", "the footprint without uptake is the sum of its terms"},
    DeclarationRule{"V-13", "the two totals differ by the uptake"},
    DeclarationRule{"V-14", "the uptake is 44/12 of the biogenic carbon held"},
    DeclarationRule{"V-15", "no more carbon than mass, no more recycled carbon than carbon"},
    DeclarationRule{"V-16", "what is a part of a line is not above it"},
    DeclarationRule{"V-17", "what is left out is a share, has a reason and stays within 3 %"},
    DeclarationRule{"V-18", "shares lie between 0 and 100 %, ratings between 1 and 5"},
    DeclarationRule{"V-19", "secondary factors are named where there are any, and only there"},
    DeclarationRule{"V-20", "every set of warming potentials is named; the newest is expected"},
    DeclarationRule{"V-21", "another operator of rules has a name, a known one has none"},
    DeclarationRule{"V-22", "biogenic products that cite PACT cite its third edition"}};

constexpr std::array<std::string_view, 7> without_mass{
    "megajoule", "kilowatt hour", "hour", "ton kilometer", "megabit second", {}, {}};

bool defined(const YamlValue* value) {
    return value != nullptr && value->kind != YamlValue::Kind::nothing;
}

bool is_string(const YamlValue& value) { return value.is_scalar() && value.quoted; }

Exact whole(int number) { return {number, 0}; }

/// Collects the problems of one footprint.
class DeclaredChecker {
public:
    explicit DeclaredChecker(const Declared& one) : one_(one) {}

    std::vector<Problem> run() {
        check_object(*one_.root, footprint_rows(), one_.pointer);
        check_geography();
        check_packaging();
        check_capture();
        check_mass();
        check_times();
        check_predecessors();
        check_sums();
        check_carbon();
        check_parts();
        check_left_out();
        check_shares();
        check_sources();
        check_potentials();
        check_sector_rules();
        check_edition();
        check_biogenic_lines();
        return std::move(problems_);
    }

private:
    // --- the schema
    // ------------------------------------------------------------------------------
    void check_object(const YamlValue& map, std::span<const PropertyRow> rows,
                      const std::string& pointer) {
        for (const PropertyRow& row : rows) {
            const YamlValue* value = map.find(row.name);
            const std::string at = fmt::format("{}/{}", pointer, row.name);
            if (defined(value)) check_value(*value, row, at);
            else report_missing(map, row, at);
        }
        for (const YamlEntry& entry : map.entries) {
            if (std::ranges::find(rows, entry.key, &PropertyRow::name) != rows.end()) continue;
            std::vector<std::string> names;
            for (const PropertyRow& row : rows) names.emplace_back(row.name);
            say(Severity::finding, entry.place, "property-unknown",
                fmt::format("{}/{}: the model has no such property", pointer, entry.key),
                did_you_mean(entry.key, names));
        }
    }

    void report_missing(const YamlValue& map, const PropertyRow& row, const std::string& at) {
        if (row.required) {
            return say(Severity::error, map.place, "property-missing",
                       fmt::format("{} is missing", at), "the schema requires it");
        }
        if (row.asked == Asked::always) {
            say(Severity::finding, map.place, "property-expected",
                fmt::format("{} is not stated: {}", at, row.what),
                "the reporting rules expect it of every footprint");
        } else if (row.asked == Asked::from_2027) {
            say(Severity::finding, map.place, "property-expected",
                fmt::format("{} is not stated", at), "expected from 31 December 2027");
        }
    }

    void check_value(const YamlValue& value, const PropertyRow& row, const std::string& at) {
        if (!row.list) return check_one(value, row, at);
        if (!value.is_list()) return wrong_type(value, at, "a list");
        if (value.items.empty())
            return say(Severity::error, value.place, "property-list",
                       fmt::format("{} is an empty list", at),
                       "leave it out, or list one thing at least");
        for (std::size_t i = 0; i < value.items.size(); ++i) {
            check_one(value.items[i], row, fmt::format("{}/{}", at, i));
            for (std::size_t k = 0; k < i; ++k) {
                if (value.items[i].is_scalar() && value.items[k].is_scalar() &&
                    value.items[i].text == value.items[k].text)
                    say(Severity::error, value.items[i].place, "property-list",
                        fmt::format("{}/{}: {} stands there twice", at, i, value.items[i].text),
                        "list each once");
            }
        }
    }

    void check_one(const YamlValue& value, const PropertyRow& row, const std::string& at) {
        switch (row.form) {
            case Form::object:
                if (!value.is_map()) return wrong_type(value, at, "an object");
                return check_object(value, row.inside, at);
            case Form::free_object:
                if (!value.is_map()) wrong_type(value, at, "an object");
                return;
            case Form::yes_or_no:
                if (!value.is_scalar() || value.quoted ||
                    (value.text != "true" && value.text != "false"))
                    wrong_type(value, at, "true or false");
                return;
            default: break;
        }
        if (!is_string(value)) return wrong_type(value, at, "a text in double quotes");
        check_text(value, row, at);
    }

    void check_text(const YamlValue& value, const PropertyRow& row, const std::string& at) {
        const std::string& text = value.text;
        switch (row.form) {
            case Form::filled_text:
                if (text.empty()) wrong_form(value, at, "a text that is not empty");
                return;
            case Form::uuid:
                if (!is_uuid(text)) wrong_form(value, at, "a UUID without braces");
                return;
            case Form::urn:
                if (!is_urn(text)) wrong_form(value, at, "a name of the form urn:SPACE:NAME");
                return;
            case Form::uri:
                if (!is_uri(text)) wrong_form(value, at, "an address of the form SCHEME:REST");
                return;
            case Form::instant:
                if (!instant_from(text))
                    wrong_form(value, at, "a time in UTC such as 2026-01-01T00:00:00Z");
                return;
            case Form::word: return check_word(value, row, at);
            case Form::pattern:
                if (!fits_pattern(row.pattern, text)) wrong_form(value, at, form_of(row.pattern));
                return;
            case Form::number:
            case Form::positive:
            case Form::not_negative:
            case Form::not_positive: return check_number(value, row.form, at);
            default: return;
        }
    }

    static std::string_view form_of(std::string_view pattern) {
        if (pattern == "version") return "a version such as 2.0.0";
        if (pattern == "dated version") return "a version such as 3.0.3";
        if (pattern == "country") return "two capital letters (ISO 3166-1)";
        if (pattern == "subdivision")
            return "country, dash, one to three capitals or digits (ISO 3166-2)";
        return "AR and the number of an IPCC report, such as AR6";
    }

    void check_word(const YamlValue& value, const PropertyRow& row, const std::string& at) {
        if (std::ranges::find(row.words, value.text) != row.words.end()) return;
        const std::vector<std::string> known(row.words.begin(), row.words.end());
        const std::string near = did_you_mean(value.text, known);
        say(Severity::error, value.place, "property-word",
            fmt::format("{}: \"{}\" is not one of its words", at, value.text),
            near.empty() ? fmt::format("{}", fmt::join(known, ", ")) : near);
    }

    /// The sign is read from the number: the printed patterns let some of the other sign pass.
    void check_number(const YamlValue& value, Form form, const std::string& at) {
        const auto number = Exact::from(value.text);
        if (!number)
            return wrong_form(value, at,
                              "a decimal: digits, a point between digits, no exponent, no spaces");
        const int sign = number->sign();
        const bool fits = form == Form::number || (form == Form::positive && sign > 0) ||
                          (form == Form::not_negative && sign >= 0) ||
                          (form == Form::not_positive && sign <= 0);
        if (fits) return;
        say(Severity::error, value.place, "property-sign",
            fmt::format("{}: {} has the wrong sign", at, value.text),
            form == Form::positive       ? "above zero"
            : form == Form::not_negative ? "zero or above"
                                         : "zero or below");
    }

    void wrong_type(const YamlValue& value, const std::string& at, std::string_view expected) {
        say(Severity::error, value.place, "property-type",
            fmt::format(
                "{} is {}, not {}", at,
                value.is_scalar()
                    ? (value.quoted ? "a text" : fmt::format("the bare word {}", value.text))
                : value.is_list() ? "a list"
                                  : "an object",
                expected),
            {});
    }

    void wrong_form(const YamlValue& value, const std::string& at, std::string_view expected) {
        say(Severity::error, value.place, "property-form",
            fmt::format("{}: \"{}\" is not {}", at, value.text, expected), {});
    }

    // --- between properties
    // ------------------------------------------------------------------------
    [[nodiscard]] const YamlValue* pcf(std::string_view name) const {
        return one_.find(fmt::format("pcf/{}", name));
    }
    [[nodiscard]] std::string pcf_text(std::string_view name) const {
        return one_.text(fmt::format("pcf/{}", name));
    }
    [[nodiscard]] std::optional<Exact> number(std::string_view name) const {
        return one_.number(fmt::format("pcf/{}", name));
    }
    [[nodiscard]] bool has(std::string_view name) const { return pcf(name) != nullptr; }
    [[nodiscard]] bool is_false(std::string_view name) const { return pcf_text(name) == "false"; }
    [[nodiscard]] std::string at(std::string_view name) const {
        return fmt::format("{}/pcf/{}", one_.pointer, name);
    }

    void rule(Severity severity, std::string_view name, std::string code, std::string_view message,
              std::string_view hint) {
        const YamlValue* value = pcf(name);
        const YamlValue* all = one_.root->find("pcf");
        const Place place = value != nullptr ? value->place
                            : all != nullptr ? all->place
                                             : one_.root->place;
        say(severity, place, std::move(code), fmt::format("{}: {}", at(name), message),
            std::string(hint));
    }
    void wrong(std::string_view name, std::string code, std::string_view message,
               std::string_view hint = {}) {
        rule(Severity::error, name, std::move(code), message, hint);
    }
    void doubt(std::string_view name, std::string code, std::string_view message,
               std::string_view hint = {}) {
        rule(Severity::finding, name, std::move(code), message, hint);
    }

    void check_geography() {
        std::vector<std::string_view> given;
        for (const std::string_view name :
             {"geographyRegionOrSubregion", "geographyCountry", "geographyCountrySubdivision"}) {
            if (has(name)) given.push_back(name);
        }
        if (given.size() > 1)
            wrong(given[1], "V-01", fmt::format("{} stands there too", given[0]),
                  "keep the narrowest of region, country and subdivision alone");
    }

    void check_packaging() {
        constexpr std::string_view counted = "packagingEmissionsIncluded",
                                   emissions = "packagingGhgEmissions";
        if (is_false(counted) && has(emissions))
            wrong(emissions, "V-02", "packaging is not counted, yet has emissions",
                  "leave it out, or say that packaging is counted");
        if (pcf_text(counted) == "true" && !has(emissions))
            doubt(counted, "V-02", "packaging is counted, its emissions are not told",
                  "packagingGhgEmissions, a part of the totals");
    }

    void check_capture() {
        if (is_false("ccsTechnologicalCO2CaptureIncluded")) {
            for (const std::string_view name :
                 {"ccsTechnologicalCO2Capture", "technologicalCO2CaptureOrigin",
                  "technologicalCO2Removals"}) {
                if (has(name))
                    wrong(name, "V-03", "capture is not counted, yet stated",
                          "leave it out, or say that capture is counted");
            }
        }
        if (has("ccuCreditCertification") && pcf_text("ccuCalculationApproach") != "Credit")
            wrong("ccuCreditCertification", "V-04", "there is no credit to be certified",
                  "ccuCalculationApproach: Credit");
    }

    void check_mass() {
        const auto amount = number("declaredUnitAmount"),
                   mass = number("productMassPerDeclaredUnit");
        const std::string unit = pcf_text("declaredUnitOfMeasurement");
        if (!amount || !mass) return;
        constexpr std::string_view name = "productMassPerDeclaredUnit";
        if (unit == "kilogram" && !(*mass == *amount))
            wrong(name, "V-05",
                  fmt::format("{} kg of product in {} kg", mass->text(), amount->text()),
                  "for kilogram the two are equal");
        if (unit == "piece" && mass->sign() <= 0)
            wrong(name, "V-05", "a piece without mass",
                  "the mass of the pieces, without packaging");
        if (std::ranges::find(without_mass, unit) != without_mass.end() && !unit.empty() &&
            mass->sign() != 0)
            wrong(name, "V-05", fmt::format("{} has no mass", unit), "\"0\"");
    }

    void check_times() {
        const auto start = instant_from(pcf_text("referencePeriodStart")),
                   end = instant_from(pcf_text("referencePeriodEnd"));
        if (start && end && *start >= *end)
            wrong("referencePeriodEnd", "V-06", "the period ends before it begins",
                  "the end is the first moment behind the period");
        const YamlValue *from = one_.find("validityPeriodStart"),
                        *to = one_.find("validityPeriodEnd");
        if (from == nullptr && to == nullptr) return;
        if (from == nullptr || to == nullptr) {
            top(Severity::error, from == nullptr ? "validityPeriodEnd" : "validityPeriodStart",
                "V-08", "only one end of the validity is given", "give both, or neither");
            return;
        }
        const auto valid_from = instant_from(from->text), valid_to = instant_from(to->text);
        if (!valid_from || !valid_to || !end) return;
        if (*valid_from < *end)
            top(Severity::error, "validityPeriodStart", "V-07",
                "valid before its reference period has ended",
                fmt::format("{} or later", instant_text(*end)));
        if (*valid_to <= *valid_from)
            top(Severity::error, "validityPeriodEnd", "V-08", "validity ends before it begins", {});
        if (*valid_to > years_later(*end, longest_validity))
            top(Severity::error, "validityPeriodEnd", "V-08",
                "valid for more than three years after its reference period",
                fmt::format("{} at the latest", instant_text(years_later(*end, longest_validity))));
    }

    void check_predecessors() {
        const YamlValue* list = one_.find("precedingPfIds");
        if (list == nullptr || !list->is_list()) return;
        for (const YamlValue& item : list->items) {
            if (item.is_scalar() && !item.text.empty() && item.text == one_.text("id"))
                say(Severity::error, item.place, "V-11",
                    fmt::format("{}/precedingPfIds: it names itself", one_.pointer),
                    "the ids of earlier footprints only");
        }
    }

    void check_sums() {
        const auto without = number("pcfExcludingBiogenicUptake"),
                   with = number("pcfIncludingBiogenicUptake"),
                   uptake = number("biogenicCO2Uptake"), held = number("biogenicCarbonContent");
        if (without) check_total(*without);
        if (without && with) {
            const Exact taken = uptake.value_or(Exact{});
            const Exact gap = (*with - *without - taken).magnitude();
            const Exact most = without->half_place() + with->half_place() +
                               (uptake ? uptake->half_place() : Exact{});
            if (most < gap)
                wrong("pcfIncludingBiogenicUptake", "V-13",
                      fmt::format("{} is not {} with an uptake of {}", with->text(),
                                  without->text(), taken.text()),
                      fmt::format("it would be {}", (*without + taken).text()));
        }
        if (uptake && held) {
            const Exact gap = (uptake->times(12) + held->times(44)).magnitude();
            const Exact most = uptake->half_place().times(12) + held->half_place().times(44);
            if (most < gap)
                wrong(
                    "biogenicCO2Uptake", "V-14",
                    fmt::format("{} is not 44/12 of {} kg of carbon", uptake->text(), held->text()),
                    fmt::format("it would be {}",
                                held->times(-44).over(12, uptake->places()).text()));
        }
    }

    void check_total(const Exact& total) {
        Exact sum, most = total.half_place();
        std::string terms;
        for (const std::string_view name : terms_of_total()) {
            const auto term = number(name);
            if (!term) continue;
            sum = sum + *term;
            most = most + term->half_place();
            terms += fmt::format("{}{}", terms.empty() ? "" : " + ", term->text());
        }
        if (!terms.empty() && most < (total - sum).magnitude())
            wrong("pcfExcludingBiogenicUptake", "V-12",
                  fmt::format("{} is not the sum of its terms, {} = {}", total.text(), terms,
                              sum.text()),
                  "fossil, land-use change, land management, capture, removals and biogenic "
                  "methane and nitrous oxide; fossil land management is inside fossil");
    }

    void check_carbon() {
        const auto mass = number("productMassPerDeclaredUnit");
        Exact carbon;
        bool known = false;
        for (const std::string_view name :
             {"fossilCarbonContent", "biogenicCarbonContent", "ccuCarbonContent"}) {
            if (const auto part = number(name)) {
                carbon = carbon + *part;
                known = true;
            }
        }
        if (mass && known && *mass < carbon)
            wrong("productMassPerDeclaredUnit", "V-15",
                  fmt::format("{} kg of carbon in {} kg of product", carbon.text(), mass->text()),
                  "carbon contents are for the whole declared unit");
        const auto fossil = number("fossilCarbonContent"), held = number("biogenicCarbonContent"),
                   recycled = number("recycledCarbonContent");
        if (recycled && fossil &&
            fossil->value() + (held ? held->value() : 0.0) < recycled->value())
            wrong("recycledCarbonContent", "V-15", "more recycled carbon than carbon",
                  "it is a part of the fossil and biogenic carbon");
    }

    void check_parts() {
        const auto fossil = number("fossilGhgEmissions"),
                   managed = number("landManagementFossilGhgEmissions"),
                   total = number("pcfExcludingBiogenicUptake");
        if (fossil && managed && *fossil < *managed)
            wrong("landManagementFossilGhgEmissions", "V-16",
                  "above the fossil emissions that it is a part of", {});
        for (const std::string_view name : {"aircraftGhgEmissions", "packagingGhgEmissions"}) {
            const auto part = number(name);
            if (part && total && total->sign() >= 0 && *total < *part)
                doubt(name, "V-16", "above the total that it is a part of", {});
        }
    }

    void check_left_out() {
        constexpr std::string_view name = "exemptedEmissionsPercent";
        const auto share = number(name);
        if (!share) return;
        if (share->sign() < 0 || whole(100) < *share)
            return wrong(name, "V-17", fmt::format("{} is no share", share->text()), "0 to 100");
        if (share->value() > most_left_out)
            doubt(name, "V-17", fmt::format("{} % is left out", share->text()),
                  "the Methodology's third edition allows 3 % in all, the second 5 %");
        if (share->sign() > 0 && pcf_text("exemptedEmissionsDescription").empty())
            doubt("exemptedEmissionsDescription", "V-17", "no reason for what is left out", {});
    }

    void check_shares() {
        if (const auto share = number("primaryDataShare");
            share && (share->sign() < 0 || whole(100) < *share))
            wrong("primaryDataShare", "V-18", fmt::format("{} is no share", share->text()),
                  "0 to 100");
        for (const std::string_view name : {"technologicalDQR", "geographicalDQR", "temporalDQR"}) {
            const std::string path = fmt::format("dqi/{}", name);
            const auto rating = number(path);
            if (rating && (*rating < whole(1) || whole(5) < *rating))
                wrong(path, "V-18", fmt::format("{} is no rating", rating->text()),
                      "1, the best, to 5");
        }
    }

    void check_sources() {
        const auto share = number("primaryDataShare");
        if (!share) return;
        const bool named = has("secondaryEmissionFactorSources");
        if (!named && *share < whole(100))
            doubt("secondaryEmissionFactorSources", "V-19",
                  "not all data are primary, yet no source of factors is named",
                  "name and version of every table of factors");
        if (named && *share == whole(100))
            doubt("secondaryEmissionFactorSources", "V-19",
                  "all data are said to be primary, yet sources of factors are named", {});
    }

    void check_potentials() {
        const YamlValue* sets = pcf("ipccCharacterizationFactors");
        if (sets == nullptr || !sets->is_list()) return;
        for (const YamlValue& set : sets->items) {
            if (set.is_scalar() && set.text != "AR6")
                doubt("ipccCharacterizationFactors", "V-20",
                      fmt::format("warming potentials of {}", set.text), "AR6 alone is expected");
        }
    }

    void check_sector_rules() {
        const YamlValue* list = pcf("productOrSectorSpecificRules");
        if (list == nullptr || !list->is_list()) return;
        for (std::size_t i = 0; i < list->items.size(); ++i) {
            const YamlValue* by = list->items[i].find("operator");
            const bool named = defined(list->items[i].find("otherOperatorName"));
            if (by == nullptr || !by->is_scalar()) continue;
            const std::string path = fmt::format("productOrSectorSpecificRules/{}", i);
            if (by->text == "Other" && !named)
                wrong(path, "V-21", "another operator without a name",
                      "otherOperatorName, inside the rule");
            if (by->text != "Other" && named)
                wrong(path, "V-21", fmt::format("{} and another operator", by->text),
                      "otherOperatorName stands with Other alone");
        }
    }

    [[nodiscard]] bool is_biogenic() const {
        const auto mass = number("productMassPerDeclaredUnit"),
                   held = number("biogenicCarbonContent");
        return mass && held && mass->times(biogenic_percent) < held->times(100);
    }

    void check_edition() {
        const YamlValue* standards = pcf("crossSectoralStandards");
        if (standards == nullptr || !standards->is_list() || !is_biogenic()) return;
        const auto cites = [&](std::string_view name) {
            return std::ranges::any_of(standards->items,
                                       [&](const YamlValue& item) { return item.text == name; });
        };
        if ((cites("PACT-1.0") || cites("PACT-2.0")) && !cites("PACT-3.0"))
            wrong("crossSectoralStandards", "V-22",
                  "more than 5 % biogenic carbon under an edition that was withdrawn for it",
                  "calculate it anew under PACT-3.0");
    }

    void check_biogenic_lines() {
        const bool by_carbon = is_biogenic();
        std::vector<std::string_view> later;
        for (const PropertyRow& row : carbon_rows()) {
            if (has(row.name)) continue;
            if (row.asked == Asked::biogenic)
                doubt(row.name, "property-expected", fmt::format("not stated: {}", row.what),
                      "\"0\" where there is none; left out only where it is unknown");
            if (row.asked == Asked::biogenic_2027 && by_carbon) later.push_back(row.what);
        }
        if (!later.empty())
            doubt("landManagementBiogenicCO2Emissions", "property-expected",
                  fmt::format("not stated: {}", fmt::join(later, ", ")),
                  "expected of biogenic products from 31 December 2027");
    }

    void top(Severity severity, std::string_view name, std::string code, std::string_view message,
             std::string hint) {
        const YamlValue* value = one_.find(name);
        say(severity, value == nullptr ? one_.root->place : value->place, std::move(code),
            fmt::format("{}/{}: {}", one_.pointer, name, message), std::move(hint));
    }

    void say(Severity severity, Place where, std::string code, std::string message,
             std::string hint) {
        problems_.push_back(
            {where, severity, std::move(code), std::move(message), std::move(hint), {}});
    }

    const Declared& one_;
    std::vector<Problem> problems_;
};

/// All but the status, in one text.
std::string fixed_part(const YamlValue& value, int depth = 0) {
    switch (value.kind) {
        case YamlValue::Kind::scalar:
            return fmt::format("{}{:?}", value.quoted ? 't' : 'b', value.text);
        case YamlValue::Kind::list: {
            std::string all = "[";
            for (const YamlValue& item : value.items) all += fixed_part(item, depth + 1) + ",";
            return all + "]";
        }
        case YamlValue::Kind::map: {
            std::vector<std::string> parts;
            for (const YamlEntry& entry : value.entries) {
                if ((depth == 0 && entry.key == "status") || !defined(&entry.value)) continue;
                parts.push_back(
                    fmt::format("{:?}:{}", entry.key, fixed_part(entry.value, depth + 1)));
            }
            std::ranges::sort(parts);
            return fmt::format("{{{}}}", fmt::join(parts, ","));
        }
        case YamlValue::Kind::nothing: break;
    }
    return "-";
}

Problem history_problem(Severity severity, const Declared& one, std::string_view property,
                        std::string message, std::string hint) {
    const YamlValue* value = one.find(property);
    return {value == nullptr ? one.root->place : value->place,        severity,        "V-10",
            fmt::format("{}/{}: {}", one.pointer, property, message), std::move(hint), {}};
}

void compare_same_id(const Declared& earlier, const Declared& later, std::vector<Problem>& out) {
    if (fixed_part(*earlier.root) != fixed_part(*later.root)) {
        out.push_back(history_problem(Severity::error, later, "id",
                                      "two different footprints have this id",
                                      "a change makes a new footprint with an id of its own"));
    } else if (earlier.text("status") == "Deprecated" && later.text("status") == "Active") {
        out.push_back(history_problem(Severity::error, later, "status",
                                      "what was deprecated is active again",
                                      "a deprecated footprint never changes"));
    }
}

void compare_with_predecessor(const Declared& earlier, const Declared& later,
                              std::vector<Problem>& out) {
    if (earlier.text("status") == "Active")
        out.push_back(history_problem(Severity::finding, earlier, "status",
                                      "active, although another footprint replaces it",
                                      "Deprecated"));
    const auto before = earlier.number("pcf/pcfExcludingBiogenicUptake"),
               now = later.number("pcf/pcfExcludingBiogenicUptake"),
               amount_before = earlier.number("pcf/declaredUnitAmount"),
               amount_now = later.number("pcf/declaredUnitAmount");
    const bool comparable = before && now && amount_before && amount_now && before->sign() != 0 &&
                            amount_before->sign() > 0 && amount_now->sign() > 0 &&
                            earlier.text("pcf/declaredUnitOfMeasurement") ==
                                later.text("pcf/declaredUnitOfMeasurement");
    if (!comparable) return;
    const double old_value = before->value() / amount_before->value(),
                 change = 100.0 * (now->value() / amount_now->value() - old_value) /
                          (old_value < 0.0 ? -old_value : old_value);
    if (change > -least_change_told && change < least_change_told) return;
    out.push_back(history_problem(
        Severity::finding, later, "pcf/pcfExcludingBiogenicUptake",
        fmt::format("{:+.1f} % against the footprint before it", change),
        "10 % or more: the earlier one may no longer be used, and the comment says what changed"));
}

}  // namespace

const YamlValue* Declared::find(std::string_view property) const {
    const YamlValue* value = root;
    while (!property.empty() && value != nullptr) {
        const std::size_t slash = property.find('/');
        const std::string_view key = property.substr(0, slash);
        if (value->is_list()) {
            std::size_t index = 0;
            for (const char c : key) index = index * 10 + static_cast<std::size_t>(c - '0');
            value = index < value->items.size() ? &value->items[index] : nullptr;
        } else {
            value = value->find(key);
        }
        property =
            slash == std::string_view::npos ? std::string_view{} : property.substr(slash + 1);
    }
    return defined(value) ? value : nullptr;
}

std::string Declared::text(std::string_view property) const {
    const YamlValue* value = find(property);
    return value != nullptr && value->is_scalar() ? value->text : std::string{};
}

std::optional<Exact> Declared::number(std::string_view property) const {
    const YamlValue* value = find(property);
    return value != nullptr && is_string(*value) ? Exact::from(value->text) : std::nullopt;
}

bool Declared::is_version_2() const { return text("specVersion").starts_with("2."); }

std::vector<Declared> declared_in(const YamlValue& root) {
    const YamlValue* data = root.find("data");
    if (data == nullptr || root.find("pcf") != nullptr) return {{&root, ""}};
    if (!data->is_list()) return {{data, "/data"}};
    std::vector<Declared> all;
    for (std::size_t i = 0; i < data->items.size(); ++i)
        all.push_back({&data->items[i], fmt::format("/data/{}", i)});
    return all;
}

std::vector<Problem> check_declared(const Declared& one) {
    if (!one.root->is_map()) {
        return {{one.root->place,
                 Severity::error,
                 "property-type",
                 fmt::format("{} is no object", one.pointer),
                 "a product footprint is a JSON object",
                 {}}};
    }
    if (one.is_version_2()) {
        return {{one.find("specVersion")->place,
                 Severity::error,
                 "property-edition",
                 fmt::format("{}/specVersion: {} is of the second edition, whose properties and "
                             "amounts mean something else",
                             one.pointer, one.text("specVersion")),
                 "ask for it in the third; for what holds more than 5 % biogenic carbon the second "
                 "is withdrawn",
                 {}}};
    }
    return DeclaredChecker(one).run();
}

std::vector<Problem> check_history(std::span<const Declared> all) {
    std::vector<Problem> out;
    for (std::size_t i = 0; i < all.size(); ++i) {
        for (std::size_t k = 0; k < all.size(); ++k) {
            if (i == k || all[i].text("id").empty()) continue;
            if (i < k && all[i].text("id") == all[k].text("id"))
                compare_same_id(all[i], all[k], out);
            const YamlValue* before = all[k].find("precedingPfIds");
            if (before == nullptr || !before->is_list()) continue;
            const bool named = std::ranges::any_of(before->items, [&](const YamlValue& id) {
                return id.is_scalar() && id.text == all[i].text("id");
            });
            if (named) compare_with_predecessor(all[i], all[k], out);
        }
    }
    return out;
}

std::optional<Period> validity_of(const Declared& one) {
    const auto from = instant_from(one.text("validityPeriodStart")),
               to = instant_from(one.text("validityPeriodEnd"));
    if (from && to) return Period{*from, *to};
    const auto end = instant_from(one.text("pcf/referencePeriodEnd"));
    if (!end) return std::nullopt;
    return Period{*end, years_later(*end, longest_validity)};
}

std::span<const DeclarationRule> declaration_rules() noexcept { return rules; }

}  // namespace deckle
