#include "engine/quantity/quantity.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>

#include "engine/quantity/number.h"
#include "engine/quantity/unit_parser.h"
#include "engine/quantity/utf8.h"

namespace deckle {
namespace {

constexpr std::size_t longest_text = 4096;
constexpr double standard_atmosphere_pa = 101325.0;  // BIPM, SI Brochure, and ISO 2533:1975
constexpr double ice_point_k = 273.15;               // SI Brochure, 2.3.1: t/degC = T/K - 273.15
constexpr double fahrenheit_zero = 459.67;  // NIST SP 811, B.8: T/K = (t/degF + 459.67)/1.8

enum class Word : std::uint8_t { none, not_a_value, not_finite };

Word number_word(std::string_view text) {
    std::string lower(text);
    for (char& c : lower) c = static_cast<char>(c >= 'A' && c <= 'Z' ? c - 'A' + 'a' : c);
    if (lower == "~" || lower == "null") return Word::not_a_value;
    std::string_view rest = lower;
    if (!rest.empty() && (rest[0] == '-' || rest[0] == '+')) rest.remove_prefix(1);
    if (!rest.empty() && rest[0] == '.') rest.remove_prefix(1);
    const bool not_finite = rest == "nan" || rest == "inf" || rest == "infinity";
    return not_finite ? Word::not_finite : Word::none;
}

std::size_t plus_minus_at(std::string_view text, std::size_t at) {
    return one_of_at(text, at, {"\u00B1", "+/-"});
}

std::size_t times_divide_at(std::string_view text, std::size_t at) {
    return one_of_at(text, at, {"\u00D7\u00F7", "*/"});
}

bool is_percent(const Unit& unit) { return unit.text == "%" || unit.text == "points"; }

/// Reads left to right; the first error ends everything.
class QuantityReader {
public:
    QuantityReader(std::string_view text, Points points)
        : text_(text.substr(0, end_without_spaces(text))), points_(points) {}

    QuantityResult read() {
        at_ = after_spaces(text_, 0);
        if (check_text()) read_value();
        if (good()) read_spread_behind_unit();
        if (good()) check_end();
        if (good()) check_spread();
        if (!good()) return {std::nullopt, std::move(error_)};
        return {std::move(quantity_), {}};
    }

private:
    bool check_text() {
        if (text_.size() > longest_text) {
            fail(0, longest_text, "text-too-long", "this text is too long for a quantity",
                 "a quantity has at most 4096 characters");
        } else if (at_ >= text_.size() || number_word(text_) == Word::not_a_value) {
            fail(0, text_.size(), "no-value", "no value is given",
                 "write a quantity such as 4.35 GJ; what is known to be none is written 0 kg");
        } else if (number_word(text_.substr(at_)) == Word::not_finite) {
            fail(at_, text_.size(), "not-finite",
                 fmt::format("\"{}\" is not a finite number", text_.substr(at_)),
                 "write a quantity such as 4.35 GJ");
        }
        return good();
    }

    /// The number, a spread that stands before the unit, and the unit.
    void read_value() {
        quantity_.digits = read_number(quantity_.value);
        if (!good()) return;
        spread_start_ = after_spaces(text_, at_);
        if (stands_at(text_, spread_start_, "..")) return read_uniform();
        if (const std::size_t sign = plus_minus_at(text_, spread_start_))
            return read_half_width_before_unit(sign);
        read_unit();
    }

    void read_unit() {
        // "5 / x" is a formula: a unit behind a number does not begin with a slash.
        if (stands_at(text_, after_spaces(text_, at_), "/"))
            return fail_rest("per one of a unit is written 1/h: 5 1/h");
        const UnitScan scan = scan_unit_here();
        if (!good()) return;
        take_unit(scan);
        if (scan.of == "value") {
            fail(quantity_.unit_offset, quantity_.unit_offset + quantity_.unit_length, "bad-spread",
                 "\"of value\" says how far a value may be off", "4.35 GJ ± 5 % of value");
        }
    }

