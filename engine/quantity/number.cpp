#include "engine/quantity/number.h"

#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <optional>

#include "engine/quantity/utf8.h"

namespace deckle {
namespace {

/// Length of a minus sign: hyphen or U+2212.
std::size_t minus_at(std::string_view text, std::size_t at) {
    return one_of_at(text, at, {"-", "\u2212"});
}

std::size_t digits_end(std::string_view text, std::size_t at) {
    while (digit_at(text, at)) ++at;
    return at;
}

/// Exactly three digits, and no fourth.
bool group_of_three(std::string_view text, std::size_t at) {
    return digits_end(text, at) == at + 3;
}

NumberScan wrong(std::size_t start, std::size_t end, std::string code, std::string message,
                 std::string hint) {
    NumberScan scan;
    scan.end = end;
    scan.error = {start, end - start, std::move(code), std::move(message), std::move(hint)};
    return scan;
}

/// Digits, points, commas, apostrophes and underscores in one piece: what was meant as a number.
std::size_t run_end(std::string_view text, std::size_t at) {
    const auto belongs = [&](std::size_t i) {
        return i < text.size() && (is_digit(text[i]) || is_letter(text[i]) || text[i] == '_');
    };
    while (belongs(at) ||
           (at < text.size() && std::string_view(",.'").find(text[at]) != std::string_view::npos &&
            digit_at(text, at + 1))) {
        ++at;
    }
    return at;
}

bool is_groups_of_three(std::string_view whole, char separator) {
    std::size_t at = digits_end(whole, 0);
    if (at == 0 || at > 3 || at == whole.size()) return false;
    for (; at < whole.size() && whole[at] == separator; at += 4) {
        if (!group_of_three(whole, at + 1)) return false;
    }
    return at == whole.size();
}

std::string without(std::string_view text, char dropped) {
    std::string kept(text);
    std::erase(kept, dropped);
    return kept;
}

/// What a number with a comma may have meant, for the hint.
std::string right_form(std::string_view typed) {
    const std::size_t comma = typed.rfind(','), point = typed.rfind('.');
    std::string decimal = without(typed, '.');
    std::replace(decimal.begin(), decimal.end(), ',', '.');
    const bool one_comma = std::count(typed.begin(), typed.end(), ',') == 1;
    if (point != std::string_view::npos && point > comma) return "write " + without(typed, ',');
    if (!one_comma) return "write " + without(without(typed, ','), '.');
    if (point == std::string_view::npos && is_groups_of_three(typed, ',')) {
        std::string grouped(typed);
        std::replace(grouped.begin(), grouped.end(), ',', '_');
        return fmt::format(
            "write {} or {} if the comma parts thousands, {} if it is the decimal point",
            without(typed, ','), grouped, decimal);
    }
    return "write " + decimal;
}

NumberScan bad(std::string_view text, std::size_t start, std::size_t end, std::string hint) {
    return wrong(start, end, "bad-number",
                 fmt::format("\"{}\" is not a number", text.substr(start, end - start)),
                 std::move(hint));
}

/// Whole part with its groups; `end` of the scan behind it.
std::size_t whole_end(std::string_view text, std::size_t first) {
    std::size_t at = digits_end(text, first);
    if (at - first > 3) return at;
    for (;;) {
        const std::size_t gap = stands_at(text, at, "_") ? 1 : space_at(text, at);
        if (gap == 0 || !group_of_three(text, at + gap)) return at;
        at += gap + 3;
    }
}

std::size_t exponent_end(std::string_view text, std::size_t at) {
    if (at >= text.size() || (text[at] != 'e' && text[at] != 'E')) return at;
    const std::size_t sign = one_of_at(text, at + 1, {"+", "-"});
    return digit_at(text, at + 1 + sign) ? digits_end(text, at + 1 + sign) : at;
}

/// What from_chars reads: without gaps, with an ASCII minus and no plus.
std::string plain_digits(std::string_view typed) {
    std::string plain;
    if (minus_at(typed, 0) > 0) plain = "-";
    char before = '\0';
    for (const char c : typed.substr(minus_at(typed, 0))) {
        const bool sign_of_exponent = c == '-' && (before == 'e' || before == 'E');
        if (is_digit(c) || c == '.' || c == 'e' || c == 'E' || sign_of_exponent) plain += c;
        before = c;
    }
    return plain;
}

NumberScan number_of(std::string_view text, std::size_t start, std::size_t end) {
    NumberScan scan;
    scan.digits = text.substr(start, end - start);
    scan.end = end;
    const std::string plain = plain_digits(scan.digits);
    const auto [stop, status] =
        std::from_chars(plain.data(), plain.data() + plain.size(), scan.value);
    if (status == std::errc::result_out_of_range) {
        return wrong(start, end, "number-out-of-range",
                     fmt::format("{} is beyond what can be computed with", scan.digits),
                     "numbers lie between 1e-307 and 1e308");
    }
    if (status != std::errc() || stop != plain.data() + plain.size())
        return bad(text, start, end, {});
    if (scan.value == 0.0) scan.value = 0.0;  // never -0
    return scan;
}

/// What is wrong right behind a number that ended at `at`, if anything.
std::optional<std::string> hint_behind(std::string_view text, std::size_t at, bool decimals) {
    if (stands_at(text, at, "_"))
        return "_ or one space stands between groups of exactly three digits: 52_000";
    if (stands_at(text, at, "'") && digit_at(text, at + 1))
        return "part thousands by _ or one space: 52_000";
    if (!stands_at(text, at, ".") || stands_at(text, at, "..")) return std::nullopt;
    if (decimals) return "a number has one decimal point";
    return "write a digit after the decimal point, or no point";
}

}  // namespace

bool number_begins(std::string_view text, std::size_t at) {
    if (const std::size_t minus = minus_at(text, at)) at = after_spaces(text, at + minus);
    return digit_at(text, at) || (stands_at(text, at, ".") && digit_at(text, at + 1));
}

NumberScan scan_number(std::string_view text, std::size_t start) {
    const std::size_t first = start + minus_at(text, start);
    if (stands_at(text, first, "+") && digit_at(text, first + 1))
        return bad(text, start, run_end(text, first + 1), "write it without +");
    if (stands_at(text, first, ".") && digit_at(text, first + 1)) {
        return bad(text, start, run_end(text, first),
                   "write a digit before the decimal point: 0.5");
    }
    if (!digit_at(text, first)) {
        const std::size_t end = first < text.size() ? first + character_length(text, first) : first;
        return wrong(first, end, "bad-number", "expected a number here",
                     "a quantity begins with a number: 4.35 GJ");
    }
    if (one_of_at(text, first, {"0x", "0X"}) > 0)
        return bad(text, start, run_end(text, first), "write decimal digits");
    std::size_t at = whole_end(text, first);
    const bool decimals = stands_at(text, at, ".") && digit_at(text, at + 1);
    if (decimals) at = digits_end(text, at + 1);
    if (stands_at(text, at, ",") && digit_at(text, at + 1)) {
        const std::size_t end = run_end(text, first);
        const std::string_view typed = text.substr(first, end - first);
        return wrong(start, end, "number-with-comma",
                     fmt::format("\"{}\": a number has no comma", typed), right_form(typed));
    }
    if (const auto hint = hint_behind(text, at, decimals))
        return bad(text, start, std::max(run_end(text, at), at + 1), *hint);
    return number_of(text, start, exponent_end(text, at));
}

}  // namespace deckle
