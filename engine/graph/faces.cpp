#include "engine/graph/faces.h"

#include <span>
#include <stdexcept>
#include <string_view>

#include "engine/graph/elimination.h"
#include "engine/graph/operation.h"
#include "engine/properties/elementary.h"
#include "engine/properties/steam_formulas.h"
#include "engine/properties/steam_tables.h"
#include "engine/text/number_text.h"

namespace deckle {
namespace {

/// The functions, in the words of the engine's own sources (elementary.h, steam_formulas.h,
/// elimination.h). The constants stand before them.
constexpr std::string_view script_functions = R"script(
const double_view = new Float64Array(1);
const word_view = new BigUint64Array(double_view.buffer);
function bits_of(x) { double_view[0] = x; return word_view[0]; }
function from_bits(bits) { word_view[0] = BigInt.asUintN(64, bits); return double_view[0]; }
function two_to(k) { return from_bits(BigInt(k + 1023) << 52n); }
function polynomial_part(terms, first, count, squares) {
    if (count === 1) return terms[first];
    if (count === 2) return squares[0] * terms[first + 1] + terms[first];
    const level = count <= 4 ? 1 : (count <= 8 ? 2 : 3);
    const half = 1 << level;
    return polynomial_part(terms, first + half, count - half, squares) * squares[level] +
        polynomial_part(terms, first, half, squares);
}
function polynomial(terms, x) {
    const second = x * x;
    const fourth = second * second;
    return polynomial_part(terms, 0, terms.length, [x, second, fourth, fourth * fourth]);
}
function exponential(x) {
    if (x !== x) return x;
    if (x > 710) x = 710;
    if (x < -746) x = -746;
    const k = (x * log2_e + shifter) - shifter;
    const r_high = x - k * ln2_high;
    const r_low = k * ln2_low;
    const r = r_high - r_low;
    const rest = (r_high - r) - r_low;
    const e_to_r = 1 + (r + (r * r * polynomial(exponential_terms, r) + rest));
    const half = (k * 0.5 + shifter) - shifter;
    return e_to_r * two_to(half) * two_to(k - half);
}
function logarithm_of_ordinary(x) {
    const moved = bits_of(x) + (0x3FF0000000000000n - 0x3FE6A09E667F3BCDn);
    const k = Number(moved >> 52n) - 1023;
    const m = from_bits((moved & 0x000FFFFFFFFFFFFFn) + 0x3FE6A09E667F3BCDn);
    const f = m - 1;
    const s = f / (f + 2);
    const z = s * s;
    const half_square = 0.5 * f * f;
    const series = z * polynomial(logarithm_terms, z);
    return k * ln2_high - ((half_square - (s * (half_square + series) + k * ln2_low)) - f);
}
function logarithm(x) {
    if (x === 0) return -Infinity;
    if (!(x > 0)) return NaN;
    if (x === Infinity) return x;
    if (x >= 2.2250738585072014e-308) return logarithm_of_ordinary(x);
    return logarithm_of_ordinary(x * 18014398509481984) - 54 * (ln2_high + ln2_low);
}
function round_down(x) {
    if (!(x < 2251799813685248 && x > -2251799813685248)) return x;
    const nearest = (x + shifter) - shifter;
    return nearest > x ? nearest - 1 : nearest;
}
function whole_power(x, n) {
    let result = 1;
    let factor = x;
    for (let digits = Math.abs(n); digits !== 0; digits = Math.floor(digits / 2)) {
        if (digits % 2 !== 0) result = result * factor;
        factor = factor * factor;
    }
    return n < 0 ? 1 / result : result;
}
function power(x, b) {
    if (b >= -largest_whole_power && b <= largest_whole_power && round_down(b) === b) return whole_power(x, b);
    return exponential(b * logarithm(x));
}
function smallest(...values) {
    let taken = values[0];
    for (const value of values) if (value < taken) taken = value;
    return taken;
}
function largest(...values) {
    let taken = values[0];
    for (const value of values) if (taken < value) taken = value;
    return taken;
}
function powers(x, low, high) {
    const values = new Float64Array(high - low + 1);
    values[-low] = 1;
    for (let k = 1; k <= high; ++k) values[k - low] = values[k - 1 - low] * x;
    const inverse = 1 / x;
    for (let k = -1; k >= low; --k) values[k - low] = values[k + 1 - low] * inverse;
    return k => values[k - low];
}
function gibbs_sum(terms, x, y) {
    let value = 0, by_y = 0;
    for (const [i, j, n] of terms) {
        const n_x = n * x(i);
        value = value + n_x * y(j);
        if (j !== 0) by_y = by_y + n_x * j * y(j - 1);
    }
    return [value, by_y];
}
function liquid_state(p, t) {
    const tau = 1386 / t;
    const [value, by_y] = gibbs_sum(liquid_terms, powers(7.1 - p / 16.53, 0, 32), powers(tau - 1.222, -43, 17));
    return {tau, t_star: 1386, value, by_y};
}
function steam_state(p, t) {
    const tau = 540 / t;
    const ideal = gibbs_sum(ideal_steam_terms, powers(p, 0, 0), powers(tau, -7, 3));
    const residual = gibbs_sum(residual_steam_terms, powers(p, 0, 24), powers(tau - 0.5, -2, 58));
    return {tau, t_star: 540, value: (logarithm(p) + ideal[0]) + residual[0], by_y: ideal[1] + residual[1]};
}
function h_of(state) { return steam_gas_constant * state.t_star * state.by_y; }
function s_of(state) { return steam_gas_constant * (state.tau * state.by_y - state.value); }
function boiling_p(t) {
    const n = saturation_terms;
    const theta = t + n[8] / (t - n[9]);
    const square = theta * theta;
    const a = (square + n[0] * theta) + n[1];
    const b = (n[2] * square + n[3] * theta) + n[4];
    const c = (n[5] * square + n[6] * theta) + n[7];
    const quarter = 2 * c / (Math.sqrt(b * b - 4 * a * c) - b);
    const half = quarter * quarter;
    return half * half;
}
function boiling_t(p) {
    if (!(p >= lowest_boiling_p && p <= critical_p)) return NaN;
    const n = saturation_terms;
    const square = Math.sqrt(p);
    const beta = Math.sqrt(square);
    const e = (square + n[2] * beta) + n[5];
    const f = (n[0] * square + n[3] * beta) + n[6];
    const g = (n[1] * square + n[4] * beta) + n[7];
    const d = -2 * g / (f + Math.sqrt(f * f - 4 * e * g));
    const sum = d + n[9];
    return 0.5 * (sum - Math.sqrt(sum * sum - 4 * (n[8] + n[9] * d)));
}
function state_at(p, t) {
    if (!(p > 0 && p <= highest_p && t >= lowest_t && t <= highest_t)) return null;
    if (t <= highest_wet_t) return p > boiling_p(t) ? liquid_state(p, t) : steam_state(p, t);
    const n = region_2_edge_terms;
    if (t <= highest_edge_t && !(p <= (n[2] * t + n[1]) * t + n[0])) return null;
    return steam_state(p, t);
}
function steam_h(p, t) { const state = state_at(p, t); return state === null ? NaN : h_of(state); }
function steam_s(p, t) { const state = state_at(p, t); return state === null ? NaN : s_of(state); }
function wet_t(p) { return p <= highest_wet_p ? boiling_t(p) : NaN; }
function liquid_h(p) { return h_of(liquid_state(p, wet_t(p))); }
function vapour_h(p) { return h_of(steam_state(p, wet_t(p))); }
function liquid_s(p) { return s_of(liquid_state(p, wet_t(p))); }
function vapour_s(p) { return s_of(steam_state(p, wet_t(p))); }
function loop_matrix(system, values) {
    const n = system.size;
    const place = new Array(n);
    system.order.forEach((unknown, k) => { place[unknown] = k; });
    const a = [], has = [];
    for (let i = 0; i < n; ++i) {
        a.push(new Float64Array(n));
        has.push(new Array(n).fill(false));
        a[i][i] = 1;
        has[i][i] = true;
    }
    let lowest = 0;
    system.entries.forEach(([row, column], k) => {
        a[place[row]][place[column]] -= values[k];
        has[place[row]][place[column]] = true;
        if (values[k] < lowest) lowest = values[k];
    });
    return {place, a, has, lowest, most: a.map(row => row.reduce((m, x) => Math.max(m, Math.abs(x)), 0))};
}
function loop_factor(n, a, has) {
    for (let k = 0; k < n; ++k) {
        for (let i = k + 1; i < n; ++i) {
            if (!has[i][k]) continue;
            const share = a[i][k] / a[k][k];
            a[i][k] = share;
            for (let j = k + 1; j < n; ++j) {
                if (!has[k][j]) continue;
                has[i][j] = true;
                a[i][j] = a[i][j] - share * a[k][j];
            }
        }
    }
}
function loop_substitute(n, a, has, sides, b) {
    for (let i = 1; i < n; ++i) {
        for (let k = 0; k < i; ++k) {
            if (!has[i][k]) continue;
            for (let s = 0; s < sides; ++s) b[i * sides + s] = b[i * sides + s] - a[i][k] * b[k * sides + s];
        }
    }
    for (let k = n; k-- > 0;) {
        for (let j = k + 1; j < n; ++j) {
            if (!has[k][j]) continue;
            for (let s = 0; s < sides; ++s) b[k * sides + s] = b[k * sides + s] - a[k][j] * b[j * sides + s];
        }
        for (let s = 0; s < sides; ++s) b[k * sides + s] = b[k * sides + s] / a[k][k];
    }
}
function solve(system, values) {
    const n = system.size, sides = system.right_sides;
    const {place, a, has, lowest, most} = loop_matrix(system, values);
    loop_factor(n, a, has);
    for (let k = 0; k < n; ++k) {
        const judged = lowest < 0 ? Math.abs(a[k][k]) : a[k][k];
        if (!(judged - smallest_share * most[k] > 0)) return new Array(n * sides).fill(NaN);
    }
    const first = system.entries.length;
    const b = new Float64Array(n * sides), x = new Array(n * sides);
    for (let i = 0; i < n * sides; ++i) b[place[Math.floor(i / sides)] * sides + i % sides] = values[first + i];
    loop_substitute(n, a, has, sides, b);
    for (let i = 0; i < n * sides; ++i) x[i] = b[place[Math.floor(i / sides)] * sides + i % sides];
    return x;
}
)script";

void add_constant(std::string& script, std::string_view name, double value) {
    script.append("const ").append(name).append(" = ").append(shortest(value)).append(";\n");
}

void add_list(std::string& script, std::string_view name, std::span<const double> values) {
    script.append("const ").append(name).append(" = [");
    for (const double value : values) script.append(shortest(value)).append(", ");
    script.append("];\n");
}

void add_terms(std::string& script, std::string_view name, std::span<const SteamTerm> terms) {
    script.append("const ").append(name).append(" = [");
    for (const SteamTerm& term : terms) {
        script.append("[")
            .append(std::to_string(term.i))
            .append(", ")
            .append(std::to_string(term.j));
        script.append(", ").append(shortest(term.n)).append("], ");
    }
    script.append("];\n");
}

}  // namespace

