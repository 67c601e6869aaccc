#include "engine/study/scenario.h"

#include <fmt/format.h>

#include <algorithm>

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
            case Change::Kind::set: set_.push_back(change.address); return;
            case Change::Kind::scale:
            case Change::Kind::add: return;
            case Change::Kind::use:
                return change.address.empty() ? add_use(change) : replace_uses(change);
            case Change::Kind::shifts: return replace_uses(change);
            case Change::Kind::buy_from: return buy(change);
            case Change::Kind::process: return put_process(change);
            case Change::Kind::meet_change_of: return meet(change);
            case Change::Kind::rule: return change_allocation(change);
        }
    }

    std::vector<SwingSource> swings;

private:
    struct Found {
        Process* process;
        std::size_t use;
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
                    if (address == change.address ||
                        (use.thing == change.address && is_in(process, change.in)))
                        found.push_back({&process, i});
                    names.push_back(address);
                    names.push_back(use.thing);
                }
            }
        }
        if (found.empty()) report_nothing(change, names);
        return found;
    }

    void report_nothing(const Change& change, const std::vector<std::string>& names) {
        const std::string near = did_you_mean(change.address, names);
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
        for (const Found& found : find(change)) replace_use(*found.process, found.use, change);
    }

    void replace_use(Process& process, std::size_t index, const Change& change) {
        const Use before = process.uses[index];
        Moved moved{change.place,        std::make_shared<const Use>(before),
                    change.share,        change.useful_heat,
                    change.ratio,        change.efficiency_from,
                    change.efficiency_to};
        Use now = *change.use;
        const bool own_name = before.name != before.thing;
        if (own_name && now.name == now.thing && !moved.is_part()) now.name = before.name;
        if (now.freight.empty()) now.freight = before.freight;
        if (is_rest(before)) {
            if (moved.is_part() || moved.ratio || moved.efficiency_to) {
                problems_.add(change.place, "rest-of-several",
                              fmt::format("{} is the rest of its mix; no part of it can be moved",
                                          before.name),
                              "set its amount first");
                return;
            }
            now.amount = before.amount;
        } else {
            now.amount.address = fmt::format("{}.uses.{}", process.address(), now.name);
            now.amount.scalar.place = change.place;
            now.amount.within = Within::not_negative;
            now.amount.allow = Allow::formula;
            now.stands_for = moved;
        }
        if (moved.is_part()) {
            process.uses[index].given_away.push_back(std::move(moved));
            add(process, std::move(now), change.place);
        } else if (is_free(process, now, index, change.place)) {
            rename_swing(process, before.name, now.name);
            process.uses[index] = std::move(now);  // in its place: others are found by theirs
        }
    }

    [[nodiscard]] bool is_rest(const Use& use) const {
        return use.amount.is_word("rest") &&
               std::ranges::find(set_, use.amount.address) == set_.end();
    }

    /// A source that swings goes on swinging under its new name.
    void rename_swing(const Process& process, const std::string& before, const std::string& now) {
        for (SwingSource& swing : swings) {
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
        add(*process, std::move(use), change.place);
    }

    void buy(const Change& change) {
        for (const Found& found : find(change)) {
            Use& use = found.process->uses[found.use];
            use.supply = change.supply;
            if (use.supply->grid.empty() && use.supply->kind == Supply::Kind::contract)
                use.supply->grid = use.thing;
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
        for (const Mill& mill : mills_) {
            for (const Process& process : mill.processes) {
                if (process.made(change.address) == nullptr || !is_in(process, change.in)) continue;
                makers.push_back(mill.id);
                add_swing(mill, process, change);
            }
        }
        if (makers.size() == 1) return;
        problems_.add(change.address_place, "unknown-product",
                      makers.empty() ? fmt::format("no mill makes {}", change.address)
                                     : fmt::format("{} is made in {}", change.address,
                                                   fmt::join(makers, ", ")),
                      makers.empty() ? "the id of something a mill makes" : "in: one of them");
    }

    void add_swing(const Mill& mill, const Process& process, const Change& change) {
        std::vector<std::string> names;
        for (const Use& use : process.uses) names.push_back(use.name);
        if (std::ranges::find(names, change.with) == names.end()) {
            const std::string near = did_you_mean(change.with, names);
            problems_.add(change.place, "unknown-address",
                          fmt::format("{} uses no {}", process.address(), change.with),
                          near.empty() ? fmt::format("it uses {}", fmt::join(names, ", ")) : near);
            return;
        }
        const auto known = std::ranges::find_if(swings, [&](const SwingSource& one) {
            return one.mill == mill.id && one.product == change.address;
        });
        const SwingSource swing{mill.id, change.address, change.with, change.place};
        if (known == swings.end()) swings.push_back(swing);
        else *known = swing;
    }

    void change_allocation(const Change& change) {
        if (change.rule != "allocation") return;
        bool any = false;
        for (Mill& mill : mills_) {
            for (Process& process : mill.processes) {
                if (process.makes.size() < 2 || !is_in(process, change.in)) continue;
                Allocation allocation;
                allocation.method = change.word;
                allocation.place = change.word_place;
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

ValueChanges value_changes(const std::vector<PlannedChange>& plan) {
    ValueChanges changes;
    const auto add = [&](const Change& change, ValueChange::Kind kind) {
        changes.add({.kind = kind, .address = change.address, .stated = *change.amount});
    };
    for (const PlannedChange& planned : plan) {
        const Change& change = *planned.change;
        if (change.kind == Change::Kind::set) add(change, ValueChange::Kind::set);
        if (change.kind == Change::Kind::scale) add(change, ValueChange::Kind::scale);
        if (change.kind == Change::Kind::add) add(change, ValueChange::Kind::add);
    }
    return changes;
}

std::vector<SwingSource> change_mills(std::vector<Mill>& mills,
                                      const std::vector<PlannedChange>& plan, Problems& problems) {
    MillChanger changer(mills, problems);
    for (const PlannedChange& planned : plan) changer.make(*planned.change);
    return std::move(changer.swings);
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
                "{} the useful heat of {} from {} instead, efficiency {} in place of {}",
                change.useful_heat ? typed(change.useful_heat) + " of" : "all", change.address,
                new_use(), typed(change.efficiency_to), typed(change.efficiency_from));
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
