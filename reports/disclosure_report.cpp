#include "reports/disclosure_report.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>

#include "engine/study/model.h"
#include "engine/study/study_head.h"
#include "engine/text/number_text.h"
#include "reports/declaration.h"
#include "reports/footprint.h"
#include "reports/scenario_text.h"
#include "reports/words.h"

namespace deckle {
namespace {

constexpr std::string_view silent = "not stated";
constexpr std::size_t most_significant = 15;
constexpr const char* fossil_of_pulp =
    "Fossil CO2 of the mill is what the company's own plants release; of pulp all fossil emissions "
    "to its gate, in CO2e where its factor gives no single gases.";

std::string figure(double value) { return format_significant(value); }

/// With the mark of what is open in it.
std::string marked(Bound bound, double value) {
    const std::string_view mark = mark_of(bound);
    return fmt::format("{}{}{}", mark, mark.empty() ? "" : " ", figure(value));
}
std::string percent(double value) { return fmt::format("{:.1f}", value); }

/// "raw_materials" as people write it.
std::string words(std::string_view id) {
    std::string text(id);
    std::ranges::replace(text, '_', ' ');
    return text;
}

std::string said(std::string_view text) { return std::string(text.empty() ? silent : text); }

std::string_view date_of(const std::string& instant) {
    return std::string_view(instant).substr(0, 10);
}

/// Writes the sections in the order a reader asks.
class ReportWriter {
public:
    ReportWriter(const Study& study, const DeclaredFigures& figures, std::string_view program)
        : study_(study),
          model_(*study.model),
          head_(study.head_of(figures.scenario)),
          rules_(assembly_of(study, figures.scenario).rules),
          scenario_(study.scenario(figures.scenario)),
          declared_(*study.model->disclosure),
          figures_(figures),
          program_(program) {}

    DisclosureReport run() {
        report_.title = "Partial carbon footprint, cradle to gate: " + name();
        if (scenario_ != nullptr) report_.title += ", in a scenario";
        report_.subtitle = fmt::format("{}, {}", declared_.company, model_.title);
        report_.caution =
            std::string(scenario_ == nullptr
                            ? ""
                            : "These figures are of a scenario: nothing was made so. ") +
            (figures_.verification != nullptr ? "" : "These figures are not verified. ") +
            "Footprints made under different rules must not be compared. A cradle-to-gate figure "
            "is no full product inventory.";
        if (scenario_ != nullptr) add_scenario();
        add_product();
        add_results();
        add_scope();
        add_data();
        add_method();
        add_judgement();
        add_water();
        add_trade();
        return std::move(report_);
    }

private:
    ReportSection& section(std::string title, std::string asked_by) {
        return report_.sections.emplace_back(
            ReportSection{std::move(title), std::move(asked_by), {}, {}, {}});
    }

    void text_section(std::string title, std::string asked_by, std::string_view key) {
        section(std::move(title), std::move(asked_by)).paragraphs = {said(declared_.text(key))};
    }

    const std::string& name() const {
        return figures_.product->name.empty() ? figures_.subject->title : figures_.product->name;
    }

    std::string unit() const { return figures_.scale == 1.0 ? "one piece" : "one kilogram"; }

    std::string value_of(std::string_view indicator) const {
        const DeclaredLine* line = figures_.line(indicator);
        if (line == nullptr || line->coverage == Coverage::not_covered) return "not quantified";
        return marked(line->bound, line->value);
    }

    /// The footprint without uptake, and the CO2 taken up for the carbon that the product holds.
    Bound bound_of_total() const {
        return figures_.coverage == Coverage::at_least ? Bound::at_least : Bound::exact;
    }
    std::string total() const { return marked(bound_of_total(), figures_.total); }
    double uptake() const {
        return figures_.value("climate_with_uptake") - figures_.value("climate");
    }
    std::string total_with_uptake() const {
        const DeclaredLine* held = figures_.line("climate_with_uptake");
        const bool exact = held == nullptr || held->bound == Bound::exact;
        return marked(exact ? bound_of_total() : held->bound, figures_.total + uptake());
    }

