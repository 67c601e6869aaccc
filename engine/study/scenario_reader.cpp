#include <fmt/format.h>

#include <algorithm>
#include <array>

#include "engine/study/scenario.h"
#include "engine/text/nearest.h"

namespace deckle {
namespace {

constexpr std::array file_key_list{Key{"scenarios", Need::required}, Key{"note"}};
constexpr std::array scenario_key_list{Key{"title", Need::required}, Key{"on"}, Key{"changes"},
                                       Key{"note"}};
constexpr std::array set_key_list{Key{"set", Need::required}, Key{"to", Need::required},
                                  Key{"reason", Need::required}};
constexpr std::array scale_key_list{Key{"scale", Need::required}, Key{"by", Need::required},
                                    Key{"reason", Need::required}};
constexpr std::array add_key_list{Key{"add", Need::required}, Key{"to", Need::required},
                                  Key{"reason", Need::required}};
constexpr std::array use_key_list{Key{"use", Need::required},
                                  Key{"instead_of"},
                                  Key{"in"},
                                  Key{"amount"},
                                  Key{"share"},
                                  Key{"ratio"},
                                  Key{"dryness"},
                                  Key{"freight"},
                                  Key{"supply"},
                                  Key{"reason", Need::required}};
constexpr std::array buy_key_list{Key{"buy_from", Need::required}, Key{"for", Need::required},
                                  Key{"in"}, Key{"reason", Need::required}};
constexpr std::array process_key_list{Key{"process", Need::required}, Key{"is", Need::required},
                                      Key{"in_place_of"}, Key{"reason", Need::required}};
constexpr std::array meet_key_list{Key{"meet_change_of", Need::required},
                                   Key{"with", Need::required}, Key{"in"},
                                   Key{"reason", Need::required}};
constexpr std::array shift_key_list{Key{"shifts", Need::required}, Key{"in"},
                                    Key{"reason", Need::required}};
constexpr std::array shifts_key_list{Key{"from", Need::required}, Key{"to", Need::required},
                                     Key{"useful_heat", Need::required},
                                     Key{"efficiency", Need::required}, Key{"supply"}};
constexpr std::array efficiency_key_list{Key{"from", Need::required}, Key{"to", Need::required}};
constexpr std::array rule_key_list{Key{"rule", Need::required}, Key{"is", Need::required},
                                   Key{"in"}, Key{"reason", Need::required}};

const KeyTable file_keys{"scenarios", file_key_list};
const KeyTable scenario_keys{"scenario", scenario_key_list};
const KeyTable shifts_keys{"heat shifted", shifts_key_list};
const KeyTable efficiency_keys{"efficiency", efficiency_key_list};

/// A change begins with the key that says what it does.
struct ChangeRow {
    std::string_view key;
    Change::Kind kind;
    KeyTable keys;
};
const std::array<ChangeRow, 9> change_rows{
    {{"set", Change::Kind::set, {"set", set_key_list}},
     {"scale", Change::Kind::scale, {"scale", scale_key_list}},
     {"add", Change::Kind::add, {"add", add_key_list}},
     {"use", Change::Kind::use, {"use instead_of", use_key_list}},
     {"buy_from", Change::Kind::buy_from, {"buy_from", buy_key_list}},
     {"process", Change::Kind::process, {"process is", process_key_list}},
     {"meet_change_of", Change::Kind::meet_change_of, {"meet_change_of", meet_key_list}},
     {"shifts", Change::Kind::shifts, {"shifts", shift_key_list}},
     {"rule", Change::Kind::rule, {"rule", rule_key_list}}}};
constexpr std::array<std::string_view, 6> rule_words{"characterization", "scarcity",   "prices",
                                                     "electricity",      "allocation", "rules"};

/// Behind the address of an amount: how far it may be off.
constexpr std::string_view spread_suffix = ".spread";

constexpr StatedRules new_value{Allow::formula, Within::any, {}, true};
constexpr StatedRules positive_value{Allow::quantity, Within::positive, {}};
constexpr StatedRules ratio_value{Allow::formula, Within::positive, {}};
constexpr StatedRules share_value{Allow::formula, Within::share, {}};
constexpr StatedRules heat_value{Allow::formula, Within::not_negative, {}};

class ChangeReader {
public:
    ChangeReader(const YamlValue& map, std::string base, Problems& problems)
        : map_(map), base_(std::move(base)), problems_(problems) {}

