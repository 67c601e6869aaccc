#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>

#include "engine/analysis/check_parts.h"

namespace deckle::checking {
namespace {

// Common practice, no published source: scales and steam meters agree to some per cent over a year.
constexpr double open_ratio_percent = 5.0;
constexpr double open_basin_percent = 0.5;
constexpr double most_percent = 1e6;  ///< of a basin that gives nothing

double apart_percent(double a, double b) {
    const double larger = std::max(std::abs(a), std::abs(b));
    return larger == 0.0 ? 0.0 : 100.0 * std::abs(a - b) / larger;
}

/// "0.776 : 1", the larger co-product against the other in its unit where both are of one
/// dimension.
std::string ratio_text(const ProductNodes& first, double amount, const ProductNodes& second,
                       double other) {
    if (const auto same = conversion(second.amount.unit, first.amount.unit))
        return fmt::format("{} : 1", number(amount / same->apply(other)));
    return fmt::format("{} {} for each {}", number(amount / other), first.amount.unit.text,
                       second.amount.unit.text);
}

class Mixes {
public:
    Mixes(CheckContext& check, const MillNodes& mill) : check_(check), mill_(mill) {}

    void run() {
        if (const auto whole = scale_of_output(check_, mill_)) judge_all(*whole);
        else
            std::ranges::for_each(check_.scales(mill_),
                                  [&](const MillScale& scale) { judge_all(scale); });
        unused_returns();
    }

private:
    void judge_all(const MillScale& scale) {
        for (const ProcessNodes& process : mill_.processes) co_products(process, scale);
        returns(scale);
        basins(scale);
    }

    double needed(const MillScale& scale, std::size_t p) const {
        return scale.asked[p] + scale.used[p];
    }

    bool loops(std::size_t p) const {
        return std::ranges::any_of(mill_.loops, [&](const auto& loop) {
            return std::ranges::find(loop, p) != loop.end();
        });
    }

    /// A process that makes several things runs for the sum of its shares; each of them should be
    /// needed as often as it is made. What nobody in the mill uses is sold, and cannot be judged.
    void co_products(const ProcessNodes& process, const MillScale& scale) {
        std::vector<std::size_t> wanted;
        for (const std::size_t p : process.products) {
            if (needed(scale, p) > 0.0) wanted.push_back(p);
        }
        if (wanted.size() < 2) return;
        const auto share = [&](std::size_t p) { return check_.value(mill_.products[p].share); };
        const std::size_t main = *std::ranges::max_element(wanted, {}, share);
        const double runs = needed(scale, main) / check_.value(mill_.products[main].amount);
        for (const std::size_t p : wanted) {
            if (p != main)
                judge(process, scale, main, p, runs * check_.value(mill_.products[p].amount));
        }
    }

    void judge(const ProcessNodes& process, const MillScale& scale, std::size_t main, std::size_t p,
               double made) {
        const ProductNodes& first = mill_.products[main];
        const ProductNodes& second = mill_.products[p];
        const double used = needed(scale, p);
        const double apart = apart_percent(made, used);
        const bool goes_back = loops(p) && second.family == Family::fibre;
        const std::string code = goes_back ? "loop-not-closed" : "co-product-use";
        if (apart <= check_.threshold(code, open_ratio_percent)) return;
        if (goes_back)
            return open_loop(process.process->address(), second.id, second.amount.unit.text,
                             second.made->place, scale, made, used);
        const double of_main = check_.value(first.amount), of_other = check_.value(second.amount);
        check_.add(
            {code, process.process->place,
             fmt::format("{}: {} is made {} to {} and used {}, for {}", process.process->address(),
                         first.id, ratio_text(first, of_main, second, of_other), second.id,
                         ratio_text(first, needed(scale, main), second, used), scale.per),
             "what is not used is sold or lost: say so in a process of its own, or set the amounts "
             "of the mix right",
             apart});
    }

    void open_loop(const std::string& process, const std::string& id, const std::string& unit,
                   Place place, const MillScale& scale, double made, double used) {
        check_.add({"loop-not-closed", place,
                    fmt::format("{}: {} {} of {} are made and {} {} used, for {}", process,
                                number(made), unit, id, number(used), unit, scale.per),
                    used > made ? "what is used besides comes from nowhere: set the amounts right"
                                : "what is not used leaves the mill: it is made and sold, or waste",
                    apart_percent(made, used)});
    }