    /// What is otherwise than in the study, with the reasons that it gives.
    void add_scenario() {
        ReportSection& scenario = section("Scenario", "");
        scenario.paragraphs = {scenario_->title.empty() ? scenario_->id : scenario_->title};
        if (!scenario_->note.empty()) scenario.paragraphs.push_back(scenario_->note);
        for (const std::string& finding : scenario_findings(study_, {scenario_->id}))
            scenario.paragraphs.push_back(finding);
        scenario.paragraphs.emplace_back(equipment_caution());
        scenario.head = {"otherwise than in the study", "why"};
        for (const Scenario::Step& step : scenario_->steps)
            scenario.rows.push_back({step.change, step.reason});
    }

    // --- what it is of
    // ----------------------------------------------------------------------------
    void add_product() {
        const DeclaredProduct& product = *figures_.product;
        section("Contact, product and owner", "GHG Protocol 1").paragraphs = {
            "Contact: " + said(declared_.text("contact")),
            "Product: " + name() + (product.description.empty() ? "" : ". " + product.description),
            "Final or intermediate product: " + said(use()), "Owner: " + declared_.company};
        text_section("Goal of the study", "ISO 14067", "goal");
        section("Declared unit and reference flow", "ISO 14067; GHG Protocol 2").paragraphs = {
            fmt::format("Declared unit: {}, {} kg of product without packaging.", unit(),
                        figure(figures_.mass)),
            fmt::format("Reference flow: {} of {} as it leaves the gate.", unit(), name())};
        section("Type of footprint", "ISO 14067; GHG Protocol 3").paragraphs = {
            "Cradle to gate: a partial footprint. Use and end of life are outside.",
            "Reason: " + said(declared_.text("boundary_reason"))};
        section("Date, version and earlier report", "GHG Protocol 6").paragraphs = {
            fmt::format("Made on {}, version {}, by {}.", date_of(instant_text(*declared_.created)),
                        said(product.version), program_),
            "Earlier report: " + said(product.earlier_report),
            "Changes since: " + said(product.changes)};
    }

    /// Rolls and packs are final unless the study says otherwise.
    std::string use() const {
        const bool consumer = figures_.subject->kind == Subject::Kind::consumer_product;
        return figures_.product->use.empty() && consumer ? "final" : figures_.product->use;
    }

    // --- figures
    // ----------------------------------------------------------------------------------
    void add_results() {
        section("Result", "ISO 14067; GHG Protocol 15").paragraphs = {
            fmt::format(
                "{} kg CO2e for {} without uptake, {} kg CO2e with the CO2 taken up for the "
                "carbon it holds.",
                total(), unit(), total_with_uptake()),
            fmt::format("Global warming potentials over 100 years of {}: {}.",
                        fmt::join(figures_.reports, " and "), potentials())};
        add_kinds();
        add_stages();
        section("Cradle to gate and gate to gate", "GHG Protocol 18").paragraphs = {
            fmt::format(
                "Cradle to gate {} kg CO2e; of these the company's own processes release {}.",
                total(), figure(figures_.own_processes)),
            "Confidentiality: " + said(declared_.text("confidentiality"))};
        section("Carbon held", "ISO 14067; GHG Protocol 19").paragraphs = {
            fmt::format("Biogenic carbon in the product {} kg C, fossil carbon {} kg C, biogenic "
                        "carbon in its packaging {} kg C.",
                        value_of("biogenic_carbon"), value_of("fossil_carbon"),
                        value_of("packaging_biogenic_carbon")),
            "Part of the product's carbon from recycled material: " +
                said(figures_.product->recycled_carbon
                         ? figures_.product->recycled_carbon->scalar.text
                         : std::string()) +
                "."};
        section("Freight to the customer", "").paragraphs = {
            figures_.outbound
                ? fmt::format("{} kg CO2e for {}, beside the footprint and in no total.",
                              figure(*figures_.outbound), unit())
                : std::string(silent)};
    }

    std::string potentials() const {
        std::vector<std::string> sources;
        for (const std::string& id : figures_.sets) {
            const Characterization* set = model_.tables.characterization(id);
            sources.push_back(set == nullptr
                                  ? words(id) + ", as the suppliers of factors applied it"
                                  : set->source.text());
        }
        return fmt::format("{}", fmt::join(sources, "; "));
    }

