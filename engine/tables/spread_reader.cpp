#include "engine/tables/spread_reader.h"

#include <fmt/format.h>

#include <algorithm>
#include <limits>

#include "engine/text/nearest.h"

namespace deckle {
namespace {

constexpr std::array spread_key_list{Key{"shape", Need::required},
                                     Key{"half_width"},
                                     Key{"factor"},
                                     Key{"low"},
                                     Key{"high"},
                                     Key{"inexact_by"},
                                     Key{"scale"},
                                     Key{"degrees_of_freedom"}};

constexpr double open_end = std::numeric_limits<double>::infinity();
constexpr std::string_view of_value = "of value";

/// How the value of a key is read.
enum class Reading : std::uint8_t { end, difference, number };

Reading reading_of(std::string_view key) {
    if (key == "low" || key == "high") return Reading::end;
    return key == "factor" || key == "degrees_of_freedom" ? Reading::number : Reading::difference;
}

double& field_of(TypedSpread& spread, std::string_view key) {
    if (key == "low") return spread.low;
    if (key == "high") return spread.high;
    if (key == "factor") return spread.factor;
    if (key == "inexact_by") return spread.inexact_by;
    if (key == "scale") return spread.scale;
    if (key == "degrees_of_freedom") return spread.degrees_of_freedom;
    return spread.half_width;
}

class SpreadReader {
public:
    SpreadReader(const YamlEntry& entry, Stated& stated, Problems& problems)
        : entry_(entry), stated_(stated), problems_(problems) {}

    bool read() {
        const std::size_t before = problems_.count();
        if (!may_have_one()) return false;
        if (!check_keys(entry_.value, spread_keys, key_place(entry_), problems_)) return false;
        if (const SpreadRow* row = shape()) read_parameters(*row);
        if (problems_.count() == before) check();
        return problems_.count() == before;
    }

private:
    bool may_have_one() {
        if (!stated_.is_quantity()) {
            problems_.add(
                key_place(entry_), "spread-without-number",
                fmt::format("{} is no number that could have a spread", stated_.scalar.text),
                "give the figures that a formula is made of their spreads");
            return false;
        }
        if (spread().kind == SpreadKind::none) return true;
        problems_.add(key_place(entry_), "two-spreads",
                      fmt::format("the amount has a spread already: {}", spread().typed),
                      "keep one of the two", {stated_.place()});
        return false;
    }

    const SpreadRow* shape() {
        const YamlValue* value = entry_.value.find("shape");
        if (value == nullptr) return nullptr;  // reported as a missing key
        const std::string word = read_text(*value, "shape", problems_);
        if (!value->is_scalar()) return nullptr;
        std::vector<std::string> names;
        for (const SpreadRow& row : all_spreads().subspan(1)) {
            if (row.name == word) {
                spread().kind = row.kind;
                spread().typed = word;
                return &row;
            }
            names.emplace_back(row.name);
        }
        problems_.add(value->place, "unknown-word", fmt::format("there is no shape {}", word),
                      fmt::format("known: {}", fmt::join(names, ", ")));
        return nullptr;
    }

    void read_parameters(const SpreadRow& row) {
        if (row.kind == SpreadKind::truncated_normal) {
            spread().low = -open_end;
            spread().high = open_end;
        }
        const std::span wanted(row.parameters.data(), row.count);
        for (const YamlEntry& entry : entry_.value.entries) {
            if (entry.key == "shape" || std::ranges::count(wanted, entry.key) != 0) continue;
            problems_.add(
                key_place(entry), "bad-spread",
                fmt::format("{} says nothing of a spread that is {}", entry.key, row.name),
                fmt::format("it takes {}", fmt::join(wanted, ", ")));
        }
        for (std::size_t k = 0; k < row.count; ++k) {
            const YamlEntry* entry = entry_.value.entry(wanted[k]);
            stated_.spread_parts.emplace_back();
            if (entry != nullptr) {
                read_parameter(*entry);
                stated_.spread_parts.back() = {entry->value.place, entry->value.text};
                spread().typed += fmt::format(" {} {}", entry->key, entry->value.text);
            } else if (k < row.open) {
                problems_.add(key_place(entry_), "missing-key",
                              fmt::format("a spread that is {} needs {}", row.name, wanted[k]),
                              fmt::format("it takes {}", fmt::join(wanted, ", ")));
            }
        }
    }

