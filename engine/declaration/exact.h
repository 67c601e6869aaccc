// Decimals of a product footprint, of any number of digits. They stay exact: what is compared or
// added up here was typed with just these digits.
#pragma once

#include <compare>
#include <optional>
#include <string>
#include <string_view>

namespace deckle {

/// A decimal with its sign.
class Exact {
public:
    Exact() = default;
    /// units × 10^-places
    Exact(long long units, int places);
    /// Of "-1.540": a sign, digits, a point between digits. Nothing else.
    static std::optional<Exact> from(std::string_view text);
    /// A double to so many places, ties away from zero. Nothing beyond 10^20.
    static std::optional<Exact> rounded(double value, int places);

    [[nodiscard]] int sign() const noexcept { return digits_.empty() ? 0 : negative_ ? -1 : 1; }
    [[nodiscard]] int places() const noexcept { return places_; }
    [[nodiscard]] double value() const;
    /// With all its places: "-1.540", "0.000". Never an exponent.
    [[nodiscard]] std::string text() const;
    [[nodiscard]] Exact negated() const { return {!negative_, digits_, places_}; }
    [[nodiscard]] Exact magnitude() const { return {false, digits_, places_}; }
    /// With the places of both.
    [[nodiscard]] Exact times(const Exact& other) const;
    [[nodiscard]] Exact times(int factor) const { return times(Exact(factor, 0)); }
    /// Over a whole number above zero, to so many places, ties away from zero.
    [[nodiscard]] Exact over(int divisor, int places) const;
    /// Half a unit of its last place: how far rounding may have moved it. A zero was not rounded.
    [[nodiscard]] Exact half_place() const;

    friend Exact operator+(const Exact& a, const Exact& b);
    friend Exact operator-(const Exact& a, const Exact& b) { return a + b.negated(); }
    friend bool operator<(const Exact& a, const Exact& b) { return (a - b).sign() < 0; }
    friend bool operator==(const Exact& a, const Exact& b) { return (a - b).sign() == 0; }

private:
    Exact(bool negative, std::string digits, int places);

    bool negative_ = false;  ///< never of zero
    std::string digits_;     ///< of the units, the first not 0; none of zero
    int places_ = 0;
};

}  // namespace deckle