    void add_kinds() {
        ReportSection& kinds =
            section("Emissions and removals by kind", "ISO 14067; GHG Protocol 17");
        kinds.head = {"kind", fmt::format("kg CO2e for {}", unit())};
        constexpr std::array<std::pair<const char*, const char*>, 9> lines{
            {{"climate_fossil", "fossil (with CO2e given as one number)"},
             {"climate_biogenic", "biogenic methane and nitrous oxide"},
             {"biogenic_co2_released", "biogenic CO2 released by burning, in no total"},
             {"biogenic_co2_taken_up", "its uptake beforehand, in no total"},
             {"climate_land_use", "land-use change"},
             {"climate_land_management", "recurring land management"},
             {"climate_removals", "land removals"},
             {"aircraft", "aircraft (inside fossil)"},
             {"land_management_fossil", "fossil part of land management (inside fossil)"}}};
        for (const auto& [indicator, title] : lines)
            kinds.rows.push_back({title, value_of(indicator)});
        const DeclaredLine* carbon = figures_.line("biogenic_carbon");
        const bool exact = carbon == nullptr || carbon->bound == Bound::exact;
        kinds.rows.push_back({"CO2 taken up for the carbon held",
                              marked(exact ? Bound::exact : Bound::at_most, uptake())});
        std::string shown = total() + total_with_uptake();
        for (const auto& row : kinds.rows) shown += row[1];
        kinds.paragraphs = mark_notes(shown, "Left out");
    }

    void add_stages() {
        ReportSection& stages = section("By life-cycle stage", "ISO 14067; GHG Protocol 16");
        stages.head = {"stage", fmt::format("kg CO2e for {}", unit()), "%"};
        for (const Contribution& row : figures_.stages.rows)
            stages.rows.push_back(
                {words(row.name), figure(row.value / figures_.scale),
                 figures_.stages.shares ? percent(100.0 * row.share) : std::string("-")});
        stages.rows.push_back({"total", figure(figures_.stages.total / figures_.scale),
                               figures_.stages.shares ? "100.0" : "-"});
        stages.paragraphs = {
            "Use and end of life are outside the boundary. Shares are of unrounded "
            "figures."};
    }

    // --- boundary
    // ---------------------------------------------------------------------------------
    void add_scope() {
        section("Greenhouse gases counted", "ISO 14067; GHG Protocol 4").paragraphs =
            gases_told(figures_.gases);
        section("System boundary and process map", "ISO 14067; GHG Protocol 8, 9").paragraphs =
            boundary();
        ReportSection& left = section("Left out", "ISO 14067; GHG Protocol 10");
        left.head = {"what", "why", "at most"};
        for (const Exemption& one : model_.exempted)
            left.rows.push_back(
                {one.what, one.why,
                 one.highest_plausible ? one.highest_plausible->scalar.text : std::string(silent)});
        for (const LeftOutBySupplier& one : figures_.left_out_by_suppliers)
            left.rows.push_back(
                {fmt::format("by the supplier of {}", one.factor->title),
                 fmt::format("as its footprint states: {} % of it", figure(one.own)),
                 figure(one.part) + " %"});
        left.paragraphs = {
            left_out(),
            "Processes that are not attributable (capital goods, overheads, travel) are included "
            "only where a line of this report names them."};
        section("Cut-off criteria", "ISO 14067").paragraphs = {
            rules_.cut_off ? fmt::format("{} of the result in all, by {}.",
                                         rules_.cut_off->scalar.text, rules_.name())
                           : std::string(silent)};
        section("Time", "ISO 14067").paragraphs = {
            fmt::format("Data are of {}{}.", model_.period,
                        scenario_ == nullptr ? "" : ", but for what the scenario changes"),
            declared_.valid
                ? fmt::format("Representative from {} until {}.",
                              date_of(instant_text(declared_.valid->start)),
                              date_of(instant_text(declared_.valid->end)))
                : std::string("Representative for three years from the end of that period.")};
        section("Place", "ISO 14067").paragraphs = {
            said(!declared_.region.empty()        ? declared_.region
                 : !declared_.country.empty()     ? declared_.country
                 : !declared_.subdivision.empty() ? declared_.subdivision
                                                  : std::string("world"))};
    }

    std::string left_out() const {
        const std::string suppliers =
            figures_.left_out_by_suppliers.empty()
                ? std::string()
                : fmt::format("{} % by suppliers", figure(figures_.left_out_before()));
        if (figures_.left_out)
            return fmt::format("In all at most {} % of the footprint{}.",
                               percent(figures_.left_out_in_all()),
                               suppliers.empty() ? "" : ", of it " + suppliers);
        return suppliers.empty() ? "In all: not stated."
                                 : "In all: not stated; " + suppliers + ", as they state.";
    }