    // --- what is returned ---
    struct Returned {
        double made = 0.0, used = 0.0;  ///< t as it is
        bool known = true;
        const NamedAmount* first = nullptr;
        std::string process;
    };

    void returns(const MillScale& scale) {
        std::map<std::string, Returned> all;
        for (std::size_t p = 0; p < mill_.processes.size(); ++p) {
            for (const auto& [name, amount] : mill_.processes[p].returns) {
                Returned& one = all[name->name];
                if (one.first == nullptr)
                    one.first = name, one.process = mill_.processes[p].process->address();
                add(one.made, one.known, scale.runs[p],
                    in_unit(check_, amount, "t", bridges_of(mill_.processes[p])));
            }
        }
        for (std::size_t p = 0; p < mill_.processes.size(); ++p) {
            for (const ResolvedUse& use : mill_.processes[p].uses) {
                const auto one = use.returned ? all.find(use.use->thing) : all.end();
                if (one != all.end())
                    add(one->second.used, one->second.known, scale.runs[p],
                        in_unit(check_, use.amount, "t", use.bridges));
            }
        }
        for (const auto& [name, one] : all) {
            const double apart = apart_percent(one.made, one.used);
            if (!one.known || one.used == 0.0 ||
                apart <= check_.threshold("loop-not-closed", open_ratio_percent))
                continue;
            open_loop(one.process, name, "t", one.first->place, scale, one.made, one.used);
        }
    }

    static void add(double& sum, bool& known, double runs, std::optional<double> amount) {
        known = known && amount.has_value();
        sum += runs * amount.value_or(0.0);
    }

    std::span<const Bridge> bridges_of(const ProcessNodes& process) const {
        for (const std::size_t p : process.products) {
            if (!mill_.products[p].bridges.empty()) return mill_.products[p].bridges;
        }
        return {};
    }

    bool is_used(std::string_view returned) const {
        return std::ranges::any_of(mill_.processes, [&](const ProcessNodes& process) {
            return std::ranges::any_of(process.uses, [&](const ResolvedUse& use) {
                return use.returned && use.use->thing == returned;
            });
        });
    }

    void unused_returns() {
        for (const ProcessNodes& process : mill_.processes) {
            for (const NamedAmount& one : process.process->returns) {
                if (is_used(one.name)) continue;
                check_.add({"return-unused", one.place,
                            fmt::format("{} returns {} and no process uses it",
                                        process.process->address(), one.name),
                            fmt::format("use it where it goes back ({}: ...), or make it when it "
                                        "is sold",
                                        one.name)});
            }
        }
    }

    // --- basins ---
    void basins(const MillScale& scale) {
        std::map<std::string, std::pair<double, double>> flows;  // taken, given
        for (std::size_t p = 0; p < mill_.processes.size(); ++p) {
            for (const auto& flow : mill_.processes[p].takes_in)
                flows[flow.water->basin].first += scale.runs[p] * check_.value(flow.amount);
            for (const auto& flow : mill_.processes[p].gives_back)
                flows[flow.water->basin].second += scale.runs[p] * check_.value(flow.amount);
        }
        for (const auto& [basin, taken_given] : flows) {
            const auto& [taken, given] = taken_given;
            if (!withdraws_from(*mill_.mill, basin) || given <= taken) continue;
            const double above =
                taken == 0.0 ? most_percent : std::min(most_percent, 100.0 * (given / taken - 1.0));
            if (above <= check_.threshold("basin-receives-more", open_basin_percent)) continue;
            check_.add({"basin-receives-more", place_of(basin),
                        fmt::format("{}: {} gets {} m3 and gives {} m3, for {}: consumption there "
                                    "is below zero, and nothing is clipped",
                                    mill_.mill->id, basin, number(given), number(taken), scale.per),
                        "right when town water or another basin's is discharged there; else a "
                        "meter or an amount is wrong",
                        above});
        }
    }

    Place place_of(const std::string& basin) const {
        const auto water = std::ranges::find_if(
            mill_.mill->waters, [&](const Water& one) { return one.basin == basin; });
        return water == mill_.mill->waters.end() ? mill_.mill->place : water->place;
    }

    CheckContext& check_;
    const MillNodes& mill_;
};

}  // namespace

void check_mixes(CheckContext& check) {
    for (const auto& mill : check.model.mill_nodes) Mixes(check, *mill).run();
}

}  // namespace deckle::checking
