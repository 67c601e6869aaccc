#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <map>

#include "engine/analysis/check_parts.h"

namespace deckle::checking {
namespace {

constexpr std::array kinds{BalanceKind::water, BalanceKind::energy, BalanceKind::dry_solids,
                           BalanceKind::biogenic_carbon};

// Where the rules of a study set no limit. Common practice, no published source: meters of water
// and pulp seldom agree better than 5 %; losses of boilers are known to 2 points.
constexpr double open_gap_percent = 5.0;
constexpr double open_loss_points = 2.0;
constexpr double rounding_of_sums = 1e-9;  ///< [%]
constexpr double least_in_tonnes = 1e5;    ///< kg
constexpr double rounding_percent = 0.5;   ///< amounts typed to three digits
constexpr double most_carbon_in_solids =
    0.5;  ///< kg C/kg dry: wood, EN 16449:2014; fillers hold less

struct Sum {
    double in = 0.0, out = 0.0, solids = 0.0;
    [[nodiscard]] double gap_percent() const {
        if (in <= 0.0) return out > 0.0 ? -100.0 : 0.0;
        const double gap = 100.0 * (in - out) / in;
        return std::abs(gap) < rounding_of_sums ? 0.0 : gap;
    }
};

std::string balance_code(BalanceKind kind) {
    std::string code = fmt::format("balance-{}", name_of(kind));
    std::ranges::replace(code, '_', '-');
    return code;
}

std::string words_of(BalanceKind kind) {
    std::string words(name_of(kind));
    std::ranges::replace(words, '_', ' ');
    return words;
}

/// A year's masses are read in tonnes.
struct Shown {
    double scale = 1.0;
    std::string unit;
    Shown(BalanceKind kind, const Sum& sum) : unit(unit_of(kind)) {
        if (!unit.starts_with("kg") || std::max(sum.in, sum.out) < least_in_tonnes) return;
        scale = 0.001;
        unit.replace(0, 2, "t");
    }
};

/// "water: 8.92 m3 come in, 8.42 m3 go out"
std::string sides(BalanceKind kind, const Sum& sum) {
    const Shown shown(kind, sum);
    return fmt::format("{}: {} {} come in, {} {} go out", words_of(kind),
                       number(shown.scale * sum.in), shown.unit, number(shown.scale * sum.out),
                       shown.unit);
}

std::string default_words(const CheckContext& check, std::string_view code, double otherwise,
                          std::string_view unit) {
    if (check.limit(code)) return {};
    return fmt::format("; more than the usual {} {} (common practice, no published source)",
                       number(otherwise), unit);
}

class Balances {
public:
    /// `scales`: the mill scaled to one unit of each product asked for.
    Balances(CheckContext& check, const MillNodes& mill, const std::vector<MillScale>& scales)
        : check_(check), mill_(mill), scales_(scales) {}

    void run() {
        draw_up(BalanceKind::dry_solids);
        for (const auto& dry : flows_) solids_.push_back(dry ? dry->solids() : 0.0);
        for (const BalanceKind kind : kinds) {
            draw_up(kind);
            for (std::size_t p = 0; p < flows_.size(); ++p) of_process(kind, p);
            if (!skipped_.empty()) say_skipped(kind);
            for (const MillScale& scale : scales_) {
                if (skipped_.empty()) of_mill(kind, scale);
            }
        }
    }

private:
    void push(const std::string& of, BalanceKind kind, const Sum& sum, const std::string& per) {
        const Shown shown(kind, sum);
        check_.report.balances.push_back({of, std::string(name_of(kind)), shown.scale * sum.in,
                                          shown.scale * sum.out, shown.unit, per,
                                          sum.gap_percent()});
    }

    /// The flows of every process, once a kind.
    void draw_up(BalanceKind kind) {
        closed_ = true;
        skipped_.clear();
        flows_.clear();
        for (const ProcessNodes& process : mill_.processes)
            flows_.push_back(flows_of(check_, kind, mill_, process));
    }

    // --- one process ---
    void of_process(BalanceKind kind, std::size_t p) {
        const ProcessNodes& process = mill_.processes[p];
        const auto& flows = flows_[p];
        if (!flows) return;
        const std::string of = process.process->address();
        if (!flows->missing.empty()) {
            skipped_.push_back({&process, flows->missing});
            return;
        }
        const Sum sum{flows->in(), flows->out(), solids_[p]};
        push(of, kind, sum, "as typed");
        if (kind == BalanceKind::energy) return judge_energy(process, sum);
        if (kind == BalanceKind::biogenic_carbon)
            return judge_carbon(of, process.process->place, sum);
        if (kind == BalanceKind::dry_solids) judge_dry_mass(of, process.process->place, sum);
        judge_gap(of, process.process->place, kind, sum);
    }

    void say_skipped(BalanceKind kind) {
        std::vector<std::string> reasons;
        for (const auto& [process, why] : skipped_)
            reasons.push_back(fmt::format("{} ({})", process->process->id, why));
        check_.add({"balance-skipped", skipped_.front().first->process->place,
                    fmt::format("{}: no balance of {}: {}", mill_.mill->id, words_of(kind),
                                listed(reasons)),
                    what_is_missing(kind)});
    }

