#include "engine/declaration/check.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>

#include "engine/declaration/model.h"
#include "engine/declaration/schema_check.h"
#include "engine/declaration/second_edition.h"

namespace deckle {
namespace {

constexpr int longest_validity = 3;  // years
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

Exact whole(int number) { return {number, 0}; }

bool is_bio_based(const Declared& one) {
    const auto mass = one.number("pcf/productMassPerDeclaredUnit"),
               held = one.number("pcf/biogenicCarbonContent");
    return mass && held && mass->times(biogenic_percent) < held->times(100);
}

/// Collects the problems of one footprint.
class DeclaredChecker {
public:
    /// `scale`: what each amount was multiplied by after it was rounded.
    DeclaredChecker(const Declared& one, double most_left_out, const Exact& scale)
        : one_(one), most_left_out_(most_left_out), scale_(scale) {}

    std::vector<Problem> run() {
        check_schema(one_, problems_);
        check_version();
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

    /// What a later edition means by its properties is not known here.
    void check_version() {
        const std::string version = one_.text("specVersion");
        if (!fits_pattern("dated version", version) || version.starts_with("3.")) return;
        top(Severity::finding, "specVersion", "property-edition",
            fmt::format("{} is not the third edition, which it is checked by", version),
            std::string(declaration_version));
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
        if (unit == "kilogram" && !(*amount == whole(1)))
            doubt("declaredUnitAmount", "V-05", fmt::format("declared for {} kg", amount->text()),
                  "1 for what is sold by mass: the declared amount is not that of a delivery");
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
            if (item.is_scalar() && !item.text.empty() && is_same_uuid(item.text, one_.text("id")))
                say(Severity::error, item.place, "V-11",
                    fmt::format("{}/precedingPfIds: it names itself", one_.pointer),
                    "the ids of earlier footprints only");
        }
    }

    /// How far a number may be off by its digits.
    [[nodiscard]] Exact rounding(const Exact& number) const {
        return number.half_place().times(scale_);
    }

    void check_sums() {
        const auto without = number("pcfExcludingBiogenicUptake"),
                   with = number("pcfIncludingBiogenicUptake"),
                   uptake = number("biogenicCO2Uptake"), held = number("biogenicCarbonContent");
        if (without) check_total(*without);
        if (without && with) {
            const Exact taken = uptake.value_or(Exact{});
            const Exact gap = (*with - *without - taken).magnitude();
            const Exact most =
                rounding(*without) + rounding(*with) + (uptake ? rounding(*uptake) : Exact{});
            if (most < gap)
                wrong("pcfIncludingBiogenicUptake", "V-13",
                      fmt::format("{} is not {} with an uptake of {}", with->text(),
                                  without->text(), taken.text()),
                      fmt::format("it would be {}", (*without + taken).text()));
        }
        if (uptake && held) {
            const Exact gap = (uptake->times(12) + held->times(44)).magnitude();
            const Exact most = rounding(*uptake).times(12) + rounding(*held).times(44);
            if (most < gap)
                wrong(
                    "biogenicCO2Uptake", "V-14",
                    fmt::format("{} is not 44/12 of {} kg of carbon", uptake->text(), held->text()),
                    fmt::format("it would be {}",
                                held->times(-44).over(12, uptake->places()).text()));
        }
    }

    void check_total(const Exact& total) {
        Exact sum, most = rounding(total);
        std::string terms;
        for (const std::string_view name : terms_of_total()) {
            const auto term = number(name);
            if (!term) continue;
            sum = sum + *term;
            most = most + rounding(*term);
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
        if (share->value() > most_left_out_)
            doubt(name, "V-17", fmt::format("{} % is left out", share->text()),
                  most_left_out_ == most_left_out_v3
                      ? "the Methodology's third edition allows 3 % in all, the second 5 %"
                      : fmt::format("the rules in use allow {:g} % in all", most_left_out_));
        if (share->sign() > 0 &&
            pcf_text("exemptedEmissionsDescription").find_first_not_of(" \t\r\n") ==
                std::string::npos)
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
            const bool named = is_stated(list->items[i].find("otherOperatorName"));
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

    [[nodiscard]] bool is_biogenic() const { return is_bio_based(one_); }

    void check_edition() {
        const YamlValue* standards = pcf("crossSectoralStandards");
        if (standards == nullptr || !standards->is_list()) return;
        const auto cites = [&](std::string_view name) {
            return std::ranges::any_of(standards->items,
                                       [&](const YamlValue& item) { return item.text == name; });
        };
        if ((!cites("PACT-1.0") && !cites("PACT-2.0")) || cites("PACT-3.0")) return;
        if (is_biogenic())
            wrong("crossSectoralStandards", "V-22",
                  "more than 5 % biogenic carbon under an edition that was withdrawn for it",
                  "calculate it anew under PACT-3.0");
        if (!number("biogenicCarbonContent"))
            doubt("crossSectoralStandards", "V-22",
                  "an edition that was withdrawn for more than 5 % biogenic carbon, and nothing "
                  "says how much the product holds",
                  "state biogenicCarbonContent, or calculate it anew under PACT-3.0");
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
    double most_left_out_;  ///< % of the footprint
    Exact scale_;
    std::vector<Problem> problems_;
};

/// As the third edition that it becomes: what it says there, and what it loses on the way.
std::vector<Problem> check_second(const Declared& one) {
    const FromSecondEdition made = from_second_edition(one, DeclaredAmount::whole);
    const Declared third{&made.root, one.pointer};
    const bool withdrawn = is_bio_based(third);
    std::vector<Problem> problems{
        {one.find("specVersion")->place,
         withdrawn ? Severity::error : Severity::finding,
         "property-edition",
         fmt::format("{}/specVersion: {} is of the second edition{}: checked as converted to the "
                     "third, amounts times the declared amount, totals from their terms",
                     one.pointer, one.text("specVersion"),
                     withdrawn ? ", withdrawn for what holds more than 5 % biogenic carbon" : ""),
         "ask for it in the third",
         {}}};
    for (const LostProperty& lost : made.lost)
        problems.push_back(
            {lost.place,
             Severity::finding,
             "property-lost",
             fmt::format("{}: the third edition has no place for it: {}", lost.pointer, lost.what),
             "say in the comment what a reader needs of it",
             {}});
    for (Problem& problem : check_second_totals(one)) problems.push_back(std::move(problem));
    for (Problem& problem : DeclaredChecker(third, most_left_out_v2, made.amount).run())
        problems.push_back(std::move(problem));
    return problems;
}

}  // namespace

std::vector<Problem> check_declared(const Declared& one, double most_left_out) {
    if (!one.root->is_map()) {
        return {{one.root->place,
                 Severity::error,
                 "property-type",
                 fmt::format("{} is no object", one.pointer),
                 "a product footprint is a JSON object",
                 {}}};
    }
    if (one.is_version_2()) return check_second(one);
    return DeclaredChecker(one, most_left_out, whole(1)).run();
}

std::span<const DeclarationRule> declaration_rules() noexcept { return rules; }

}  // namespace deckle
