#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <set>
#include <stdexcept>

#include "engine/analysis/check_parts.h"
#include "engine/declaration/model.h"
#include "engine/study/model.h"
#include "engine/text/number_text.h"
#include "reports/declaration.h"
#include "reports/digest.h"
#include "reports/json_text.h"

namespace deckle {
namespace {

/// Of kilograms in the declared unit, of shares and of ratings.
constexpr int places_of_mass = 6, places_of_share = 1, places_of_rating = 2;
/// Names of ids are of this space: itself the UUID of a name in the space of addresses (RFC 9562).
constexpr std::string_view space_of_addresses = "6ba7b811-9dad-11d1-80b4-00c04fd430c8";
constexpr std::string_view name_of_space = "urn:deckle:product-footprint";

/// What each property is fed by; the model's order is that of the output.
struct EmissionRow {
    std::string_view property, indicator;
    bool must_exist;  ///< where nothing states it, it is left out
};
constexpr std::array emission_rows{
    EmissionRow{"fossilGhgEmissions", "climate_fossil", true},
    EmissionRow{"landUseChangeGhgEmissions", "climate_land_use", false},
    EmissionRow{"landManagementFossilGhgEmissions", "land_management_fossil", false},
    EmissionRow{"landManagementBiogenicCO2Emissions", "climate_land_management", false},
    EmissionRow{"landManagementBiogenicCO2Removals", "climate_removals", false},
    EmissionRow{"biogenicNonCO2Emissions", "climate_biogenic", false},
    EmissionRow{"landAreaOccupation", "land_occupied", false},
    EmissionRow{"aircraftGhgEmissions", "aircraft", false}};

std::string in_decimals(double value, int places) {
    const auto exact = Exact::rounded(value, places);
    if (!exact) throw std::logic_error("a declared figure is no number");
    return exact->text();
}

std::string joined_notes(const std::vector<std::string>& notes) {
    return fmt::format("{}", fmt::join(notes, " "));
}

/// Writes one declaration in the order of the model.
class DeclarationWriter {
public:
    DeclarationWriter(const Study& study, const DeclaredFigures& figures)
        : study_(study),
          declared_(*study.model->disclosure),
          figures_(figures),
          product_(*figures.product) {}

    Json run() {
        Json root;
        root["id"] = "";
        root["specVersion"] = declaration_version;
        if (!product_.preceding.empty()) root["precedingPfIds"] = product_.preceding;
        root["created"] = instant_text(*declared_.created);
        root["status"] = declared_.active ? "Active" : "Deprecated";
        if (declared_.valid) {
            root["validityPeriodStart"] = instant_text(declared_.valid->start);
            root["validityPeriodEnd"] = instant_text(declared_.valid->end);
        }
        root["companyName"] = declared_.company;
        root["companyIds"] = declared_.company_ids;
        root["productDescription"] = description();
        root["productIds"] = product_.ids;
        if (!product_.classifications.empty())
            root["productClassifications"] = product_.classifications;
        root["productNameCompany"] = product_.name.empty() ? title() : product_.name;
        root["comment"] = joined_notes(declaration_notes(study_, figures_));
        root["pcf"] = carbon();
        if (!declared_.water_schema.empty()) root["extensions"] = Json::array({water()});
        root["id"] = id_of(root);
        return root;
    }

private:
    /// Of all but the status, which alone may change under one id.
    static std::string id_of(Json content) {
        content.erase("status");
        return uuid_of(uuid_of(space_of_addresses, name_of_space), json_text(content));
    }

    std::string title() const {
        return figures_.subject->title.empty() ? product_.of : figures_.subject->title;
    }

    std::string description() const {
        return product_.description.empty() ? title() : product_.description;
    }

    Json carbon() {
        Json pcf;
        const bool by_mass = figures_.scale != 1.0;
        pcf["declaredUnitOfMeasurement"] = by_mass ? "kilogram" : "piece";
        pcf["declaredUnitAmount"] = "1";
        pcf["productMassPerDeclaredUnit"] =
            by_mass ? "1" : in_decimals(figures_.mass, places_of_mass);
        pcf["referencePeriodStart"] = instant_text(figures_.period.start);
        pcf["referencePeriodEnd"] = instant_text(figures_.period.end);
        add_place(pcf);
        pcf["boundaryProcessesDescription"] =
            declared_.boundary.empty() ? fmt::format("{}", fmt::join(figures_.processes, ". "))
                                       : declared_.boundary;
        add_totals(pcf);
        add_context(pcf);
        return pcf;
    }