    void take_unit(const UnitScan& scan) {
        quantity_.unit = scan.unit;
        quantity_.of = scan.of;
        quantity_.unit_offset = unit_start_;
        quantity_.unit_length = scan.end - unit_start_;
        if (scan.unit.text == "points" && points_ == Points::refused) {
            fail(unit_start_, scan.end, "bad-spread",
                 "points are the difference of two values in %",
                 "write the value in %: 42 % ± 1 points");
        }
    }

    /// 4.1 .. 4.6 GJ
    void read_uniform() {
        TypedSpread& spread = quantity_.spread;
        spread.kind = SpreadKind::uniform;
        spread.low = quantity_.value;
        at_ = after_spaces(text_, spread_start_ + 2);
        const std::string high = read_number(spread.high);
        if (!good()) return;
        spread_start_ = after_spaces(text_, 0);
        end_spread();
        quantity_.digits += " .. " + high;
        quantity_.value = 0.5 * spread.low + 0.5 * spread.high;
        read_unit();
    }

    /// 4.35 ± 0.20 GJ: one unit for both; 0.35 ± 5 % of value: none.
    void read_half_width_before_unit(std::size_t sign) {
        read_half_width(sign);
        if (!good() || fails_percent_before_unit()) return;
        const UnitScan scan = scan_unit_here();
        if (!good()) return;
        if (is_percent(scan.unit) && scan.of == "value") return finish_relative(scan);
        if (is_percent(scan.unit)) return fail_bare_percent(scan);
        if (scan.unit.offset != Offset::none) return fail_offset_half_width(scan);
        end_spread();
        at_ = scan.end;
        take_unit(scan);
    }

    /// 930 ± 5 % kWh/t
    bool fails_percent_before_unit() {
        const std::size_t sign = after_spaces(text_, at_), behind = after_spaces(text_, sign + 1);
        if (!stands_at(text_, sign, "%")) return false;
        const UnitScan unit = scan_unit(text_, behind);
        if (unit.error.any() || unit.end == behind || unit.unit.text.empty()) return false;
        fail(spread_start_, unit.end, "bare-percent-spread",
             fmt::format("± {} % does not say of what", half_width_digits_),
             fmt::format("write {} {} ± {} % of value", quantity_.digits, unit.unit.text,
                         half_width_digits_));
        return true;
    }

    void read_spread_behind_unit() {
        const std::size_t start = after_spaces(text_, at_);
        if (quantity_.spread.kind != SpreadKind::none) return;
        spread_start_ = start;
        if (const std::size_t sign = plus_minus_at(text_, start)) read_half_width_behind_unit(sign);
        else if (const std::size_t times = times_divide_at(text_, start)) read_factor(times);
        else if (stands_at(text_, start, "(")) read_triangle();
    }

    void read_half_width(std::size_t sign) {
        TypedSpread& spread = quantity_.spread;
        spread.kind = SpreadKind::normal;
        at_ = after_spaces(text_, spread_start_ + sign);
        half_width_digits_ = read_number(spread.half_width);
        if (good() && spread.half_width < 0.0)
            fail(spread_start_, at_, "bad-spread", "a half-width is not negative", "± 0.20 GJ");
    }

    void read_half_width_behind_unit(std::size_t sign) {
        read_half_width(sign);
        if (!good()) return;
        const UnitScan scan = scan_unit_here();
        if (!good()) return;
        const bool in_percent = is_percent(quantity_.unit);
        if (scan.unit.text == "%" && scan.of == "value") return finish_relative(scan);
        if (scan.unit.text == "%" || (scan.unit.text.empty() && in_percent))
            return fail_bare_percent(scan);
        if (scan.unit.text == "points" && !in_percent) {
            return fail(
                spread_start_, scan.end, "bad-spread",
                fmt::format("points belong to a value in %, this one is in {}", unit_words()),
                relative_hint());
        }
        finish_absolute(scan);
    }

    void finish_relative(const UnitScan& scan) {
        if (quantity_.unit.offset != Offset::none) {
            return fail(
                spread_start_, scan.end, "bad-spread",
                fmt::format("a share of a value in {} depends on its zero", quantity_.unit.text),
                fmt::format("write an absolute half-width: ± 3 {}",
                            difference_unit(quantity_.unit).text));
        }
        quantity_.spread.relative = true;
        quantity_.spread.half_width /= 100.0;
        at_ = scan.end;
        end_spread();
    }

