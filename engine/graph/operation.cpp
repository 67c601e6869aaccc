#include "engine/graph/operation.h"

#include <array>
#include <cmath>
#include <stdexcept>

#include "engine/properties/elementary.h"
#include "engine/properties/steam.h"

namespace deckle {
namespace {

/// Text put together by the compiler: the long workbook formulas are made of named parts.
template <std::size_t Size>
struct Text {
    std::array<char, Size> letters{};

    constexpr Text() = default;
    constexpr Text(
        const char (&text)[Size + 1]) {  // NOLINT: a text may stand where a Text is meant
        for (std::size_t i = 0; i < Size; ++i) letters[i] = text[i];
    }
    [[nodiscard]] constexpr std::string_view view() const { return {letters.data(), Size}; }
};
template <std::size_t WithEnd>
Text(const char (&)[WithEnd]) -> Text<WithEnd - 1>;

template <std::size_t A, std::size_t B>
constexpr Text<A + B> operator+(const Text<A>& a, const Text<B>& b) {
    Text<A + B> joined;
    for (std::size_t i = 0; i < A; ++i) joined.letters[i] = a.letters[i];
    for (std::size_t i = 0; i < B; ++i) joined.letters[A + i] = b.letters[i];
    return joined;
}
template <std::size_t A, std::size_t B>
constexpr auto operator+(const Text<A>& a, const char (&b)[B]) {
    return a + Text(b);
}
template <std::size_t A, std::size_t B>
constexpr auto operator+(const char (&a)[A], const Text<B>& b) {
    return Text(a) + b;
}

// Steam in a workbook. The coefficients stand in named columns of a hidden sheet (workbook_columns
// in faces.h): liquid_i, liquid_j, liquid_n and so on. {0} is p in MPa, {1} is T in K, as cells. A
// saturated state puts its own formula of the boiling point in the place of T.
constexpr Text sheet_beta("SQRT(SQRT({0}))");
constexpr auto sheet_e = "(SQRT({0})-17.073846940092*" + sheet_beta + "+14.91510861353)";
constexpr auto sheet_f =
    "(1167.0521452767*SQRT({0})+12020.82470247*" + sheet_beta + "-4823.2657361591)";
constexpr auto sheet_g =
    "(-724213.16703206*SQRT({0})-3232555.0322333*" + sheet_beta + "+405113.40542057)";
constexpr auto sheet_d = "(-2*" + sheet_g + "/(" + sheet_f + "+SQRT(" + sheet_f + "^2-4*" +
                         sheet_e + "*" + sheet_g + ")))";
constexpr auto sheet_sum = "(650.17534844798+" + sheet_d + ")";
constexpr auto sheet_boiling_t = "((" + sheet_sum + "-SQRT(" + sheet_sum +
                                 "^2-4*(-0.23855557567849+650.17534844798*" + sheet_d + ")))/2)";

constexpr Text sheet_theta("({1}-0.23855557567849/({1}-650.17534844798))");
constexpr auto sheet_a =
    "(" + sheet_theta + "^2+1167.0521452767*" + sheet_theta + "-724213.16703206)";
constexpr auto sheet_b =
    "(-17.073846940092*" + sheet_theta + "^2+12020.82470247*" + sheet_theta + "-3232555.0322333)";
constexpr auto sheet_c =
    "(14.91510861353*" + sheet_theta + "^2-4823.2657361591*" + sheet_theta + "+405113.40542057)";
constexpr auto sheet_boiling_p = "(2*" + sheet_c + "/(SQRT(" + sheet_b + "^2-4*" + sheet_a + "*" +
                                 sheet_c + ")-" + sheet_b + "))^4";

template <std::size_t Size>
constexpr auto sheet_liquid_h(const Text<Size>& t) {
    return "0.461526*1386*SUMPRODUCT(liquid_n*liquid_j*(7.1-{0}/16.53)^liquid_i*(1386/" + t +
           "-1.222)^(liquid_j-1))";
}
template <std::size_t Size>
constexpr auto sheet_liquid_s(const Text<Size>& t) {
    return "0.461526*SUMPRODUCT(liquid_n*(7.1-{0}/16.53)^liquid_i*(1386/" + t +
           "-1.222)^(liquid_j-1)*(1386/" + t + "*(liquid_j-1)+1.222))";
}
template <std::size_t Size>
constexpr auto sheet_steam_h(const Text<Size>& t) {
    return "0.461526*540*(SUMPRODUCT(ideal_n*ideal_j*(540/" + t +
           ")^(ideal_j-1))+SUMPRODUCT(steam_n*steam_j*{0}^steam_i*(540/" + t +
           "-0.5)^(steam_j-1)))";
}
template <std::size_t Size>
constexpr auto sheet_steam_s(const Text<Size>& t) {
    return "0.461526*(SUMPRODUCT(ideal_n*(ideal_j-1)*(540/" + t +
           ")^ideal_j)-LN({0})+SUMPRODUCT(steam_n*{0}^steam_i*(540/" + t +
           "-0.5)^(steam_j-1)*(540/" + t + "*(steam_j-1)+0.5)))";
}

/// #N/A outside the regions, as the engine has no value there. AND and OR evaluate all they hold,
/// IF does not.
constexpr Text sheet_t("{1}");
constexpr Text sheet_inside(
    "IF(AND({0}>0,{0}<=100,{1}>=273.15,{1}<=1073.15,OR({1}<=623.15,{1}>863.15,"
    "{0}<=348.05185628969-1.1671859879975*{1}+0.0010192970039326*{1}^2)),");
constexpr auto sheet_liquid = "IF(IF({1}<=623.15,{0}>" + sheet_boiling_p + ",FALSE),";
constexpr Text sheet_saturated("IF(AND({0}>=0.0006112126,{0}<=16.52916425),");
constexpr Text sheet_boils("IF(AND({0}>=0.0006112126,{0}<=22.064),");
constexpr Text sheet_none(",NA())");

constexpr auto sheet_h = sheet_inside + sheet_liquid + sheet_liquid_h(sheet_t) + "," +
                         sheet_steam_h(sheet_t) + ")" + sheet_none;
constexpr auto sheet_s = sheet_inside + sheet_liquid + sheet_liquid_s(sheet_t) + "," +
                         sheet_steam_s(sheet_t) + ")" + sheet_none;
constexpr auto sheet_wet_liquid_h = sheet_saturated + sheet_liquid_h(sheet_boiling_t) + sheet_none;
constexpr auto sheet_wet_steam_h = sheet_saturated + sheet_steam_h(sheet_boiling_t) + sheet_none;
constexpr auto sheet_wet_liquid_s = sheet_saturated + sheet_liquid_s(sheet_boiling_t) + sheet_none;
constexpr auto sheet_wet_steam_s = sheet_saturated + sheet_steam_s(sheet_boiling_t) + sheet_none;
constexpr auto sheet_boils_at = sheet_boils + sheet_boiling_t + sheet_none;

// The browser's functions are those of browser_script in faces.h.
constexpr std::array<OperationRow, operation_count> rows{{
    {Operation::input, "input", Arity::none, false, "input", "{0}", "{0}"},
    {Operation::constant, "constant", Arity::none, false, "constant", "{0}", "{0}"},
    {Operation::sum, "sum", Arity::many, false, "sum of", "{*+}", "{*+}"},
    {Operation::product, "product", Arity::many, false, "product of", "{**}", "{**}"},
    {Operation::quotient, "quotient", Arity::two, false, "quotient of", "{0}/{1}", "{0}/{1}"},
    {Operation::sum_of_products, "sum_of_products", Arity::pairs, false, "sum of products of",
     "{**+}", "{**+}"},
    {Operation::negate, "negate", Arity::one, false, "minus", "-({0})", "-({0})"},
    {Operation::power, "power", Arity::two, false, "power of", "({0})^({1})", "power({0},{1})"},
    {Operation::square_root, "square_root", Arity::one, false, "square root of", "SQRT({0})",
     "Math.sqrt({0})"},
    {Operation::exponential, "exponential", Arity::one, false, "e to the power of", "EXP({0})",
     "exponential({0})"},
    {Operation::logarithm, "logarithm", Arity::one, false, "natural logarithm of", "LN({0})",
     "logarithm({0})"},
    {Operation::minimum, "minimum", Arity::many, true, "smallest of", "MIN({*,})",
     "smallest({*,})"},
    {Operation::maximum, "maximum", Arity::many, true, "largest of", "MAX({*,})", "largest({*,})"},
    {Operation::whole, "whole", Arity::one, true, "largest whole number not above",
     "INT({0}*1.000000001)", "round_down({0}*1.000000001)"},
    {Operation::steam_h, "steam_h", Arity::two, false, "enthalpy of water or steam at",
     sheet_h.view(), "steam_h({0},{1})"},
    {Operation::steam_s, "steam_s", Arity::two, false, "entropy of water or steam at",
     sheet_s.view(), "steam_s({0},{1})"},
    {Operation::liquid_h, "liquid_h", Arity::one, false, "enthalpy of boiling water at",
     sheet_wet_liquid_h.view(), "liquid_h({0})"},
    {Operation::vapour_h, "vapour_h", Arity::one, false, "enthalpy of saturated steam at",
     sheet_wet_steam_h.view(), "vapour_h({0})"},
    {Operation::liquid_s, "liquid_s", Arity::one, false, "entropy of boiling water at",
     sheet_wet_liquid_s.view(), "liquid_s({0})"},
    {Operation::vapour_s, "vapour_s", Arity::one, false, "entropy of saturated steam at",
     sheet_wet_steam_s.view(), "vapour_s({0})"},
    {Operation::boiling_t, "boiling_t", Arity::one, false, "boiling temperature at",
     sheet_boils_at.view(), "boiling_t({0})"},
    {Operation::convert, "convert", Arity::special, false, "conversion of", "{0}*{p}/{q}",
     "{0}*{p}/{q}"},
    {Operation::solve, "solve", Arity::special, false, "solution of the loop",
     "MMULT(MINVERSE({matrix}),{right_sides})", "solve({system},[{*,}])"},
    {Operation::part, "part", Arity::special, false, "one unknown of", "INDEX({0},{row},{column})",
     "{0}[{index}]"},
}};

double chosen(Operation operation, std::span<const double> a, std::size_t& taken) {
    taken = 0;
    for (std::size_t i = 1; i < a.size(); ++i) {
        const bool better = operation == Operation::minimum ? a[i] < a[taken] : a[taken] < a[i];
        if (better) taken = i;
    }
    return a[taken];
}

double steam_value(Operation operation, std::span<const double> a) {
    switch (operation) {
        case Operation::steam_h: return steam_h(a[0], a[1]);
        case Operation::steam_s: return steam_s(a[0], a[1]);
        case Operation::liquid_h: return liquid_h(a[0]);
        case Operation::vapour_h: return vapour_h(a[0]);
        case Operation::liquid_s: return liquid_s(a[0]);
        case Operation::vapour_s: return vapour_s(a[0]);
        case Operation::boiling_t: return boiling_t(a[0]);
        default:
            throw std::logic_error("value_of: an operation that needs more than its arguments");
    }
}

void add_steam_slopes(Operation operation, std::span<const double> a, double upstream,
                      std::span<double> slope) {
    const auto of_state = [&](SteamSlope by) {
        slope[0] += upstream * by.by_p;
        slope[1] += upstream * by.by_t;
    };
    switch (operation) {
        case Operation::steam_h: return of_state(steam_h_slope(a[0], a[1]));
        case Operation::steam_s: return of_state(steam_s_slope(a[0], a[1]));
        case Operation::liquid_h: slope[0] += upstream * liquid_h_slope(a[0]); return;
        case Operation::vapour_h: slope[0] += upstream * vapour_h_slope(a[0]); return;
        case Operation::liquid_s: slope[0] += upstream * liquid_s_slope(a[0]); return;
        case Operation::vapour_s: slope[0] += upstream * vapour_s_slope(a[0]); return;
        case Operation::boiling_t: slope[0] += upstream * boiling_t_slope(a[0]); return;
        default:
            throw std::logic_error("add_slopes: an operation that needs more than its arguments");
    }
}

void add_product_slopes(std::span<const double> a, double upstream, std::span<double> slope) {
    for (std::size_t i = 0; i < a.size(); ++i) {
        double others = upstream;
        for (std::size_t j = 0; j < a.size(); ++j) {
            if (j != i) others *= a[j];
        }
        slope[i] += others;
    }
}

}  // namespace

const OperationRow& row_of(Operation operation) noexcept {
    return rows[static_cast<std::size_t>(operation)];
}

std::span<const OperationRow> all_operations() noexcept { return rows; }

// A switch over the table of operations: one line each.
double value_of(Operation operation, std::span<const double> a) {
    std::size_t taken = 0;
    double total = a.empty() ? 0.0 : a[0];
    switch (operation) {
        case Operation::sum:
            for (std::size_t i = 1; i < a.size(); ++i) total += a[i];
            return total;
        case Operation::product:
            for (std::size_t i = 1; i < a.size(); ++i) total *= a[i];
            return total;
        case Operation::sum_of_products:
            total = a[0] * a[1];
            for (std::size_t i = 2; i < a.size(); i += 2) total += a[i] * a[i + 1];
            return total;
        case Operation::quotient: return a[0] / a[1];
        case Operation::negate: return -a[0];
        case Operation::power:
            return power_of<ScalarMath>(a[0], a[1], is_multiplied_out<ScalarMath>(a[1]));
        case Operation::square_root: return ScalarMath::root(a[0]);
        case Operation::exponential: return exponential<ScalarMath>(a[0]);
        case Operation::logarithm: return logarithm<ScalarMath>(a[0]);
        case Operation::minimum:
        case Operation::maximum: return chosen(operation, a, taken);
        case Operation::whole: return round_down<ScalarMath>(a[0] * almost_whole);
        default: return steam_value(operation, a);
    }
}

// A switch over the table of operations: one line each.
void add_slopes(Operation operation, std::span<const double> a, double value, double upstream,
                std::span<double> slope) {
    std::size_t taken = 0;
    switch (operation) {
        case Operation::sum:
            for (std::size_t i = 0; i < a.size(); ++i) slope[i] += upstream;
            return;
        case Operation::product: return add_product_slopes(a, upstream, slope);
        case Operation::sum_of_products:
            for (std::size_t i = 0; i < a.size(); i += 2) {
                slope[i] += upstream * a[i + 1];
                slope[i + 1] += upstream * a[i];
            }
            return;
        case Operation::quotient:
            slope[0] += upstream / a[1];
            slope[1] -= upstream * value / a[1];
            return;
        case Operation::negate: slope[0] -= upstream; return;
        case Operation::power:
            if (a[1] != 0.0) {
                const double less = a[1] - 1.0;
                slope[0] += upstream * a[1] *
                            power_of<ScalarMath>(a[0], less, is_multiplied_out<ScalarMath>(less));
            }
            if (a[0] > 0.0) slope[1] += upstream * value * logarithm<ScalarMath>(a[0]);
            return;
        case Operation::square_root: slope[0] += upstream / (2.0 * value); return;
        case Operation::exponential: slope[0] += upstream * value; return;
        case Operation::logarithm: slope[0] += upstream / a[0]; return;
        case Operation::minimum:
        case Operation::maximum:
            (void)chosen(operation, a, taken);
            slope[taken] += upstream;
            return;
        case Operation::whole: return;
        default: return add_steam_slopes(operation, a, upstream, slope);
    }
}

namespace {

std::string joined(std::span<const std::string> texts, std::string_view separator) {
    std::string result;
    for (std::size_t i = 0; i < texts.size(); ++i) {
        if (i != 0) result += separator;
        result += texts[i];
    }
    return result;
}

std::string joined_pairs(std::span<const std::string> texts, std::string_view separator) {
    std::string result;
    for (std::size_t i = 0; i + 1 < texts.size(); i += 2) {
        if (i != 0) result += separator;
        result += texts[i] + "*" + texts[i + 1];
    }
    return result;
}

/// What stands for a placeholder (written without its braces). Unknown ones stay for the caller.
std::string filled(std::string_view placeholder, std::span<const std::string> arguments) {
    if (placeholder == "**") return joined(arguments, "*");
    if (placeholder.starts_with("**")) return joined_pairs(arguments, placeholder.substr(2));
    if (placeholder.starts_with("*")) return joined(arguments, placeholder.substr(1));
    if (placeholder == "p") return arguments[1];
    if (placeholder == "q") return arguments[2];
    if (placeholder.size() == 1 && placeholder[0] >= '0' && placeholder[0] <= '9') {
        return arguments[static_cast<std::size_t>(placeholder[0] - '0')];
    }
    std::string kept = "{";
    kept += placeholder;
    kept += '}';
    return kept;
}

}  // namespace

std::string fill(std::string_view pattern, std::span<const std::string> arguments) {
    std::string result;
    for (std::size_t at = 0; at < pattern.size();) {
        if (pattern[at] != '{') {
            result += pattern[at++];
            continue;
        }
        const std::size_t end = pattern.find('}', at);
        if (end == std::string_view::npos) throw std::logic_error("a pattern with an open brace");
        result += filled(pattern.substr(at + 1, end - at - 1), arguments);
        at = end + 1;
    }
    return result;
}

}  // namespace deckle