    void add_place(Json& pcf) const {
        if (!declared_.region.empty()) pcf["geographyRegionOrSubregion"] = declared_.region;
        if (!declared_.country.empty()) pcf["geographyCountry"] = declared_.country;
        if (!declared_.subdivision.empty())
            pcf["geographyCountrySubdivision"] = declared_.subdivision;
    }

    /// Components first, to the digits they are printed with; both totals are made of these.
    void add_totals(Json& pcf) {
        Json parts;
        for (const EmissionRow& row : emission_rows) {
            const DeclaredLine* line = figures_.line(row.indicator);
            if (line == nullptr || (!row.must_exist && line->says_nothing())) continue;
            parts[std::string(row.property)] = in_decimals(line->value, places_of_mass);
        }
        const Exact total = sum_of(parts);
        compare_with_study(total);
        const std::string carbon = in_decimals(figures_.value("biogenic_carbon"), places_of_mass);
        const Exact uptake = Exact::from(carbon)->times(-44).over(12, places_of_mass);
        pcf["pcfExcludingBiogenicUptake"] = total.text();
        pcf["pcfIncludingBiogenicUptake"] = (total + uptake).text();
        pcf["fossilCarbonContent"] = in_decimals(figures_.value("fossil_carbon"), places_of_mass);
        pcf["biogenicCarbonContent"] = carbon;
        add_recycled(pcf);
        pcf.update(parts);
        pcf["biogenicCO2Uptake"] = uptake.text();
    }

    /// Of the carbon as printed, so that it is never above it.
    void add_recycled(Json& pcf) const {
        if (!product_.recycled_carbon) return;
        const double share = checking::typed_in(*product_.recycled_carbon, "%").value_or(0.0);
        const double carbon =
            Exact::from(pcf["biogenicCarbonContent"].get_ref<const std::string&>())->value() +
            Exact::from(pcf["fossilCarbonContent"].get_ref<const std::string&>())->value();
        pcf["recycledCarbonContent"] = in_decimals(share / 100.0 * carbon, places_of_mass);
    }

    static Exact sum_of(const Json& parts) {
        Exact total(0, places_of_mass);
        for (const std::string_view term : terms_of_total()) {
            const auto found = parts.find(std::string(term));
            if (found != parts.end())
                total = total + *Exact::from(found->get_ref<const std::string&>());
        }
        return total;
    }

    /// What is printed is the figure that the report tells, too.
    void compare_with_study(const Exact& total) const {
        const double rounding = 5e-7 * static_cast<double>(terms_of_total().size());
        if (std::abs(total.value() - figures_.total) > rounding + 1e-12 * std::abs(figures_.total))
            throw std::logic_error("a declaration is not the study's figure");
    }

    void add_context(Json& pcf) const {
        pcf["packagingEmissionsIncluded"] = figures_.packaging.has_value();
        if (figures_.packaging)
            pcf["packagingGhgEmissions"] = in_decimals(*figures_.packaging, places_of_mass);
        if (const DeclaredLine* held = figures_.line("packaging_biogenic_carbon");
            held != nullptr && figures_.packaging && !held->says_nothing())
            pcf["packagingBiogenicCarbonContent"] = in_decimals(held->value, places_of_mass);
        if (figures_.outbound)
            pcf["outboundLogisticsGhgEmissions"] = in_decimals(*figures_.outbound, places_of_mass);
        pcf["ccsTechnologicalCO2CaptureIncluded"] = false;
        pcf["ipccCharacterizationFactors"] = figures_.reports;
        pcf["crossSectoralStandards"] = declared_.standards;
        if (!declared_.sector_rules.empty()) pcf["productOrSectorSpecificRules"] = sector_rules();
        add_left_out(pcf);
        if (!figures_.allocations.empty()) pcf["allocationRulesDescription"] = allocations();
        if (!figures_.sources.empty()) {
            for (const DeclaredSource& source : figures_.sources)
                pcf["secondaryEmissionFactorSources"].push_back(
                    {{"name", source.name}, {"version", source.version}});
        }
        pcf["primaryDataShare"] = in_decimals(figures_.primary_share, places_of_share);
        constexpr std::array names{"technologicalDQR", "geographicalDQR", "temporalDQR"};
        for (std::size_t k = 0; k < names.size(); ++k)
            pcf["dqi"][names[k]] = in_decimals(figures_.ratings[k], places_of_rating);
        if (figures_.verification != nullptr) pcf["verification"] = verification();
    }