    std::optional<Change> read(Place where) {
        if (!map_.is_map()) {
            problems_.add(map_.place.known() ? map_.place : where, "not-a-mapping",
                          fmt::format("a change is a mapping, not {}", map_.kind_text()), hint());
            return std::nullopt;
        }
        const auto row = std::ranges::find_if(
            change_rows, [&](const ChangeRow& one) { return map_.entry(one.key) != nullptr; });
        if (row == change_rows.end()) {
            if (!map_.refused)
                problems_.add(map_.place, "unknown-change", "this change does not say what it does",
                              hint());
            return std::nullopt;
        }
        if (!check_keys(map_, row->keys, map_.place, problems_)) return std::nullopt;
        change_.kind = row->kind;
        change_.id = base_;
        change_.place = key_place(*map_.entry(row->key));
        change_.reason = text("reason");
        read_kind();
        return complete_ ? std::optional(std::move(change_)) : std::nullopt;
    }

private:
    static std::string hint() {
        return "set, scale, add, use ... instead_of, buy_from, process, meet_change_of, shifts or "
               "rule";
    }

    void read_kind() {
        switch (change_.kind) {
            case Change::Kind::set:
                read_address("set");
                if (change_.address.ends_with(spread_suffix)) return read_spread_change();
                return read_amount("to", new_value, Points::refused);
            case Change::Kind::spread: return;  // a `set`, told by its address
            case Change::Kind::scale:
                read_address("scale");
                read_amount("by", positive_value, Points::refused);
                return refuse_neutral(1.0, "scaled by 1, it stays what it is");
            case Change::Kind::add:
                read_address("to");
                read_amount("add", {Allow::quantity, Within::any, {}}, Points::allowed);
                return check_added();
            case Change::Kind::use: return read_use();
            case Change::Kind::buy_from: return read_buy();
            case Change::Kind::process: return read_new_process();
            case Change::Kind::meet_change_of:
                read_address("meet_change_of");
                change_.with = text("with");
                return read_in();
            case Change::Kind::shifts: return read_shift();
            case Change::Kind::rule: return read_rule();
        }
    }

    std::string text(std::string_view key) {
        const YamlValue* value = map_.find(key);
        return value == nullptr ? std::string{} : read_text(*value, key, problems_);
    }

    void read_address(std::string_view key) {
        const YamlValue* value = map_.find(key);
        change_.address = text(key);
        if (value != nullptr) change_.address_place = value->place;
        if (change_.address.empty()) complete_ = false;  // reported
    }

    void read_in() {
        change_.in = text("in");
        if (const YamlValue* in = map_.find("in")) change_.in_place = in->place;
    }

    std::optional<Stated> stated(const YamlValue& map, std::string_view key,
                                 const std::string& base, const StatedRules& rules) {
        const YamlEntry* entry = map.entry(key);
        if (entry == nullptr) return std::nullopt;
        auto amount = read_stated(entry->value, fmt::format("{}.{}", base, key), key_place(*entry),
                                  amount_keys, rules, problems_);
        if (!amount) complete_ = false;
        return amount;
    }

    static YamlValue& amount_in(YamlValue& value) {
        for (YamlEntry& entry : value.entries) {
            if (entry.key == "amount") return entry.value;
        }
        return value;
    }