    void finish_absolute(const UnitScan& scan) {
        const Unit expected = difference_unit(quantity_.unit);
        if (scan.unit.offset != Offset::none) return fail_offset_half_width(scan);
        if (scan.unit.text.empty() && !expected.text.empty()) {
            return fail(spread_start_, at_, "bad-spread", "the half-width has no unit",
                        fmt::format("write ± {} {}", half_width_digits_, expected.text));
        }
        const auto change = conversion(scan.unit, expected);
        if (!change || !scan.of.empty()) {
            return fail(spread_start_, scan.end, "bad-spread",
                        fmt::format("the half-width is {}, the value {}",
                                    scan.unit.dimension.text(), expected.dimension.text()),
                        fmt::format("write ± {} {}", half_width_digits_, expected.text));
        }
        quantity_.spread.half_width = change->apply(quantity_.spread.half_width);
        at_ = scan.end;
        end_spread();
    }

    /// ×÷ 1.3
    void read_factor(std::size_t sign) {
        TypedSpread& spread = quantity_.spread;
        spread.kind = SpreadKind::lognormal;
        at_ = after_spaces(text_, spread_start_ + sign);
        read_number(spread.factor);
        end_spread();
    }

    /// (4.1 .. 4.8), in the unit of the value
    void read_triangle() {
        TypedSpread& spread = quantity_.spread;
        spread.kind = SpreadKind::triangular;
        at_ = after_spaces(text_, spread_start_ + 1);
        read_number(spread.low);
        if (good()) expect("..");
        if (good()) read_number(spread.high);
        if (good()) expect(")");
        end_spread();
    }

    void expect(std::string_view part) {
        at_ = after_spaces(text_, at_);
        const std::size_t end = at_ < text_.size() ? at_ + character_length(text_, at_) : at_;
        if (!stands_at(text_, at_, part))
            return fail(at_, end, "bad-spread", fmt::format("expected {} here", part),
                        "4.35 GJ (4.1 .. 4.8), both in the unit of the value");
        at_ = after_spaces(text_, at_ + part.size());
    }

    void end_spread() {
        const std::string_view typed =
            text_.substr(spread_start_, std::max(at_, spread_start_) - spread_start_);
        quantity_.spread.offset = spread_start_;
        quantity_.spread.length = end_without_spaces(typed);
        quantity_.spread.typed = typed.substr(0, quantity_.spread.length);
    }

    void check_end() {
        at_ = after_spaces(text_, at_);
        if (at_ == text_.size()) return;
        const bool bare = quantity_.unit.text.empty() && quantity_.spread.kind == SpreadKind::none;
        if (bare && digit_at(text_, at_))
            return fail(0, text_.size(), "bad-number", fmt::format("\"{}\" has two numbers", text_),
                        "one space or _ stands between groups of exactly three digits: 52 000");
        fail_rest(
            "sums and products are formulas of names; a number with a unit gets a name under "
            "figures");
    }

    void check_spread() {
        const TypedSpread& spread = quantity_.spread;
        const auto bad = [&](std::string message, std::string hint) {
            fail(spread.offset, spread.offset + spread.length, "bad-spread", std::move(message),
                 std::move(hint));
        };
        switch (spread.kind) {
            case SpreadKind::none:
            case SpreadKind::normal: return;
            case SpreadKind::lognormal:
                if (!(spread.factor > 1.0))
                    return bad("the factor of a lognormal is above 1", "4.35 GJ ×÷ 1.3");
                if (quantity_.unit.offset != Offset::none)
                    return bad(fmt::format("{} takes absolute spreads only", quantity_.unit.text),
                               "175 degC ± 3 K");
                if (!(quantity_.value > 0.0))
                    return bad("a lognormal value is above 0", "give ± or a range");
                return;
            case SpreadKind::triangular:
            case SpreadKind::uniform:
                if (!(spread.low < spread.high))
                    return bad("the lower end is below the upper end", "4.1 .. 4.6");
                if (!(spread.low <= quantity_.value && quantity_.value <= spread.high)) {
                    return bad(fmt::format("the value {} lies outside its range", quantity_.digits),
                               "4.35 GJ (4.1 .. 4.8)");
                }
                return;
            default: return;  // typed as a mapping
        }
    }

