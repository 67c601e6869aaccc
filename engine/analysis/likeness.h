// Whether two results may be held against each other: made under the same rules, and leaving out
// the same. The one judge of likeness; comparisons, break-evens and paired draws all ask here.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "engine/study/study.h"

namespace deckle {

/// What a result was made from, and the view of electricity it is read in.
struct Footing {
    std::string scenario, of;             ///< "" is today
    std::optional<ElectricityView> view;  ///< asked for; else that of the scenario's rules
};

/// "heat_pump", "today".
[[nodiscard]] std::string name_of_scenario(std::string_view scenario);

/// "bath_2ply@heat_pump", "bath_2ply" today.
[[nodiscard]] std::string name_of(const Footing& footing);

/// A rule that two results were not both made under.
struct UnlikeRule {
    std::string what;         ///< "electricity", "allocation of mill.boiler"
    std::string one, other;   ///< "location", "market"
    bool of_scenario = true;  ///< else of the product: its period
};
[[nodiscard]] std::vector<UnlikeRule> rules_that_differ(const Study& study, const Footing& one,
                                                        const Footing& other);

/// Rules that two results were not both made under, a sentence each: tables that weigh and their
/// values, prices, view of electricity, period, and how processes that make the same share it.
[[nodiscard]] std::vector<std::string> unlike_rules(const Study& study, const Footing& one,
                                                    const Footing& other);

/// What either of two results leaves out and the other does not, by name.
[[nodiscard]] std::vector<std::string> unlike_gaps(const Study& study, const Result& one,
                                                   const Result& other);

/// What two results leave out in different amounts, by name: their difference lacks it, and can be
/// anything. `one` and `other`: nodes of results. An amount is the derivative of the result by what
/// stands for the missing figure.
[[nodiscard]] std::vector<std::string> unlike_amounts(const Study& study, const Evaluation& at,
                                                      NodeId one, NodeId other);

/// How a process shares what it brings among its products: "fennaby.gas_turbine", "exergy".
struct SharedBy {
    std::string process, method;
    std::vector<std::string> products;
};
/// Of each process with several products in a scenario, in the order of the files.
[[nodiscard]] std::vector<SharedBy> allocations_of(const Study& study, std::string_view scenario);

}  // namespace deckle
