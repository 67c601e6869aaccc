#include "engine/quantity/unit_parser.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <charconv>
#include <vector>

#include "engine/quantity/unit_table.h"
#include "engine/quantity/utf8.h"
#include "engine/text/nearest.h"

namespace deckle {
namespace {

constexpr int largest_power = 9;
/// Signs and codes (ISO 4217) that get the hint on the year.
constexpr std::array<std::string_view, 24> currencies{
    "$",   "\u20AC", "\u00A3", "EUR", "USD", "GBP", "CHF", "JPY", "CNY", "SEK", "NOK", "DKK",
    "PLN", "CZK",    "CAD",    "AUD", "BRL", "INR", "MXN", "NZD", "ZAR", "TRY", "KRW", "CLP"};
constexpr std::array<std::string_view, 5> words{"dry", "LHV", "HHV", "CO2e", "world-eq"};

struct Superscript {
    std::string_view character;
    char plain;
};
constexpr std::array<Superscript, 11> superscripts{{{"\u207B", '-'},
                                                    {"\u2070", '0'},
                                                    {"\u00B9", '1'},
                                                    {"\u00B2", '2'},
                                                    {"\u00B3", '3'},
                                                    {"\u2074", '4'},
                                                    {"\u2075", '5'},
                                                    {"\u2076", '6'},
                                                    {"\u2077", '7'},
                                                    {"\u2078", '8'},
                                                    {"\u2079", '9'}}};

const Superscript* superscript_at(std::string_view text, std::size_t at) {
    const auto found =
        std::find_if(superscripts.begin(), superscripts.end(),
                     [&](const Superscript& s) { return stands_at(text, at, s.character); });
    return found == superscripts.end() ? nullptr : &*found;
}

bool is_operator_at(std::string_view text, std::size_t at) {
    if (is_ascii_at(text, at)) return space_at(text, at) > 0;
    return one_of_at(text, at, {"\u00B7", "\u22C5", "\u00B1", "\u00D7", "\u00F7", "\u2212"}) > 0 ||
           space_at(text, at) > 0 || superscript_at(text, at) != nullptr;
}

/// Length of what continues a word at `at`: letters, digits, _, %, characters beyond ASCII that
/// mean nothing else, and a hyphen before a letter (world-eq).
std::size_t word_character(std::string_view text, std::size_t at) {
    if (at >= text.size() || is_operator_at(text, at)) return 0;
    const char c = text[at];
    if (is_letter(c) || is_digit(c) || c == '_' || c == '%' || c == '$') return 1;
    if (c == '-' && at + 1 < text.size() && is_letter(text[at + 1])) return 2;
    return (static_cast<unsigned char>(c) & 0x80U) != 0 ? character_length(text, at) : 0;
}

std::size_t word_end(std::string_view text, std::size_t at) {
    if (digit_at(text, at) || stands_at(text, at, "-")) return at;
    while (const std::size_t length = word_character(text, at)) at += length;
    return at;
}

/// ASCII spelling: °C is degC, µm is um, CO₂e is CO2e.
std::string ascii(std::string_view word) {
    std::string plain;
    for (std::size_t at = 0; at < word.size();) {
        const std::size_t length = character_length(word, at);
        const std::string_view character = word.substr(at, length);
        if (character == "\u00B0") plain += "deg";
        else if (character == "\u00B5" || character == "\u03BC") plain += "u";
        else if (character == "\u2082") plain += "2";
        else plain += character;
        at += length;
    }
    return plain;
}

bool is_money(std::string_view word) {
    const auto capital = [](char c) { return is_letter(c) && !is_lower(c); };
    return word.size() == 8 && std::all_of(word.begin(), word.begin() + 3, capital) &&
           word[3] == '_' && std::all_of(word.begin() + 4, word.end(), is_digit);
}

bool is_name(std::string_view word) {
    return !word.empty() && is_lower(word[0]) && std::all_of(word.begin(), word.end(), [](char c) {
        return is_lower(c) || is_digit(c) || c == '_';
    });
}

/// The hint for a word that is no unit: what it is called here, or the nearest symbols.
std::string hint_for(std::string_view word) {
    for (const UnitHint& hint : unit_hints()) {
        const bool long_enough =
            word.size() > 3 && small_letters(hint.typed) == small_letters(word);
        if (hint.typed == word || long_enough) return std::string(hint.hint);
    }
    const bool short_year = word.size() > 3 && word[3] == '_' && digit_at(word, 4);
    if (short_year || std::find(currencies.begin(), currencies.end(), word) != currencies.end()) {
        return "money has a code and a year: EUR_2025";
    }
    std::vector<std::string> known;
    for (const UnitSymbol& row : unit_table()) {
        if (small_letters(row.symbol) == small_letters(word))
            return fmt::format("did you mean {}?", row.symbol);
        known.emplace_back(row.symbol);
    }
    for (const std::string_view marker : words) {
        if (small_letters(marker) == small_letters(word))
            return fmt::format("did you mean {}?", marker);
        known.emplace_back(marker);
    }
    const std::string near = word.size() > 1 ? did_you_mean(word, known) : std::string();
    if (!near.empty()) return near;
    return "units are those of a list: kg, t dry, kWh, GJ LHV, m3, roll, EUR_2025, ...";
}

class UnitReader {
public:
    UnitReader(std::string_view text, std::size_t start) : text_(text), at_(start), start_(start) {}

