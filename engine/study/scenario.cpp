#include "engine/study/scenario.h"

#include <fmt/format.h>

#include <algorithm>
#include <limits>

#include "engine/study/meant_address.h"
#include "engine/study/model.h"
#include "engine/text/nearest.h"

namespace deckle {
namespace {

// --- which changes a scenario comes to ----------------------------------------------------------

class Planner {
public:
    Planner(const std::vector<ScenarioModel>& all, Problems& problems)
        : all_(all), problems_(problems) {}

    void visit(const ScenarioModel& scenario) {
        if (std::ranges::find(done_, &scenario) != done_.end()) return;
        path_.push_back(&scenario);
        for (const auto& [id, place] : scenario.on) {
            if (id != "today") visit_parent(id, place);
        }
        path_.pop_back();
        done_.push_back(&scenario);
        for (const Change& change : scenario.changes) plan.push_back({&change, &scenario});
    }

    std::vector<PlannedChange> plan;

private:
    void visit_parent(const std::string& id, Place place) {
        const auto parent =
            std::ranges::find_if(all_, [&](const ScenarioModel& one) { return one.id == id; });
        if (parent == all_.end()) {
            std::vector<std::string> names;
            for (const ScenarioModel& one : all_) names.push_back(one.id);
            problems_.add(place, "unknown-scenario", fmt::format("there is no scenario {}", id),
                          did_you_mean(id, names).empty()
                              ? fmt::format("known: {}", fmt::join(names, ", "))
                              : did_you_mean(id, names));
        } else if (const auto first = std::ranges::find(path_, &*parent); first != path_.end()) {
            std::vector<std::string> circle;
            for (auto one = first; one != path_.end(); ++one) circle.push_back((*one)->id);
            problems_.add(
                place, "circular-scenario",
                fmt::format("{0} stands on itself: {1} > {0}", id, fmt::join(circle, " > ")),
                "take one of the parents out");
        } else {
            visit(*parent);
        }
    }

    const std::vector<ScenarioModel>& all_;
    Problems& problems_;
    std::vector<const ScenarioModel*> path_, done_;
};

// --- changes of uses and processes --------------------------------------------------------------

class MillChanger {
public:
    MillChanger(std::vector<Mill>& mills, Problems& problems)
        : mills_(mills), problems_(problems) {}

    void make(const Change& change) {
        switch (change.kind) {
            // amounts: Build looks them up
            case Change::Kind::set:
                set_.push_back(change.address);
                return change_value(change, ValueChange::Kind::set);
            case Change::Kind::spread: return change_value(change, ValueChange::Kind::spread);
            case Change::Kind::scale: return change_value(change, ValueChange::Kind::scale);
            case Change::Kind::add: return change_value(change, ValueChange::Kind::add);
            case Change::Kind::use:
                return change.address.empty() ? add_use(change) : replace_uses(change);
            case Change::Kind::shifts: return replace_uses(change);
            case Change::Kind::buy_from: return buy(change);
            case Change::Kind::process: return put_process(change);
            case Change::Kind::meet_change_of: return meet(change);
            case Change::Kind::rule: return change_allocation(change);
        }
    }

    PlannedStudy planned;

private:
    void change_value(const Change& change, ValueChange::Kind kind) {
        planned.values.add({.kind = kind,
                            .id = change.id,
                            .address = change.address,
                            .stated = change.amount.value_or(Stated{}),
                            .spread = change.spread});
    }

    struct Found {
        Process* process;
        std::size_t use;
        [[nodiscard]] std::string address() const {
            return fmt::format("{}.uses.{}", process->address(), process->uses[use].name);
        }
    };

    /// A use that a change put something else in place of.
    struct Gone {
        std::string address, thing, process, mill;
        Place place;  ///< of that change
    };

    bool is_in(const Process& process, const std::string& in) const {
        return in.empty() || in == process.mill || in == process.address();
    }

