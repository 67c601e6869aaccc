#include "engine/quantity/decimal.h"

#include <fmt/format.h>

#include <charconv>
#include <utility>

namespace deckle {
namespace {

Coefficient common_divisor(Coefficient a, Coefficient b) {
    while (b != 0) a = std::exchange(b, a % b);
    return a;
}

std::string digits_of(Coefficient value) {
    std::string reversed;
    for (; value != 0; value /= 10)
        reversed += static_cast<char>('0' + static_cast<int>(value % 10));
    return {reversed.rbegin(), reversed.rend()};
}

/// How often `prime` divides `value`, which it then no longer does.
int take_out(Coefficient& value, unsigned prime) {
    int times = 0;
    for (; value != 0 && value % prime == 0; value /= prime) ++times;
    return times;
}

std::optional<Coefficient> times_power(Coefficient value, unsigned prime, int exponent) {
    for (; exponent > 0; --exponent) {
        if (__builtin_mul_overflow(value, Coefficient{prime}, &value)) return std::nullopt;
    }
    return value;
}

/// rest × 2^twos × 5^fives as a decimal.
std::optional<Decimal> finite(Coefficient rest, int twos, int fives) {
    const int tens = twos < fives ? twos : fives;
    const auto with_twos = times_power(rest, 2, twos - tens);
    const auto coefficient = with_twos ? times_power(*with_twos, 5, fives - tens) : std::nullopt;
    if (!coefficient) return std::nullopt;
    return normal({*coefficient, tens});
}

/// Both sides divided by their common divisor.
Ratio reduced(Decimal p, Decimal q) {
    const Coefficient divisor = common_divisor(p.coefficient, q.coefficient);
    return {normal({p.coefficient / divisor, p.exponent}),
            normal({q.coefficient / divisor, q.exponent})};
}

/// Powers of ten removed so that the smaller side lies in [1, 10), unless it lies in [1, 1000).
Ratio without_tens(Ratio ratio) {
    const auto magnitude = [](Decimal value) {
        return static_cast<int>(digits_of(value.coefficient).size()) - 1 + value.exponent;
    };
    const int p = magnitude(ratio.p), q = magnitude(ratio.q);
    const int tens = p < q ? p : q;
    if (tens >= 0 && tens < 3) return ratio;
    ratio.p.exponent -= tens;
    ratio.q.exponent -= tens;
    return ratio;
}

}  // namespace

std::optional<Decimal> product(Decimal a, Decimal b) {
    Coefficient coefficient = 0;
    if (__builtin_mul_overflow(a.coefficient, b.coefficient, &coefficient)) return std::nullopt;
    return normal({coefficient, a.exponent + b.exponent});
}

std::string decimal_text(Decimal value) {
    if (value.coefficient == 0) return "0";
    std::string digits = digits_of(value.coefficient);
    const int before_point = static_cast<int>(digits.size()) + value.exponent;
    if (before_point > 25 || before_point < -19)
        return fmt::format("{}e{}", digits, value.exponent);
    if (value.exponent >= 0) return digits.append(static_cast<std::size_t>(value.exponent), '0');
    if (before_point <= 0)
        return fmt::format("0.{:0>{}}", digits, static_cast<int>(digits.size()) - before_point);
    return digits.insert(static_cast<std::size_t>(before_point), 1, '.');
}

double nearest_double(Decimal value) {
    const std::string text = decimal_text(value);
    double nearest = 0.0;
    std::from_chars(text.data(), text.data() + text.size(), nearest);
    return nearest;
}

bool equal(const Ratio& a, const Ratio& b) {
    const auto same = quotient(a, b);
    return same && reduced(same->p, same->q).p == reduced(same->p, same->q).q;
}

std::optional<Ratio> product(const Ratio& a, const Ratio& b) {
    const auto p = product(a.p, b.p), q = product(a.q, b.q);
    if (p && q) return Ratio{*p, *q};
    const Ratio first = reduced(a.p, b.q), second = reduced(b.p, a.q);
    const auto small_p = product(first.p, second.p), small_q = product(first.q, second.q);
    if (small_p && small_q) return Ratio{*small_p, *small_q};
    return std::nullopt;
}

std::optional<Ratio> quotient(const Ratio& a, const Ratio& b) {
    return product(a, Ratio{b.q, b.p});
}

std::optional<Ratio> raised(const Ratio& a, int exponent) {
    const Ratio base = exponent < 0 ? Ratio{a.q, a.p} : a;
    std::optional<Ratio> result = Ratio{};
    for (int i = exponent < 0 ? -exponent : exponent; i > 0 && result; --i)
        result = product(*result, base);
    return result;
}

Ratio simplest(const Ratio& ratio) {
    Ratio rest = reduced(ratio.p, ratio.q);
    const int tens = rest.p.exponent - rest.q.exponent;
    const int twos = take_out(rest.p.coefficient, 2) - take_out(rest.q.coefficient, 2) + tens;
    const int fives = take_out(rest.p.coefficient, 5) - take_out(rest.q.coefficient, 5) + tens;
    const bool one_above = rest.p.coefficient == 1, one_below = rest.q.coefficient == 1;
    const bool inverse_is_whole = one_above && twos <= 0 && fives <= 0;
    if (one_below && !inverse_is_whole) {
        if (const auto p = finite(rest.p.coefficient, twos, fives)) return {*p, {1, 0}};
    }
    if (one_above) {
        if (const auto q = finite(rest.q.coefficient, -twos, -fives)) return {{1, 0}, *q};
    }
    return without_tens(ratio);
}

}  // namespace deckle