    UnitScan read() {
        scan_.end = start_;
        read_terms();
        if (!scan_.error.any()) check_alone();
        if (!scan_.error.any()) finish();
        return std::move(scan_);
    }

private:
    void read_terms() {
        bool divided = false;
        if (stands_at(text_, after_spaces(text_, at_), "1")) read_one();
        while (!scan_.error.any()) {
            const std::size_t next = after_spaces(text_, at_);
            const std::size_t dot = one_of_at(text_, next, {"\u00B7", "\u22C5"});
            if (stands_at(text_, next, "/")) {
                read_divisor(next);
                divided = true;
            } else if (dot > 0 || word_end(text_, next) > next) {
                at_ = after_spaces(text_, next + dot);
                if (read_of(next)) return;
                if (dot > 0 && terms_.empty()) return fail_expected(next);
                if (divided && word_end(text_, at_) > at_) return fail_ambiguous(next);
                read_term(1);
            } else {
                return;
            }
        }
    }

    /// "1/h": the one is not written in the unit.
    void read_one() {
        const std::size_t one = after_spaces(text_, at_);
        const std::size_t next = after_spaces(text_, one + 1);
        if (stands_at(text_, next, "/")) at_ = next;
    }

    void read_divisor(std::size_t slash) {
        at_ = after_spaces(text_, slash + 1);
        if (!stands_at(text_, at_, "(")) return read_term(-1);
        ++at_;
        do {
            at_ = after_spaces(text_, at_);
            at_ = after_spaces(text_, at_ + one_of_at(text_, at_, {"\u00B7", "\u22C5"}));
            read_term(-1);
        } while (!scan_.error.any() && !stands_at(text_, after_spaces(text_, at_), ")") &&
                 after_spaces(text_, at_) < text_.size());
        if (scan_.error.any()) return;
        const std::size_t close = after_spaces(text_, at_);
        if (close == text_.size())
            return fail(slash, close, "unit-syntax", "the parenthesis of this unit is not closed",
                        "kJ/(kg K)");
        at_ = scan_.end = close + 1;
    }

    /// One symbol, its power, and the basis or label after it.
    void read_term(int sign) {
        const std::size_t start = at_;
        const std::size_t end = word_end(text_, at_);
        if (end == start) return fail_expected(start);
        if (!places_.empty() && places_.back().second == start) {
            return fail(start, end, "unit-syntax", "expected a space, · or / between two units",
                        "m2 kg");
        }
        UnitTerm term{ascii(text_.substr(start, end - start)), {}, 1};
        at_ = end;
        if (find_symbol(term.symbol) == nullptr && !is_money(term.symbol) && !split_power(term)) {
            return fail_unknown(start, end, term.symbol);
        }
        if (!read_power(term) || !read_word(term, start)) return;
        term.power *= sign;
        scan_.end = at_;
        places_.push_back({start, at_});
        terms_.push_back(std::move(term));
    }