    std::vector<std::string> boundary() const {
        std::vector<std::string> lines;
        if (!declared_.boundary.empty()) lines.push_back(declared_.boundary);
        for (const std::string& stage : figures_.processes) lines.push_back(words(stage));
        lines.push_back("Start and end of each stage: " + said(declared_.text("stages")));
        return lines;
    }

    // --- data
    // -------------------------------------------------------------------------------------
    void add_data() {
        text_section("How data were collected", "ISO 14067", "data_collection");
        ReportSection& sources = section("Sources of factors", "ISO 14067; GHG Protocol 12");
        sources.head = {"table", "edition"};
        for (const DeclaredSource& one : figures_.sources)
            sources.rows.push_back({one.name, one.version});
        section("Share of primary data", "ISO 14067").paragraphs = {fmt::format(
            "{} % of the footprint without uptake: each part counts by its size; what the own "
            "site releases counts in full where its amount is no estimate, a part without a "
            "stated share as none.",
            percent(figures_.primary_share))};
        add_significant();
        section("Data quality", "ISO 14067; GHG Protocol 12").paragraphs = {
            fmt::format(
                "Ratings, 1 the best and 5 unknown, weighed by contribution: technology {:.2f}, "
                "geography {:.2f}, time {:.2f}.",
                figures_.ratings[0], figures_.ratings[1], figures_.ratings[2]),
            "Statement on data quality: " + said(declared_.text("data_quality"))};
        text_section("Efforts to improve data", "GHG Protocol 12", "improvements");
    }

    void add_significant() {
        ReportSection& most = section("Significant processes", "ISO 14067; GHG Protocol 12");
        most.head = {"process: use",
                     "factor",
                     fmt::format("kg CO2e for {}", unit()),
                     "%",
                     "amount is",
                     "primary %",
                     "ratings",
                     "source"};
        const double total = figures_.total;
        for (const DataRow& row : figures_.rows) {
            if (most.rows.size() == most_significant) break;
            most.rows.push_back({row.process_title + ": " + words(row.use),
                                 row.factor.empty() ? "own release" : row.factor_title,
                                 figure(row.value),
                                 total == 0.0 ? "-" : percent(100.0 * row.value / total),
                                 said(row.amount_is), percent(row.primary_share),
                                 fmt::format("technology {:.0f}, geography {:.0f}, time {:.0f}",
                                             row.ratings[0], row.ratings[1], row.ratings[2]),
                                 row.source.empty() ? "the company's own data" : row.source});
        }
        most.paragraphs = {
            fmt::format("The {} largest of {} parts.", most.rows.size(), figures_.rows.size())};
    }

    // --- method
    // -----------------------------------------------------------------------------------
    void add_method() {
        ReportSection& shares = section("Allocation", "ISO 14067; GHG Protocol 13");
        shares.head = {"process", "method", "reason", "highest to lowest value", "path"};
        for (const DeclaredAllocation& one : figures_.allocations)
            shares.rows.push_back({one.title.empty() ? one.process : one.title,
                                   words(said(one.method)), said(one.reason), ratio_of(one),
                                   one.path.empty() ? "-" : one.path});
        shares.paragraphs = {
            shares.rows.empty() ? "No process of it has several products."
                                : "Shares of a process add to 1. Values are those "
                                  "of all that a process makes.",
            "Displaced emissions of closed loops: " + said(declared_.text("displaced_emissions"))};
        text_section("Recycling", "ISO 14067; GHG Protocol 13", "recycling");
        ReportSection& power = section("Electricity", "ISO 14067");
        power.paragraphs = electricity();
        power.head = {"grid", "location-based", "market-based, without a contract"};
        for (const Grid* grid : figures_.grids)
            power.rows.push_back({title_of_factor(grid->factor), title_of_factor(grid->location),
                                  title_of_factor(grid->residual)});
        section("Land-use change", "ISO 14067; GHG Protocol 11").paragraphs = {
            "Method: " + said(declared_.land_use_method),
            "Where, and over which time: " + said(declared_.text("land_use"))};
        text_section("Timing of emissions and removals", "ISO 14067", "timing");
        text_section("Assumptions and choices of value", "ISO 14067", "assumptions");
        ReportSection& rules = section("Rules followed", "ISO 14067; GHG Protocol 5");
        rules.paragraphs = {rules_.id.empty() ? std::string(silent)
                                              : fmt::format("{}: {}", rules_.name(), rules_.text()),
                            fmt::format("Standards that the study names: {}.",
                                        fmt::join(declared_.standards, ", "))};
        for (const SectorRules& one : declared_.sector_rules)
            rules.paragraphs.push_back(
                fmt::format("{}: {}", one.other_operator.empty() ? one.by : one.other_operator,
                            fmt::join(one.names, ", ")));
    }

