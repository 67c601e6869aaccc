#include "engine/study/rule_set.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>

#include "engine/mill/mill.h"

namespace deckle {
namespace {

constexpr std::array rules_key_list{Key{"id", Need::required},
                                    Key{"version", Need::required},
                                    Key{"declared_unit"},
                                    Key{"boundary"},
                                    Key{"cut_off"},
                                    Key{"allocation_order"},
                                    Key{"indicators"},
                                    Key{"limits"},
                                    Key{"note"}};
const KeyTable rules_keys{"rules", rules_key_list};

class RuleSetReader {
public:
    RuleSetReader(const YamlValue& map, const std::string& address, Problems& problems)
        : map_(map), address_(address), problems_(problems) {}

    RuleSet read() {
        rules_.id = text("id");
        rules_.version = text("version");
        rules_.declared_unit = text("declared_unit");
        rules_.boundary = text("boundary");
        rules_.cut_off = read_share(map_, "cut_off", address_ + ".cut_off", "5 %", problems_);
        read_allocation_order();
        read_indicators();
        read_limits();
        return std::move(rules_);
    }

private:
    std::string text(std::string_view key) {
        const YamlValue* value = map_.find(key);
        return value == nullptr ? std::string{} : read_text(*value, key, problems_);
    }

    /// One word or a list of words.
    std::vector<YamlValue> words(std::string_view key) {
        const YamlValue* value = map_.find(key);
        if (value == nullptr || value->kind == YamlValue::Kind::nothing) return {};
        if (value->is_scalar()) return {*value};
        if (!value->is_list()) {
            problems_.add(value->place, "not-a-list", fmt::format("{} is a list of words", key),
                          "");
            return {};
        }
        std::vector<YamlValue> list;
        for (const YamlValue& item : value->items) {
            if (!read_text(item, key, problems_).empty()) list.push_back(item);
        }
        return list;
    }

    void read_allocation_order() {
        for (const YamlValue& way : words("allocation_order")) {
            rules_.allocation_order.push_back(way.text);
            check_word(way, way.text, ways_to_allocate(), "allocation_order", problems_);
        }
    }

    void read_indicators() {
        for (const YamlValue& indicator : words("indicators")) {
            rules_.indicators.push_back(indicator.text);
            rules_.indicator_places.push_back(indicator.place);
        }
    }

    void read_limits() {
        const YamlEntry* limits = map_.entry("limits");
        if (limits == nullptr || limits->value.kind == YamlValue::Kind::nothing) return;
        if (!limits->value.is_map()) {
            problems_.add(key_place(*limits), "not-a-mapping",
                          fmt::format("limits is a mapping, not {}", limits->value.kind_text()),
                          "");
            return;
        }
        for (const YamlEntry& limit : limits->value.entries) {
            check_id(limit.key, key_place(limit), "a limit", problems_);
            auto stated = read_stated(limit.value, address_ + ".limits." + limit.key,
                                      key_place(limit), amount_keys, {}, problems_);
            if (stated) rules_.limits.emplace(limit.key, std::move(*stated));
        }
    }

    const YamlValue& map_;
    const std::string& address_;
    Problems& problems_;
    RuleSet rules_;
};

}  // namespace

bool RuleSet::asks_for(std::string_view indicator) const {
    return std::ranges::find(indicators, indicator) != indicators.end();
}

std::string RuleSet::text() const {
    std::string line;
    const auto add = [&](std::string_view what, const std::string& value) {
        if (!value.empty()) line += fmt::format("{}{}: {}", line.empty() ? "" : "; ", what, value);
    };
    add("declared unit", declared_unit);
    add("boundary", boundary);
    add("cut-off", cut_off ? cut_off->scalar.text : std::string{});
    add("allocation", fmt::format("{}", fmt::join(allocation_order, ", ")));
    add("counted in climate too", asks_for("climate_removals") ? "land removals" : "");
    return line;
}

RuleSet read_rule_set(const YamlEntry& entry, const std::string& address, Problems& problems) {
    RuleSet rules;
    if (check_keys(entry.value, rules_keys, key_place(entry), problems))
        rules = RuleSetReader(entry.value, address, problems).read();
    rules.place = key_place(entry);
    return rules;
}

const KeyTable& rule_set_keys() { return rules_keys; }

}  // namespace deckle