    /// Uses by address (mill.process.uses.NAME), or by the id of what is used.
    std::vector<Found> find(const Change& change) {
        std::vector<Found> found;
        std::vector<std::string> names;
        for (Mill& mill : mills_) {
            for (Process& process : mill.processes) {
                for (std::size_t i = 0; i < process.uses.size(); ++i) {
                    const Use& use = process.uses[i];
                    const std::string address =
                        fmt::format("{}.uses.{}", process.address(), use.name);
                    const bool named = address == change.address || use.thing == change.address;
                    if (named && is_in(process, change.in)) found.push_back({&process, i});
                    names.push_back(address);
                    names.push_back(use.thing);
                }
            }
        }
        if (found.empty() && !report_gone(change)) report_nothing(change, names);
        std::vector<std::string>& reached = planned.uses[&change];
        for (const Found& one : found) reached.push_back(one.address());
        return found;
    }

    /// What an earlier change took all of cannot be changed again.
    bool report_gone(const Change& change) {
        const auto gone = std::ranges::find_if(gone_, [&](const Gone& one) {
            const bool in = change.in.empty() || change.in == one.mill || change.in == one.process;
            return in && (one.address == change.address || one.thing == change.address);
        });
        if (gone == gone_.end()) return false;
        problems_.add(
            change.address_place, "unknown-address",
            fmt::format("nothing is left of {}: a change before took all of it", change.address),
            "move the part first, or leave one of the two changes out", {gone->place});
        return true;
    }

    void report_nothing(const Change& change, const std::vector<std::string>& names) {
        const bool elsewhere = std::ranges::find(names, change.address) != names.end();
        const std::string near = elsewhere ? "`in` says where: leave it out, or name another place"
                                           : address_meant(change.address, names, mills_);
        const bool of_product = change.address.starts_with("products.");
        problems_.add(change.address_place, "unknown-address",
                      of_product ? fmt::format("{} belongs to a consumer product", change.address)
                                 : fmt::format("no process uses {}{}", change.address,
                                               change.in.empty() ? "" : " in " + change.in),
                      of_product     ? "write a product that is `like` it, with the other use"
                      : near.empty() ? "MILL.PROCESS.uses.NAME, or the id of what a process uses"
                                     : near);
    }

    void replace_uses(const Change& change) {
        const auto found = find(change);
        for (const Found& one : found) replace_use(*one.process, one.use, change);
    }

    void replace_use(Process& process, std::size_t index, const Change& change) {
        const Use before = as_it_stands(process.uses[index]);
        Moved moved{change.place,           std::make_shared<const Use>(before),
                    planned.uses[&change],  change.share,
                    change.useful_heat,     change.ratio,
                    change.efficiency_from, change.efficiency_to};
        Use now = *change.use;
        const bool own_name = before.name != before.thing;
        if (own_name && now.name == now.thing && !moved.is_part()) now.name = before.name;
        if (now.freight.empty()) now.freight = before.freight;
        const bool rest = is_rest(before);
        if (rest && (moved.is_part() || moved.ratio || moved.efficiency_to)) {
            problems_.add(
                change.place, "rest-of-several",
                fmt::format("{} is the rest of its mix; no part of it can be moved", before.name),
                fmt::format("use what gives the part beside it, and the rest shrinks by as much: "
                            "{{use: {}, amount: ..., in: {}}}",
                            change.use->thing, process.address()));
            return;
        }
        if (rest) now.amount = before.amount;
        else now.stands_for = moved;
        now.amount.address = fmt::format("{}.uses.{}", process.address(), now.name);
        open_amount(now, change.place);
        if (moved.is_part()) {
            leave_rest(process.uses[index], std::move(moved));
            add(process, std::move(now), change.place);
        } else if (is_free(process, now, index, change.place)) {
            rename_swing(process, before.name, now.name);
            if (before.name != now.name)
                gone_.push_back({fmt::format("{}.uses.{}", process.address(), before.name),
                                 before.thing, process.address(), process.mill, change.place});
            process.uses[index] = std::move(now);  // in its place: others are found by theirs
        }
    }

    /// A use after the changes made so far, and none to come.
    Use as_it_stands(Use use) const {
        const std::size_t count = planned.values.all().size();
        use.amount.changed_until = count;
        SteamState& steam = use.steam;
        for (auto* stated : {&use.dryness, &steam.pressure, &steam.temperature, &steam.make_up,
                             &steam.condensate_return, &steam.condensate_temperature}) {
            if (*stated) (*stated)->changed_until = count;
        }
        return use;
    }

