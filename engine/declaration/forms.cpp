#include "engine/declaration/forms.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>

namespace deckle {
namespace {

bool is_digit(char c) noexcept { return c >= '0' && c <= '9'; }
bool is_letter(char c) noexcept { return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z'); }
bool is_hex(char c) noexcept {
    return is_digit(c) || (c >= 'a' && c <= 'f') || (c >= 'A' && c <= 'F');
}
/// No space, no control character, nothing beyond ASCII: RFC 3986 writes these as %XX.
bool is_plain(char c) noexcept { return c > ' ' && c < 0x7F && c != '<' && c != '>' && c != '"'; }

std::optional<int> whole(std::string_view text) {
    if (text.empty() || !std::ranges::all_of(text, is_digit)) return std::nullopt;
    int value = 0;
    for (const char c : text) value = value * 10 + (c - '0');
    return value;
}

std::optional<std::chrono::sys_days> day_from(std::string_view text) {
    if (text.size() != 10 || text[4] != '-' || text[7] != '-') return std::nullopt;
    const auto year = whole(text.substr(0, 4)), month = whole(text.substr(5, 2)),
               day = whole(text.substr(8, 2));
    if (!year || !month || !day) return std::nullopt;
    const std::chrono::year_month_day date{std::chrono::year(*year),
                                           std::chrono::month(static_cast<unsigned>(*month)),
                                           std::chrono::day(static_cast<unsigned>(*day))};
    if (!date.ok()) return std::nullopt;
    return std::chrono::sys_days(date);
}

/// A day, all of a month, all of a year.
std::optional<Period> days_from(std::string_view text) {
    using std::chrono::sys_days;
    const bool year = text.size() == 4, month = text.size() == 7;
    const std::string first = fmt::format("{}{}", text, year ? "-01-01" : month ? "-01" : "");
    const auto day = day_from(first);
    if (!day) return std::nullopt;
    const std::chrono::year_month_day date{*day};
    if (year) return Period{*day, sys_days(date + std::chrono::years(1))};
    if (month) return Period{*day, sys_days(date + std::chrono::months(1))};
    return Period{*day, *day + std::chrono::days(1)};
}

/// Digits behind the seconds count for nothing here and are passed over.
std::string_view without_fraction(std::string_view text) {
    if (!text.starts_with('.')) return text;
    std::size_t end = 1;
    while (end < text.size() && is_digit(text[end])) ++end;
    return end > 1 ? text.substr(end) : text;
}

std::string_view trimmed(std::string_view text) {
    while (text.starts_with(' ')) text.remove_prefix(1);
    while (text.ends_with(' ')) text.remove_suffix(1);
    return text;
}

}  // namespace

bool is_uuid(std::string_view text) noexcept {
    if (text.size() != 36) return false;
    for (std::size_t i = 0; i < text.size(); ++i) {
        const bool dash = i == 8 || i == 13 || i == 18 || i == 23;
        if (dash ? text[i] != '-' : !is_hex(text[i])) return false;
    }
    return true;
}

bool is_same_uuid(std::string_view a, std::string_view b) {
    const auto small = [](char c) {
        return c >= 'A' && c <= 'F' ? static_cast<char>(c - 'A' + 'a') : c;
    };
    return std::ranges::equal(a, b, {}, small, small);
}

bool is_urn(std::string_view text) noexcept {
    if (text.size() < 4) return false;
    constexpr std::array scheme{'u', 'r', 'n', ':'};
    for (std::size_t i = 0; i < scheme.size(); ++i) {
        const char c = text[i];
        if ((c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c) != scheme[i])
            return false;
    }
    const std::string_view rest = text.substr(4);
    const std::size_t colon = rest.find(':');
    if (colon == std::string_view::npos || colon < 2 || colon > 32 || colon + 1 == rest.size())
        return false;
    const std::string_view space = rest.substr(0, colon);
    const auto fits = [](char c) { return is_letter(c) || is_digit(c) || c == '-'; };
    return std::ranges::all_of(space, fits) && space.front() != '-' && space.back() != '-' &&
           std::ranges::all_of(rest, is_plain);
}

bool is_uri(std::string_view text) noexcept {
    const std::size_t colon = text.find(':');
    if (colon == std::string_view::npos || colon == 0 || colon + 1 == text.size()) return false;
    const auto fits = [](char c) {
        return is_letter(c) || is_digit(c) || c == '+' || c == '-' || c == '.';
    };
    return is_letter(text[0]) && std::ranges::all_of(text.substr(0, colon), fits) &&
           std::ranges::all_of(text, is_plain);
}

std::optional<Instant> instant_from(std::string_view text, bool date_alone) {
    const auto day = day_from(text.substr(0, 10));
    if (!day) return std::nullopt;
    if (text.size() == 10) return date_alone ? std::optional<Instant>(*day) : std::nullopt;
    if (text.size() < 20 || (text[10] != 'T' && text[10] != 't') || text[13] != ':' ||
        text[16] != ':')
        return std::nullopt;
    const auto hour = whole(text.substr(11, 2)), minute = whole(text.substr(14, 2)),
               second = whole(text.substr(17, 2));
    const std::string_view zone = without_fraction(text.substr(19));
    if (!hour || !minute || !second || *hour > 23 || *minute > 59 || *second > 59 ||
        (zone != "Z" && zone != "z" && zone != "+00:00"))
        return std::nullopt;
    return Instant(*day) + std::chrono::hours(*hour) + std::chrono::minutes(*minute) +
           std::chrono::seconds(*second);
}

std::string instant_text(Instant instant) {
    const auto day = std::chrono::floor<std::chrono::days>(instant);
    const std::chrono::year_month_day date{day};
    const std::chrono::hh_mm_ss time{instant - day};
    return fmt::format("{:04}-{:02}-{:02}T{:02}:{:02}:{:02}Z", static_cast<int>(date.year()),
                       static_cast<unsigned>(date.month()), static_cast<unsigned>(date.day()),
                       time.hours().count(), time.minutes().count(), time.seconds().count());
}

std::optional<Period> period_from(std::string_view text) {
    const std::size_t dots = text.find("..");
    const auto first = days_from(trimmed(text.substr(0, dots)));
    if (!first || dots == std::string_view::npos) return first;
    const auto last = days_from(trimmed(text.substr(dots + 2)));
    if (!last || last->start < first->start) return std::nullopt;
    return Period{first->start, last->end};
}

Instant years_later(Instant instant, int years) {
    const auto day = std::chrono::floor<std::chrono::days>(instant);
    std::chrono::year_month_day date{day};
    date += std::chrono::years(years);
    return std::chrono::sys_days(date) + (instant - day);  // sys_days carries 29 February over
}

}  // namespace deckle
