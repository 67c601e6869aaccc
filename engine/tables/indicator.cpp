#include "engine/tables/indicator.h"

#include <algorithm>
#include <array>
#include <stdexcept>

#include "engine/text/nearest.h"

namespace deckle {
namespace {

constexpr std::array discharges{
    DischargeRow{"cod", "kg", "COD (chemical oxygen demand) to water"},
    DischargeRow{"aox", "kg", "AOX (adsorbable organic halogens) to water"},
    DischargeRow{"nitrogen", "kg", "total nitrogen to water"},
    DischargeRow{"phosphorus", "kg", "total phosphorus to water"},
    DischargeRow{"sulphur_dioxide", "kg", "sulphur dioxide to air"},
    DischargeRow{"nitrogen_oxides", "kg", "nitrogen oxides to air, as NO2"},
    DischargeRow{"landfilled_waste", "kg dry", "solid waste landfilled, bone dry"},
    DischargeRow{"bought_power", "kWh", "electricity bought"}};

enum class Shown : std::uint8_t { always, if_stated, as_memo };

struct PartRow {
    std::string_view of;
    double numerator = 1.0, denominator = 1.0;
};

struct IndicatorRow {
    std::string_view id, unit, title;
    IndicatorKind kind = IndicatorKind::carried;
    Shown shown = Shown::always;
    std::span<const PartRow> parts = {};  ///< of a derived indicator; those above it
    bool by_model = false;
    bool as_bought = false;
    AskedOf asked_of = AskedOf::nobody;
};

using enum IndicatorKind;
using enum Shown;

constexpr std::array climate_parts{PartRow{"climate_fossil"}, PartRow{"climate_biogenic"},
                                   PartRow{"climate_land_use"}, PartRow{"climate_land_management"},
                                   PartRow{"climate_removals"}};
constexpr std::array with_uptake_parts{PartRow{"climate"}, PartRow{"biogenic_carbon", -44, 12}};
constexpr std::array taken_up_parts{PartRow{"biogenic_co2_released", -1, 1}};

constexpr std::array before_discharges{
    IndicatorRow{"climate_fossil", "kg CO2e", "climate, fossil (with CO2e given as one number)"},
    IndicatorRow{"climate_biogenic", "kg CO2e", "climate, biogenic methane and nitrous oxide"},
    IndicatorRow{"climate_land_use", "kg CO2e", "climate, land-use change"},
    IndicatorRow{"climate_land_management",
                 "kg CO2e",
                 "climate, recurring land management",
                 carried,
                 if_stated,
                 {},
                 false,
                 false,
                 AskedOf::fibre},
    IndicatorRow{"climate_removals", "kg CO2e", "land removals", carried, as_memo},
    IndicatorRow{"climate", "kg CO2e", "climate: the footprint without uptake", derived, always,
                 climate_parts},
    IndicatorRow{"biogenic_carbon", "kg C", "biogenic carbon held in the product at the gate",
                 held},
    IndicatorRow{"packaging_biogenic_carbon", "kg C", "biogenic carbon held in its packaging",
                 held},
    IndicatorRow{"fossil_carbon", "kg C", "fossil carbon held in the product at the gate", held,
                 if_stated},
    IndicatorRow{"climate_with_uptake", "kg CO2e",
                 "climate with uptake: less the CO2 taken from the air for the carbon it holds",
                 derived, always, with_uptake_parts},
    IndicatorRow{"biogenic_co2_released", "kg CO2", "biogenic CO2 released", carried, as_memo},
    IndicatorRow{"biogenic_co2_taken_up", "kg CO2", "biogenic CO2 taken up beforehand", derived,
                 as_memo, taken_up_parts},
    IndicatorRow{"aircraft",
                 "kg CO2e",
                 "aircraft (memo)",
                 carried,
                 as_memo,
                 {},
                 false,
                 false,
                 AskedOf::fibre},
    IndicatorRow{"land_management_fossil",
                 "kg CO2e",
                 "fossil part of land management (memo)",
                 carried,
                 as_memo,
                 {},
                 false,
                 false,
                 AskedOf::fibre},
    IndicatorRow{"water_withdrawn", "m3", "water withdrawn"},
    IndicatorRow{"water_consumed", "m3", "water consumed"},
    IndicatorRow{"water_scarcity", "m3 world-eq", "water scarcity", carried, always, {}, true},
    IndicatorRow{"fibre", "kg", "dry fibre that went in"},
    IndicatorRow{"energy_renewable", "MJ", "primary energy, renewable"},
    IndicatorRow{"energy_non_renewable", "MJ", "primary energy, non-renewable"},
    IndicatorRow{"land_occupied",
                 "m2 year",
                 "land occupied",
                 carried,
                 if_stated,
                 {},
                 false,
                 false,
                 AskedOf::fibre}};

/// In the study's currency. A supplier's invoice does not ask which view a footprint takes.
constexpr std::array cost_rows{
    IndicatorRow{Indicators::cost, "", "cost", carried, if_stated, {}, false, true},
    IndicatorRow{Indicators::marginal_cost,
                 "",
                 "cost at marginal prices, without fixed charges",
                 carried,
                 if_stated,
                 {},
                 false,
                 true}};

/// The row as an indicator. Of the parts of a line that counts, those that are memos do not.
Indicator indicator_of(const IndicatorRow& row, const Indicators& above) {
    Indicator made{std::string(row.id),
                   std::string(row.unit),
                   row.kind,
                   std::string(row.title),
                   {},
                   row.shown == as_memo,
                   row.shown != always,
                   row.by_model,
                   row.asked_of,
                   row.as_bought};
    for (const PartRow& part : row.parts) {
        const IndicatorId of = above.index(part.of);
        if (above.at(of).memo && !made.memo) continue;
        made.parts.push_back({of, part.numerator, part.denominator});
    }
    return made;
}

}  // namespace

std::span<const DischargeRow> discharge_rows() noexcept { return discharges; }

Indicators::Indicators(bool land_management_always, bool with_removals,
                       const std::string& currency) {
    for (IndicatorRow row : before_discharges) {
        if (row.id == "climate_land_management" && land_management_always) row.shown = always;
        if (row.id == "climate_removals" && with_removals) row.shown = always;
        add(indicator_of(row, *this));
    }
    for (const DischargeRow& row : discharges) {
        // power is what the mill buys, an amount that it types in any case
        const bool by_amount = row.id == bought_power;
        add(indicator_of({row.id,
                          row.unit,
                          row.title,
                          carried,
                          if_stated,
                          {},
                          false,
                          by_amount,
                          by_amount ? AskedOf::fibre : AskedOf::fibre_and_mill},
                         *this));
    }
    const std::string_view money = currency.empty() ? "money" : std::string_view(currency);
    for (IndicatorRow row : cost_rows) {
        row.unit = money;
        add(indicator_of(row, *this));
    }
}

std::string indicator_meant(std::string_view typed, std::span<const std::string> known) {
    constexpr std::array<std::string_view, 8> words_for_climate{
        "co2", "co2e", "ghg", "gwp", "carbon", "carbon_footprint", "greenhouse_gases", "warming"};
    if (std::ranges::find(words_for_climate, small_letters(typed)) != words_for_climate.end())
        return "did you mean climate?";
    return did_you_mean(typed, known);
}

bool Indicators::add(Indicator indicator) {
    if (find(indicator.id) != nullptr) return false;
    all_.push_back(std::move(indicator));
    return true;
}

IndicatorId Indicators::index(std::string_view id) const {
    const Indicator* found = find(id);
    if (found == nullptr) throw std::logic_error("no indicator " + std::string(id));
    return static_cast<IndicatorId>(found - all_.data());
}

const Indicator* Indicators::find(std::string_view id) const {
    const auto found = std::ranges::find_if(all_, [&](const Indicator& i) { return i.id == id; });
    return found == all_.end() ? nullptr : &*found;
}

}  // namespace deckle
