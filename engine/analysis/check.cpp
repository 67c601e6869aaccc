#include "engine/analysis/check.h"

#include <algorithm>
#include <array>

#include "engine/study/model.h"

namespace deckle {
namespace {

constexpr std::array codes{
    CheckCode{"balance-water", "water that comes into a process or a mill does not leave it"},
    CheckCode{"contract-without-certificate",
              "electricity by contract without a cancelled certificate counts as residual mix"},
};

double sum_of(const std::vector<ProcessNodes::Flow>& flows, const Evaluation& at) {
    double sum = 0.0;
    for (const auto& flow : flows) sum += at.value[flow.amount.node];
    return sum;
}

/// Water metered into a process against water metered out of it.
Balance water_of(const ProcessNodes& process, const Evaluation& at) {
    Balance balance{process.process->address(), "water", sum_of(process.takes_in, at),
                    sum_of(process.gives_back, at), "m3", "as typed", 0.0};
    for (const auto& [what, amount] : process.leaves) {
        if (what->name == "vapour") balance.out += at.value[amount.node];
    }
    if (balance.in > 0.0) balance.gap_percent = 100.0 * (balance.in - balance.out) / balance.in;
    return balance;
}

}  // namespace

CheckReport check_study(const Study& study, const Evaluation& at) {
    CheckReport report;
    for (const auto& mill : study.model->mill_nodes) {
        for (const ProcessNodes& process : mill->processes) {
            if (!process.takes_in.empty()) report.balances.push_back(water_of(process, at));
        }
    }
    for (const Problem& found : study.findings) {
        report.findings.push_back(
            {found.code, found.message, found.hint, found.where, std::nullopt, std::nullopt, {}});
    }
    return report;
}

bool CheckReport::above_limit() const noexcept {
    return std::ranges::any_of(findings, &Finding::above_limit);
}

std::span<const CheckCode> check_codes() noexcept { return codes; }

}  // namespace deckle