    /// The amount of a use that only changes to come concern.
    void open_amount(Use& use, Place place) const {
        use.amount.changed_from = planned.values.all().size();
        use.amount.changed_until = std::numeric_limits<std::size_t>::max();
        if (!use.stands_for) return;
        use.amount.scalar.place = place;
        use.amount.within = Within::not_negative;
        use.amount.allow = Allow::formula;
    }

    /// Where a part was taken away, the rest of the amount stays, with its spread.
    void leave_rest(Use& use, Moved moved) const {
        moved.is_left = true;
        use.stands_for = std::move(moved);
        if (!use.amount.is_quantity()) use.amount.amount = {};
        open_amount(use, use.stands_for->place);
        use.amount.scalar.text = "what was left";
    }

    [[nodiscard]] bool is_rest(const Use& use) const {
        return use.amount.is_word("rest") &&
               std::ranges::find(set_, use.amount.address) == set_.end();
    }

    /// A source that swings goes on swinging under its new name.
    void rename_swing(const Process& process, const std::string& before, const std::string& now) {
        for (SwingSource& swing : planned.swings) {
            if (swing.mill == process.mill && process.made(swing.product) != nullptr &&
                swing.source == before)
                swing.source = now;
        }
    }

    void add(Process& process, Use use, Place place) {
        if (is_free(process, use, process.uses.size(), place))
            process.uses.push_back(std::move(use));
    }

    /// No other use of a process than number `own` has the name of this one.
    bool is_free(const Process& process, const Use& use, std::size_t own, Place place) {
        for (std::size_t i = 0; i < process.uses.size(); ++i) {
            if (i == own || process.uses[i].name != use.name) continue;
            problems_.add(place, "duplicate-name",
                          fmt::format("{} has a use named {} already", process.address(), use.name),
                          fmt::format("give it a name of its own: {} as NAME", use.thing),
                          {process.uses[i].place});
            return false;
        }
        return true;
    }

    void add_use(const Change& change) {
        Process* process = find_process(change.in, change.in_place);
        if (process == nullptr) return;
        Use use = *change.use;
        use.amount = *change.amount;
        use.amount.also.push_back(fmt::format("{}.uses.{}", process->address(), use.name));
        use.amount.changed_from = planned.values.all().size();
        add(*process, std::move(use), change.place);
    }

    void buy(const Change& change) {
        for (const Found& found : find(change)) {
            Use& use = found.process->uses[found.use];
            const std::string grid = use.supply ? use.supply->grid : use.thing;
            use.supply = change.supply;
            if (use.supply->grid.empty() && use.supply->kind == Supply::Kind::contract)
                use.supply->grid = grid;
        }
    }

    Process* find_process(const std::string& address, Place place) {
        std::vector<std::string> names;
        for (Mill& mill : mills_) {
            for (Process& process : mill.processes) {
                if (process.address() == address) return &process;
                names.push_back(process.address());
            }
        }
        const std::string near = did_you_mean(address, names);
        problems_.add(place, "unknown-process", fmt::format("there is no process {}", address),
                      near.empty() ? "MILL.PROCESS" : near);
        return nullptr;
    }

    void put_process(const Change& change) {
        const Process& process = *change.process;
        if (!change.in_place_of.empty()) {
            Process* old = find_process(change.in_place_of, change.in_place);
            if (old == nullptr) return;
            if (old->mill != process.mill) {
                problems_.add(
                    change.place, "unknown-process",
                    fmt::format("{} is no process of {}", change.in_place_of, process.mill),
                    "a process takes the place of one of its own mill");
                return;
            }
            planned.values.forget(old->address() + ".");
            *old = process;
            return;
        }
        for (Mill& mill : mills_) {
            if (mill.id != process.mill) continue;
            if (const Process* twin = mill.process(process.id)) {
                problems_.add(change.place, "duplicate-id",
                              fmt::format("{} is a process already", change.address),
                              fmt::format("in_place_of: {}, or another id", change.address),
                              {twin->place});
                return;
            }
            mill.processes.push_back(process);
            return;
        }
        std::vector<std::string> names;
        for (const Mill& mill : mills_) names.push_back(mill.id);
        problems_.add(change.address_place, "unknown-process",
                      fmt::format("there is no mill {}", process.mill),
                      did_you_mean(process.mill, names));
    }

