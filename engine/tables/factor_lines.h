// Factors as graph nodes: for each indicator the amount that one unit of the factor brings, with
// the gases, weights and scarcity factors it is made of as nodes below. Made on demand, once a
// factor, so that a large table costs nothing for what is not used.
#pragma once

#include <map>
#include <memory>
#include <set>
#include <string>
#include <string_view>
#include <unordered_map>
#include <vector>

#include "engine/tables/build.h"
#include "engine/tables/factor.h"
#include "engine/tables/indicator.h"

namespace deckle {

struct FactorLine {
    IndicatorId indicator = 0;
    NodeId value = no_node;   ///< per one unit of the factor's `per`
    TextId gas = 0;           ///< gas, or what the line is of, for the break-out
    bool one_number = false;  ///< CO2e given as one number
};

struct FactorNodes {
    const Factor* factor = nullptr;
    Unit per;                       ///< one unit of this
    std::vector<FactorLine> lines;  ///< in the order of indicators, then of gases
    std::vector<Bridge> bridges;    ///< heating values, density, dryness
    struct Along {
        const FactorNodes* factor;
        Measure amount;  ///< in the brought factor's unit, per one unit of this factor
    };
    std::vector<Along> brings;
    std::size_t reach = 1;  ///< itself and all that comes along, however often
};

/// "kg CO2e/GJ LHV", "EUR_2025/(t km)": a unit of several symbols stands in parentheses.
[[nodiscard]] std::string per_text(std::string_view what, const Unit& per);

/// Whether a factor says anything of an indicator, in a line of its own or among its gases.
[[nodiscard]] bool states_line(const Factor& factor, const Indicator& indicator);

/// What a study asks of its tables.
struct TableChoice {
    const Characterization* characterization = nullptr;
    const Scarcity* scarcity = nullptr;
    const Prices* prices = nullptr;
    bool land_management_expected = false;
    std::map<std::string, std::string, std::less<>>
        stands_for;  ///< short id of the mills -> factor
};

class FactorBook {
public:
    FactorBook(Build& build, const Tables& tables, const Indicators& indicators,
               TableChoice choice);

    /// The factor of a reference ("id", "table.id", or a short id of stands_for).
    /// nullptr when unknown or ambiguous; only the latter is reported (ambiguous-factor).
    const Factor* find(std::string_view reference, Place place);

    /// Its nodes; brought factors included. Errors are reported (unknown-gas, unknown-factor,
    /// circular-brings, brings-too-much, wrong-unit); the nodes made so far are returned.
    const FactorNodes& nodes(const Factor& factor);

    /// Reports a region that the study's scarcity set does not know. Code: unknown-region.
    void check_region(std::string_view region, Place place);

    /// m3 world-eq per m3 consumed in a region by a use; an unknown Measure when there is none.
    Measure scarcity_weight(std::string_view region, std::string_view use);

    /// A constant 0 per unit that stands for what `subject` does not state.
    NodeId uncovered(std::string_view subject, IndicatorId indicator, bool line_only,
                     const Unit& per, Place place);

    /// The line of a gas released: its indicator, and mass × weight in that indicator's unit.
    std::optional<FactorLine> release(std::string_view gas, const Measure& mass, Place place);

    /// Money per kg CO2e of fossil CO2 released; unknown where the study has no such price.
    Measure carbon_price();

    /// CO2e per unit that a process gets for nothing, as stated; nullptr for none.
    [[nodiscard]] const Stated* free_allocation(std::string_view process) const;

    /// The indicators that prices feed.
    [[nodiscard]] std::vector<IndicatorId> costs() const;

    /// Sets of warming potentials that the CO2e of used factors rests on.
    [[nodiscard]] const std::set<std::string>& gwp_sets() const noexcept { return gwp_sets_; }
    [[nodiscard]] const Tables& tables() const noexcept { return tables_; }
    [[nodiscard]] const Indicators& indicators() const noexcept { return indicators_; }
    [[nodiscard]] const TableChoice& choice() const noexcept { return choice_; }
    /// Factors that were used, in the order of first use.
    [[nodiscard]] const std::vector<const Factor*>& used() const noexcept { return used_; }

private:
    class Maker;
    Build& build_;
    const Tables& tables_;
    const Indicators& indicators_;
    TableChoice choice_;
    std::unordered_map<const Factor*, std::unique_ptr<FactorNodes>> made_;
    std::vector<const Factor*> in_progress_;
    std::vector<const Factor*> used_;
    std::set<std::string> gwp_sets_;
};

}  // namespace deckle