    static std::string what_is_missing(BalanceKind kind) {
        if (kind == BalanceKind::water)
            return "takes_in, gives_back, leaves: {vapour: ...}, dryness of what is made";
        if (kind == BalanceKind::energy)
            return "heating_value: {LHV: ...} in the factor; kind: heat, with the state of steam";
        if (kind == BalanceKind::dry_solids)
            return "dryness on the use, on the factor or on the product";
        return "biogenic_carbon in the factor, composition and carbon in makes";
    }

    void judge_gap(const std::string& of, Place place, BalanceKind kind, const Sum& sum) {
        const std::string code = balance_code(kind);
        const double gap = std::abs(sum.gap_percent());
        if (gap <= check_.threshold(code, open_gap_percent)) return;
        closed_ = false;
        const bool lost = sum.in > sum.out;
        check_.add(
            {code, place,
             fmt::format("{}: {}: {} % {}{}", of, sides(kind, sum), number(gap),
                         lost ? "do not come out again" : "more than comes in",
                         default_words(check_, code, open_gap_percent, "%")),
             kind == BalanceKind::water
                 ? "takes_in, gives_back, leaves.vapour, and the dryness of what is used and made"
                 : "amounts used and made with their dryness, leaves.solids, returns",
             gap});
    }

    /// More dry product than dry matter came in cannot be, whatever the losses are.
    void judge_dry_mass(const std::string& of, Place place, const Sum& sum) {
        const double products = sum.out - sum.solids;
        const double above = sum.in > 0.0 ? 100.0 * (products - sum.in) / sum.in : 100.0;
        if (above <= check_.threshold("dry-mass-above-input", rounding_percent)) return;
        closed_ = false;
        check_.add({"dry-mass-above-input", place,
                    fmt::format("{}: makes {} kg dry of {} kg dry that come in", of,
                                number(products), number(sum.in)),
                    "a use is missing, or a dryness or an amount is wrong", above});
    }

    /// Losses are part of an energy balance: what is judged is how they agree with the losses
    /// stated.
    void judge_energy(const ProcessNodes& process, const Sum& sum) {
        const Process& stated = *process.process;
        const double loss = sum.gap_percent();
        if (loss < -0.1) return judge_gain(process, sum);
        if (!process.losses.known()) {
            if (loss <= check_.threshold("losses-unstated", open_loss_points)) return;
            return check_.add({"losses-unstated", stated.place,
                               fmt::format("{}: {} % of the energy that comes in goes out as "
                                           "product; the losses are not stated",
                                           stated.address(), number(100.0 - loss)),
                               fmt::format("if that is right: losses: {} %", number(loss)), loss});
        }
        const double typed = 100.0 * in_unit(check_, process.losses, "").value_or(0.0);
        const double apart = std::abs(loss - typed);
        if (apart <= check_.threshold("balance-energy", open_loss_points)) return;
        closed_ = false;
        check_.add(
            {"balance-energy", stated.place,
             fmt::format("{}: {}: losses of {} %, stated are {} %{}", stated.address(),
                         sides(BalanceKind::energy, sum), number(loss), number(typed),
                         default_words(check_, "balance-energy", open_loss_points, "points")),
             "fuel on the lower heating value, steam as net heat over its make-up", apart});
    }

    void judge_gain(const ProcessNodes& process, const Sum& sum) {
        const std::string of = process.process->address();
        const double gain = -sum.gap_percent();
        const bool burns = std::ranges::any_of(
            process.uses, [](const ResolvedUse& use) { return use.family == Family::fuel; });
        const bool makes_heat = std::ranges::all_of(process.products, [&](std::size_t p) {
            return mill_.products[p].family == Family::heat;
        });
        const bool driven = std::ranges::any_of(
            process.uses, [](const ResolvedUse& use) { return use.family == Family::electricity; });
        if (!burns && makes_heat && driven) {
            return check_.add({"ambient-heat", process.process->place,
                               fmt::format("{}: gives {} GJ of heat for each GJ that comes in: {} "
                                           "GJ come from its surroundings, in no balance",
                                           of, number(sum.out / sum.in), number(sum.out - sum.in)),
                               "right for a heat pump; its source carries no burden here", gain});
        }
        check_.add({"energy-above-input", process.process->place,
                    fmt::format("{}: {}: {} % more than comes in", of,
                                sides(BalanceKind::energy, sum), number(gain)),
                    burns ? "a condensing boiler reaches 105 % of the lower heating value (from "
                            "memory); else check heating values and units"
                          : "a use is missing, or a unit is wrong",
                    gain});
    }