    /// "2 points" is an amount too where something in % is added to.
    void read_amount(std::string_view key, const StatedRules& rules, Points points) {
        const YamlEntry* entry = map_.entry(key);
        if (entry == nullptr) {
            complete_ = false;
            return;
        }
        YamlValue value = entry->value;
        YamlValue& scalar = amount_in(value);
        const std::string typed = scalar.text;
        constexpr std::string_view word = " points";
        const std::size_t at = typed.find(word);
        if (points == Points::allowed && at != std::string::npos)
            scalar.text.replace(at, word.size(), " %");
        change_.amount = read_stated(value, fmt::format("{}.{}", base_, key), key_place(*entry),
                                     amount_keys, rules, problems_);
        if (!change_.amount) complete_ = false;
        else change_.amount->scalar.text = typed;
    }

    /// A change that leaves everything as it is would look as if it had been counted.
    void refuse_neutral(double neutral, std::string_view message) {
        if (!change_.amount || !change_.amount->is_quantity()) return;
        const Quantity& by = change_.amount->amount.quantity;
        const auto plain = conversion(by.unit, {});
        const double value = plain ? plain->apply(by.value) : by.value;
        if (value != neutral || by.spread.kind != SpreadKind::none) return;
        problems_.add(change_.amount->place(), "nothing-changed", std::string(message),
                      "leave the change out");
        complete_ = false;
    }

    /// What is added is a difference: of temperatures in K, of values in % in points.
    void check_added() {
        refuse_neutral(0.0, "with nothing added, it stays what it is");
        if (!change_.amount || !change_.amount->is_quantity()) return;
        const YamlValue& typed = change_.amount->scalar;
        const Quantity quantity = parse_amount(typed.text, Points::allowed).quantity;
        if (quantity.unit.offset != Offset::none) {
            const std::string plain = difference_unit(quantity.unit).text;
            problems_.add(
                typed.place, "offset-unit",
                fmt::format("what is added is a difference, and no {}", quantity.unit.text),
                fmt::format("{} {}", quantity.digits, plain));
            complete_ = false;
        } else if (quantity.unit.text == "%") {
            problems_.add(typed.place, "bare-percent",
                          fmt::format("{} more of a value in % can mean two things", typed.text),
                          fmt::format("{} points, or scale it by {:.6g} %", quantity.digits,
                                      100.0 + quantity.value));
            complete_ = false;
        }
    }

    /// The amount it is set about is known when the graph is built, and reads the text.
    void read_spread_change() {
        change_.kind = Change::Kind::spread;
        if (const YamlEntry* to = map_.entry("to")) change_.spread = *to;
        else complete_ = false;  // reported
    }

    void read_thing(const YamlValue& map, std::string_view key) {
        const YamlValue* value = map.find(key);
        if (value == nullptr) return;
        change_.use.emplace();
        change_.use->place = value->place;
        split_use_key(read_text(*value, key, problems_), value->place, *change_.use, problems_);
    }

    void read_use() {
        read_thing(map_, "use");
        read_in();
        if (map_.entry("instead_of") != nullptr) read_address("instead_of");
        change_.share = stated(map_, "share", base_, share_value);
        change_.ratio = stated(map_, "ratio", base_, ratio_value);
        change_.amount = stated(map_, "amount", base_, heat_value);
        if (!change_.use) return;
        change_.use->dryness = stated(map_, "dryness", base_, {Allow::formula, Within::part, {}});
        if (const YamlEntry* freight = map_.entry("freight"))
            change_.use->freight = read_freight(freight->value, base_, problems_);
        if (const YamlEntry* supply = map_.entry("supply"))
            change_.use->supply = read_supply(*supply, problems_);
        if (change_.address.empty() != change_.amount.has_value() ||
            (change_.amount && change_.in.empty())) {
            problems_.add(change_.place, "unknown-change",
                          "a use is taken instead of another, or has an amount in a process",
                          "{use: wood_chips, instead_of: natural_gas}, or {use: electricity as "
                          "press, amount: 20 kWh/t, in: mill.process}");
            complete_ = false;
        }
    }

    void read_buy() {
        read_address("for");
        read_in();
        if (const YamlEntry* supply = map_.entry("buy_from"))
            change_.supply = read_supply(*supply, problems_);
    }