    void read_parameter(const YamlEntry& entry) {
        if (!entry.value.is_scalar()) {
            (void)read_text(entry.value, entry.key, problems_);
            if (entry.value.kind == YamlValue::Kind::nothing)
                problems_.add(key_place(entry), "empty-value",
                              fmt::format("{} has no value", entry.key), "write the value");
            return;
        }
        std::string_view text = entry.value.text;
        if (entry.key == "half_width" && text.ends_with(of_value)) {
            spread().relative = true;
            text.remove_suffix(of_value.size());
        }
        const Reading reading = reading_of(entry.key);
        const QuantityResult parsed = parse_quantity(
            text, reading == Reading::difference ? Points::allowed : Points::refused);
        if (!parsed.quantity) return add(problems_, entry.value, parsed.error);
        if (parsed.quantity->spread.kind != SpreadKind::none || !parsed.quantity->of.empty())
            return refuse(entry, "it is one number with its unit, without a spread of its own",
                          "4.1 GJ");
        take(entry, reading, *parsed.quantity);
    }

    void take(const YamlEntry& entry, Reading reading, const Quantity& typed) {
        const bool percent = typed.unit.text == "%";
        if (spread().relative && entry.key == "half_width") {
            if (!percent) return refuse(entry, "a share of the value is in %", "5 % of value");
            spread().half_width = typed.value / 100.0;
            return;
        }
        if (reading == Reading::difference && typed.unit.offset != Offset::none)
            return refuse(entry, fmt::format("a difference is not in {}", typed.unit.text),
                          difference_unit(typed.unit).text);
        if (reading == Reading::difference && percent) {
            problems_.add(entry.value.place, "bare-percent-spread",
                          fmt::format("{} does not say of what", entry.value.text),
                          stated_.unit().text == "%" ? "1 points, or 1 % of value for a half_width"
                                                     : "5 % of value for a half_width");
            return;
        }
        Unit expected;
        if (reading == Reading::end) expected = stated_.unit();
        if (reading == Reading::difference) expected = difference_unit(stated_.unit());
        const Quantity plain = without_offset(typed);
        const auto change = conversion(plain.unit, expected);
        if (!change) {
            problems_.add(entry.value.place, "wrong-unit",
                          fmt::format("{} is {}, not {}", entry.key, plain.unit.dimension.text(),
                                      expected.dimension.text()),
                          expected.text.empty() ? "write a plain number"
                                                : fmt::format("write it in {}", expected.text));
            return;
        }
        field_of(spread(), entry.key) = change->apply(plain.value);
    }

    /// What the values must be among themselves and beside the amount.
    void check() {
        const TypedSpread& s = spread();
        const double value = stated_.amount.quantity.value;
        const bool two_ended = s.kind != SpreadKind::normal && s.kind != SpreadKind::lognormal &&
                               s.kind != SpreadKind::student_t;
        const bool has_width =
            s.kind == SpreadKind::normal || s.kind == SpreadKind::truncated_normal;
        if (has_width && !(s.half_width > 0.0))
            return refuse_key("half_width", "a half-width is above zero");
        if (s.kind == SpreadKind::lognormal && !(s.factor > 1.0))
            return refuse_key("factor", "the factor of a lognormal is above 1");
        if (s.kind == SpreadKind::lognormal && !(value > 0.0))
            return refuse_key("shape", "a lognormal value is above 0");
        if (s.kind == SpreadKind::student_t) return check_student();
        if (s.kind == SpreadKind::truncated_normal && s.low == -open_end && s.high == open_end)
            return refuse_key("shape", "a truncated normal has a low end, a high end, or both");
        if (two_ended && !(s.low < s.high))
            return refuse_key("high", "the lower end is below the upper end");
        if (two_ended && !(s.low <= value && value <= s.high))
            return refuse_key("low", fmt::format("the value {} lies outside its range",
                                                 stated_.amount.quantity.digits));
        if (s.kind != SpreadKind::curvilinear_trapezoid) return;
        if (!(s.inexact_by > 0.0))
            return refuse_key("inexact_by", "ends that are exact make a uniform spread");
        if (!(s.inexact_by < 0.5 * (s.high - s.low)))
            return refuse_key("inexact_by", "the ends could change places");
    }

    void check_student() {
        if (!(spread().scale > 0.0)) return refuse_key("scale", "a scale is above zero");
        if (!(spread().degrees_of_freedom > 2.0))
            refuse_key("degrees_of_freedom",
                       "with two degrees of freedom or fewer a Student t has no standard deviation "
                       "(JCGM 101:2008, 6.4.9.4)");
    }