    /// The mix that makes a product, and the use of it that follows demand.
    void meet(const Change& change) {
        std::vector<std::string> makers;
        std::vector<const Process*> mixes;
        for (const Mill& mill : mills_) {
            for (const Process& process : mill.processes) {
                if (process.made(change.address) == nullptr || !is_in(process, change.in)) continue;
                makers.push_back(mill.id);
                mixes.push_back(&process);
            }
        }
        if (mixes.size() == 1) return add_swing(*mixes.front(), change);
        problems_.add(change.address_place, "unknown-product",
                      makers.empty() ? fmt::format("no mill makes {}", change.address)
                                     : fmt::format("{} is made in {}", change.address,
                                                   fmt::join(makers, ", ")),
                      makers.empty() ? "the id of something a mill makes" : "in: one of them");
    }

    void add_swing(const Process& process, const Change& change) {
        std::vector<std::string> names;
        for (const Use& use : process.uses) names.push_back(use.name);
        if (std::ranges::find(names, change.with) == names.end()) {
            const std::string near = did_you_mean(change.with, names);
            problems_.add(change.place, "unknown-address",
                          fmt::format("{} uses no {}", process.address(), change.with),
                          near.empty() ? fmt::format("it uses {}", fmt::join(names, ", ")) : near);
            return;
        }
        const auto known = std::ranges::find_if(planned.swings, [&](const SwingSource& one) {
            return one.mill == process.mill && one.product == change.address;
        });
        const SwingSource swing{process.mill, change.address, change.with, change.place};
        if (known == planned.swings.end()) planned.swings.push_back(swing);
        else *known = swing;
    }

    void change_allocation(const Change& change) {
        if (change.rule != "allocation") return;
        bool any = false;
        for (Mill& mill : mills_) {
            for (Process& process : mill.processes) {
                if (process.makes.size() < 2 || !is_in(process, change.in)) continue;
                Allocation allocation = *change.allocation;
                if (change.in != process.address() && process.allocation)
                    allocation.otherwise = std::make_shared<const Allocation>(*process.allocation);
                process.allocation = std::move(allocation);
                any = true;
            }
        }
        if (!any)
            problems_.add(change.place, "nothing-changed", "no process here makes several products",
                          "in: MILL or MILL.PROCESS that does");
    }