    std::string read_number(double& value) {
        const NumberScan scan = scan_number(text_, at_);
        if (scan.error.any()) error_ = scan.error;
        value = scan.value;
        at_ = scan.end;
        return scan.digits;
    }

    /// The unit that stands here; moves on only over one that is there.
    UnitScan scan_unit_here() {
        unit_start_ = after_spaces(text_, at_);
        UnitScan scan = scan_unit(text_, unit_start_);
        if (scan.error.any()) error_ = scan.error;
        else if (scan.end == unit_start_) scan.end = unit_start_ = at_;
        else at_ = scan.end;
        return scan;
    }

    void fail_bare_percent(const UnitScan& scan) {
        const bool in_percent = is_percent(quantity_.unit) || quantity_.unit.text.empty();
        const std::string points = fmt::format("± {} points", half_width_digits_),
                          share = fmt::format("± {} % of value", half_width_digits_);
        const std::string message =
            in_percent
                ? fmt::format("± {} of a value in % can be read in two ways", half_width_digits_)
                : fmt::format("± {} % does not say of what", half_width_digits_);
        const std::string hint = in_percent
                                     ? fmt::format("write {} % {} or {} % {}", quantity_.digits,
                                                   points, quantity_.digits, share)
                                     : fmt::format("write {}", share);
        fail(spread_start_, std::max(scan.end, at_), "bare-percent-spread", message, hint);
    }

    void fail_offset_half_width(const UnitScan& scan) {
        const std::string difference = difference_unit(scan.unit).text;
        fail(spread_start_, scan.end, "bad-spread",
             fmt::format("a difference is in {}, not in {}", difference, scan.unit.text),
             fmt::format("write {} {} ± 3 {}", quantity_.digits, scan.unit.text, difference));
    }

    void fail_rest(std::string hint) {
        const std::size_t begin = after_spaces(text_, at_);
        fail(begin, text_.size(), "not-a-quantity",
             fmt::format("unexpected \"{}\" in a quantity", text_.substr(begin)), std::move(hint));
    }

    [[nodiscard]] std::string unit_words() const {
        return quantity_.unit.text.empty() ? "no unit" : quantity_.unit.text;
    }
    [[nodiscard]] std::string relative_hint() const {
        return fmt::format("write ± {} % of value", half_width_digits_);
    }

    [[nodiscard]] bool good() const { return !error_.any(); }

    void fail(std::size_t begin, std::size_t end, std::string code, std::string message,
              std::string hint) {
        error_ = {begin, end - begin, std::move(code), std::move(message), std::move(hint)};
    }

    std::string_view text_;
    Points points_;
    std::size_t at_ = 0;
    std::size_t unit_start_ = 0;
    std::size_t spread_start_ = 0;
    std::string half_width_digits_;
    Quantity quantity_;
    TextError error_;
};

double without_zero(double value, Offset offset) {
    switch (offset) {
        case Offset::deg_c: return value + ice_point_k;
        case Offset::deg_f: return (value + fahrenheit_zero) * 5.0 / 9.0;
        case Offset::bar_gauge: return value * 1e5 + standard_atmosphere_pa;
        case Offset::none: break;
    }
    return value;
}

}  // namespace

QuantityResult parse_quantity(std::string_view text, Points points) {
    return QuantityReader(text, points).read();
}

Quantity without_offset(const Quantity& quantity) {
    Quantity plain = quantity;
    const Offset offset = quantity.unit.offset;
    plain.unit = difference_unit(quantity.unit);
    plain.value = without_zero(quantity.value, offset);
    plain.spread.low = without_zero(quantity.spread.low, offset);
    plain.spread.high = without_zero(quantity.spread.high, offset);
    return plain;
}

double sigma_of_half_width(double half_width) { return half_width / normal_half_width_95; }

double sigma_of_factor(double factor) { return std::log(factor) / normal_half_width_95; }

bool is_number_word(std::string_view text) {
    const std::string_view trimmed = text.substr(0, end_without_spaces(text));
    const std::size_t start = after_spaces(trimmed, 0);
    return start == trimmed.size() || number_word(trimmed.substr(start)) != Word::none;
}

}  // namespace deckle