    static std::string ratio_of(const DeclaredAllocation& one) {
        if (!one.value_ratio) return std::string(silent);
        return std::isfinite(*one.value_ratio) ? figure(*one.value_ratio) : "any number";
    }

    std::vector<std::string> electricity() const {
        const bool market = head_.headline == ElectricityView::market;
        std::vector<std::string> lines{
            fmt::format("Figures are {}-based.", market ? "market" : "location")};
        for (const ViewStandIn& one : head_.stand_ins)
            lines.push_back(fmt::format("{} stands for {}: no grid names another factor.",
                                        one.factor, views_of(one)));
        if (figures_.other_view)
            lines.push_back(fmt::format("With {} electricity: {} kg CO2e for {}.",
                                        market ? "location-based" : "market-based",
                                        figure(*figures_.other_view), unit()));
        return lines;
    }

    std::string title_of_factor(const std::string& id) const {
        const auto found = model_.tables.find(id);
        return found.size() == 1 ? found.front()->title : said(id);
    }

    // --- judgement
    // --------------------------------------------------------------------------------
    void add_judgement() {
        add_sensitivity();
        section("Uncertainty", "ISO 14067; GHG Protocol 14").paragraphs = {
            "Of this study: " + said(declared_.text("uncertainty")), uncertainty()};
        text_section("Interpretation and conclusions", "ISO 14067", "interpretation");
        section("Limitations and limits of use", "ISO 14067; GHG Protocol 7").paragraphs = {
            "Of this study: " + said(declared_.text("limitations")),
            "One impact only: climate. Results of different studies are comparable only under "
            "equal rules, and a comparison of products needs their whole life cycles."};
        text_section("Use and end-of-life profile", "ISO 14067", "use_and_end_of_life");
        text_section("Reductions and recalculation", "ISO 14067; GHG Protocol 21", "performance");
        section("Assurance and critical review", "ISO 14067; GHG Protocol 20").paragraphs = {
            assurance(), "Critical review: " + said(declared_.text("review")),
            "Competence: " + said(declared_.text("competence")),
            "Conflicts of interest: " + said(declared_.text("conflicts"))};
        section("Notes", "").paragraphs = declaration_notes(study_, figures_);
    }

    void add_sensitivity() {
        ReportSection& largest = section("Sensitivity", "ISO 14067");
        largest.head = {"input", "of", "% of the footprint for 1 % of it", "% of the variance"};
        for (const DeclaredInput& one : figures_.largest)
            largest.rows.push_back({one.address, one.title, fmt::format("{:.2f}", one.elasticity),
                                    percent(100.0 * one.share)});
        largest.paragraphs = {"Of this study: " + said(declared_.text("sensitivity")),
                              fmt::format("The {} inputs that move it most, of {}; first order.",
                                          figures_.largest.size(), figures_.inputs)};
    }

    std::string uncertainty() const {
        if (figures_.with_spread == 0)
            return fmt::format("Not computed: none of the {} inputs states a spread.",
                               figures_.inputs);
        return fmt::format(
            "Computed: a standard uncertainty of {} kg CO2e for {}{}, first order (JCGM 100), from "
            "the spreads of {} of {} inputs; the others count as exact, and choices of method are "
            "not in it.",
            figure(figures_.standard_uncertainty), unit(),
            figures_.total > 0.0
                ? fmt::format(", {} %",
                              percent(100.0 * figures_.standard_uncertainty / figures_.total))
                : std::string(),
            figures_.with_spread, figures_.inputs);
    }

    std::string assurance() const {
        if (figures_.verification == nullptr) return "Not verified.";
        const Verification& by = *figures_.verification;
        return fmt::format(
            "Verified by {}, coverage {}, level {}, against {}, completed {}. {}", by.provider,
            said(by.coverage), said(by.level), said(by.standard),
            by.completed ? std::string(date_of(instant_text(*by.completed))) : std::string(silent),
            by.comments);
    }