    /// "m3" into m and 3, "s-1" leaves the sign for read_power.
    static bool split_power(UnitTerm& term) {
        std::size_t letters = term.symbol.size();
        while (letters > 0 && is_digit(term.symbol[letters - 1])) --letters;
        const std::string symbol = term.symbol.substr(0, letters);
        const std::string digits = term.symbol.substr(letters);
        if (digits.size() != 1 || (find_symbol(symbol) == nullptr && !is_money(symbol)))
            return false;
        term.symbol = symbol;
        term.power = digits[0] - '0';
        return term.power > 0;
    }

    /// ^2, ^-1, -1, ² behind a symbol.
    bool read_power(UnitTerm& term) {
        const std::size_t start = at_;
        std::string digits;
        while (const Superscript* superscript = superscript_at(text_, at_)) {
            digits += superscript->plain;
            at_ += superscript->character.size();
        }
        const bool caret = digits.empty() && stands_at(text_, at_, "^");
        if (caret) ++at_;
        if (caret || (stands_at(text_, at_, "-") && digit_at(text_, at_ + 1) && digits.empty())) {
            if (stands_at(text_, at_, "-")) digits += text_[at_++];
            while (digit_at(text_, at_)) digits += text_[at_++];
        }
        if (at_ == start) return true;
        int power = 0;
        const auto [stop, status] =
            std::from_chars(digits.data(), digits.data() + digits.size(), power);
        const bool whole = status == std::errc() && stop == digits.data() + digits.size();
        if (term.power == 1 && whole && power != 0 && power <= largest_power &&
            power >= -largest_power) {
            term.power = power;
            return true;
        }
        fail(start, std::max(at_, start + 1), "unit-syntax",
             fmt::format("\"{}\" is no power of a unit", text_.substr(start, at_ - start)),
             "a power is a whole number from 1 to 9, after / or with - in front: m2, m^2, s-1");
        return false;
    }

    /// The basis or label words that follow; at most one belongs to a symbol.
    bool read_word(UnitTerm& term, std::size_t start) {
        for (;;) {
            const std::size_t begin = after_spaces(text_, at_);
            const std::size_t end = word_end(text_, begin);
            const std::string word = ascii(text_.substr(begin, end - begin));
            if (std::find(words.begin(), words.end(), word) == words.end()) return true;
            if (!term.word.empty() || (word == "dry" && term.symbol == "ADt")) {
                fail(start, end, "mixed-basis",
                     fmt::format("\"{}\" has two bases", text_.substr(start, end - start)),
                     term.symbol == "ADt" ? "ADt is dry mass already (900 kg)"
                                          : "one basis belongs to a unit");
                return false;
            }
            if (!may_follow(term, word)) {
                fail(begin, end, "misplaced-basis", misplaced(term, word),
                     "write it behind the unit it belongs to: GJ LHV/t dry, kg CO2e/kWh");
                return false;
            }
            term.word = word;
            at_ = end;
        }
    }

    static bool may_follow(const UnitTerm& term, std::string_view word) {
        const UnitSymbol* symbol = find_symbol(term.symbol);
        if (symbol == nullptr) return false;
        const Measured measure = symbol->measure;
        if (word == "dry" || word == "CO2e") return measure == Measured::mass;
        if (word == "LHV" || word == "HHV")
            return measure == Measured::energy || measure == Measured::power;
        return (measure == Measured::length && term.power == 3) || measure == Measured::volume;
    }

    static std::string misplaced(const UnitTerm& term, std::string_view word) {
        const char* of = word == "dry" || word == "CO2e" ? "a mass"
                         : word == "world-eq"            ? "a volume of water"
                                                         : "an energy";
        const std::string power = term.power == 1 ? "" : std::to_string(term.power);
        return fmt::format("{} says something of {}, and {}{} is none", word, of, term.symbol,
                           power);
    }

    /// "of NAME" ends a unit.
    bool read_of(std::size_t begin) {
        const std::size_t end = word_end(text_, begin);
        if (text_.substr(begin, end - begin) != "of") return false;
        const std::size_t name = after_spaces(text_, end);
        const std::size_t name_end = word_end(text_, name);
        scan_.of = text_.substr(name, name_end - name);
        if (!is_name(scan_.of)) {
            fail(begin, std::max(name_end, end), "unit-syntax", "expected a name after \"of\"",
                 "0.444 kg/kg of fibre");
        }
        at_ = scan_.end = name_end;
        return true;
    }

