#include "engine/tables/stated.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>

#include "engine/declaration/forms.h"
#include "engine/tables/limits.h"
#include "engine/tables/quality.h"
#include "engine/tables/spread_reader.h"
#include "engine/text/nearest.h"

namespace deckle {
namespace {

constexpr std::array amount_key_list{Key{"amount", Need::required},
                                     Key{"spread"},
                                     Key{"data_quality"},
                                     Key{"amount_is"},
                                     Key{"source"},
                                     Key{"note"}};
constexpr std::array<std::string_view, 4> amount_kinds{"metered", "invoiced", "calculated",
                                                       "estimated"};
constexpr std::array<std::string_view, 17> reserved{
    "results", "products", "made", "factor", "today", "study", "scenarios", "all", "figures",
    "waters",  "rest",     "min",  "max",    "exp",   "ln",    "sqrt",      "as"};

void read_amount_is(const YamlValue& map, Stated& stated, Problems& problems) {
    const YamlValue* value = map.find("amount_is");
    if (value == nullptr || value->kind == YamlValue::Kind::nothing) return;
    stated.amount_is = read_text(*value, "amount_is", problems);
    if (std::ranges::find(amount_kinds, stated.amount_is) == amount_kinds.end()) {
        problems.add(value->place, "unknown-word",
                     fmt::format("amount_is: {} is not known", stated.amount_is),
                     "metered, invoiced, calculated or estimated");
    }
}

bool check_kind(const Stated& stated, const StatedRules& rules, Problems& problems) {
    const Amount& amount = stated.amount;
    if (amount.kind == Amount::Kind::wrong) {
        add(problems, stated.scalar, amount.error);
        return false;
    }
    const bool is_rest = amount.kind == Amount::Kind::word && !rules.rest_word.empty() &&
                         amount.word == rules.rest_word;
    if (amount.kind != Amount::Kind::quantity && rules.allow == Allow::quantity && !is_rest) {
        problems.add(stated.scalar.place, "not-a-quantity",
                     fmt::format("{} is not a number with its unit", stated.scalar.text),
                     "formulas stand in mills only, where their figures have names");
        return false;
    }
    if (amount.kind != Amount::Kind::quantity) return true;
    if (!amount.quantity.of.empty() && !rules.of_part) {
        problems.add(stated.scalar.place, "wrong-unit",
                     fmt::format("\"of {}\" says what a carbon share is of, and nothing else",
                                 amount.quantity.of),
                     "leave it out");
        return false;
    }
    return check_typed_value(stated.scalar, without_offset(amount.quantity), rules.within,
                             problems);
}

/// Nothing, or a list, where an amount was expected; the last key of the address names it.
void report_no_scalar(const YamlValue& value, std::string_view address, Place where,
                      Problems& problems) {
    if (value.kind != YamlValue::Kind::nothing) {
        problems.add(value.place.known() ? value.place : where, "not-a-quantity",
                     fmt::format("a number with its unit was expected, not {}", value.kind_text()),
                     "for example 4.35 GJ");
        return;
    }
    problems.add(where, "empty-value",
                 fmt::format("{} has no value", address.substr(address.rfind('.') + 1)),
                 "write the value, or leave the key out");
}

}  // namespace

const KeyTable amount_keys{"amount", amount_key_list};

std::optional<Stated> read_stated(const YamlValue& value, std::string address, Place where,
                                  const KeyTable& table, const StatedRules& rules,
                                  Problems& problems) {
    Stated stated;
    stated.address = std::move(address);
    const YamlValue* scalar = &value;
    if (value.is_map()) {
        if (!check_keys(value, table, where, problems)) return std::nullopt;
        scalar = value.find("amount");
        read_amount_is(value, stated, problems);
        if (const YamlValue* note = value.find("note"))
            stated.note = read_text(*note, "note", problems);
        if (const YamlValue* source = value.find("source"))
            stated.source = read_citation(*source, where, problems);
        if (const YamlEntry* scores = value.entry("data_quality"))
            stated.scores = read_scores(*scores, problems);
        if (scalar == nullptr) return std::nullopt;  // reported as a missing key
    }
    if (!scalar->is_scalar()) {
        const bool reported = scalar->kind == YamlValue::Kind::nothing && scalar != &value;
        if (!scalar->refused && !reported)
            report_no_scalar(*scalar, stated.address, where, problems);
        return std::nullopt;
    }
    stated.scalar = *scalar;
    stated.within = rules.within;
    stated.allow = rules.allow;
    stated.amount = parse_amount(scalar->text);
    if (!check_kind(stated, rules, problems)) return std::nullopt;
    if (stated.is_quantity()) stated.amount.quantity = without_offset(stated.amount.quantity);
    if (const YamlEntry* spread = value.entry("spread");
        spread != nullptr && spread->value.kind != YamlValue::Kind::nothing &&
        !read_spread(*spread, stated, problems))
        return std::nullopt;
    if (!check_typed_spread(stated, problems)) return std::nullopt;
    return stated;
}

bool require_dimension(const Stated& stated, const Dimension& expected, std::string_view what,
                       std::string_view example, Problems& problems) {
    if (!stated.is_quantity() || stated.unit().dimension == expected) return true;
    problems.add(
        place_inside(stated.scalar, stated.amount.quantity.unit_offset,
                     std::max<std::size_t>(1, stated.amount.quantity.unit_length)),
        "wrong-unit",
        fmt::format("{} is {}, not {}", what, expected.text(), stated.unit().dimension.text()),
        fmt::format("for example {}", example));
    return false;
}

std::optional<Stated> read_share(const YamlValue& map, std::string_view key, std::string address,
                                 std::string_view example, Problems& problems) {
    const YamlEntry* entry = map.entry(key);
    if (entry == nullptr) return std::nullopt;
    auto stated = read_stated(entry->value, std::move(address), key_place(*entry), amount_keys,
                              {Allow::quantity, Within::share, {}}, problems);
    if (stated && !require_dimension(*stated, dimensions::number, key, example, problems))
        return std::nullopt;
    return stated;
}

void check_word(const YamlValue& value, std::string_view word,
                std::span<const std::string_view> known, std::string_view what,
                Problems& problems) {
    if (word.empty() || std::ranges::find(known, word) != known.end()) return;
    const std::vector<std::string> names(known.begin(), known.end());
    const std::string near = did_you_mean(word, names);
    problems.add(value.place, "unknown-word", fmt::format("{}: {} is not known", what, word),
                 near.empty() ? fmt::format("known: {}", fmt::join(known, ", ")) : near);
}

std::string read_period(const YamlValue& value, std::string_view what, Problems& problems) {
    std::string text = read_text(value, what, problems);
    if (!text.empty() && !period_from(text))
        problems.add(value.place, "bad-period",
                     fmt::format("{}: {} is no time from one day to another", what, text),
                     "2025-01-01 .. 2025-12-31, or a year (2025), a month (2025-04) or a day; the "
                     "first day comes first");
    return text;
}

const DischargeRow* find_discharge(const YamlEntry& entry, Problems& problems) {
    const auto rows = discharge_rows();
    const auto found = std::ranges::find(rows, entry.key, &DischargeRow::id);
    if (found != rows.end()) return &*found;
    std::vector<std::string> names;
    for (const DischargeRow& row : rows) names.emplace_back(row.id);
    const std::string near = did_you_mean(entry.key, names);
    problems.add(key_place(entry), "unknown-discharge",
                 fmt::format("there is no discharge {}", entry.key),
                 near.empty() ? fmt::format("known: {}", fmt::join(names, ", ")) : near);
    return nullptr;
}

bool read_yes(const YamlValue& value, std::string_view what, Problems& problems) {
    if (value.is_scalar() && (value.text == "yes" || value.text == "true")) return true;
    if (value.is_scalar() && (value.text == "no" || value.text == "false")) return false;
    problems.add(value.place, "not-yes-or-no", fmt::format("{} is yes or no", what),
                 "write yes or no");
    return false;
}

std::string read_text(const YamlValue& value, std::string_view what, Problems& problems) {
    if (value.is_scalar() && value.text.empty()) {
        problems.add(value.place, "empty-value", fmt::format("{} has no value", what),
                     "write the value, or leave the key out");
    }
    if (value.is_scalar()) return value.text;
    if (value.kind != YamlValue::Kind::nothing) {
        problems.add(value.place, "not-text",
                     fmt::format("{} is one line of text, not {}", what, value.kind_text()), "");
    }
    return {};
}

bool check_id(std::string_view id, Place place, std::string_view what, Problems& problems) {
    const auto good = [](char c) {
        return (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9') || c == '_';
    };
    if (id.empty() || !(id[0] >= 'a' && id[0] <= 'z') || !std::ranges::all_of(id, good)) {
        problems.add(place, "bad-id", fmt::format("{} cannot be the id of {}", id, what),
                     "ids are lower_snake_case: small letters, digits and _, a letter first");
        return false;
    }
    if (std::ranges::find(reserved, id) != reserved.end()) {
        problems.add(place, "reserved-id",
                     fmt::format("{} is a word of Deckle and cannot be an id", id),
                     "choose another name");
        return false;
    }
    return true;
}

Place key_place(const YamlEntry& entry) {
    Place place = entry.place;
    place.length = static_cast<std::uint32_t>(std::max<std::size_t>(1, entry.key.size()));
    return place;
}

}  // namespace deckle