    void read_new_process() {
        read_address("process");
        change_.in_place_of = text("in_place_of");
        if (const YamlValue* other = map_.find("in_place_of")) change_.in_place = other->place;
        const std::size_t dot = change_.address.find('.');
        const YamlEntry* body = map_.entry("is");
        if (!complete_ || body == nullptr) return;
        if (dot == std::string::npos) {
            problems_.add(change_.address_place, "unknown-address",
                          fmt::format("{} is no address of a process", change_.address),
                          "MILL.PROCESS");
            complete_ = false;
            return;
        }
        const std::string id = change_.address.substr(dot + 1);
        check_id(id, change_.address_place, "a process", problems_);
        change_.process = read_process(change_.address.substr(0, dot), id, change_.address_place,
                                       body->value, problems_);
    }

    void read_shift() {
        const YamlEntry* entry = map_.entry("shifts");
        const YamlValue& map = entry->value;
        if (!check_keys(map, shifts_keys, key_place(*entry), problems_)) {
            complete_ = false;
            return;
        }
        read_in();
        const std::string base = base_ + ".shifts";
        if (const YamlValue* from = map.find("from")) {
            change_.address = read_text(*from, "from", problems_);
            change_.address_place = from->place;
        }
        read_thing(map, "to");
        if (change_.use) {
            if (const YamlEntry* supply = map.entry("supply"))
                change_.use->supply = read_supply(*supply, problems_);
        }
        if (const YamlValue* heat = map.find("useful_heat"); heat == nullptr || heat->text != "all")
            change_.useful_heat = stated(map, "useful_heat", base, heat_value);
        const YamlEntry* both = map.entry("efficiency");
        if (both == nullptr ||
            !check_keys(both->value, efficiency_keys, key_place(*both), problems_)) {
            complete_ = false;
            return;
        }
        change_.efficiency_from = stated(both->value, "from", base + ".efficiency", ratio_value);
        change_.efficiency_to = stated(both->value, "to", base + ".efficiency", ratio_value);
        complete_ = complete_ && change_.use && !change_.address.empty();
    }

    void read_rule() {
        change_.rule = text("rule");
        read_in();
        if (const YamlEntry* is = map_.entry("is")) {
            change_.word_place = is->value.place;
            if (change_.rule == "allocation") read_rule_of_allocation(*is);
            else if (change_.rule == "rules") read_rules(*is);
            else change_.word = text("is");
        }
        if (!change_.in.empty() && change_.rule != "allocation") {
            problems_.add(key_place(*map_.entry("in")), "unknown-key",
                          fmt::format("{} is a rule of the whole study", change_.rule),
                          "leave `in` out; it says where an allocation differs");
            complete_ = false;
        }
        if (std::ranges::find(rule_words, change_.rule) != rule_words.end()) return;
        problems_.add(map_.find("rule") == nullptr ? change_.place : map_.find("rule")->place,
                      "unknown-word", fmt::format("rule: {} is not known", change_.rule),
                      fmt::format("known: {}", fmt::join(rule_words, ", ")));
        complete_ = false;
    }

    void read_rules(const YamlEntry& is) {
        change_.rules = read_rule_set(is, base_ + ".is", problems_);
        change_.word = change_.rules->name();
        if (change_.rules->id.empty()) complete_ = false;  // reported
        const YamlEntry* limits = is.value.entry("limits");
        if (limits == nullptr) return;
        problems_.add(key_place(*limits), "unknown-key",
                      "limits of findings are those of the study's own rules",
                      "leave `limits` out here");
        complete_ = false;
    }

    void read_rule_of_allocation(const YamlEntry& is) {
        Allocation allocation = read_allocation(is, base_ + ".is", problems_);
        allocation.place = is.value.place;
        std::vector<std::string> numbers;
        if (allocation.heat_efficiency && allocation.power_efficiency) {
            numbers = {"heat " + allocation.heat_efficiency->scalar.text,
                       "power " + allocation.power_efficiency->scalar.text};
        }
        for (const NamedAmount& share : allocation.shares)
            numbers.push_back(share.name + " " + share.amount.scalar.text);
        change_.word = allocation.method;
        if (!numbers.empty())
            change_.word = fmt::format("{} ({})", allocation.method, fmt::join(numbers, ", "));
        if (allocation.method.empty()) complete_ = false;  // reported
        change_.allocation = std::move(allocation);
    }

