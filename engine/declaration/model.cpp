#include "engine/declaration/model.h"

#include <algorithm>
#include <array>

namespace deckle {
namespace {

using Words = std::string_view;

constexpr std::array<Words, 10> units{"liter",     "kilogram",      "cubic meter",  "kilowatt hour",
                                      "megajoule", "ton kilometer", "square meter", "piece",
                                      "hour",      "megabit second"};
constexpr std::array<Words, 22> regions{"Africa",
                                        "Americas",
                                        "Asia",
                                        "Europe",
                                        "Oceania",
                                        "Australia and New Zealand",
                                        "Central Asia",
                                        "Eastern Asia",
                                        "Eastern Europe",
                                        "Latin America and the Caribbean",
                                        "Melanesia",
                                        "Micronesia",
                                        "Northern Africa",
                                        "Northern America",
                                        "Northern Europe",
                                        "Polynesia",
                                        "South-eastern Asia",
                                        "Southern Asia",
                                        "Southern Europe",
                                        "Sub-Saharan Africa",
                                        "Western Asia",
                                        "Western Europe"};
constexpr std::array<Words, 2> states{"Active", "Deprecated"};
constexpr std::array<Words, 3> operators{"PEF", "EPD International", "Other"};
constexpr std::array<Words, 3> coverages{"PCF calculation model", "PCF program", "product level"};
constexpr std::array<Words, 2> approaches{"Cut-off", "Credit"};

constexpr PropertyRow row_row(Words name, Form form, bool required, Asked asked, Words what = {}) {
    return {.name = name, .form = form, .required = required, .asked = asked, .what = what};
}
constexpr PropertyRow list_row(Words name, Form form, bool required, Asked asked = Asked::no) {
    return {.name = name, .form = form, .required = required, .asked = asked, .list = true};
}
constexpr PropertyRow word_row(Words name, std::span<const Words> words, bool required,
                               Asked asked = Asked::no) {
    return {.name = name, .form = Form::word, .required = required, .asked = asked, .words = words};
}
constexpr PropertyRow pattern_row(Words name, Words which, bool required, Asked asked = Asked::no,
                                  bool many = false) {
    return {.name = name,
            .form = Form::pattern,
            .required = required,
            .asked = asked,
            .list = many,
            .pattern = which};
}
constexpr PropertyRow object_row(Words name, std::span<const PropertyRow> inside, bool required,
                                 Asked asked = Asked::no, bool many = false) {
    return {.name = name,
            .form = Form::object,
            .required = required,
            .asked = asked,
            .list = many,
            .inside = inside};
}

using enum Form;
using enum Asked;

constexpr std::array rule_table{word_row("operator", operators, true),
                                list_row("ruleNames", filled_text, true),
                                row_row("otherOperatorName", filled_text, false, no)};
constexpr std::array source_table{row_row("name", filled_text, true, no),
                                  row_row("version", filled_text, true, no)};
constexpr std::array rating_table{row_row("technologicalDQR", not_negative, true, no),
                                  row_row("geographicalDQR", not_negative, true, no),
                                  row_row("temporalDQR", not_negative, true, no)};
constexpr std::array verification_table{
    word_row("coverage", coverages, false), row_row("providerName", filled_text, false, no),
    row_row("completedAt", instant, false, no), row_row("standardName", text, false, no),
    row_row("comments", text, false, no)};
constexpr std::array extension_table{
    pattern_row("specVersion", "version", true), row_row("dataSchema", uri, true, no),
    row_row("documentation", uri, false, no), row_row("data", free_object, true, no)};

constexpr std::array carbon_table{
    word_row("declaredUnitOfMeasurement", units, true),
    row_row("declaredUnitAmount", positive, true, no),
    row_row("productMassPerDeclaredUnit", not_negative, true, no),
    row_row("referencePeriodStart", instant, true, no),
    row_row("referencePeriodEnd", instant, true, no),
    word_row("geographyRegionOrSubregion", regions, false),
    pattern_row("geographyCountry", "country", false),
    pattern_row("geographyCountrySubdivision", "subdivision", false),
    row_row("boundaryProcessesDescription", text, false, should),
    row_row("pcfExcludingBiogenicUptake", number, true, always, "carbon footprint without uptake"),
    row_row("pcfIncludingBiogenicUptake", number, true, always, "carbon footprint with uptake"),
    row_row("fossilCarbonContent", not_negative, true, always, "fossil carbon in the product"),
    row_row("biogenicCarbonContent", not_negative, false, biogenic,
            "biogenic carbon in the product"),
    row_row("recycledCarbonContent", not_negative, false, should),
    row_row("fossilGhgEmissions", not_negative, true, always, "fossil emissions"),
    row_row("landUseChangeGhgEmissions", not_negative, false, biogenic, "land-use change"),
    row_row("landCarbonLeakage", not_negative, false, no),
    row_row("landManagementFossilGhgEmissions", not_negative, false, biogenic_2027,
            "fossil emissions of land management"),
    row_row("landManagementBiogenicCO2Emissions", not_negative, false, biogenic_2027,
            "biogenic CO2 of land management"),
    row_row("landManagementBiogenicCO2Removals", not_positive, false, no),
    row_row("biogenicNonCO2Emissions", not_negative, false, biogenic,
            "biogenic methane and nitrous oxide"),
    row_row("biogenicCO2Uptake", not_positive, false, biogenic, "CO2 taken up for the carbon held"),
    row_row("landAreaOccupation", not_negative, false, no),
    row_row("aircraftGhgEmissions", not_negative, false, no),
    row_row("packagingEmissionsIncluded", yes_or_no, false, always, "whether packaging is counted"),
    row_row("packagingGhgEmissions", not_negative, false, no),
    row_row("packagingBiogenicCarbonContent", not_negative, false, no),
    row_row("outboundLogisticsGhgEmissions", not_negative, false, should),
    row_row("ccsTechnologicalCO2CaptureIncluded", yes_or_no, false, always,
            "whether captured and stored CO2 is counted"),
    row_row("ccsTechnologicalCO2Capture", not_positive, false, capture),
    row_row("technologicalCO2CaptureOrigin", text, false, capture),
    row_row("technologicalCO2Removals", not_positive, false, capture),
    row_row("ccuCarbonContent", not_negative, false, capture),
    word_row("ccuCalculationApproach", approaches, false, capture),
    row_row("ccuCreditCertification", uri, false, capture),
    pattern_row("ipccCharacterizationFactors", "report", true, no, true),
    list_row("crossSectoralStandards", filled_text, true),
    object_row("productOrSectorSpecificRules", rule_table, false, no, true),
    row_row("exemptedEmissionsPercent", number, true, no),
    row_row("exemptedEmissionsDescription", text, false, no),
    row_row("allocationRulesDescription", text, false, should),
    object_row("secondaryEmissionFactorSources", source_table, false, no, true),
    row_row("primaryDataShare", number, false, always, "share of primary data"),
    object_row("dqi", rating_table, false, from_2027),
    object_row("verification", verification_table, false, no)};

constexpr std::array footprint_table{row_row("id", uuid, true, no),
                                     pattern_row("specVersion", "dated version", true),
                                     list_row("precedingPfIds", uuid, false),
                                     row_row("created", instant, true, no),
                                     word_row("status", states, true),
                                     row_row("validityPeriodStart", instant, false, no),
                                     row_row("validityPeriodEnd", instant, false, no),
                                     row_row("companyName", filled_text, true, no),
                                     list_row("companyIds", urn, true),
                                     row_row("productDescription", text, true, no),
                                     list_row("productIds", urn, true),
                                     list_row("productClassifications", urn, false),
                                     row_row("productNameCompany", filled_text, true, no),
                                     row_row("comment", text, false, should),
                                     object_row("pcf", carbon_table, true),
                                     object_row("extensions", extension_table, false, no, true)};

constexpr std::array<Words, 7> total_terms{"fossilGhgEmissions",
                                           "landUseChangeGhgEmissions",
                                           "landManagementBiogenicCO2Emissions",
                                           "landManagementBiogenicCO2Removals",
                                           "technologicalCO2Removals",
                                           "ccsTechnologicalCO2Capture",
                                           "biogenicNonCO2Emissions"};

bool digit(char c) noexcept { return c >= '0' && c <= '9'; }
bool capital(char c) noexcept { return c >= 'A' && c <= 'Z'; }

/// Digits, point, digits, point, digits; behind them a dash and eight digits where `dated` allows.
bool is_version(Words text, bool dated) noexcept {
    if (const std::size_t dash = text.find('-'); dash != Words::npos) {
        const Words date = text.substr(dash + 1);
        if (!dated || date.size() != 8 || !std::ranges::all_of(date, digit)) return false;
        text = text.substr(0, dash);
    }
    int parts = 1;
    bool filled = false;
    for (const char c : text) {
        if (c == '.' && filled) {
            ++parts;
            filled = false;
        } else if (digit(c)) {
            filled = true;
        } else {
            return false;
        }
    }
    return parts == 3 && filled;
}

}  // namespace

std::span<const PropertyRow> footprint_rows() noexcept { return footprint_table; }
std::span<const PropertyRow> carbon_rows() noexcept { return carbon_table; }
std::span<const std::string_view> declared_units() noexcept { return units; }
std::span<const std::string_view> declared_regions() noexcept { return regions; }
std::span<const std::string_view> rule_operators() noexcept { return operators; }
std::span<const std::string_view> verification_coverages() noexcept { return coverages; }
std::span<const std::string_view> terms_of_total() noexcept { return total_terms; }

bool fits_pattern(std::string_view pattern, std::string_view text) noexcept {
    if (pattern == "version" || pattern == "dated version")
        return is_version(text, pattern == "dated version");
    if (pattern == "country") return text.size() == 2 && capital(text[0]) && capital(text[1]);
    if (pattern == "subdivision") {
        const Words rest = text.size() > 3 ? text.substr(3) : Words{};
        return text.size() > 3 && fits_pattern("country", text.substr(0, 2)) && text[2] == '-' &&
               rest.size() <= 3 &&
               std::ranges::all_of(rest, [](char c) { return digit(c) || capital(c); });
    }
    return text.size() > 2 && text.starts_with("AR") && std::ranges::all_of(text.substr(2), digit);
}

}  // namespace deckle