    /// Solids that leave hold carbon nobody states: what they can hold at most is no gap.
    void judge_carbon(const std::string& of, Place place, const Sum& sum) {
        const double most = check_.threshold("balance-biogenic-carbon", open_gap_percent);
        const double missing = sum.in - sum.out;
        const double unexplained =
            missing < 0.0 ? -missing : std::max(0.0, missing - most_carbon_in_solids * sum.solids);
        const double gap = sum.in > 0.0 ? 100.0 * unexplained / sum.in : 100.0;
        if (gap > most) {
            closed_ = false;
            return check_.add(
                {"balance-biogenic-carbon", place,
                 fmt::format(
                     "{}: {}: {} % {}{}", of, sides(BalanceKind::biogenic_carbon, sum), number(gap),
                     missing < 0.0
                         ? "more than comes in"
                         : "are neither in the products nor can be in the solids that leave",
                     default_words(check_, "balance-biogenic-carbon", open_gap_percent, "%")),
                 "biogenic_carbon of the fibres bought, composition and carbon of what is made",
                 gap});
        }
        if (sum.gap_percent() > most) {
            closed_ = false;
            check_.add({"carbon-in-solids", place,
                        fmt::format("{}: {}: the {} kg C between are counted as held by the {} kg "
                                    "dry of solids that leave",
                                    of, sides(BalanceKind::biogenic_carbon, sum), number(missing),
                                    number(sum.solids)),
                        "right where they are mostly fibre", sum.gap_percent()});
        }
    }

    // --- the mill ---
    /// Each process as often as it runs for what is asked. What the mill makes for itself cancels;
    /// what is left of it comes in or goes out.
    void of_mill(BalanceKind kind, const MillScale& scale) {
        Sum sum;
        std::map<std::string_view, double> inside;
        std::size_t concerned = 0;
        for (std::size_t p = 0; p < mill_.processes.size(); ++p) {
            const auto& flows = flows_[p];
            if (!flows || scale.runs[p] == 0.0) continue;
            ++concerned;
            for (const Flow& flow : flows->all) {
                const double amount = scale.runs[p] * flow.amount;
                if (!flow.thing.empty()) inside[flow.thing] += amount;
                else (amount > 0.0 ? sum.in : sum.out) += std::abs(amount);
            }
            sum.solids += scale.runs[p] * solids_[p];
        }
        if (concerned == 0) return;
        for (const auto& [thing, amount] : inside)
            (amount > 0.0 ? sum.in : sum.out) += std::abs(amount);
        push(mill_.mill->id, kind, sum, scale.per);
        const Place place = scale.product == no_index ? mill_.mill->place
                                                      : mill_.products[scale.product].made->place;
        const std::string of = fmt::format("{}, for {}", mill_.mill->id, scale.per);
        if (!closed_ || kind == BalanceKind::energy) return;  // told with the process
        if (kind == BalanceKind::biogenic_carbon) judge_carbon(of, place, sum);
        else judge_gap(of, place, kind, sum);
    }

    CheckContext& check_;
    const MillNodes& mill_;
    const std::vector<MillScale>& scales_;
    std::vector<std::optional<Flows>> flows_;  ///< of each process, of the kind in hand
    std::vector<double>
        solids_;  ///< dry matter that leaves each process and is no product [kg dry]
    std::vector<std::pair<const ProcessNodes*, std::string>>
        skipped_;         ///< of the kind in hand, with the reason
    bool closed_ = true;  ///< nothing of the kind in hand was told with a process
};

/// What the mills of a scenario fail to balance; the report of balances stays today's.
std::vector<Finding> findings_of(CheckContext& check, const Assembly& assembly) {
    CheckReport& report = check.report;
    const std::size_t rows = report.balances.size(), told = report.findings.size();
    for (const auto& mill : assembly.mill_nodes)
        Balances(check, *mill, scales_per_product(check, assembly, *mill)).run();
    report.balances.resize(rows);
    std::vector<Finding> found(report.findings.begin() + static_cast<std::ptrdiff_t>(told),
                               report.findings.end());
    report.findings.resize(told);
    return found;
}

/// Whether one of `told` says as much: the same of the same process, and not less.
bool says_as_much(std::span<const Finding> told, const Finding& finding) {
    return std::ranges::any_of(told, [&](const Finding& one) {
        const bool same = one.code == finding.code && one.where == finding.where;
        return one.message == finding.message ||
               (same && one.measured && finding.measured &&
                std::abs(*finding.measured) <= std::abs(*one.measured) * (1.0 + rounding_of_sums));
    });
}

/// Only where they are further from closing than today's; what several scenarios have is told once.
void check_balances_of_scenarios(CheckContext& check) {
    const std::vector<Finding> today = check.report.findings;
    std::vector<std::pair<Finding, std::string>> found;  // with the scenarios that have it
    for (const Scenario& scenario : check.study.scenarios) {
        for (Finding& one : findings_of(check, *scenario.assembly)) {
            if (says_as_much(today, one)) continue;
            const auto same = std::ranges::find_if(
                found, [&](const auto& other) { return other.first.message == one.message; });
            if (same == found.end()) found.emplace_back(std::move(one), scenario.id);
            else same->second += ", " + scenario.id;
        }
    }
    for (auto& [one, scenarios] : found) {
        one.message = said_of(scenarios, std::move(one.message));
        check.report.findings.push_back(std::move(one));
    }
}

}  // namespace

void check_balances(CheckContext& check) {
    for (const auto& mill : check.model.mill_nodes)
        Balances(check, *mill, check.scales(*mill)).run();
    check_balances_of_scenarios(check);
}

}  // namespace deckle::checking