    const YamlValue& map_;
    std::string base_;
    Problems& problems_;
    Change change_;
    bool complete_ = true;
};

void read_parents(const YamlValue& map, ScenarioModel& scenario, Problems& problems) {
    const YamlEntry* on = map.entry("on");
    if (on == nullptr) return;
    const std::vector<YamlValue> one{on->value};
    for (const YamlValue& item : on->value.is_list() ? on->value.items : one) {
        if (const std::string id = read_text(item, "on", problems); !id.empty())
            scenario.on.emplace_back(id, item.place);
    }
}

std::optional<ScenarioModel> read_scenario(const YamlEntry& entry, Problems& problems) {
    ScenarioModel scenario;
    scenario.id = entry.key;
    scenario.place = key_place(entry);
    if (!check_id(entry.key, scenario.place, "a scenario", problems) ||
        !check_keys(entry.value, scenario_keys, scenario.place, problems))
        return std::nullopt;
    const auto text = [&](std::string_view key) {
        const YamlValue* value = entry.value.find(key);
        return value == nullptr ? std::string{} : read_text(*value, key, problems);
    };
    scenario.title = text("title");
    scenario.note = text("note");
    read_parents(entry.value, scenario, problems);
    const YamlEntry* changes = entry.value.entry("changes");
    if (changes == nullptr) return scenario;
    if (!changes->value.is_list()) {
        if (changes->value.kind != YamlValue::Kind::nothing)
            problems.add(key_place(*changes), "not-a-list", "changes are a list",
                         "- {set: ADDRESS, to: 44 %, reason: ...}");
        return scenario;
    }
    for (std::size_t i = 0; i < changes->value.items.size(); ++i) {
        const std::string base = fmt::format("scenarios.{}.changes.{}", scenario.id, i + 1);
        auto change =
            ChangeReader(changes->value.items[i], base, problems).read(key_place(*changes));
        if (change) scenario.changes.push_back(std::move(*change));
    }
    return scenario;
}

}  // namespace

std::vector<ScenarioModel> read_scenarios(const Files& files, std::span<const std::uint32_t> paths,
                                          Problems& problems) {
    std::vector<ScenarioModel> all;
    for (const std::uint32_t file : paths) {
        const YamlValue root = read_yaml(files, file, problems);
        if (!root.is_map() || !check_head(root, "scenarios", "file of scenarios", problems) ||
            !check_keys(root, file_keys, {file, 1, 1, 1}, problems))
            continue;
        const YamlEntry* list = root.entry("scenarios");
        if (list == nullptr || !list->value.is_map()) {
            if (list != nullptr && list->value.kind != YamlValue::Kind::nothing)
                problems.add(key_place(*list), "not-a-mapping",
                             "scenarios are a mapping of ids to what changes",
                             "scenarios: {heat_pump: {title: ..., changes: [...]}}");
            continue;
        }
        for (const YamlEntry& entry : list->value.entries) {
            auto scenario = read_scenario(entry, problems);
            if (!scenario) continue;
            const auto twin = std::ranges::find_if(
                all, [&](const ScenarioModel& one) { return one.id == scenario->id; });
            if (twin == all.end()) all.push_back(std::move(*scenario));
            else
                problems.add(scenario->place, "duplicate-id",
                             fmt::format("two scenarios are called {}", scenario->id),
                             "give one another id", {twin->place});
        }
    }
    return all;
}

std::vector<const KeyTable*> scenario_key_tables() {
    std::vector<const KeyTable*> tables{&file_keys, &scenario_keys, &shifts_keys, &efficiency_keys};
    for (const ChangeRow& row : change_rows) tables.push_back(&row.keys);
    return tables;
}

}  // namespace deckle
