#include "engine/analysis/check.h"

#include <fmt/format.h>

#include <algorithm>
#include <tuple>

#include "engine/analysis/breakout.h"
#include "engine/analysis/check_parts.h"
#include "engine/text/nearest.h"

namespace deckle {
namespace checking {
namespace {

/// Climate of a whole output, else of the first product asked for.
const Result* main_result_of(const CheckContext& check) {
    if (const Result* all = check.study.result("all", "period", "climate")) return all;
    for (const auto& mill : check.model.mill_nodes) {
        for (const MillScale& scale : check.scales(*mill)) {
            const std::string& id = mill->products[scale.product].id;
            for (const Result& result : check.study.results) {
                const bool same = result.of == id || result.of == mill->mill->id + "." + id;
                if (same && check.study.indicators[result.indicator].id == "climate")
                    return &result;
            }
        }
    }
    return &check.study.results.front();
}

const CodeRow* row_of(std::string_view code) {
    const auto row =
        std::ranges::find_if(code_rows(), [&](const CodeRow& one) { return one.code == code; });
    return row == code_rows().end() ? nullptr : &*row;
}

/// Of a limit under the rules: "balance_water".
std::string key_of(const CodeRow& row) {
    std::string key(row.code);
    std::ranges::replace(key, '-', '_');
    return key;
}

std::optional<double> limit_in(const CodeRow& row, const Stated& stated) {
    return typed_in(stated, row.unit == "1" ? "" : row.unit);
}

/// What is above its limit first, then the worst kinds, each in the order of the files.
void sort(std::vector<Finding>& findings) {
    const auto key = [](const Finding& finding) {
        const auto rank = row_of(finding.code) - code_rows().data();
        return std::tuple(!finding.above_limit(), rank, finding.where.file, finding.where.line,
                          finding.where.column, std::string_view(finding.message));
    };
    std::ranges::stable_sort(findings,
                             [&](const Finding& a, const Finding& b) { return key(a) < key(b); });
}

}  // namespace

CheckContext::CheckContext(const Study& checked, const Evaluation& values, CheckReport& into)
    : study(checked), model(*checked.model), at(values), report(into) {
    for (const auto& mill : model.mill_nodes)
        scales_.push_back(scales_per_product(*this, model, *mill));
    main_ = main_result_of(*this);
    const Breakout rows = break_out(study, at, *main_, main_->node, BreakoutBy::factor);
    if (rows.total == 0.0) return;
    for (const Contribution& row : rows.rows)
        share_by_factor_[row.name] = 100.0 * row.value / rows.total;
}

const std::vector<MillScale>& CheckContext::scales(const MillNodes& mill) const {
    const auto found =
        std::ranges::find_if(model.mill_nodes, [&](const auto& one) { return one.get() == &mill; });
    return scales_[static_cast<std::size_t>(found - model.mill_nodes.begin())];
}

void CheckContext::add(Said said) { report.findings.push_back(finding(std::move(said))); }

Finding CheckContext::finding(Said said) const {
    const CodeRow* row = row_of(said.code);
    const std::string unit = row == nullptr || row->unit == "-" || row->unit == "1"
                                 ? std::string{}
                                 : std::string(row->unit);
    return {said.code,  std::move(said.message), std::move(said.hint),
            said.where, said.measured,           limit(said.code),
            unit};
}

std::optional<double> CheckContext::limit(std::string_view code) const {
    const CodeRow* row = row_of(code);
    if (row == nullptr || row->unit == "-") return std::nullopt;
    const auto stated = model.rules.limits.find(key_of(*row));
    return stated == model.rules.limits.end() ? std::nullopt : limit_in(*row, stated->second);
}

double CheckContext::threshold(std::string_view code, double otherwise) const {
    return limit(code).value_or(otherwise);
}

double CheckContext::share_of(const Factor& factor) const {
    const auto found = share_by_factor_.find(factor.address());
    return found == share_by_factor_.end() ? 0.0 : found->second;
}

double CheckContext::share_of(std::span<const Factor* const> factors) const {
    double sum = 0.0;
    for (const Factor* factor : factors) sum += share_of(*factor);
    return sum;
}

}  // namespace checking

CheckReport check_study(const Study& study, const Evaluation& at) {
    CheckReport report;
    if (study.results.empty()) return report;  // a study without a mill makes nothing
    checking::CheckContext check(study, at, report);
    checking::check_balances(check);
    checking::check_mixes(check);
    checking::check_double_counting(check);
    checking::check_ranges(check);
    checking::check_products(check);
    checking::check_electricity(check);
    checking::check_rules(check);
    checking::check_factors(check);
    checking::check_scarcity(check);
    checking::check_amounts(check);
    for (const Problem& found : study.findings)
        check.add({found.code, found.where, found.message, found.hint});
    for (const Scenario& scenario : study.scenarios) {
        for (const Problem& found : scenario.findings)
            check.add({found.code, found.where, found.message, found.hint});
    }
    checking::sort(report.findings);
    return report;
}

void require_limits(const Study& study) {
    using namespace checking;
    Problems problems;
    std::vector<std::string> known;
    for (const CodeRow& row : code_rows())
        if (row.unit != "-") known.push_back(key_of(row));
    for (const auto& limit : study.model->rules.limits) {
        const std::string& key = limit.first;
        const Stated& stated = limit.second;
        const auto row = std::ranges::find_if(
            code_rows(), [&](const CodeRow& one) { return one.unit != "-" && key_of(one) == key; });
        if (row == code_rows().end()) {
            const std::string near = did_you_mean(key, known);
            problems.add(
                stated.place(), "unknown-key",
                fmt::format("no finding is measured against a limit {}", key),
                near.empty() ? "a finding's code with _ for -, such as balance_water: 2 %" : near);
        } else if (!limit_in(*row, stated)) {
            problems.add(stated.place(), "wrong-unit",
                         fmt::format("{}: {} is not in {}", key, stated.scalar.text,
                                     row->unit == "1" ? "a plain number" : row->unit),
                         "type the limit in that unit");
        }
    }
    problems.throw_if_any();
}

std::vector<RangeReading> range_readings(const Study& study, const Evaluation& at,
                                         std::string_view scenario,
                                         const std::function<bool(NodeId)>& matters) {
    CheckReport report;
    if (study.results.empty()) return {};
    const checking::CheckContext check(study, at, report);
    return checking::readings_of(check, assembly_of(study, scenario), matters);
}

std::string said_of(std::string_view scenario, std::string message) {
    return scenario.empty() ? std::move(message)
                            : fmt::format("in scenario {}: {}", scenario, message);
}

bool CheckReport::above_limit() const noexcept {
    return std::ranges::any_of(findings, &Finding::above_limit);
}

}  // namespace deckle