    std::vector<Mill>& mills_;
    Problems& problems_;
    std::vector<std::string> set_;  ///< addresses of amounts that were typed anew
    std::vector<Gone> gone_;
};

}  // namespace

std::vector<PlannedChange> plan_of(const ScenarioModel& scenario,
                                   const std::vector<ScenarioModel>& all, Problems& problems) {
    Planner planner(all, problems);
    planner.visit(scenario);
    if (planner.plan.empty() && problems.empty())
        problems.add(scenario.place, "nothing-changed",
                     fmt::format("{} changes nothing", scenario.id),
                     "changes: [...], or on: [...] scenarios that have some");
    return std::move(planner.plan);
}

PlannedStudy change_mills(std::vector<Mill>& mills, const std::vector<PlannedChange>& plan,
                          Problems& problems) {
    MillChanger changer(mills, problems);
    for (const PlannedChange& planned : plan) changer.make(*planned.change);
    return std::move(changer.planned);
}

std::string left_out_of(const Change& rule, const Assembly& assembly, Problems& problems) {
    if (!rule.allocation) return {};
    std::vector<std::string> left_out;
    bool used = false;
    for (const auto& mill : assembly.mill_nodes) {
        for (const ProcessNodes& process : mill->processes) {
            if (process.allocation == nullptr) continue;
            const Allocation* one = &*process.process->allocation;
            for (; one != process.allocation; one = one->otherwise.get()) {
                if (one->place == rule.allocation->place)
                    left_out.push_back(process.process->address());
            }
            used = used || one->place == rule.allocation->place;
        }
    }
    if (left_out.empty()) return {};
    if (!used)
        problems.add(rule.place, "nothing-changed",
                     fmt::format("no process can share its burdens by {}", rule.word),
                     fmt::format("in: one of {}, to see why not", fmt::join(left_out, ", ")));
    return fmt::format(", but not in {}, whose products it does not fit",
                       fmt::join(left_out, ", "));
}

Problem in_scenario(Problem problem, const ScenarioModel& scenario,
                    const std::vector<PlannedChange>& plan) {
    const auto in_change = [&](const Place& place) {
        return place.known() && std::ranges::any_of(plan, [&](const PlannedChange& one) {
                   return one.from->place.file == place.file;
               });
    };
    if (in_change(problem.where)) return problem;
    problem.message = fmt::format("in scenario {}: {}", scenario.id, problem.message);
    const Place today = problem.where;
    const auto change = std::ranges::find_if(problem.related, in_change);
    if (change != problem.related.end()) {
        problem.where = *change;
        problem.related.erase(change);
    } else {
        problem.where = plan.size() == 1 ? plan.front().change->place : scenario.place;
    }
    if (today.known()) problem.related.insert(problem.related.begin(), today);
    return problem;
}

namespace {

/// "± 5 % of value", or "shape arcsine, low 4.1 GJ, high 4.6 GJ".
std::string words_of_spread(const YamlValue& typed) {
    std::vector<std::string> words;
    for (const YamlEntry& entry : typed.entries)
        words.push_back(fmt::format("{} {}", entry.key, entry.value.text));
    return typed.is_map() ? fmt::format("{}", fmt::join(words, ", ")) : typed.text;
}

}  // namespace

std::string reached_by(const Change& change, const PlannedStudy& planned) {
    const auto found = planned.uses.find(&change);
    if (found == planned.uses.end() || found->second.empty()) return {};
    const std::vector<std::string>& uses = found->second;
    if (uses.size() == 1 && uses.front() == change.address) return {};
    return uses.size() == 1 ? ", at " + uses.front()
                            : fmt::format(", at {} uses: {}", uses.size(), fmt::join(uses, ", "));
}

std::string words_of(const Change& change) {
    const auto typed = [](const std::optional<Stated>& stated) {
        return stated ? stated->scalar.text : std::string("all");
    };
    const auto new_use = [&] {
        const Use& use = *change.use;
        return use.name == use.thing ? use.thing : fmt::format("{} as {}", use.thing, use.name);
    };
    const std::string in = change.in.empty() ? "" : " in " + change.in;
    switch (change.kind) {
        case Change::Kind::set: return fmt::format("{}: {}", change.address, typed(change.amount));
        case Change::Kind::spread:
            return fmt::format("{}: {}", change.address, words_of_spread(change.spread.value));
        case Change::Kind::scale:
            return fmt::format("{} × {}", change.address, typed(change.amount));
        case Change::Kind::add: return fmt::format("{} + {}", change.address, typed(change.amount));
        case Change::Kind::use:
            if (change.address.empty())
                return fmt::format("{} of {} more{}", typed(change.amount), new_use(), in);
            return fmt::format("{} instead of {}{}{}{}", new_use(),
                               change.share ? typed(change.share) + " of " : "", change.address,
                               change.ratio ? fmt::format(", ratio {}", typed(change.ratio)) : "",
                               in);
        case Change::Kind::shifts:
            return fmt::format(
                "{} the useful heat of {} from {} instead, efficiency {} in place of {}{}",
                change.useful_heat ? typed(change.useful_heat) + " of" : "all", change.address,
                new_use(), typed(change.efficiency_to), typed(change.efficiency_from), in);
        case Change::Kind::buy_from:
            return fmt::format("another supply for {}{}", change.address, in);
        case Change::Kind::process:
            return change.in_place_of.empty()
                       ? fmt::format("{} is new", change.address)
                       : fmt::format("{} in place of {}", change.address, change.in_place_of);
        case Change::Kind::meet_change_of:
            return fmt::format("{} follows demand on {}{}", change.with, change.address, in);
        case Change::Kind::rule: return fmt::format("{}: {}{}", change.rule, change.word, in);
    }
    return {};
}

}  // namespace deckle