    /// What has a zero of its own, and shares, are in no product of units.
    void check_alone() {
        if (terms_.size() == 1 && terms_[0].power == 1) return;
        for (std::size_t i = 0; i < terms_.size(); ++i) {
            const UnitSymbol* symbol = find_symbol(terms_[i].symbol);
            if (terms_[i].symbol == "points") {
                return fail(places_[i].first, places_[i].second, "unit-syntax",
                            "points stand alone", "2 points");
            }
            if (terms_[i].symbol == "%") {
                return fail(places_[i].first, places_[i].second, "unit-syntax",
                            "% stands alone, in no unit with others",
                            "a spread stands behind the unit: 930 kWh/t ± 5 % of value");
            }
            if (symbol == nullptr || symbol->offset == Offset::none) continue;
            const char* other = symbol->offset == Offset::bar_gauge
                                    ? "a difference of pressure is in bar"
                                    : "a difference of temperature is in K";
            return fail(places_[i].first, places_[i].second, "offset-unit",
                        fmt::format("{} has a zero of its own and stands alone", symbol->symbol),
                        other);
        }
    }

    void finish() {
        const std::size_t end = scan_.end;
        if (auto unit = unit_of_terms(std::move(terms_))) scan_.unit = *std::move(unit);
        else
            fail(start_, end, "unit-too-large", "this unit cannot be computed with exactly",
                 "use fewer or smaller powers");
    }

    void fail(std::size_t begin, std::size_t end, std::string code, std::string message,
              std::string hint) {
        scan_.error = {begin, end - begin, std::move(code), std::move(message), std::move(hint)};
    }

    void fail_expected(std::size_t at) {
        const bool ends = at >= text_.size();
        const std::string found(
            ends ? "the end"
                 : fmt::format("\"{}\"", text_.substr(at, character_length(text_, at))));
        fail(at, ends ? at : at + character_length(text_, at), "unit-syntax",
             fmt::format("expected a unit, found {}", found),
             "units look like GJ LHV/t dry, g/m2, kJ/(kg K)");
    }

    void fail_ambiguous(std::size_t at) {
        const std::size_t end = std::max(word_end(text_, at_), at_);
        const std::string above(text_.substr(first_word(), at - first_word()));
        const std::size_t slash = above.rfind('/');
        const std::string numerator = above.substr(0, slash), divisor(above.substr(slash + 1));
        const std::string more(text_.substr(at_, end - at_));
        const std::string plain_divisor = divisor.substr(0, end_without_spaces(divisor));
        const bool group = !plain_divisor.empty() && plain_divisor.front() == '(';
        const std::string inside =
            group ? plain_divisor.substr(1, plain_divisor.size() - 2) : plain_divisor;
        fail(at_, end, "ambiguous-unit", fmt::format("does \"{}\" divide or multiply here?", more),
             fmt::format("write {}/({} {}) or {} {}/{}", numerator, inside, more, numerator, more,
                         plain_divisor));
    }

    void fail_unknown(std::size_t begin, std::size_t end, const std::string& word) {
        if (small_letters(word) == "ton" || small_letters(word) == "tons") {
            return fail(
                begin, end, "ambiguous-unit", fmt::format("which ton is \"{}\"?", word),
                "write t (1000 kg), short_ton (907.18474 kg) or long_ton (1016.0469088 kg)");
        }
        if (std::find(words.begin(), words.end(), word) != words.end()) {
            return fail(begin, end, "misplaced-basis",
                        fmt::format("{} stands without the unit it belongs to", word),
                        "write it behind its unit: t dry, GJ LHV, kg CO2e");
        }
        fail(begin, end, "unknown-unit",
             fmt::format("unknown unit \"{}\"", text_.substr(begin, end - begin)), hint_for(word));
    }

    [[nodiscard]] std::size_t first_word() const { return after_spaces(text_, start_); }

    std::string_view text_;
    std::size_t at_;
    std::size_t start_;
    std::vector<UnitTerm> terms_;
    std::vector<std::pair<std::size_t, std::size_t>> places_;
    UnitScan scan_;
};

}  // namespace

UnitScan scan_unit(std::string_view text, std::size_t start) {
    return UnitReader(text, start).read();
}

}  // namespace deckle