std::string browser_script() {
    std::string script;
    add_constant(script, "shifter", elementary::shifter);
    add_constant(script, "log2_e", elementary::log2_e);
    add_constant(script, "ln2_high", elementary::ln2_high);
    add_constant(script, "ln2_low", elementary::ln2_low);
    add_constant(script, "largest_whole_power", largest_whole_power);
    add_constant(script, "smallest_share", elimination::smallest_share);
    add_constant(script, "steam_gas_constant", steam_gas_constant);
    add_constant(script, "lowest_t", if97::lowest_t);
    add_constant(script, "highest_wet_t", if97::highest_wet_t);
    add_constant(script, "highest_edge_t", if97::highest_edge_t);
    add_constant(script, "highest_t", if97::highest_t);
    add_constant(script, "highest_p", if97::highest_p);
    add_constant(script, "lowest_boiling_p", if97::lowest_boiling_p);
    add_constant(script, "highest_wet_p", if97::highest_wet_p);
    add_constant(script, "critical_p", if97::critical_p);
    add_list(script, "exponential_terms", elementary::exponential_terms);
    add_list(script, "logarithm_terms", elementary::logarithm_terms);
    add_list(script, "saturation_terms", saturation_terms);
    add_list(script, "region_2_edge_terms", region_2_edge_terms);
    add_terms(script, "liquid_terms", liquid_terms);
    add_terms(script, "ideal_steam_terms", ideal_steam_terms);
    add_terms(script, "residual_steam_terms", residual_steam_terms);
    script += script_functions;
    return script;
}

