#include "engine/mill/steam_heat.h"

#include <fmt/format.h>

#include "engine/properties/steam.h"

namespace deckle {
namespace {

constexpr double atmosphere_mpa = 0.101325;          // standard atmosphere, ISO 2533
constexpr double boiling_at_atmosphere_k = 373.124;  // IAPWS R7-97(2012), region 4 at 0.101325 MPa

/// Ranges of IF97 regions 1, 2 and 4 that a mill can meet.
constexpr double lowest_mpa = 0.000612, highest_mpa = 16.529;
constexpr double coldest_k = 273.15, hottest_k = 1073.15;

class Steam {
public:
    Steam(Build& build, const SteamState& state, const Build::NameLookup& names, Place place)
        : build_(build), state_(state), names_(names), place_(place) {}

    /// Saturated where no temperature is stated.
    Measure steam(Operation of_state, Operation saturated, std::string_view unit,
                  std::string_view rule) {
        const Read p = pressure();
        if (!p.known()) return {};
        if (!state_.temperature) return build_.apply(saturated, {p.measure}, unit, rule, place_);
        const Read t = temperature(*state_.temperature);
        if (!t.known() || !is_steam(p, t)) return {};
        return build_.apply(of_state, {p.measure, t.measure}, unit, rule, place_);
    }

    /// Liquid below boiling at atmospheric pressure, else under the pressure of the steam.
    Measure liquid(Operation property, const Stated& at, std::string_view unit,
                   std::string_view rule) {
        const Read t = temperature(at);
        if (!t.known()) return {};
        const bool cold = t.value < boiling_at_atmosphere_k;
        const Read p =
            cold ? Read{build_.constant(atmosphere_mpa, "MPa", "standard atmosphere", place_),
                        atmosphere_mpa}
                 : pressure();
        if (!p.known() || !is_liquid(p, t, at)) return {};
        return build_.apply(property, {p.measure, t.measure}, unit, rule, at.place());
    }

private:
    /// A measure with the value it has at the amounts read.
    struct Read {
        Measure measure;
        double value = 0.0;
        [[nodiscard]] bool known() const { return measure.known(); }
    };

    Read pressure() { return in(*state_.pressure, "MPa", lowest_mpa, highest_mpa); }
    Read temperature(const Stated& stated) { return in(stated, "K", coldest_k, hottest_k); }

    Read in(const Stated& stated, std::string_view unit, double low, double high) {
        const Measure typed = build_.input(stated, names_);
        if (!typed.known()) return {};
        const auto converted = build_.in_unit(typed, known_unit(unit), stated.place());
        if (!converted) {
            build_.problems.add(stated.place(), "wrong-unit",
                                fmt::format("{} is no {}", stated.scalar.text,
                                            unit == "K" ? "temperature" : "pressure"),
                                unit == "K" ? "for example 175 degC" : "for example 7 bar");
            return {};
        }
        const std::optional<double> value = build_.value_at_load(*converted);
        if (!value) return {};
        if (*value >= low && *value <= high) return {*converted, *value};
        out_of_range(stated, fmt::format("{} lies outside the steam tables", stated.scalar.text),
                     "pressures from 0.006 to 165 bar, temperatures from 0 to 800 degC; `bar` is "
                     "absolute, `barg` gauge");
        return {};
    }

    bool is_steam(const Read& p, const Read& t) {
        const double boiling = boiling_t(p.value);
        if (t.value >= boiling) return true;
        out_of_range(*state_.temperature,
                     fmt::format("{}, {:.1f} degC, is water: at {:.2f} bar it boils at {:.1f} degC",
                                 state_.temperature->scalar.text, t.value - coldest_k,
                                 10.0 * p.value, boiling - coldest_k),
                     "leave the temperature out where the steam is saturated; `bar` is absolute, "
                     "`barg` gauge");
        return false;
    }

    bool is_liquid(const Read& p, const Read& t, const Stated& at) {
        const double boiling = boiling_t(p.value);
        if (t.value < boiling) return true;
        out_of_range(
            at,
            fmt::format("{}, {:.1f} degC, would be steam: at {:.2f} bar water boils at "
                        "{:.1f} degC",
                        at.scalar.text, t.value - coldest_k, 10.0 * p.value, boiling - coldest_k),
            "condensate and make-up are liquid");
        return false;
    }