    Json sector_rules() const {
        Json all = Json::array();
        for (const SectorRules& one : declared_.sector_rules) {
            Json rules{{"operator", one.by}, {"ruleNames", one.names}};
            if (!one.other_operator.empty()) rules["otherOperatorName"] = one.other_operator;
            all.push_back(std::move(rules));
        }
        return all;
    }

    void add_left_out(Json& pcf) const {
        pcf["exemptedEmissionsPercent"] = in_decimals(figures_.left_out_in_all(), 2);
        std::string why;
        if (!figures_.left_out) why = "Not stated: nothing says what is left out.";
        for (const Exemption& one : study_.model->exempted)
            why += fmt::format("{}{}: {}", why.empty() ? "" : " ", one.what, one.why);
        for (const LeftOutBySupplier& one : figures_.left_out_by_suppliers)
            why +=
                fmt::format("{}By the supplier of {}: {} % of its footprint, {} % of this one.",
                            why.empty()          ? ""
                            : why.ends_with('.') ? " "
                                                 : ". ",
                            one.factor->title, in_decimals(one.own, 2), in_decimals(one.part, 2));
        if (!why.empty()) pcf["exemptedEmissionsDescription"] = why;
    }

    std::string allocations() const {
        std::string text;
        for (const DeclaredAllocation& one : figures_.allocations)
            text += fmt::format("{}{}: {}{}{}{}", text.empty() ? "" : " ",
                                one.title.empty() ? one.process : one.title,
                                one.method.empty() ? "not stated" : method_of(one),
                                one.reason.empty() ? "" : ", since: ", one.reason,
                                one.reason.ends_with('.') ? "" : ".");
        return text;
    }

    /// value_ratio with the path that it took.
    static std::string method_of(const DeclaredAllocation& one) {
        return one.path.empty() ? one.method : fmt::format("{} ({})", one.method, one.path);
    }

    Json verification() const {
        const Verification& by = *figures_.verification;
        Json json;
        if (!by.coverage.empty()) json["coverage"] = by.coverage;
        json["providerName"] = by.provider;
        if (by.completed) json["completedAt"] = instant_text(*by.completed);
        if (!by.standard.empty()) json["standardName"] = by.standard;
        std::string comments = by.comments;
        if (!by.level.empty())
            comments =
                fmt::format("{} assurance.{}{}", by.level == "limited" ? "Limited" : "Reasonable",
                            comments.empty() ? "" : " ", comments);
        if (!comments.empty()) json["comments"] = comments;
        return json;
    }

    /// The model itself carries no water.
    Json water() const {
        Json data, least = Json::array();
        add_water(data, least, "waterWithdrawn_m3", "water_withdrawn");
        add_water(data, least, "waterConsumed_m3", "water_consumed");
        add_water(data, least, "waterScarcityFootprint_m3WorldEq", "water_scarcity");
        if (!least.empty()) data["atLeast"] = std::move(least);
        if (const Scarcity* set = study_.model->tables.scarcity(study_.head.scarcity)) {
            data["scarcityModel"] = set->model.empty() ? set->title : set->model;
            if (!set->version.empty()) data["scarcityModelVersion"] = set->version;
        }
        return {{"specVersion", "2.0.0"},
                {"dataSchema", declared_.water_schema},
                {"data", std::move(data)}};
    }

