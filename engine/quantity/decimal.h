// Exact positive decimals and their ratios: what units and conversions are made of.
// Coefficients have 128 bits; an operation that needs more has no value, it never rounds.
#pragma once

#include <optional>
#include <string>
#include <string_view>

namespace deckle {

__extension__ typedef unsigned __int128 Coefficient;

/// coefficient × 10^exponent; the coefficient does not end in 0. Zero is {0, 0}.
struct Decimal {
    Coefficient coefficient = 0;
    int exponent = 0;
    friend constexpr bool operator==(const Decimal&, const Decimal&) = default;
};

/// Takes the zeros at the end of the coefficient into the exponent.
[[nodiscard]] constexpr Decimal normal(Decimal value) {
    if (value.coefficient == 0) return {};
    while (value.coefficient % 10 == 0) {
        value.coefficient /= 10;
        ++value.exponent;
    }
    return value;
}

/// The decimal of plain digits with an optional point and exponent ("1055.05585262", "1e-6"), or
/// nothing: signs, spaces, other characters, over 38 digits, an exponent beyond ±999.
[[nodiscard]] constexpr std::optional<Decimal> decimal_from(std::string_view text) {
    Decimal value;
    std::size_t at = 0;
    int digits = 0, decimals = 0;
    bool point = false;
    for (; at < text.size() && text[at] != 'e'; ++at) {
        if (text[at] == '.') {
            if (point) return std::nullopt;
            point = true;
            continue;
        }
        if (text[at] < '0' || text[at] > '9' || ++digits > 38) return std::nullopt;
        value.coefficient = value.coefficient * 10 + static_cast<unsigned>(text[at] - '0');
        decimals += point ? 1 : 0;
    }
    if (digits == 0) return std::nullopt;
    int power = 0;
    if (at < text.size()) {
        const bool negative = ++at < text.size() && text[at] == '-';
        if (negative) ++at;
        if (at == text.size() || text.size() - at > 3) return std::nullopt;
        for (; at < text.size(); ++at) {
            if (text[at] < '0' || text[at] > '9') return std::nullopt;
            power = power * 10 + (text[at] - '0');
        }
        if (negative) power = -power;
    }
    value.exponent = power - decimals;
    return normal(value);
}

/// a × b, or nothing beyond 128 bits.
[[nodiscard]] std::optional<Decimal> product(Decimal a, Decimal b);

/// All digits, without an exponent from 1e-20 up to 1e25: "1055.05585262", "3600000".
[[nodiscard]] std::string decimal_text(Decimal value);

/// The double nearest to the decimal.
[[nodiscard]] double nearest_double(Decimal value);

/// p ÷ q, exact, as defined: not reduced, so that 0.45359237 stays itself.
struct Ratio {
    Decimal p{1, 0};
    Decimal q{1, 0};
};

[[nodiscard]] bool equal(const Ratio& a, const Ratio& b);
[[nodiscard]] std::optional<Ratio> product(const Ratio& a, const Ratio& b);
[[nodiscard]] std::optional<Ratio> quotient(const Ratio& a, const Ratio& b);
/// a ^ exponent; negative exponents turn it over.
[[nodiscard]] std::optional<Ratio> raised(const Ratio& a, int exponent);

/// The same ratio as people write it: one side 1 where the other is then a finite decimal (3.6 ÷ 1,
/// 1 ÷ 3.6, 1 ÷ 1000), else both as defined with powers of ten removed (3.6 ÷ 1055.05585262).
[[nodiscard]] Ratio simplest(const Ratio& ratio);

}  // namespace deckle
