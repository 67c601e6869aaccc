#include "reports/inert.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cstdint>

namespace deckle {
namespace {

struct Character {
    char32_t code = 0;
    std::size_t bytes = 1;
    bool broken = false;  ///< not the start of a UTF-8 sequence; `code` is the byte
};

struct Range {
    char32_t first, last;
};

/// Characters that act instead of showing: controls, separators of lines, direction marks (Unicode
/// UAX 9, 2.1 to 2.6), invisible spaces, language tags.
constexpr std::array<Range, 9> acting{{{0x00, 0x1F},
                                       {0x7F, 0x9F},
                                       {0x61C, 0x61C},
                                       {0x200B, 0x200F},
                                       {0x2028, 0x202E},
                                       {0x2060, 0x206F},
                                       {0xFEFF, 0xFEFF},
                                       {0xFFF9, 0xFFFB},
                                       {0xE0000, 0xE007F}}};

/// Combining marks (Unicode block charts).
constexpr std::array<Range, 8> zero_width{{{0x300, 0x36F},
                                           {0x483, 0x489},
                                           {0x591, 0x5BD},
                                           {0x64B, 0x65F},
                                           {0x1AB0, 0x1AFF},
                                           {0x1DC0, 0x1DFF},
                                           {0x20D0, 0x20FF},
                                           {0xFE00, 0xFE0F}}};

/// Wide and full-width characters (Unicode UAX 11), by block.
constexpr std::array<Range, 9> double_width{{{0x1100, 0x115F},
                                             {0x2E80, 0xA4CF},
                                             {0xAC00, 0xD7A3},
                                             {0xF900, 0xFAFF},
                                             {0xFE30, 0xFE6F},
                                             {0xFF00, 0xFF60},
                                             {0xFFE0, 0xFFE6},
                                             {0x1F300, 0x1FAFF},
                                             {0x20000, 0x3FFFD}}};

template <std::size_t Size>
bool within(const std::array<Range, Size>& ranges, char32_t code) {
    return std::ranges::any_of(
        ranges, [code](Range range) { return range.first <= code && code <= range.last; });
}

std::size_t announced_bytes(unsigned first) {
    if (first >= 0xC2 && first <= 0xDF) return 2;
    if (first >= 0xE0 && first <= 0xEF) return 3;
    if (first >= 0xF0 && first <= 0xF4) return 4;
    return 0;
}

bool is_scalar_value(char32_t code, std::size_t bytes) {
    constexpr std::array<char32_t, 5> smallest{0, 0, 0x80, 0x800, 0x10000};
    return code >= smallest.at(bytes) && code <= 0x10FFFF && (code < 0xD800 || code > 0xDFFF);
}

Character character_at(std::string_view text, std::size_t at) {
    const auto byte = [&](std::size_t i) { return static_cast<unsigned char>(text[i]); };
    const unsigned first = byte(at);
    if (first < 0x80) return {first, 1, false};
    const std::size_t bytes = announced_bytes(first);
    if (bytes == 0 || at + bytes > text.size()) return {first, 1, true};
    char32_t code = first & (0xFFU >> (bytes + 1));
    for (std::size_t i = 1; i < bytes; ++i) {
        if ((byte(at + i) & 0xC0U) != 0x80U) return {first, 1, true};
        code = (code << 6U) | (byte(at + i) & 0x3FU);
    }
    if (!is_scalar_value(code, bytes)) return {first, 1, true};
    return {code, bytes, false};
}

std::string visible_escape(const Character& character) {
    const auto code = static_cast<std::uint32_t>(character.code);
    if (character.broken || code == 0x7F) return fmt::format("\\x{:02x}", code);
    switch (code) {
        case '\n': return "\\n";
        case '\r': return "\\r";
        case '\t': return "\\t";
        default: break;
    }
    if (code < 0x20) return fmt::format("\\x{:02x}", code);
    return code > 0xFFFF ? fmt::format("\\u{{{:x}}}", code) : fmt::format("\\u{:04x}", code);
}

std::string json_unicode_escape(char32_t code) {
    const auto unit = [](char32_t value) {
        return fmt::format("\\u{:04x}", static_cast<std::uint32_t>(value));
    };
    if (code <= 0xFFFF) return unit(code);
    const char32_t rest = code - 0x10000;
    return unit(0xD800 + (rest >> 10U)) + unit(0xDC00 + (rest & 0x3FFU));
}

std::string json_escape(const Character& character) {
    switch (character.code) {
        case '"': return "\\\"";
        case '\\': return "\\\\";
        case '\n': return "\\n";
        case '\r': return "\\r";
        case '\t': return "\\t";
        default: return json_unicode_escape(character.broken ? 0xFFFD : character.code);
    }
}

enum class Extent { one, several };

std::string made_inert(std::string_view text, Extent lines) {
    std::string result;
    result.reserve(text.size());
    for (std::size_t i = 0; i < text.size();) {
        const Character character = character_at(text, i);
        const bool layout =
            lines == Extent::several && (character.code == '\n' || character.code == '\t');
        const bool acts = character.broken || within(acting, character.code);
        if (acts && !layout) result += visible_escape(character);
        else result += text.substr(i, character.bytes);
        i += character.bytes;
    }
    return result;
}

std::size_t columns_of(char32_t code) {
    if (code >= 0x300 && within(zero_width, code)) return 0;
    return code >= 0x1100 && within(double_width, code) ? 2 : 1;
}

}  // namespace

std::string inert(std::string_view text) { return made_inert(text, Extent::one); }

std::string inert_lines(std::string_view text) { return made_inert(text, Extent::several); }

std::string json_escaped(std::string_view text) {
    std::string result;
    result.reserve(text.size());
    for (std::size_t i = 0; i < text.size();) {
        const Character character = character_at(text, i);
        const bool escaped = character.broken || character.code == '"' || character.code == '\\' ||
                             within(acting, character.code);
        if (escaped) result += json_escape(character);
        else result += text.substr(i, character.bytes);
        i += character.bytes;
    }
    return result;
}

std::string html_inert(std::string_view text) {
    std::string safe;
    for (const char c : inert(text)) {
        switch (c) {
            case '&': safe += "&amp;"; break;
            case '<': safe += "&lt;"; break;
            case '>': safe += "&gt;"; break;
            case '"': safe += "&quot;"; break;
            case '\'': safe += "&#39;"; break;
            default: safe += c;
        }
    }
    return safe;
}

std::string markdown_inert(std::string_view text) {
    constexpr std::string_view marks = "\\`*_{}[]<>()#|!~&$";
    std::string safe;
    for (const char c : inert(text)) {
        const bool leads = safe.empty() && (c == '+' || c == '=' || c == ':');
        if (leads || marks.find(c) != std::string_view::npos) safe += '\\';
        safe += c;
    }
    if (safe.starts_with("- ") || safe.starts_with("--")) safe.insert(0, "\\");
    // "1. " at the start would begin a list, and an address would become a link
    const std::size_t digits = safe.find_first_not_of("0123456789");
    if (digits != 0 && digits != std::string::npos && safe[digits] == '.' &&
        (digits + 1 == safe.size() || safe[digits + 1] == ' '))
        safe.insert(digits, "\\");
    for (std::size_t at = 0; (at = safe.find("://", at)) != std::string::npos; at += 4)
        safe.insert(at, "\\");
    return safe;
}

std::size_t shown_width(std::string_view text) {
    std::size_t columns = 0;
    for (std::size_t i = 0; i < text.size();) {
        const Character character = character_at(text, i);
        columns += columns_of(character.code);
        i += character.bytes;
    }
    return columns;
}

namespace {

/// Bytes of the longest start within `width` columns; at least one character.
std::size_t bytes_within(std::string_view text, std::size_t width) {
    std::size_t columns = 0;
    std::size_t end = 0;
    while (end < text.size()) {
        const Character character = character_at(text, end);
        columns += columns_of(character.code);
        if (columns > width && end > 0) break;
        end += character.bytes;
    }
    return end;
}

}  // namespace

std::string cut_to(std::string_view text, std::size_t width) {
    if (shown_width(text) <= width) return std::string(text);
    std::size_t columns = 0;
    std::size_t end = 0;
    while (end < text.size()) {
        const Character character = character_at(text, end);
        columns += columns_of(character.code);
        if (columns + 1 > width) break;
        end += character.bytes;
    }
    return std::string(text.substr(0, end)) + "…";
}

std::vector<std::string> wrap(std::string_view text, std::size_t width) {
    std::vector<std::string> lines;
    std::string line;
    for (std::size_t i = 0; i < text.size();) {
        const std::size_t end = std::min(text.find(' ', i), text.size());
        const std::string_view word = text.substr(i, end - i);
        i = end + 1;
        if (word.empty()) continue;
        if (!line.empty() && shown_width(line) + 1 + shown_width(word) > width) {
            lines.push_back(std::move(line));
            line.clear();
        }
        if (!line.empty()) line += ' ';
        line += word;
    }
    if (!line.empty()) lines.push_back(std::move(line));
    return lines;
}

std::vector<std::string> broken(std::string_view text, std::size_t width) {
    std::vector<std::string> lines;
    for (const std::string& line : wrap(text, width)) {
        std::string_view rest = line;
        do {
            const std::size_t bytes = bytes_within(rest, width);
            lines.emplace_back(rest.substr(0, bytes));
            rest.remove_prefix(bytes);
        } while (!rest.empty());
    }
    return lines;
}

}  // namespace deckle
