#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>

#include "engine/analysis/check_parts.h"
#include "engine/study/coverage.h"

namespace deckle::checking {
namespace {

/// Against the product of the study that it weighs most in [%].
std::optional<double> share_of(const CheckContext& check, const Stated& highest) {
    std::optional<double> most;
    for (const Subject& subject : check.study.subjects) {
        if (!check.model.product_nodes.empty() && subject.kind != Subject::Kind::consumer_product)
            continue;
        const auto share = share_left_out(highest, subject.pers, [&](const std::string& per) {
            const Result* result = check.study.result(subject.id, per, "climate");
            return result == nullptr ? 0.0 : check.at.value[result->node];
        });
        if (share) most = std::max(most.value_or(*share), *share);
    }
    return most;
}

/// As their footprints state it, by their part in climate [%].
double left_out_by_suppliers(const CheckContext& check) {
    double sum = 0.0;
    for (const FactorTable& table : check.model.tables.factors) {
        for (const Factor& factor : table.factors) {
            if (!factor.supplier.exempted) continue;
            sum += typed_in(*factor.supplier.exempted, "%").value_or(0.0) / 100.0 *
                   std::abs(check.share_of(factor));
        }
    }
    return sum;
}

/// A set of rules with what it is held against: today's, or that of a scenario.
struct RulesInUse {
    std::string_view scenario;
    const RuleSet& rules;
    const std::vector<Mill>& mills;
};

/// Today's first, then each other set once, with the first scenario that has it.
std::vector<RulesInUse> rules_in_use(const CheckContext& check) {
    std::vector<RulesInUse> all{{{}, check.model.rules, check.model.mills}};
    for (const Scenario& scenario : check.study.scenarios) {
        const RuleSet& rules = scenario.assembly->rules;
        const bool told = std::ranges::any_of(
            all, [&](const RulesInUse& one) { return one.rules.place == rules.place; });
        if (!told) all.push_back({scenario.id, rules, scenario.assembly->mills});
    }
    return all;
}

/// What is left out in all, in % of climate; nullopt where it does not add up (reported).
std::optional<double> left_out(CheckContext& check) {
    double sum = left_out_by_suppliers(check);
    for (const Exemption& one : check.model.exempted) {
        const auto share =
            one.highest_plausible ? share_of(check, *one.highest_plausible) : std::nullopt;
        if (!share) {
            check.add({"exemption-not-added-up", one.place,
                       fmt::format("what is left out cannot be added up: {}", one.what),
                       "highest_plausible: 0.2 %, or CO2e per unit of a product: 2 kg CO2e/t"});
            return std::nullopt;
        }
        sum += *share;
    }
    return sum;
}

void exemptions(CheckContext& check, std::span<const RulesInUse> all) {
    const auto& exempted = check.model.exempted;
    const auto sum = exempted.empty() ? std::nullopt : left_out(check);
    if (!sum) return;
    const Place place = exempted.front().place;
    const double by_suppliers = left_out_by_suppliers(check);
    for (const auto& [scenario, rules, mills] : all) {
        if (!rules.cut_off) {
            check.add(
                {"exemption-without-rules", place,
                 said_of(scenario, fmt::format("{} left out, at most {} % of climate, and no "
                                               "rules say how much may be",
                                               counted(exempted.size(), "item"), number(*sum))),
                 "rules: {id: ..., version: ..., cut_off: 3 %}"});
            continue;
        }
        const double cut_off = typed_in(*rules.cut_off, "%").value_or(0.0);
        if (*sum <= cut_off) continue;
        check.add(
            {"exemptions-above-cut-off", place,
             said_of(scenario,
                     fmt::format("what is left out adds up to {} % of climate at most{}, {} allows "
                                 "{} %",
                                 number(*sum),
                                 by_suppliers > 0.0 ? fmt::format(", {} % of it by suppliers",
                                                                  number(by_suppliers))
                                                    : std::string(),
                                 rules.id, number(cut_off))),
             "count the largest of them in", *sum});
    }
}

void reasons(CheckContext& check) {
    for (const Mill& mill : check.model.mills) {
        for (const Process& process : mill.processes) {
            if (!process.allocation || process.makes.size() < 2 || !process.reason.empty())
                continue;
            check.add({"allocation-without-reason", process.allocation->place,
                       fmt::format("{} shares its burdens by {} and gives no reason",
                                   process.address(), process.allocation->method),
                       "reason: why this method and no other"});
        }
    }
}

void methods(CheckContext& check, const RulesInUse& use) {
    const auto& order = use.rules.allocation_order;
    if (order.empty()) return;
    for (const Mill& mill : use.mills) {
        for (const Process& process : mill.processes) {
            if (!process.allocation || process.makes.size() < 2) continue;
            const std::string& method = process.allocation->method;
            if (std::ranges::find(order, method) != order.end()) continue;
            check.add({"allocation-outside-rules", process.allocation->place,
                       said_of(use.scenario,
                               fmt::format("{} shares its burdens by {}, which {} does not list",
                                           process.address(), method, use.rules.id)),
                       fmt::format("listed: {}", fmt::join(order, ", "))});
        }
    }
}

void periods(CheckContext& check) {
    const auto own = years_of(check.model.period);
    if (!own) return;
    for (const Mill& mill : check.model.mills) {
        const auto years = years_of(mill.period);
        if (!years || (years->from == own->from && years->to == own->to)) continue;
        check.add({"period-differs", mill.place,
                   fmt::format("{} is metered {}, the study is for {}", mill.id, mill.period,
                               check.model.period),
                   "amounts of the study's period, or a note why these stand for it"});
    }
}

/// What the rules ask for and the factors do not tell; indicators that miss the same are told
/// together.
void coverage(CheckContext& check, const RulesInUse& use) {
    std::map<std::string, std::vector<std::string>> by_what;
    const Result& main = check.main_result();
    for (const std::string& id : use.rules.indicators) {
        const Result* result = check.study.result(main.of, main.per, id, use.scenario);
        if (result == nullptr || result->coverage == Coverage::complete) continue;
        std::vector<std::string> names;
        for (const Uncovered& one : uncovered(check.study, *result)) {
            if (std::ranges::find(names, one.subject) == names.end()) names.push_back(one.subject);
        }
        by_what[fmt::format("{}: {}",
                            result->coverage == Coverage::not_covered ? "not covered"
                                                                      : "covered only in part",
                            names.empty() ? "nothing states it" : listed(names))]
            .push_back(id);
    }
    for (const auto& [what, ids] : by_what) {
        check.add({"indicator-not-covered", use.rules.place,
                   said_of(use.scenario, fmt::format("{} asks for {}, {}", use.rules.id,
                                                     listed(ids, ids.size()), what)),
                   "factors that state it, or 0 where there is none"});
    }
}

}  // namespace

std::optional<double> share_left_out(const Stated& highest, std::span<const std::string> pers,
                                     const std::function<double(const std::string&)>& climate_per) {
    if (const auto share = typed_in(highest, "%")) return share;
    for (const std::string& per : pers) {
        for (const std::string_view mass : {"kg CO2e", "kg"}) {
            const std::string unit = fmt::format("{}/{}", mass, per);
            if (!parse_unit(unit).unit) continue;
            const auto amount = typed_in(highest, unit);
            const double climate = amount ? climate_per(per) : 0.0;
            if (climate > 0.0) return 100.0 * *amount / climate;
        }
    }
    return std::nullopt;
}

void check_rules(CheckContext& check) {
    const auto all = rules_in_use(check);
    exemptions(check, all);
    reasons(check);
    for (const RulesInUse& use : all) methods(check, use);
    periods(check);
    for (const RulesInUse& use : all) coverage(check, use);
}

}  // namespace deckle::checking
