// A study as it stands after loading: its graph, its results with their addresses, and what reports
// need to speak of them. Reports read this header; study.cpp builds it.
#pragma once

#include <cstdint>
#include <memory>
#include <string>
#include <string_view>
#include <vector>

#include "engine/graph/evaluate.h"
#include "engine/graph/graph.h"
#include "engine/tables/indicator.h"
#include "engine/text/files.h"
#include "engine/text/problem.h"

namespace deckle {

struct StudyModel;  ///< what the files said (study/model.h)

enum class ElectricityView : std::uint8_t { market, location };
enum class Coverage : std::uint8_t { complete, at_least, not_covered };

struct Rules {
    std::string id, version;
    std::string text;  ///< the rest of the rules in words, for print
};

struct StudyHead {
    std::string id, title, owner, period, boundary;
    std::string characterization;       ///< id of the table that weighs gases
    std::vector<std::string> gwp_sets;  ///< all sets in any result, its own first
    std::string scarcity;               ///< id, "" when the study names none
    std::string prices;                 ///< id, "" when the study names none
    std::string data_quality_spread;    ///< set that turns scores into spreads, "" for none
    ElectricityView headline = ElectricityView::location;
    bool one_electricity_view =
        false;  ///< no grid names location and residual: one factor stands for both
    Rules rules;
    std::vector<std::string>
        exempted;  ///< what was left out, why, and how much it could be at most
};

/// What results are of: a product of a mill, a consumer product, or `all`.
struct Subject {
    enum class Kind : std::uint8_t { mill_product, consumer_product, all };
    std::string id;  ///< as in addresses: "base_sheet", "mill.base_sheet", "bath_3ply", "all"
    std::string title;
    Kind kind = Kind::mill_product;
    std::vector<std::string>
        pers;  ///< in printing order: "t", "roll", "sheet", "pack", "period"...
    Place place;
    NodeId whole_count = no_node;  ///< whole sheets a roll, where derived
    NodeId exact_count = no_node;  ///< the unrounded count
};

struct Result {
    std::string address;  ///< results.OF.PER.INDICATOR
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

struct Study {
    Files files;
    Graph graph;
    StudyHead head;
    std::vector<Indicator> indicators;
    std::vector<Subject> subjects;
    std::vector<Result> results;
    std::vector<Problem> findings;  ///< what loading noticed; `check` adds its own
    std::shared_ptr<const StudyModel> model;

    /// The result of an address parts, or nullptr.
    [[nodiscard]] const Result* result(std::string_view of, std::string_view per,
                                       std::string_view indicator) const;
    [[nodiscard]] const Subject* subject(std::string_view of) const;
};

/// Reads a study.yaml, or the folder that holds one, with all files it names, and builds its graph.
/// Errors: InputError with every problem of the load; NoAnswer for a loop that cannot be solved.
/// `study` is filled as far as reading went, so that its files can show the problems' lines.
void load_study(const std::string& path, Study& study);

/// What is not covered in a result, worst first.
[[nodiscard]] std::vector<Uncovered> uncovered(const Study& study, const Result& result);

}  // namespace deckle