    void refuse_key(std::string_view key, std::string message) {
        const YamlEntry* entry = entry_.value.entry(key);
        problems_.add(entry == nullptr ? key_place(entry_) : entry->value.place, "bad-spread",
                      std::move(message), hint());
    }

    void refuse(const YamlEntry& entry, std::string message, std::string hint_text) {
        problems_.add(entry.value.place, "bad-spread", std::move(message),
                      fmt::format("for example {}", hint_text));
    }

    [[nodiscard]] std::string hint() const {
        switch (spread().kind) {
            case SpreadKind::student_t:
                return "for example {shape: student_t, scale: 0.2 GJ, degrees_of_freedom: 9}";
            case SpreadKind::truncated_normal:
                return "for example {shape: truncated_normal, half_width: 2 GJ, low: 0 GJ}";
            case SpreadKind::curvilinear_trapezoid:
                return "for example {shape: curvilinear_trapezoid, low: 4.1 GJ, high: 4.6 GJ, "
                       "inexact_by: 0.1 GJ}";
            case SpreadKind::normal: return "for example 4.35 GJ ± 0.20 GJ";
            case SpreadKind::lognormal: return "for example 4.35 GJ ×÷ 1.3";
            default: return "for example {shape: arcsine, low: 4.1 GJ, high: 4.6 GJ}";
        }
    }

    [[nodiscard]] TypedSpread& spread() const { return stated_.amount.quantity.spread; }

    const YamlEntry& entry_;
    Stated& stated_;
    Problems& problems_;
};

}  // namespace

const KeyTable spread_keys{"spread", spread_key_list};

bool read_spread(const YamlEntry& entry, Stated& stated, Problems& problems) {
    return SpreadReader(entry, stated, problems).read();
}

namespace {

constexpr std::string_view short_forms =
    "± 5 % of value, ± 0.2 GJ, ± 1 points, ×÷ 1.3, (4.1 .. 4.8), or {shape: arcsine, low: ...}";

/// The value and its unit, without a spread: what a short form stands behind.
std::string bare_text(const Stated& stated) {
    const Quantity& quantity = stated.amount.quantity;
    const bool range = quantity.digits.find("..") != std::string::npos;
    return fmt::format("{} {}", range ? fmt::format("{}", quantity.value) : quantity.digits,
                       stated.scalar.text.substr(quantity.unit_offset, quantity.unit_length));
}

bool take_short_form(const YamlValue& typed, Stated& stated, Problems& problems) {
    const std::string bare = bare_text(stated);
    const QuantityResult read = parse_quantity(fmt::format("{} {}", bare, typed.text));
    if (!read.quantity || read.quantity->spread.kind == SpreadKind::none) {
        problems.add(typed.place, read.quantity ? "bad-spread" : read.error.code,
                     read.quantity ? fmt::format("{} is no spread", typed.text)
                                   : fmt::format("about {}: {}", bare, read.error.message),
                     std::string(read.error.hint.empty() ? short_forms : read.error.hint));
        return false;
    }
    stated.amount.quantity = *read.quantity;
    stated.scalar.text = bare;
    stated.spread_parts.assign(row_of(read.quantity->spread.kind).count, {typed.place, typed.text});
    return true;
}

}  // namespace

void take_spread(const YamlEntry& entry, Stated& stated, Problems& problems) {
    Stated now = stated;
    now.spread_parts.clear();
    if (now.is_quantity()) now.amount.quantity.spread = {};
    if (entry.value.is_map() || !now.is_quantity()) {
        if (read_spread(entry, now, problems)) stated = std::move(now);
    } else if (!entry.value.is_scalar()) {
        problems.add(key_place(entry), "bad-spread", "a spread is a text or a mapping",
                     std::string(short_forms));
    } else if (take_short_form(entry.value, now, problems)) {
        stated = std::move(now);
    }
}

SpreadValues typed_spread_values(const Quantity& quantity) {
    const TypedSpread& typed = quantity.spread;
    const SpreadKind kind = typed.kind;
    SpreadValues made{kind, typed.relative, quantity.value, {}};
    const SpreadRow& row = row_of(kind);
    TypedSpread fields = typed;
    for (std::size_t k = 0; k < row.count; ++k) {
        constexpr double most = std::numeric_limits<double>::max();
        made.parameters[k] = std::clamp(field_of(fields, row.parameters[k]), -most, most);
    }
    return made;
}

}  // namespace deckle