    // --- water and the trade's views
    // --------------------------------------------------------------
    void add_water() {
        ReportSection& water = section("Water", "ISO 14046");
        water.head = {"what", fmt::format("for {}", unit()), "unit"};
        water.rows = {{"water withdrawn", value_of("water_withdrawn"), "m3"},
                      {"water consumed", value_of("water_consumed"), "m3"},
                      {"water scarcity footprint", value_of("water_scarcity"), "m3 world-eq"}};
        const Scarcity* set = model_.tables.scarcity(head_.scarcity);
        water.paragraphs = {
            set == nullptr
                ? std::string("Scarcity model: not stated.")
                : fmt::format("Scarcity model: {} {}.",
                              set->model.empty() ? set->title : set->model, set->version),
            "Quantities only: quality of water was not assessed, so this is no water footprint as "
            "a "
            "whole."};
    }

    void add_trade() {
        ReportSection& elements = section("The trade's ten elements", "Cepi framework");
        elements.head = {"element", fmt::format("kg CO2e for {}", unit())};
        constexpr std::array<const char*, element_count> names{
            "carbon in the forest",
            "carbon held in the product (beside the sum)",
            "the company's own plants",
            "getting the fibre",
            "other materials and supply of fuels",
            "bought electricity and heat",
            "transport to the mill",
            "use",
            "end of life",
            "avoided emissions (beside the sum)"};
        double sum = 0.0;
        for (std::size_t i = 0; i < names.size(); ++i) {
            elements.rows.push_back({fmt::format("{} {}", i + 1, names[i]), element(i + 1)});
            sum += figures_.elements[i + 1];
        }
        elements.rows.push_back({"3 to 7, the footprint", figure(sum)});
        ReportSection& sheet = section("Data sheet per tonne", "trade practice");
        sheet.head = {"parameter", "unit per t", "mill", "pulp", "sum", "not stated by"};
        for (const SheetLine& line : figures_.sheet)
            sheet.rows.push_back(
                {line.title, line.unit, line.mill ? figure(*line.mill) : std::string(silent),
                 pulp_of(line), sum_of(line), fmt::format("{}", fmt::join(line.missing, "; "))});
        sheet.paragraphs = {
            "Composition: " +
                (figures_.composition.empty()
                     ? std::string(silent)
                     : fmt::format("{}", fmt::join(figures_.composition, ", "))) +
                ".",
            "Fibre by how it was made, of the dry fibre that goes in: " + fibres() + ".",
            fossil_of_pulp, "Environmental management: " + said(declared_.text("management")),
            "Origin of wood: " + said(declared_.text("wood"))};
    }

    static std::string pulp_of(const SheetLine& line) {
        if (line.pulp) return figure(*line.pulp);
        return line.buys_pulp ? std::string(silent) : "none bought";
    }

    /// A part that nothing states makes the sum a least one.
    static std::string sum_of(const SheetLine& line) {
        const auto sum = line.sum();
        if (!sum) return std::string(silent);
        return marked(line.missing.empty() ? Bound::exact : Bound::at_least, *sum);
    }

    std::string fibres() const {
        std::vector<std::string> parts;
        for (const FibrePart& part : figures_.fibres)
            parts.push_back(fmt::format("{} {} %", said(part.made), percent(part.share)));
        return parts.empty() ? std::string(silent) : fmt::format("{}", fmt::join(parts, ", "));
    }

    std::string element(std::size_t number) const {
        if (number >= 3 && number <= 7) return figure(figures_.elements[number]);
        if (number == 2) return figure(uptake());
        if (number == 1) return said(declared_.text("forest"));
        if (number == 10) return said(declared_.text("avoided_emissions"));
        return "outside the boundary";
    }

    const Study& study_;
    const StudyModel& model_;
    const StudyHead& head_;
    const RuleSet& rules_;
    const Scenario* scenario_;  ///< nullptr: what was made
    const Disclosure& declared_;
    const DeclaredFigures& figures_;
    std::string_view program_;
    DisclosureReport report_;
};

}  // namespace

DisclosureReport disclosure_report(const Study& study, const DeclaredFigures& figures,
                                   std::string_view program) {
    return ReportWriter(study, figures, program).run();
}

}  // namespace deckle