    void add_water(Json& data, Json& least, const char* name, std::string_view indicator) const {
        const DeclaredLine* line = figures_.line(indicator);
        if (line == nullptr || line->coverage == Coverage::not_covered) return;
        data[name] = in_decimals(line->value, places_of_mass);
        if (line->coverage == Coverage::at_least) least.push_back(name);
    }

    const Study& study_;
    const Disclosure& declared_;
    const DeclaredFigures& figures_;
    const DeclaredProduct& product_;
};

/// By the rules of the study, else by the Methodology [%].
double limit_of_left_out(const StudyModel& model) {
    const auto& cut_off = model.rules.cut_off;
    const auto share = cut_off ? checking::typed_in(*cut_off, "%") : std::nullopt;
    return share.value_or(most_left_out_v3);
}

/// A rule that a declaration breaks is a fault of what the study says of the product.
std::vector<Problem> checked(const Declaration& declaration, const DeclaredProduct& product,
                             double most_left_out) {
    Files files;
    Problems problems;
    const auto index = files.add(declaration.of + ".json", declaration.json);
    const YamlValue root = read_yaml(files, index, problems);
    if (!problems.empty()) throw std::logic_error("a declaration cannot be read back");
    std::vector<Problem> findings, errors;
    for (Problem& problem : check_declared({&root, {}}, most_left_out)) {
        problem.where = product.place;
        problem.message = fmt::format("{}{}", product.of, problem.message);
        (problem.severity == Severity::error ? errors : findings).push_back(std::move(problem));
    }
    if (!errors.empty()) throw InputError(std::move(errors));
    return findings;
}

/// Activity data must be primary (PACT Methodology V3): what says nothing of itself is not.
void add_amounts_not_primary(const DeclaredFigures& figures, std::vector<Problem>& findings) {
    const DataRow* first = nullptr;
    std::size_t count = 0;
    for (const DataRow& row : figures.rows) {
        if (row.primary_amount) continue;
        if (first == nullptr) first = &row;
        ++count;
    }
    if (first == nullptr) return;
    findings.push_back(
        {figures.product->place,
         Severity::finding,
         "amounts-not-primary",
         fmt::format("{}: {} of {} amounts behind it are estimated or do not say "
                     "how they are known; {}: {} weighs most",
                     figures.product->of, count, figures.rows.size(), first->process, first->use),
         "amount_is: metered, invoiced or calculated, where that is so",
         {}});
}

/// The rules of PEF for intermediate paper end before tissue is made into rolls.
void add_rules_of_intermediates(const Study& study, const DeclaredFigures& figures,
                                std::vector<Problem>& findings) {
    if (figures.subject->kind != Subject::Kind::consumer_product) return;
    for (const SectorRules& rules : study.model->disclosure->sector_rules) {
        if (rules.by != "PEF" ||
            !checking::mentions(fmt::format("{}", fmt::join(rules.names, " ")), {"intermediate"}))
            continue;
        findings.push_back({figures.product->place,
                            Severity::finding,
                            "outside-sector-rules",
                            fmt::format("{} is a finished product: rules for intermediate paper do "
                                        "not cover it",
                                        figures.product->of),
                            "declare it without these rules, or the parent reel in its place",
                            {}});
    }
}

/// Silence on what is left out is no statement that nothing is.
void add_silence(const DeclaredFigures& figures, std::vector<Problem>& findings) {
    if (figures.left_out) return;
    findings.push_back(
        {figures.product->place,
         Severity::finding,
         "exemptions-not-stated",
         fmt::format("{}: the study does not say what it leaves out", figures.product->of),
         "exempted: [] in the study, where nothing is",
         {}});
}

void add_contradicted_ratings(const Study& study, const DeclaredFigures& figures,
                              std::vector<Problem>& findings) {
    std::vector<const Factor*> against;
    std::string first;
    for (const DataRow& row : figures.rows) {
        const Factor* factor = factor_at(study, row.factor);
        if (factor == nullptr || std::ranges::find(against, factor) != against.end()) continue;
        const auto found =
            contradicted_ratings(*factor, *study.model->disclosure, figures.period.end);
        if (found.empty()) continue;
        if (against.empty())
            first = fmt::format("{} ({})", factor->address(), fmt::join(found, "; "));
        against.push_back(factor);
    }
    if (against.empty()) return;
    const std::string more = against.size() == 1
                                 ? std::string()
                                 : fmt::format(" and {} more (deckle check)", against.size() - 1);
    findings.push_back({figures.product->place,
                        Severity::finding,
                        "rating-contradicted",
                        fmt::format("{}: ratings that something beside them contradicts, of {}{}",
                                    figures.product->of, first, more),
                        std::string(rating_hint),
                        {against.front()->place}});
}

/// What customers should know of it stands in the comment too.
void add_earlier_editions(const DeclaredFigures& figures, std::vector<Problem>& findings) {
    for (const EarlierEdition& one : figures.earlier_editions)
        findings.push_back(
            {one.factor->place,
             Severity::finding,
             "rests-on-second-edition",
             fmt::format("{} rests on {}, a footprint of edition {}{}{}", figures.product->of,
                         one.factor->address(), one.factor->supplier.edition,
                         one.says == Edition::withdrawn
                             ? ", withdrawn for what holds more than 5 % biogenic carbon"
                             : "",
                         one.factor->supplier.not_carried.empty()
                             ? ""
                             : "; not carried over: " + one.factor->supplier.not_carried),
             one.says == Edition::bears
                 ? "usable until it runs out; ask for one of the third edition"
                 : "no claim on a bio-based product may rest on it: ask for one of the third "
                   "edition",
             {figures.product->place}});
}

/// Footprints of suppliers that are out of date, as `check` finds them.
void add_outdated_suppliers(const Study& study, const DeclaredFigures& figures,
                            std::vector<Problem>& findings) {
    const auto own = checking::years_of(study.head.period);
    std::set<std::string> told;
    for (const DataRow& row : figures.rows) {
        const Factor* factor = factor_at(study, row.factor);
        if (factor == nullptr || !told.insert(row.factor).second) continue;
        const auto add = [&](const char* code, std::string_view what, const char* hint) {
            findings.push_back(
                {factor->place,
                 Severity::finding,
                 code,
                 fmt::format("{} rests on {}, {}", figures.product->of, factor->address(), what),
                 hint,
                 {figures.product->place}});
        };
        const auto valid = checking::years_of(factor->valid);
        if (own && valid && valid->to <= own->from)
            add("factor-expired", "no longer valid when the study's period begins",
                "take the edition that is valid in the period");
        if (factor->supplier.status == "deprecated")
            add("supplier-deprecated", "whose supplier has deprecated the footprint behind it",
                "ask for the footprint that came in its place");
    }
}

/// For the comment: "Pulp (edition 2.2.0; not carried over: its ratings)".
std::string earlier_edition_text(const EarlierEdition& one) {
    const SupplierFootprint& supplier = one.factor->supplier;
    return fmt::format(
        "{} (edition {}{})", one.factor->title, supplier.edition,
        supplier.not_carried.empty() ? "" : "; not carried over: " + supplier.not_carried);
}

std::string title_of_indicator(const Study& study, std::string_view id) {
    const auto found = std::ranges::find(study.indicators, id, &Indicator::id);
    return found == study.indicators.end() || found->title.empty() ? std::string(id) : found->title;
}

}  // namespace

std::string uuid_of(std::string_view space, std::string_view name) {
    std::string bytes;
    for (std::size_t i = 0; i < space.size(); ++i) {
        if (space[i] == '-') continue;
        bytes += static_cast<char>(std::stoi(std::string(space.substr(i, 2)), nullptr, 16));
        ++i;
    }
    bytes += name;
    Sha256 hash = sha256_bytes(bytes);
    constexpr unsigned version = 0x80, variant = 0x80;
    hash[6] = static_cast<unsigned char>((hash[6] & 0x0FU) | version);
    hash[8] = static_cast<unsigned char>((hash[8] & 0x3FU) | variant);
    std::string text;
    for (std::size_t i = 0; i < 16; ++i) {
        if (i == 4 || i == 6 || i == 8 || i == 10) text += '-';
        text += fmt::format("{:02x}", hash[i]);
    }
    return text;
}

std::vector<std::string> declaration_notes(const Study& study, const DeclaredFigures& figures) {
    const Disclosure& declared = *study.model->disclosure;
    std::vector<std::string> notes;
    const auto sentence = [&](std::string_view head, std::string_view text) {
        if (text.empty()) return;
        const bool ends = text.ends_with('.') || text.ends_with('!');
        notes.push_back(fmt::format("{}{}{}", head, text, ends ? "" : "."));
    };
    sentence("", declared.comment);
    sentence("Changed since the preceding version: ", figures.product->changes);
    sentence("Land-use change: ", declared.land_use_method);
    const double burnt = figures.value("biogenic_co2_released");
    if (burnt != 0.0)
        notes.push_back(
            fmt::format("Burnt biomass releases {} kg CO2 per declared unit, balanced by an equal "
                        "uptake beforehand and in neither total; its methane and nitrous oxide "
                        "count as biogenic non-CO2 emissions.",
                        in_decimals(burnt, places_of_mass)));
    if (const DeclaredLine* fossil = figures.line("climate_fossil");
        fossil != nullptr && fossil->one_number)
        notes.push_back(
            "Some factors give CO2e as one number: it counts as fossil, whatever part of it is "
            "biogenic or of land use.");
    const auto say_open = [&](Bound bound, std::string_view words) {
        std::vector<std::string> open;
        for (const DeclaredLine& line : figures.lines) {
            if (line.bound == bound && line.unit == "kg CO2e")
                open.push_back(title_of_indicator(study, line.indicator));
        }
        if (!open.empty()) notes.push_back(fmt::format("{}: {}.", words, fmt::join(open, "; ")));
    };
    say_open(Bound::at_least, "At least, since some factors do not state them");
    say_open(Bound::at_most, "At most, since some factors do not state what they subtract");
    say_open(Bound::open,
             "Open both ways, since some factors do not state what they add and subtract");
    if (const double by_rules = figures.value("climate");
        in_decimals(by_rules, places_of_mass) != in_decimals(figures.total, places_of_mass))
        notes.push_back(
            fmt::format("Land removals count in the total; the rules of the study keep them out of "
                        "its climate, {} kg CO2e per declared unit.",
                        in_decimals(by_rules, places_of_mass)));
    std::vector<std::string> editions;
    for (const EarlierEdition& one : figures.earlier_editions)
        editions.push_back(earlier_edition_text(one));
    if (!editions.empty())
        notes.push_back(fmt::format(
            "Rests on product footprints of the second edition of this model, which may bear no "
            "claim on products of more than 5 % biogenic carbon: {}.",
            fmt::join(editions, "; ")));
    if (figures.line("climate_land_management") == nullptr)
        notes.push_back("Not quantified: recurring land management.");
    notes.push_back(fmt::format("Electricity: {}-based.",
                                study.head_of(figures.scenario).headline == ElectricityView::market
                                    ? "market"
                                    : "location"));
    if (figures.verification == nullptr) notes.push_back("Not verified.");
    notes.push_back("Footprints made under different rules must not be compared.");
    return notes;
}

std::vector<Declaration> declarations(const Study& study,
                                      const std::vector<DeclaredFigures>& figures) {
    std::vector<Declaration> all;
    for (const DeclaredFigures& one : figures) {
        const Json root = DeclarationWriter(study, one).run();
        Declaration declaration{one.product->of, root["id"], json_text(root), {}};
        declaration.findings = checked(declaration, *one.product, limit_of_left_out(*study.model));
        add_amounts_not_primary(one, declaration.findings);
        add_silence(one, declaration.findings);
        add_rules_of_intermediates(study, one, declaration.findings);
        add_contradicted_ratings(study, one, declaration.findings);
        add_earlier_editions(one, declaration.findings);
        add_outdated_suppliers(study, one, declaration.findings);
        all.push_back(std::move(declaration));
    }
    return all;
}

std::string declarations_json(const std::vector<Declaration>& all) {
    if (all.size() == 1) return all.front().json;
    Json data = Json::array();
    for (const Declaration& one : all) data.push_back(Json::parse(one.json));
    return json_text({{"data", std::move(data)}});
}

}  // namespace deckle
