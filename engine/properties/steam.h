// Enthalpy, entropy and boiling point of water and steam where mills work: IAPWS-IF97 regions 1, 2
// and 4 (273.15 to 1073.15 K, up to 100 MPa, without the region round the critical point). Not a
// number outside; the graph then says which figure has no value. The formulas are in
// steam_formulas.h, shared with the lanes; only + - * / and square roots, so the bits are the same
// everywhere. Source: IAPWS R7-97(2012).
#pragma once

namespace deckle {

/// Specific enthalpy [kJ/kg] at p [MPa] and t [K]; on the saturation line that of steam.
[[nodiscard]] double steam_h(double p_mpa, double t_k);
/// Specific entropy [kJ/(kg K)] at p [MPa] and t [K]; on the saturation line that of steam.
[[nodiscard]] double steam_s(double p_mpa, double t_k);

/// Saturated liquid and saturated vapour at p [MPa], 611.213 Pa to 16.529 MPa: enthalpy [kJ/kg],
/// entropy [kJ/(kg K)].
[[nodiscard]] double liquid_h(double p_mpa);
[[nodiscard]] double vapour_h(double p_mpa);
[[nodiscard]] double liquid_s(double p_mpa);
[[nodiscard]] double vapour_s(double p_mpa);

/// Saturation temperature [K] of p [MPa], up to 22.064 MPa.
[[nodiscard]] double boiling_t(double p_mpa);
/// Saturation pressure [MPa] of t [K], 273.15 to 647.096 K.
[[nodiscard]] double boiling_p(double t_k);

/// Partial derivatives to pressure (per MPa, at constant temperature) and to temperature (per K, at
/// constant pressure).
struct SteamSlope {
    double by_p = 0.0, by_t = 0.0;
};
[[nodiscard]] SteamSlope steam_h_slope(double p_mpa, double t_k);
[[nodiscard]] SteamSlope steam_s_slope(double p_mpa, double t_k);

/// Derivatives along the saturation line, per MPa; of boiling_p per K.
[[nodiscard]] double liquid_h_slope(double p_mpa);
[[nodiscard]] double vapour_h_slope(double p_mpa);
[[nodiscard]] double liquid_s_slope(double p_mpa);
[[nodiscard]] double vapour_s_slope(double p_mpa);
[[nodiscard]] double boiling_t_slope(double p_mpa);
[[nodiscard]] double boiling_p_slope(double t_k);

}  // namespace deckle
