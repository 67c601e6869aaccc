// The forms that texts of a product footprint take as it is exchanged: identifiers, dates,
// decimals. Decimals stay exact: what is compared or added up here was typed with just these
// digits.
#pragma once

#include <chrono>
#include <optional>
#include <string>
#include <string_view>

#include "engine/quantity/decimal.h"

namespace deckle {

__extension__ typedef __int128 Wide;

/// Capitals and small letters are the same in a UUID (RFC 9562, 4).
[[nodiscard]] bool is_same_uuid(std::string_view a, std::string_view b);
[[nodiscard]] bool is_uuid(std::string_view text) noexcept;  ///< RFC 9562, no braces
[[nodiscard]] bool is_urn(std::string_view text) noexcept;   ///< RFC 8141: urn:NAMESPACE:REST
[[nodiscard]] bool is_uri(std::string_view text) noexcept;   ///< RFC 3986: SCHEME:REST, no spaces

using Instant = std::chrono::sys_seconds;
/// A date, or a date and time in UTC: "2026-01-01", "2026-01-01T00:00:00Z" (RFC 3339).
[[nodiscard]] std::optional<Instant> instant_from(std::string_view text, bool date_alone = false);
/// "2026-01-01T00:00:00Z"
[[nodiscard]] std::string instant_text(Instant instant);

/// First day, and the day after the last: of "2025-01-01 .. 2025-12-31", "2025-04 .. 2026-03",
/// "2025". A month or a year is all its days.
struct Period {
    Instant start, end;
};
[[nodiscard]] std::optional<Period> period_from(std::string_view text);
/// The same day so many years later; 29 February becomes 1 March.
[[nodiscard]] Instant years_later(Instant instant, int years);

/// A decimal with its sign. Sums and differences are exact or have no value.
class Exact {
public:
    Exact() = default;
    /// units × 10^-places
    Exact(Wide units, int places) : units_(units), places_(places) {}
    /// Of "-1.540": a sign, digits, a point between digits. Nothing else, at most 30 digits.
    static std::optional<Exact> from(std::string_view text);
    /// A double to so many places, ties away from zero. Nothing beyond 10^20.
    static std::optional<Exact> rounded(double value, int places);

    [[nodiscard]] int sign() const noexcept { return units_ < 0 ? -1 : units_ > 0 ? 1 : 0; }
    [[nodiscard]] int places() const noexcept { return places_; }
    [[nodiscard]] double value() const;
    /// With all its places: "-1.540", "0.000". Never an exponent.
    [[nodiscard]] std::string text() const;
    [[nodiscard]] Exact negated() const { return {-units_, places_}; }
    [[nodiscard]] Exact magnitude() const { return {units_ < 0 ? -units_ : units_, places_}; }
    /// Its digits times a whole number, and the same over a whole number to so many places.
    [[nodiscard]] Exact times(int factor) const { return {units_ * factor, places_}; }
    /// With the places of both; nothing where the digits are too many.
    [[nodiscard]] std::optional<Exact> times(const Exact& other) const;
    [[nodiscard]] Exact over(int divisor, int places) const;
    /// Half a unit of its last place: how far rounding may have moved it. A zero was not rounded.
    [[nodiscard]] Exact half_place() const { return {units_ == 0 ? 0 : 5, places_ + 1}; }

    friend Exact operator+(const Exact& a, const Exact& b);
    friend Exact operator-(const Exact& a, const Exact& b) { return a + b.negated(); }
    friend bool operator<(const Exact& a, const Exact& b) { return (a - b).sign() < 0; }
    friend bool operator==(const Exact& a, const Exact& b) { return (a - b).sign() == 0; }

private:
    Wide units_ = 0;
    int places_ = 0;
};

}  // namespace deckle
