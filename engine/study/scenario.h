// Scenarios as their file states them: changes by address, one after another, each with its reason.
// scenario_reader.cpp fills these structs; scenario.cpp says what a scenario and its parents come
// to: amounts that change (ValueChanges) and mills whose processes do.
#pragma once

#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "engine/mill/mill.h"
#include "engine/study/rule_set.h"
#include "engine/tables/changes.h"

namespace deckle {

struct Assembly;
struct StudyModel;

/// One change. Which members it has depends on its kind.
struct Change {
    enum class Kind : std::uint8_t {
        set,             ///< `address` to `amount`
        spread,          ///< how far `address` may be off to `spread`
        scale,           ///< `address` by `amount`
        add,             ///< `amount` to `address`
        use,             ///< `thing` instead of `address`, or of its own in `in`
        buy_from,        ///< the electricity `address` by `supply`
        process,         ///< `process`, new or in place of `in_place_of`
        meet_change_of,  ///< `thing`, with the use `with` of the process that makes it
        shifts,          ///< `useful_heat` from the use `address` to `thing`
        rule,            ///< `rule` (characterization, electricity, ...) is `word`; of `rules`
                         ///< that is their name
    };
    Kind kind = Kind::set;
    std::string id;  ///< "scenarios.heat_pump.changes.3"
    Place place;
    std::string reason;
    std::string address;  ///< as typed: of an amount, of a use, or an id that is used
    Place address_place;
    std::string in;  ///< process or mill, "" everywhere
    Place in_place;
    std::string with;
    std::optional<Use> use;  ///< what is used from now on: thing, name, dryness, freight, supply
    std::optional<Stated> amount, share, ratio, useful_heat, efficiency_from, efficiency_to;
    YamlEntry spread;
    std::optional<Supply> supply;
    std::optional<Process> process;
    std::string in_place_of;
    std::string rule, word;
    Place word_place;
    std::optional<Allocation> allocation;  ///< of the rule `allocation`
    std::optional<RuleSet> rules;          ///< of the rule `rules`
};

struct ScenarioModel {
    std::string id, title, note;
    Place place;
    std::vector<std::pair<std::string, Place>> on;
    std::vector<Change> changes;
};

/// Reads files of scenarios. Errors go to `problems`.
[[nodiscard]] std::vector<ScenarioModel> read_scenarios(const Files& files,
                                                        std::span<const std::uint32_t> paths,
                                                        Problems& problems);

[[nodiscard]] std::vector<const KeyTable*> scenario_key_tables();

/// A change with the scenario it comes from.
struct PlannedChange {
    const Change* change;
    const ScenarioModel* from;
};

/// The changes of a scenario and all it stands on, parents first, each scenario once.
/// Codes: unknown-scenario, circular-scenario, nothing-changed.
[[nodiscard]] std::vector<PlannedChange> plan_of(const ScenarioModel& scenario,
                                                 const std::vector<ScenarioModel>& all,
                                                 Problems& problems);

/// A product whose change of demand one source of its mix meets.
struct SwingSource {
    std::string mill, product, source;  ///< source: the name of a use
    Place place;
};

/// What a plan comes to beside the mills that it changes.
struct PlannedStudy {
    ValueChanges values;
    std::vector<SwingSource> swings;
    std::map<const Change*, std::vector<std::string>> uses;  ///< that a change reached, by address
};

/// Changes uses and processes of `mills` as planned, one change after another: what a use comes to
/// when a part of it is moved knows the changes before that, and no later ones. Codes:
/// unknown-address, unknown-process, unknown-product, nothing-changed, duplicate-id,
/// rest-of-several.
[[nodiscard]] PlannedStudy change_mills(std::vector<Mill>& mills,
                                        const std::vector<PlannedChange>& plan, Problems& problems);

/// Where a rule of allocation for many processes was not used, since their products do not fit it,
/// in words; "" for other changes. Reports a rule that none of them fits. Code: nothing-changed.
[[nodiscard]] std::string left_out_of(const Change& rule, const Assembly& assembly,
                                      Problems& problems);

/// A problem that a scenario brings, where the files of today's study stand: it names the scenario,
/// and a change that it comes from where that is known.
[[nodiscard]] Problem in_scenario(Problem problem, const ScenarioModel& scenario,
                                  const std::vector<PlannedChange>& plan);

/// "press_dryness: 44 %": a change in words, for print.
[[nodiscard]] std::string words_of(const Change& change);

/// ", at 2 uses: a, b" of a change that says what is used and not where; else "".
[[nodiscard]] std::string reached_by(const Change& change, const PlannedStudy& planned);

}  // namespace deckle
