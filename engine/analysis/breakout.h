// Break-outs: a result as the sum of its contributions. Where it arises (stage, process, use,
// factor, gas, scope): each burden times its derivative, from one reverse pass. What is bought
// (user): the terms of the process's own sum. Both add up to the result.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "engine/study/study.h"

namespace deckle {

enum class BreakoutBy : std::uint8_t { stage, process, user, use, factor, gas, scope };

[[nodiscard]] std::string_view name_of(BreakoutBy by) noexcept;
[[nodiscard]] std::optional<BreakoutBy> breakout_by(std::string_view name) noexcept;

struct Contribution {
    std::string name;    ///< "energy", "vellomere.boiler_house", "1", ...
    double value = 0.0;  ///< in the result's unit; signed
    double share = 0.0;  ///< value / total; 0 when only amounts are shown
};

struct Breakout {
    BreakoutBy by = BreakoutBy::stage;
    double total = 0.0;
    bool shares = true;  ///< false when the total is below a tenth of the sum of absolute amounts
    std::vector<Contribution> rows;  ///< largest absolute value first; scopes by their number
    std::vector<std::string> open;   ///< names, sorted, of which something expected is not stated
};

/// The group that a burden falls into: the text of its tag that the question asks for; "" without.
[[nodiscard]] std::string group_of(const Graph& graph, const Tag& tag, BreakoutBy by);

/// One burden of a result: its tag, the node of its amount, and what it brings to the result.
struct Burden {
    Tag tag;
    NodeId amount = no_node;
    double value = 0.0;  ///< in the result's unit; signed
};

/// Every burden of a node that is linear in its burdens; their values add up to its own.
[[nodiscard]] std::vector<Burden> burdens_of(const Study& study, const Evaluation& at, NodeId node);

/// Burdens of one or more results that add up, by where they arise; not by user.
[[nodiscard]] Breakout grouped(const Graph& graph, const std::vector<Burden>& burdens,
                               BreakoutBy by);

/// Break-out of `node` (a result's headline, market or location node).
/// Errors: InputError no-break-out for a ratio, or for what no single process makes.
[[nodiscard]] Breakout break_out(const Study& study, const Evaluation& at, const Result& result,
                                 NodeId node, BreakoutBy by);

}  // namespace deckle
