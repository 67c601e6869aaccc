// A study as it stands after loading: its graph, its results with their addresses, and what reports
// need to speak of them. Reports read this header; study.cpp builds it.
#pragma once

#include <cstdint>
#include <memory>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "engine/graph/evaluate.h"
#include "engine/graph/graph.h"
#include "engine/graph/hash_index.h"
#include "engine/tables/indicator.h"
#include "engine/text/files.h"
#include "engine/text/problem.h"

namespace deckle {

struct StudyModel;  ///< what the files said (study/model.h)
struct Assembly;    ///< mills and products as built, of today or of a scenario (study/model.h)

enum class ElectricityView : std::uint8_t { market, location };
enum class Coverage : std::uint8_t { complete, at_least, not_covered };

struct Rules {
    std::string id, version;
    std::string text;  ///< the rest of the rules in words, for print

    /// "house_rules 2: cut-off: 3 %", "house_rules 2".
    [[nodiscard]] std::string line() const {
        return id + " " + version + (text.empty() ? "" : ": " + text);
    }
};

/// A factor that stands for bought electricity in a view for which the study names none.
struct ViewStandIn {
    std::string factor;
    bool market = false, location = false;
};

struct StudyHead {
    std::string id, title, owner, period, boundary;
    std::string characterization;                  ///< id of the table that weighs gases
    std::vector<std::string> gwp_sets;             ///< all sets in any result, its own first
    std::string scarcity;                          ///< id, "" when the study names none
    std::string scarcity_model, scarcity_version;  ///< of that set, as its table says
    std::string prices;                            ///< id, "" when the study names none
    std::string data_quality_spread;  ///< set that turns scores into spreads, "" for none
    ElectricityView headline = ElectricityView::location;
    bool one_electricity_view = false;   ///< whatever electricity was bought is one in both views
    std::vector<ViewStandIn> stand_ins;  ///< by factor
    Rules rules;
    std::vector<std::string>
        exempted;  ///< what was left out, why, and how much it could be at most
};

/// What results are of: a product of a mill, a consumer product, or `all`.
struct Subject {
    enum class Kind : std::uint8_t { mill_product, consumer_product, line, all };
    /// How much a line makes: net tonnes, rolls, packs, and what that comes to.
    struct Count {
        std::string per, what;  ///< "day", "roll"
        std::string title;      ///< for print: of an equivalent its own, else `what`
        std::string unit;       ///< of the value: "t", "roll", "piece", "km", "" of a number
        std::string address;
        NodeId node;
        std::string source;  ///< of an equivalent: where its ratio comes from
    };
    std::string id;  ///< as in addresses: "base_sheet", "mill.base_sheet", "bath_3ply", "all"
    std::string title;
    Kind kind = Kind::mill_product;
    std::vector<std::string>
        pers;  ///< in printing order: "t", "roll", "sheet", "pack", "period"...
    Place place;
    NodeId whole_count = no_node;  ///< whole sheets a roll, where sheets have a length
    NodeId exact_count = no_node;  ///< the unrounded count
    std::vector<Count> counts;     ///< of a line
};

struct Result {
    std::string address;   ///< results.OF.PER.INDICATOR, or results@SCENARIO.OF.PER.INDICATOR
    std::string scenario;  ///< "" is today
    std::string of, per;
    IndicatorId indicator = 0;
    NodeId node = no_node;  ///< the study's headline view of electricity
    NodeId market = no_node;
    NodeId location = no_node;
    Coverage coverage = Coverage::complete;
    bool one_number = false;  ///< some CO2e in it was given as one number
    std::string unit;         ///< of the value: "kg CO2e"
};

/// What lacks an indicator, and where it is used.
struct Uncovered {
    IndicatorId indicator = 0;
    std::string subject;            ///< "example.wet_strength_resin"
    std::vector<std::string> uses;  ///< "tissue_machine.uses.wet_strength_resin"
    bool line_only = false;         ///< counted in another line as one number
};

/// A scenario as it was built into the graph beside today.
struct Scenario {
    std::string id, title, note;
    Place place;
    std::vector<std::string> on;  ///< parents, left to right
    struct Step {
        std::string change;  ///< in words: "fennaby.figures.press_dryness: 44 %, was 42 %"
        std::string reason;
        std::string scenario;  ///< its own id, or the parent it comes from
        Place place;
    };
    std::vector<Step> steps;            ///< in the order they were made
    std::string allocation;             ///< in words, where the rules of the scenario say so
    StudyHead head;                     ///< the study's, with the rules of the scenario
    std::vector<Indicator> indicators;  ///< the study's, with the parts that its rules count
    std::vector<Subject> subjects;      ///< what its results are of
    std::vector<Problem> findings;      ///< what building it noticed beyond today's
    std::shared_ptr<const Assembly> assembly;
};

struct Study {
    Files files;
    Graph graph;
    StudyHead head;
    std::vector<Indicator> indicators;
    std::vector<Subject> subjects;    ///< today's
    std::vector<Scenario> scenarios;  ///< in the order of their files
    std::vector<Result> results;      ///< today's, then those of each scenario; add()
    HashIndex result_index;           ///< of `results`, by the parts of their addresses
    HashIndex subject_index;          ///< of each scenario's subjects, by id and scenario
    std::vector<Problem> findings;    ///< what loading noticed; `check` adds its own
    std::shared_ptr<const StudyModel> model;

    void add(Result result);
    /// Once all subjects of a scenario are there, so that subject() finds them.
    void index_subjects(std::string_view scenario);
    /// The result of these parts of an address, or nullptr.
    [[nodiscard]] const Result* result(std::string_view of, std::string_view per,
                                       std::string_view indicator,
                                       std::string_view scenario = {}) const;
    [[nodiscard]] const Subject* subject(std::string_view of, std::string_view scenario = {}) const;
    [[nodiscard]] const Scenario* scenario(std::string_view id) const;
    /// What reports say of the study in a scenario; today's for "".
    [[nodiscard]] const StudyHead& head_of(std::string_view scenario) const;
    /// What results are of, in a scenario; today's for "".
    [[nodiscard]] std::span<const Subject> subjects_of(std::string_view scenario) const;
    /// The indicators under the rules of a scenario; today's for "". Which they are and their order
    /// is one for all, what `climate` counts is not.
    [[nodiscard]] std::span<const Indicator> indicators_of(std::string_view scenario) const;
};

/// Which scenarios are built beside today: what is not asked for costs nothing.
struct ScenarioChoice {
    bool all = true;
    std::vector<std::string> ids = {};  ///< else these; "today" is always there
};

/// Reads a study.yaml, or the folder that holds one, with all files it names, and builds its graph.
/// Errors: InputError with every problem of the load; NoAnswer for a loop that cannot be solved.
/// `study` is filled as far as reading went, so that its files can show the problems' lines.
void load_study(const std::string& path, Study& study, const ScenarioChoice& choice = {});

/// What is not covered in a result, worst first.
[[nodiscard]] std::vector<Uncovered> uncovered(const Study& study, const Result& result);

}  // namespace deckle
