#include "engine/properties/steam.h"

#include "engine/properties/steam_formulas.h"

namespace deckle {
namespace {

using State = if97::State<ScalarMath>;

/// dT/dp of the saturation line at a point on it: its equation F(beta, theta) = 0, beta^4 = p,
/// theta = T + n9 / (T - n10), differentiated (R7-97, eq. 29).
double saturation_slope(double p, double t) {
    const auto& n = saturation_terms;
    const double beta = ScalarMath::root(ScalarMath::root(p));
    const double theta = t + n[8] / (t - n[9]);
    const double by_beta =
        2.0 * beta * ((theta + n[0]) * theta + n[1]) + (n[2] * theta + n[3]) * theta + n[4];
    const double by_theta = ((2.0 * theta + n[0]) * beta + 2.0 * n[2] * theta + n[3]) * beta +
                            2.0 * n[5] * theta + n[6];
    const double theta_by_t = 1.0 - n[8] / ((t - n[9]) * (t - n[9]));
    const double beta_by_p = beta / (4.0 * p);
    return -by_beta / by_theta * beta_by_p / theta_by_t;
}

/// A derivative along the saturation line from the two partial ones.
double along(double by_p, double by_t, double p, double t) {
    return by_p + by_t * saturation_slope(p, t);
}

State wet_liquid(double p) { return if97::liquid_state<ScalarMath>(p, if97::wet_t<ScalarMath>(p)); }
State wet_steam(double p) { return if97::steam_state<ScalarMath>(p, if97::wet_t<ScalarMath>(p)); }

double h_along(const State& state, double p) {
    return along(if97::h_by_p(state), if97::h_by_t(state), p, if97::wet_t<ScalarMath>(p));
}

double s_along(const State& state, double p) {
    return along(if97::s_by_p(state), if97::s_by_t(state), p, if97::wet_t<ScalarMath>(p));
}

}  // namespace

double steam_h(double p_mpa, double t_k) { return if97::steam_h<ScalarMath>(p_mpa, t_k); }
double steam_s(double p_mpa, double t_k) { return if97::steam_s<ScalarMath>(p_mpa, t_k); }
double liquid_h(double p_mpa) { return if97::liquid_h<ScalarMath>(p_mpa); }
double vapour_h(double p_mpa) { return if97::vapour_h<ScalarMath>(p_mpa); }
double liquid_s(double p_mpa) { return if97::liquid_s<ScalarMath>(p_mpa); }
double vapour_s(double p_mpa) { return if97::vapour_s<ScalarMath>(p_mpa); }
double boiling_t(double p_mpa) { return if97::boiling_t<ScalarMath>(p_mpa); }

double boiling_p(double t_k) {
    constexpr double critical_t = 647.096;
    if (!(t_k >= if97::lowest_t && t_k <= critical_t)) return 0.0 * elementary::infinity;
    return if97::boiling_p<ScalarMath>(t_k);
}

SteamSlope steam_h_slope(double p_mpa, double t_k) {
    const State liquid = if97::liquid_state<ScalarMath>(p_mpa, t_k);
    const State steam = if97::steam_state<ScalarMath>(p_mpa, t_k);
    return {if97::by_region<ScalarMath>(p_mpa, t_k, if97::h_by_p(liquid), if97::h_by_p(steam)),
            if97::by_region<ScalarMath>(p_mpa, t_k, if97::h_by_t(liquid), if97::h_by_t(steam))};
}

SteamSlope steam_s_slope(double p_mpa, double t_k) {
    const State liquid = if97::liquid_state<ScalarMath>(p_mpa, t_k);
    const State steam = if97::steam_state<ScalarMath>(p_mpa, t_k);
    return {if97::by_region<ScalarMath>(p_mpa, t_k, if97::s_by_p(liquid), if97::s_by_p(steam)),
            if97::by_region<ScalarMath>(p_mpa, t_k, if97::s_by_t(liquid), if97::s_by_t(steam))};
}

double liquid_h_slope(double p_mpa) { return h_along(wet_liquid(p_mpa), p_mpa); }
double vapour_h_slope(double p_mpa) { return h_along(wet_steam(p_mpa), p_mpa); }
double liquid_s_slope(double p_mpa) { return s_along(wet_liquid(p_mpa), p_mpa); }
double vapour_s_slope(double p_mpa) { return s_along(wet_steam(p_mpa), p_mpa); }
double boiling_t_slope(double p_mpa) { return saturation_slope(p_mpa, boiling_t(p_mpa)); }
double boiling_p_slope(double t_k) { return 1.0 / saturation_slope(boiling_p(t_k), t_k); }

}  // namespace deckle
