// IAPWS-IF97 regions 1, 2 and 4 written once for any number: a double, or a vector of doubles in
// the lanes. Only + - * /, square roots, integer powers by repeated multiplication and our own
// logarithm, in the order written, so that every walk of the graph gets the same bits. Pressures in
// MPa, temperatures in K, enthalpy in kJ/kg, entropy in kJ/(kg K). Outside the three regions the
// answer is not a number. Includes nothing of the standard library but <cstdint>. Source:
// R7-97(2012), eqs. 5, 7, 15, 16, 17, 30, 31 and Tables 3, 12, 13, 14.
#pragma once

#include "engine/properties/elementary.h"
#include "engine/properties/steam_tables.h"

namespace deckle::if97 {

inline constexpr double lowest_t = 273.15, highest_wet_t = 623.15, highest_edge_t = 863.15,
                        highest_t = 1073.15, highest_p = 100.0;
inline constexpr double lowest_boiling_p = 611.2126e-6;  ///< at 273.15 K
inline constexpr double highest_wet_p = 16.52916425;     ///< at 623.15 K, where region 3 begins
inline constexpr double critical_p = 22.064;

/// x^Low to x^High, each from its neighbour nearer to 0 by one multiplication.
template <class Math, int Low, int High>
class Powers {
public:
    using Real = typename Math::Real;
    explicit Powers(Real x) {
        at(0) = Real{} + 1.0;
        for (int k = 1; k <= High; ++k) at(k) = at(k - 1) * x;
        if constexpr (Low < 0) {
            const Real inverse = 1.0 / x;
            for (int k = -1; k >= Low; --k) at(k) = at(k + 1) * inverse;
        }
    }
    [[nodiscard]] Real operator[](int k) const { return values_[k - Low]; }

private:
    Real& at(int k) { return values_[k - Low]; }
    Real values_[static_cast<unsigned>(High - Low + 1)];
};

/// A Gibbs energy and its derivatives to x and y, or to the reduced pressure and temperature.
template <class Math>
struct Gibbs {
    typename Math::Real value{}, by_x{}, by_y{}, by_yy{}, by_xy{};
};

template <class Math, class PowersOfX, class PowersOfY, unsigned Count>
Gibbs<Math> gibbs_sum(const SteamTerm (&terms)[Count], const PowersOfX& x, const PowersOfY& y) {
    Gibbs<Math> sum;
    for (const SteamTerm& term : terms) {
        const double i = term.i, j = term.j;
        const auto n_x = term.n * x[term.i];
        sum.value = sum.value + n_x * y[term.j];
        if (term.j != 0) {
            sum.by_y = sum.by_y + n_x * j * y[term.j - 1];
            sum.by_yy = sum.by_yy + n_x * (j * (j - 1.0)) * y[term.j - 2];
        }
        if (term.i != 0) {
            const auto n_i_x = term.n * i * x[term.i - 1];
            sum.by_x = sum.by_x + n_i_x * y[term.j];
            if (term.j != 0) sum.by_xy = sum.by_xy + n_i_x * j * y[term.j - 1];
        }
    }
    return sum;
}

/// A state: the Gibbs energy with its derivatives to p / p_star and T_star / T.
template <class Math>
struct State {
    typename Math::Real tau{};
    double t_star = 1.0, p_star = 1.0;
    Gibbs<Math> gamma;
};

template <class Math>
State<Math> liquid_state(typename Math::Real p, typename Math::Real t) {
    State<Math> state{1386.0 / t, 1386.0, 16.53, {}};
    const Powers<Math, 0, 32> x(7.1 - p / 16.53);
    const Powers<Math, -43, 17> y(state.tau - 1.222);
    state.gamma = gibbs_sum<Math>(liquid_terms, x, y);
    state.gamma.by_x = -state.gamma.by_x;
    state.gamma.by_xy = -state.gamma.by_xy;
    return state;
}

template <class Math>
State<Math> steam_state(typename Math::Real p, typename Math::Real t) {
    State<Math> state{540.0 / t, 540.0, 1.0, {}};
    const Powers<Math, 0, 0> none(p);
    const Powers<Math, -7, 3> ideal_y(state.tau);
    const Powers<Math, 0, 24> x(p);
    const Powers<Math, -2, 58> y(state.tau - 0.5);
    const Gibbs<Math> ideal = gibbs_sum<Math>(ideal_steam_terms, none, ideal_y);
    const Gibbs<Math> residual = gibbs_sum<Math>(residual_steam_terms, x, y);
    state.gamma.value = (logarithm<Math>(p) + ideal.value) + residual.value;
    state.gamma.by_x = 1.0 / p + residual.by_x;
    state.gamma.by_y = ideal.by_y + residual.by_y;
    state.gamma.by_yy = ideal.by_yy + residual.by_yy;
    state.gamma.by_xy = residual.by_xy;
    return state;
}

/// The four derivatives are partial ones, of h and s to p (at constant T) and to T (at constant p).
template <class Math>
typename Math::Real h_of(const State<Math>& state) {
    return steam_gas_constant * state.t_star * state.gamma.by_y;
}
template <class Math>
typename Math::Real s_of(const State<Math>& state) {
    return steam_gas_constant * (state.tau * state.gamma.by_y - state.gamma.value);
}
template <class Math>
typename Math::Real h_by_p(const State<Math>& state) {
    return steam_gas_constant * state.t_star / state.p_star * state.gamma.by_xy;
}
template <class Math>
typename Math::Real h_by_t(const State<Math>& state) {
    return -steam_gas_constant * (state.tau * state.tau) * state.gamma.by_yy;
}
template <class Math>
typename Math::Real s_by_p(const State<Math>& state) {
    return steam_gas_constant / state.p_star * (state.tau * state.gamma.by_xy - state.gamma.by_x);
}
template <class Math>
typename Math::Real s_by_t(const State<Math>& state) {
    return h_by_t(state) * state.tau / state.t_star;
}

/// Saturation pressure, eq. 30.
template <class Math>
typename Math::Real boiling_p(typename Math::Real t) {
    using Real = typename Math::Real;
    const auto& n = saturation_terms;
    const Real theta = t + n[8] / (t - n[9]);
    const Real square = theta * theta;
    const Real a = (square + n[0] * theta) + n[1];
    const Real b = (n[2] * square + n[3] * theta) + n[4];
    const Real c = (n[5] * square + n[6] * theta) + n[7];
    const Real quarter = 2.0 * c / (Math::root(b * b - 4.0 * a * c) - b);
    const Real half = quarter * quarter;
    return half * half;
}

/// Saturation temperature, eq. 31.
template <class Math>
typename Math::Real boiling_t(typename Math::Real p) {
    using Real = typename Math::Real;
    const auto& n = saturation_terms;
    const Real square = Math::root(p);
    const Real beta = Math::root(square);
    const Real e = (square + n[2] * beta) + n[5];
    const Real f = (n[0] * square + n[3] * beta) + n[6];
    const Real g = (n[1] * square + n[4] * beta) + n[7];
    const Real d = -2.0 * g / (f + Math::root(f * f - 4.0 * e * g));
    const Real sum = d + n[9];
    const Real t = 0.5 * (sum - Math::root(sum * sum - 4.0 * (n[8] + n[9] * d)));
    const Real none = Real{} * elementary::infinity;
    const Real not_above = p <= critical_p ? t : none;
    return p >= lowest_boiling_p ? not_above : none;
}

/// `of_liquid` in region 1, `of_steam` in region 2, else not a number. The saturation line is
/// steam.
template <class Math>
typename Math::Real by_region(typename Math::Real p, typename Math::Real t,
                              typename Math::Real of_liquid, typename Math::Real of_steam) {
    using Real = typename Math::Real;
    const auto& n = region_2_edge_terms;
    const Real none = Real{} * elementary::infinity;
    const Real edge = (n[2] * t + n[1]) * t + n[0];
    const Real wet = p > boiling_p<Math>(t) ? of_liquid : of_steam;
    const Real below_edge = p <= edge ? of_steam : none;
    const Real dry = t <= highest_edge_t ? below_edge : of_steam;
    const Real any = t <= highest_wet_t ? wet : dry;
    const Real not_too_hot = t <= highest_t ? any : none;
    const Real not_too_cold = t >= lowest_t ? not_too_hot : none;
    const Real not_too_high = p <= highest_p ? not_too_cold : none;
    return p > 0.0 ? not_too_high : none;
}

template <class Math>
typename Math::Real steam_h(typename Math::Real p, typename Math::Real t) {
    return by_region<Math>(p, t, h_of(liquid_state<Math>(p, t)), h_of(steam_state<Math>(p, t)));
}

template <class Math>
typename Math::Real steam_s(typename Math::Real p, typename Math::Real t) {
    return by_region<Math>(p, t, s_of(liquid_state<Math>(p, t)), s_of(steam_state<Math>(p, t)));
}

/// The temperature of saturation where regions 1 and 2 meet it, else not a number.
template <class Math>
typename Math::Real wet_t(typename Math::Real p) {
    using Real = typename Math::Real;
    const Real none = Real{} * elementary::infinity;
    return p <= highest_wet_p ? boiling_t<Math>(p) : none;
}

template <class Math>
typename Math::Real liquid_h(typename Math::Real p) {
    return h_of(liquid_state<Math>(p, wet_t<Math>(p)));
}
template <class Math>
typename Math::Real vapour_h(typename Math::Real p) {
    return h_of(steam_state<Math>(p, wet_t<Math>(p)));
}
template <class Math>
typename Math::Real liquid_s(typename Math::Real p) {
    return s_of(liquid_state<Math>(p, wet_t<Math>(p)));
}
template <class Math>
typename Math::Real vapour_s(typename Math::Real p) {
    return s_of(steam_state<Math>(p, wet_t<Math>(p)));
}

}  // namespace deckle::if97
