// Values that an amount must not have: a dryness above 100 %, a negative use, a density of nothing.
// Typed values are checked as they are read; what a formula gives, when the graph stands.
#pragma once

#include <string>
#include <vector>

#include "engine/graph/graph.h"
#include "engine/tables/stated.h"

namespace deckle {

/// The value of a formula, to be checked once it can be worked out.
struct FormulaLimit {
    NodeId node = no_node;
    Unit unit;
    Within within = Within::any;
    Place place;
    std::string formula;  ///< as typed; of a sum, what is added up
    std::string code;     ///< in place of the usual one
};

/// False when a typed value, or the lower end of its spread, is not `within` (reported).
/// Shares in a unit that is no plain ratio pass: their dimension is reported elsewhere.
/// Codes: negative-amount, not-positive, share-out-of-range, shares-do-not-add.
bool check_typed_value(const YamlValue& scalar, const Quantity& quantity, Within within,
                       Problems& problems);

/// False when draws of a typed spread could leave what the amount may be (reported): its ends where
/// it has ends, else more than one draw in a thousand million. Code: spread-too-wide.
bool check_typed_spread(const Stated& stated, Problems& problems);

/// What a typed amount may be in a draw: what it may be when typed; a value in % that may be
/// anything, but is a share as typed, stays one.
[[nodiscard]] Within draw_limits(const Stated& stated);

/// What scenarios and draws of an amount in this unit may give.
[[nodiscard]] Bounds bounds_within(Within within, const Unit& unit);
/// The most whole things that a value may count; 0 for what is no such count.
[[nodiscard]] double most_counted(Within within) noexcept;

/// Where scenarios type what a node rests on, in the order of the files.
[[nodiscard]] std::vector<Place> changes_below(const Graph& graph, NodeId node);

/// What a formula may give, in its unit, both ends allowed.
[[nodiscard]] Bounds bounds_of(const FormulaLimit& limit);

/// Works out the formulas and reports what is not within its limits; the same codes.
/// Errors: NoAnswer not-finite where a formula has no value.
void check_formulas(const Graph& graph, const std::vector<FormulaLimit>& limits,
                    Problems& problems);

}  // namespace deckle
