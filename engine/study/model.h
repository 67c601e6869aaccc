// What the files of a study say, before any of it becomes a node: tables, mills, products, rules.
// study_reader.cpp fills it; study.cpp builds the graph from it, stage by stage (stage.h).
#pragma once

#include <map>
#include <memory>
#include <set>
#include <string>
#include <string_view>
#include <vector>

#include "engine/mill/mill_graph.h"
#include "engine/product/product_graph.h"
#include "engine/study/disclosure.h"
#include "engine/study/rule_set.h"
#include "engine/study/scenario.h"
#include "engine/study/study.h"
#include "engine/tables/factor_lines.h"
#include "engine/tables/limits.h"

namespace deckle {

struct Exemption {
    std::string what, why;
    Place place;
    std::optional<Stated> highest_plausible;  ///< a share of the result, or CO2e per tonne
};

struct Output {
    std::string of;
    Place place;
    Stated amount;
    std::string per;  ///< "roll", "t"
};

/// Amounts whose draws go together, by address.
struct CorrelatedGroup {
    struct Member {
        std::string address;
        Place place;
    };
    std::vector<Member> members;
    std::vector<double> matrix;  ///< square, row by row
    Place place;                 ///< of the coefficients
};

/// A function that several products can fulfil, and how much of each it takes.
struct Function {
    std::string id, title;
    Place place;
    std::vector<Output> flows;
};

/// A production line: what it makes in a day and in a year. It gives output only; metered amounts
/// contain its stops and broke already.
struct Line {
    std::string id, title, of;
    Place place, of_place;
    std::optional<Stated> gross, time_efficiency, broke, days;
};

/// A plain equivalent of what a line makes: trees for its fibre, people for its rolls.
struct Equivalent {
    std::string id, title, of;  ///< of: an indicator, t, roll, ...
    Place place, of_place;
    Stated ratio;
};

/// What a scenario can have otherwise than today: the rules that figures are made under, the mills
/// and the products; and the nodes that the build made of them, for break-outs and balances.
struct Assembly {
    std::string characterization, scarcity, prices, electricity;
    RuleSet rules;
    std::vector<Mill> mills;
    std::vector<Product> products;

    std::vector<std::unique_ptr<MillNodes>> mill_nodes;
    std::vector<std::unique_ptr<ConsumerNodes>> product_nodes;
    std::vector<const Factor*> used_factors;
    /// Of a scenario: what is asked of the products of each mill, beside today.
    struct Demand {
        std::vector<NodeId> before, now;  ///< levels, by product of the mill
        bool known =
            true;  ///< else nothing says how much of several products, and amounts mean nothing
    };
    std::vector<Demand> demand;
    std::vector<FormulaLimit> limits;  ///< what its formulas may give and its shares add up to
    std::set<std::string> gwp_sets;    ///< sets of warming potentials that its CO2e rests on

    /// The nodes of a mill that it has.
    [[nodiscard]] const MillNodes& nodes_of(std::string_view mill) const;
};

/// What the files say of today, and the scenarios as typed.
struct StudyModel : Assembly {
    std::string id, title, owner, period, boundary, note, data_quality_spread;
    Place place;
    Place characterization_place, scarcity_place, prices_place, data_quality_spread_place;
    std::vector<CorrelatedGroup> correlated;
    std::map<std::string, std::string, std::less<>> stands_for;
    std::vector<std::pair<std::string, Place>> stands_for_places;
    std::vector<Grid> grids;
    std::vector<Output> output;
    std::vector<Function> functions;
    std::vector<Line> lines;
    std::vector<Equivalent> equivalents;
    std::vector<Exemption> exempted;
    bool says_what_is_exempted = false;  ///< the key is there; an empty list says nothing is
    std::optional<Disclosure> disclosure;
    Tables tables;
    std::vector<ScenarioModel> scenarios;
};

/// The mills and products of a scenario ("" is today) as they were built.
[[nodiscard]] const Assembly& assembly_of(const Study& study, std::string_view scenario);

/// Reads a study and every file it names. Errors go to `problems`.
/// `path` is a study.yaml or the folder that holds one.
void read_study(const std::string& path, Files& files, StudyModel& model, Problems& problems);

[[nodiscard]] std::vector<const KeyTable*> study_key_tables();

}  // namespace deckle
