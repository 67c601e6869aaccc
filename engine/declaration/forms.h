// The forms that texts of a product footprint take as it is exchanged: identifiers and dates; for
// decimals see exact.h.
#pragma once

#include <chrono>
#include <optional>
#include <string>
#include <string_view>

namespace deckle {

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

}  // namespace deckle
