// A set of rules that figures are made under, kept as data: the study's own, or that of a scenario.
#pragma once

#include <map>
#include <optional>
#include <string>
#include <vector>

#include "engine/tables/stated.h"

namespace deckle {

struct RuleSet {
    std::string id, version, declared_unit, boundary;
    Place place;
    std::optional<Stated> cut_off;  ///< share of a result that may be left out in all
    std::vector<std::string> allocation_order, indicators;
    std::vector<Place> indicator_places;   ///< beside indicators
    std::map<std::string, Stated> limits;  ///< by finding code with _ for -: balance_water: 2 %

    /// Whether they ask for an indicator. Land removals count in `climate` only then, and recurring
    /// land management is expected of every factor only then.
    [[nodiscard]] bool asks_for(std::string_view indicator) const;
    /// "own_rules 1"
    [[nodiscard]] std::string name() const { return id + " " + version; }
    /// The rest in words: "declared unit: 1 t; cut-off: 3 %"
    [[nodiscard]] std::string text() const;
};

/// Reads the mapping behind a key; its amounts get addresses below `address`. Errors go to
/// `problems`.
[[nodiscard]] RuleSet read_rule_set(const YamlEntry& entry, const std::string& address,
                                    Problems& problems);

[[nodiscard]] const KeyTable& rule_set_keys();

}  // namespace deckle
