// What a careful reader would question in a study: balances that do not close, loops, shares,
// exemptions against the rules, factors without source or outdated, double counting, mills outside
// published ranges. A finding never changes a figure.
#pragma once

#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "engine/study/study.h"

namespace deckle {

struct Finding {
    std::string code;  ///< "balance-water"
    std::string message;
    std::string hint;
    Place where;
    std::optional<double> measured;  ///< what was found, in `unit`
    std::optional<double> limit;     ///< of rules.limits; a finding above it sets exit status 1
    std::string unit;
    [[nodiscard]] bool above_limit() const noexcept {
        return measured && limit && *measured > *limit;
    }
};

/// One balance of a process or of a mill.
struct Balance {
    std::string of;    ///< "vellomere", "vellomere.tissue_machine"
    std::string kind;  ///< water, energy, dry_solids, biogenic_carbon
    double in = 0.0, out = 0.0;
    std::string unit;
    std::string per;  ///< "1 t base_sheet", "as typed"
    double gap_percent = 0.0;
};

struct CheckReport {
    std::vector<Balance> balances;
    std::vector<Finding> findings;
    [[nodiscard]] bool above_limit() const noexcept;
};

/// Limits of the rules that no finding can meet are not looked at: see require_limits.
[[nodiscard]] CheckReport check_study(const Study& study, const Evaluation& at);

/// To be asked before a finding above its limit decides anything: a limit that no finding can meet
/// would let everything pass. Errors: InputError unknown-key with the nearest name, wrong-unit.
void require_limits(const Study& study);

/// A figure of a mill that is held against a published range.
struct RangeReading {
    std::string code;                ///< "range-heat"
    std::string what, of;            ///< "heat", "vellomere, for 1 t base_sheet"
    double measured = 0.0;           ///< in the unit of the code
    std::optional<Finding> outside;  ///< when it lies outside
};

/// Every figure of a scenario's mills ("" is today) that a published range is held against, of
/// products with a line that `matters`; for asking at passing values.
[[nodiscard]] std::vector<RangeReading> range_readings(const Study& study, const Evaluation& at,
                                                       std::string_view scenario,
                                                       const std::function<bool(NodeId)>& matters);

/// "in scenario more: tad, for ...": what is said of a scenario's mill; as it is for today.
[[nodiscard]] std::string said_of(std::string_view scenario, std::string message);

/// Every code that check can give, with what it means: the schema page and the tests read it.
struct CheckCode {
    std::string_view code, meaning;
};
[[nodiscard]] std::span<const CheckCode> check_codes() noexcept;

}  // namespace deckle
