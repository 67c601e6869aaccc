#include "engine/tables/indicator.h"

#include <algorithm>
#include <array>
#include <stdexcept>

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

}  // namespace

std::span<const DischargeRow> discharge_rows() noexcept { return discharges; }

Indicators::Indicators(bool with_land_management, bool with_removals, const std::string& currency) {
    enum class Shown : std::uint8_t { always, if_stated, as_memo };
    const auto carried = [&](const char* id, const char* unit, const char* title,
                             Shown shown = Shown::always) {
        all_.push_back({id,
                        unit,
                        IndicatorKind::carried,
                        title,
                        {},
                        shown == Shown::as_memo,
                        shown != Shown::always});
    };
    const auto held = [&](const char* id, const char* unit, const char* title,
                          Shown shown = Shown::always) {
        all_.push_back({id, unit, IndicatorKind::held, title, {}, false, shown != Shown::always});
    };
    const auto derived = [&](const char* id, const char* unit, const char* title,
                             std::vector<Indicator::Part> parts, Shown shown = Shown::always) {
        all_.push_back({id, unit, IndicatorKind::derived, title, std::move(parts),
                        shown == Shown::as_memo, shown != Shown::always});
    };
    carried("climate_fossil", "kg CO2e", "climate, fossil (with CO2e given as one number)");
    carried("climate_biogenic", "kg CO2e", "climate, biogenic methane and nitrous oxide");
    carried("climate_land_use", "kg CO2e", "climate, land-use change");
    carried("climate_land_management", "kg CO2e", "climate, recurring land management",
            with_land_management ? Shown::always : Shown::as_memo);
    carried("climate_removals", "kg CO2e", "land removals",
            with_removals ? Shown::always : Shown::as_memo);
    std::vector<Indicator::Part> lines{{index("climate_fossil"), 1, 1},
                                       {index("climate_biogenic"), 1, 1},
                                       {index("climate_land_use"), 1, 1}};
    if (with_land_management) lines.push_back({index("climate_land_management"), 1, 1});
    if (with_removals) lines.push_back({index("climate_removals"), 1, 1});
    derived("climate", "kg CO2e", "climate: the footprint without uptake", std::move(lines));
    held("biogenic_carbon", "kg C", "biogenic carbon held in the product at the gate");
    held("packaging_biogenic_carbon", "kg C", "biogenic carbon held in its packaging");
    held("fossil_carbon", "kg C", "fossil carbon held in the product at the gate",
         Shown::if_stated);
    derived("climate_with_uptake", "kg CO2e",
            "climate with uptake: less the CO2 taken from the air for the carbon it holds",
            {{index("climate"), 1, 1}, {index("biogenic_carbon"), -44, 12}});
    carried("biogenic_co2_released", "kg CO2", "biogenic CO2 released", Shown::as_memo);
    derived("biogenic_co2_taken_up", "kg CO2", "biogenic CO2 taken up beforehand",
            {{index("biogenic_co2_released"), -1, 1}}, Shown::as_memo);
    carried("aircraft", "kg CO2e", "aircraft (memo)", Shown::as_memo);
    carried("land_management_fossil", "kg CO2e", "fossil part of land management (memo)",
            Shown::as_memo);
    carried("water_withdrawn", "m3", "water withdrawn");
    carried("water_consumed", "m3", "water consumed");
    carried("water_scarcity", "m3 world-eq", "water scarcity");
    all_.back().by_model = true;
    carried("fibre", "kg", "dry fibre that went in");
    carried("energy_renewable", "MJ", "primary energy, renewable");
    carried("energy_non_renewable", "MJ", "primary energy, non-renewable");
    carried("land_occupied", "m2 year", "land occupied", Shown::if_stated);
    for (const DischargeRow& row : discharges)
        carried(row.id.data(), row.unit.data(), row.title.data(), Shown::if_stated);
    const char* money = currency.empty() ? "money" : currency.c_str();
    carried("cost", money, "cost", Shown::if_stated);
    carried("cost_marginal", money, "cost at marginal prices, without fixed charges",
            Shown::if_stated);
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