namespace {

/// A placeholder of a browser expression where arguments are cells of a walk: `v[a[s]]` is the
/// first of node `n`, they end before `e`. Joins become the loops below.
std::string walked_placeholder(Operation operation, std::string_view placeholder) {
    const std::string first = operation == Operation::part ? "solved[a[s]]" : "v[a[s]]";
    if (placeholder == "0") return first;
    if (placeholder == "1") return "v[a[s + 1]]";
    if (placeholder == "p" || placeholder == "q")
        return std::string("graph.").append(placeholder).append("[n]");
    if (placeholder == "system") return "graph.systems[n]";
    if (placeholder == "index") return "graph.index[n]";
    if (placeholder == "*+") return "joined_by_plus(v, a, s, e)";
    if (placeholder == "**") return "joined_by_times(v, a, s, e)";
    if (placeholder == "**+") return "pairs_joined_by_plus(v, a, s, e)";
    if (placeholder == "*,") return "...gathered(v, a, s, e)";
    throw std::logic_error("a browser expression with an unknown placeholder");
}

std::string walked_expression(const OperationRow& row) {
    const std::string_view pattern = row.browser;
    std::string text;
    for (std::size_t at = 0; at < pattern.size();) {
        if (pattern[at] != '{') {
            text += pattern[at++];
            continue;
        }
        const std::size_t end = pattern.find('}', at);
        text += walked_placeholder(row.operation, pattern.substr(at + 1, end - at - 1));
        at = end + 1;
    }
    return text;
}

constexpr std::string_view walk_loops = R"script(
function joined_by_plus(v, a, s, e) {
    let total = v[a[s]];
    for (let i = s + 1; i < e; ++i) total = total + v[a[i]];
    return total;
}
function joined_by_times(v, a, s, e) {
    let total = v[a[s]];
    for (let i = s + 1; i < e; ++i) total = total * v[a[i]];
    return total;
}
function pairs_joined_by_plus(v, a, s, e) {
    let total = v[a[s]] * v[a[s + 1]];
    for (let i = s + 2; i < e; i += 2) total = total + v[a[i]] * v[a[i + 1]];
    return total;
}
function gathered(v, a, s, e) {
    const values = [];
    for (let i = s; i < e; ++i) values.push(v[a[i]]);
    return values;
}
)script";