    void out_of_range(const Stated& stated, std::string message, std::string hint) {
        build_.problems.add(stated.place(), "steam-out-of-range", std::move(message),
                            std::move(hint));
    }

    Build& build_;
    const SteamState& state_;
    const Build::NameLookup& names_;
    Place place_;
};

bool has_all(Build& build, const SteamState& steam, Place place) {
    if (!steam.pressure) {
        build.problems.add(place, "missing-key", "steam in tonnes needs its pressure",
                           "pressure: 7 bar, and temperature when it is superheated");
    } else if (!steam.make_up) {
        build.problems.add(place, "missing-key",
                           "steam in tonnes needs the temperature of the make-up water",
                           "make_up: 15 degC");
    }
    return steam.pressure && steam.make_up;
}

}  // namespace

SteamState completed(const SteamState& own, const SteamState& base) {
    SteamState whole = own;
    const bool own_state = own.stated();
    if (!own_state) {
        whole.pressure = base.pressure;
        whole.temperature = base.temperature;
    }
    if (!whole.make_up) whole.make_up = base.make_up;
    if (!whole.condensate_return) {
        whole.condensate_return = base.condensate_return;
        whole.condensate_temperature = base.condensate_temperature;
    }
    return whole;
}

Measure net_heat(Build& build, const SteamState& steam, const Build::NameLookup& names,
                 Place place) {
    if (!has_all(build, steam, place)) return {};
    Steam water(build, steam, names, place);
    const Measure h = water.steam(Operation::steam_h, Operation::vapour_h, "kJ/kg",
                                  "enthalpy of the steam (IAPWS-IF97)");
    const Measure make_up = water.liquid(Operation::steam_h, *steam.make_up, "kJ/kg",
                                         "enthalpy of the make-up water (IAPWS-IF97)");
    if (!h.known() || !make_up.known()) return {};
    if (!steam.condensate_return)
        return build.subtract(h, make_up, "net heat = h − h(make-up)", place);
    const Measure condensate = water.liquid(Operation::steam_h, *steam.condensate_temperature,
                                            "kJ/kg", "enthalpy of the condensate (IAPWS-IF97)");
    const Measure r =
        build.ratio(build.input(*steam.condensate_return, names), steam.condensate_return->place());
    if (!condensate.known() || !r.known()) return {};
    const Measure gain =
        build.subtract(condensate, make_up, "what a kilogram of condensate brings back", place);
    const Measure back =
        build.multiply(gain, r, "heat of the returned condensate over the make-up", place);
    const Measure all_make_up = build.subtract(h, make_up, "heat over the make-up", place);
    return build.subtract(all_make_up, {back.node, h.unit},
                          "net heat = h − r·h(condensate) − (1 − r)·h(make-up)", place);
}

Measure mean_temperature(Build& build, const SteamState& steam, const Build::NameLookup& names,
                         Place place) {
    if (!has_all(build, steam, place)) return {};
    Steam water(build, steam, names, place);
    const Stated& back =
        steam.condensate_temperature ? *steam.condensate_temperature : *steam.make_up;
    const Measure h = water.steam(Operation::steam_h, Operation::vapour_h, "kJ/kg",
                                  "enthalpy of the steam (IAPWS-IF97)");
    const Measure s = water.steam(Operation::steam_s, Operation::vapour_s, "kJ/(kg K)",
                                  "entropy of the steam (IAPWS-IF97)");
    const Measure h_back =
        water.liquid(Operation::steam_h, back, "kJ/kg", "enthalpy of the condensate (IAPWS-IF97)");
    const Measure s_back = water.liquid(Operation::steam_s, back, "kJ/(kg K)",
                                        "entropy of the condensate (IAPWS-IF97)");
    if (!h.known() || !s.known() || !h_back.known() || !s_back.known()) return {};
    const Measure heat = build.subtract(h, h_back, "heat delivered", place);
    const Measure entropy = build.subtract(s, s_back, "entropy delivered", place);
    const NodeId mean =
        build.graph.make(Operation::quotient, {heat.node, entropy.node}, build.text("K"),
                         build.origin(place, "mean temperature of heat delivery"));
    return {mean, known_unit("K")};
}

}  // namespace deckle
