// The indicators a footprint is told in, as one table: nothing in the engine is written for one
// indicator alone. Carried indicators travel through uses and loops, held ones are a property of
// the product at the gate, derived ones are a weighted sum of others.
#pragma once

#include <cstdint>
#include <span>
#include <string>
#include <string_view>
#include <vector>

namespace deckle {

using IndicatorId = std::uint32_t;

/// What the data sheets of the paper trade tell per tonne: to water, to air, to landfill, and power
/// bought. Processes and factors state them under `discharges`; each is an indicator like any
/// other.
struct DischargeRow {
    std::string_view id, unit, title;
};
[[nodiscard]] std::span<const DischargeRow> discharge_rows() noexcept;

enum class IndicatorKind : std::uint8_t { carried, held, derived };

/// Whom an optional line is asked of as soon as anything in a result states it: fibre, whose wood
/// and pulping it is of, or the mill's own processes too.
enum class AskedOf : std::uint8_t { nobody, fibre, fibre_and_mill };

struct Indicator {
    struct Part {
        IndicatorId of;
        double numerator, denominator;  ///< weight = numerator / denominator, as in 44/12
    };
    std::string id;
    std::string unit;  ///< "kg CO2e"
    IndicatorKind kind = IndicatorKind::carried;
    std::string title;        ///< in words, for heads and reports
    std::vector<Part> parts;  ///< of a derived indicator
    bool memo = false;        ///< already inside another line, or shown in no total
    bool optional = false;    ///< has results only where something states it
    bool by_model = false;    ///< weighed by a scarcity model that the study names
    AskedOf asked_of = AskedOf::nobody;
    bool as_bought = false;  ///< goes by what is bought, in every view of electricity: an invoice
};

/// What may have been meant by an id that no indicator has: the one of an everyday word (CO2, GHG),
/// else near ids of `known`; "" when nothing is near.
[[nodiscard]] std::string indicator_meant(std::string_view typed,
                                          std::span<const std::string> known);

class Indicators {
public:
    /// The built-in table. Land management that is stated counts in `climate` in any case; `always`
    /// gives it results where nothing states it. Removals count `with_removals` alone.
    Indicators(bool land_management_always, bool with_removals, const std::string& currency);

    /// Costs that prices stand behind: `cost`, and `cost_marginal` without fixed charges.
    static constexpr std::string_view cost = "cost", marginal_cost = "cost_marginal";
    /// Electricity bought: of a mill what it uses, of pulp what its factor states.
    static constexpr std::string_view bought_power = "bought_power";

    /// Adds an indicator of the user's own; false when the id exists.
    bool add(Indicator indicator);

    [[nodiscard]] std::span<const Indicator> all() const noexcept { return all_; }
    [[nodiscard]] const Indicator& at(IndicatorId id) const { return all_.at(id); }
    [[nodiscard]] std::size_t count() const noexcept { return all_.size(); }
    /// Index of an id. Errors: logic_error if there is none.
    [[nodiscard]] IndicatorId index(std::string_view id) const;
    [[nodiscard]] const Indicator* find(std::string_view id) const;

private:
    std::vector<Indicator> all_;
};

}  // namespace deckle