constexpr std::string_view walk_begin = R"script(
export function evaluate(graph, v, solved, nodes) {
    const {operation, start, count, arguments: a} = graph;
    for (let k = 0; k < nodes.length; ++k) {
        const n = nodes[k], s = start[n], e = s + count[n];
        switch (operation[n]) {
)script";
constexpr std::string_view walk_end =
    "        default: break; // typed numbers and constants stand\n"
    "        }\n    }\n}\n";

}  // namespace

std::string browser_evaluator() {
    std::string names, words, cases;
    for (const OperationRow& row : all_operations()) {
        names.append("\"").append(row.name).append("\", ");
        words.append("\"").append(row.words).append("\", ");
        if (row.operation == Operation::input || row.operation == Operation::constant) continue;
        cases.append("        case ").append(std::to_string(static_cast<int>(row.operation)));
        cases.append(row.operation == Operation::solve ? ": solved[n] = " : ": v[n] = ");
        cases.append(walked_expression(row)).append("; break; // ").append(row.name).append("\n");
    }
    std::string module = browser_script();
    module.append("export const operations = [").append(names).append("];\n");
    module.append("export const words = [").append(words).append("];\n");
    return module.append(walk_loops).append(walk_begin).append(cases).append(walk_end);
}

std::vector<WorkbookColumn> workbook_columns() {
    const auto column = [](std::string_view name, std::span<const SteamTerm> terms, auto number) {
        WorkbookColumn made{std::string(name), {}};
        for (const SteamTerm& term : terms) made.values.push_back(number(term));
        return made;
    };
    const auto i = [](const SteamTerm& term) { return double{term.i * 1.0}; };
    const auto j = [](const SteamTerm& term) { return double{term.j * 1.0}; };
    const auto n = [](const SteamTerm& term) { return term.n; };
    return {column("liquid_i", liquid_terms, i),        column("liquid_j", liquid_terms, j),
            column("liquid_n", liquid_terms, n),        column("ideal_j", ideal_steam_terms, j),
            column("ideal_n", ideal_steam_terms, n),    column("steam_i", residual_steam_terms, i),
            column("steam_j", residual_steam_terms, j), column("steam_n", residual_steam_terms, n)};
}

}  // namespace deckle
