// Scenarios and products side by side at equal function: figures, an index against a reference, the
// scopes behind climate, and what each step costs per tonne of CO2e it avoids. Rows made under
// different rules are refused, or stand beside each other without an index when that is asked for.
#pragma once

#include <array>
#include <optional>
#include <string>
#include <vector>

#include "engine/analysis/likeness.h"
#include "engine/study/study.h"

namespace deckle {

struct ComparisonQuestion {
    std::vector<std::string> scenarios;  ///< "" is today; empty: today
    std::vector<std::string> products;   ///< subjects; empty: the whole output, else all products
    /// What is equal: roll_diameter, sheet_count, area, mass, absorbed_water; a function of the
    /// study, or a unit that results are given per.
    std::string equal;
    std::vector<std::string> indicators;
    /// "OF", "@SCENARIO" or "OF@SCENARIO"; several: their mean counts 100. Empty: the first row.
    std::vector<std::string> references;
    std::optional<ElectricityView> view;
    bool other_rules = false;  ///< rows made under different rules may stand beside each other
};

struct ComparedFigure {
    const Result* result = nullptr;    ///< nullptr: there is none
    double value = 0.0;                ///< in the result's unit
    std::optional<double> index;       ///< the reference is 100
    std::optional<double> difference;  ///< from the reference, in the result's unit
    std::string without_index;         ///< why there is none: "" when there is, or nothing to say
    /// Where rules differ: from the first row of the same product, in % of it.
    std::optional<double> percent_apart;
};

/// Climate by scope [kg CO2e], 1 to 3, in one view of electricity.
using Scopes = std::array<double, 3>;

/// How far an indicator changes.
struct StepChange {
    std::optional<double> value;     ///< in its unit; none where what is not covered differs
    std::vector<std::string> lacks;  ///< not covered, and used in another amount: no bound
};

/// A row against another of the same product: the nearest above it that it stands on, else the
/// reference.
struct StepCost {
    std::string against;                      ///< scenario; "" is today
    std::vector<std::string> instead;         ///< what that one stands on and this one does not
    std::optional<double> climate;            ///< change in the view asked for [kg CO2e]
    std::optional<double> location, market;   ///< the same in both views
    std::vector<std::string> climate_lacks;   ///< not covered, and not alike in both: no bound
    std::string cost_of;                      ///< the indicator that cost is: marginal where stated
    std::optional<double> cost;               ///< change [currency]
    std::vector<std::string> cost_lacks;      ///< what has no price, so that there is none
    std::optional<double> per_tonne_avoided;  ///< cost per t CO2e avoided; none where none is
    std::vector<StepChange> changes;          ///< one an indicator of the comparison
};

struct ComparedRow {
    std::string scenario, of, title;
    std::string per;  ///< the unit it is counted in: "roll_unrounded"
    bool is_reference = false;
    std::vector<ComparedFigure> figures;  ///< one an indicator
    Scopes location{}, market{};
    std::optional<StepCost> step;
    std::vector<std::string>
        bundles;  ///< scenarios it brings along, beyond what it is held against
    /// Scenarios of rows above with a step of their own, neither of which is counted on top of the
    /// other: the changes of both are not to be added.
    std::vector<std::string> apart_from;
    struct Count {
        std::string what, title, unit;         ///< as of a line (Subject::Count)
        double value = 0.0, difference = 0.0;  ///< from the reference
        std::string source;                    ///< of an equivalent
    };
    std::vector<Count> counts;  ///< of a production line: tonnes, rolls, packs, equivalents
    struct Property {
        std::string name, value, scale, method;
    };
    std::vector<Property> properties;  ///< as the laboratory reports them
    struct Size {
        std::string what, unit;  ///< "width", "mm"
        double value = 0.0;
    };
    std::vector<Size> sizes;  ///< of a piece, at equal roll_diameter or sheet_count
};

struct Compared {
    const Study* study = nullptr;
    ComparisonQuestion question;
    ElectricityView view = ElectricityView::location;
    std::vector<const Indicator*> indicators;
    std::vector<ComparedRow> rows;
    std::optional<ComparedRow> mean;        ///< of several references: figures and counts
    std::vector<std::string> unlike_sizes;  ///< sizes of pieces that differ beside an equal one
    bool one_view = true;                   ///< all rows are read in `view`
    std::string function;                   ///< in words: "the same mass of tissue"
    std::vector<std::string> rules_differ;  ///< in words, where other rules were asked for
    std::vector<SharedBy> allocations;      ///< of the first row's scenario
};

/// Errors: InputError unknown-product, unknown-scenario, unknown-indicator, no-such-result,
/// unlike-function (rows that are not equal in what was asked, or not measured alike),
/// unlike-rules, unknown-reference.
[[nodiscard]] Compared compare(const Study& study, const Evaluation& at,
                               ComparisonQuestion question);

}  // namespace deckle
