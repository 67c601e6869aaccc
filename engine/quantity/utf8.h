// The few characters beyond ASCII that units, quantities and formulas know, and spaces.
#pragma once

#include <cstddef>
#include <initializer_list>
#include <string_view>

namespace deckle {

/// Whether `part` stands at `at`.
[[nodiscard]] constexpr bool stands_at(std::string_view text, std::size_t at,
                                       std::string_view part) {
    return at <= text.size() && text.substr(at, part.size()) == part;
}

[[nodiscard]] constexpr bool is_ascii_at(std::string_view text, std::size_t at) {
    return at < text.size() && (static_cast<unsigned char>(text[at]) & 0x80U) == 0;
}

/// Length of the first of `parts` that stands at `at`; 0 when none does.
[[nodiscard]] constexpr std::size_t one_of_at(std::string_view text, std::size_t at,
                                              std::initializer_list<std::string_view> parts) {
    for (const std::string_view part : parts) {
        if (stands_at(text, at, part)) return part.size();
    }
    return 0;
}

/// Length of one space at `at`: blank, tab, line end, no-break, thin and narrow no-break space.
[[nodiscard]] constexpr std::size_t space_at(std::string_view text, std::size_t at) {
    if (is_ascii_at(text, at)) return one_of_at(text, at, {" ", "\t", "\n", "\r"});
    return one_of_at(text, at, {"\u00A0", "\u2009", "\u202F"});
}

/// The first position from `at` without a space.
[[nodiscard]] constexpr std::size_t after_spaces(std::string_view text, std::size_t at) {
    while (const std::size_t space = space_at(text, at)) at += space;
    return at;
}

/// Where the text ends when spaces at its end are left out.
[[nodiscard]] constexpr std::size_t end_without_spaces(std::string_view text) {
    std::size_t end = 0;
    for (std::size_t at = 0; at < text.size();) {
        const std::size_t space = space_at(text, at);
        at += space > 0 ? space : 1;
        if (space == 0) end = at;
    }
    return end;
}

[[nodiscard]] constexpr bool is_digit(char c) { return c >= '0' && c <= '9'; }
[[nodiscard]] constexpr bool is_lower(char c) { return c >= 'a' && c <= 'z'; }
[[nodiscard]] constexpr bool is_letter(char c) { return is_lower(c) || (c >= 'A' && c <= 'Z'); }
[[nodiscard]] constexpr bool digit_at(std::string_view text, std::size_t at) {
    return at < text.size() && is_digit(text[at]);
}

/// Length of the character at `at`, so that no message cuts one in two.
[[nodiscard]] constexpr std::size_t character_length(std::string_view text, std::size_t at) {
    std::size_t end = at + 1;
    while (end < text.size() && (static_cast<unsigned char>(text[end]) & 0xC0U) == 0x80U) ++end;
    return end - at;
}

}  // namespace deckle
