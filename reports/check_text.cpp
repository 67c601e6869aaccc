#include <fmt/format.h>

#include <algorithm>

#include "engine/text/number_text.h"
#include "reports/check_report.h"
#include "reports/inert.h"
#include "reports/table.h"
#include "reports/words.h"

namespace deckle {
namespace {

std::string count_text(std::size_t count, std::string_view thing) {
    return fmt::format("{} {}{}", count, thing, count == 1 ? "" : "s");
}

/// What is balanced; of a mill also for what: "vellomere, 1 t base_sheet".
std::string balanced(const Balance& balance) {
    const bool as_typed = balance.per.empty() || balance.per == "as typed";
    return inert(as_typed ? balance.of : balance.of + ", " + balance.per);
}

std::string balance_text(const std::vector<Balance>& balances, const std::string& kind,
                         const Style& style) {
    Table table;
    table.columns = {{{spaced(kind)}, Table::Align::text},
                     {{"in"}},
                     {{"out"}},
                     {{"unit"}, Table::Align::text},
                     {{"gap", "%"}}};
    for (const Balance& one : balances) {
        if (one.kind != kind) continue;
        table.rows.push_back({balanced(one), format_significant(one.in),
                              format_significant(one.out), inert(one.unit),
                              one_decimal(one.gap_percent, true)});
    }
    return "\n" + table_text(table, style);
}

std::string balances_text(const std::vector<Balance>& balances, const Style& style) {
    if (balances.empty()) return {};
    std::vector<std::string> kinds;
    for (const Balance& one : balances) {
        if (std::ranges::find(kinds, one.kind) == kinds.end()) kinds.push_back(one.kind);
    }
    std::string text =
        "\n" + style.bold("Balances") + ", of the amounts as typed unless one is named\n";
    for (const std::string& kind : kinds) text += balance_text(balances, kind, style);
    return text;
}

std::string measured_text(const Finding& finding) {
    if (!finding.measured || !finding.limit) return {};
    const auto amount = [&](double value) {
        return format_significant(value) + (finding.unit.empty() ? "" : " " + inert(finding.unit));
    };
    return fmt::format("{}, limit {}", amount(*finding.measured), amount(*finding.limit));
}

std::string finding_text(const Finding& finding, const Study& study, const Style& style) {
    const std::string where = inert(study.files.where(finding.where));
    std::string text = where.empty() ? std::string() : where + ": ";
    if (finding.above_limit()) text += style.alarm("ABOVE ITS LIMIT") + ": ";
    text += fmt::format("{} [{}]", inert(finding.message), inert(finding.code));
    text = paragraph(text, 0, 4, style);
    const std::string measured = measured_text(finding);
    if (!measured.empty()) text += paragraph(measured, 4, 0, style);
    if (!finding.hint.empty()) text += paragraph("hint: " + inert(finding.hint), 4, 6, style);
    return text;
}

std::string findings_text(const CheckReport& report, const Study& study, const Style& style) {
    std::string text;
    for (const bool above : {true, false}) {
        for (const Finding& finding : report.findings) {
            if (finding.above_limit() == above) text += finding_text(finding, study, style);
        }
    }
    return text.empty() ? text : "\n" + style.bold("Findings") + "\n" + text;
}

std::string closing_text(const CheckReport& report, const Style& style) {
    const auto above =
        static_cast<std::size_t>(std::ranges::count_if(report.findings, &Finding::above_limit));
    if (report.findings.empty()) return "No findings.\n";
    const std::string all = count_text(report.findings.size(), "finding");
    if (above == 0) return fmt::format("{}, none above a limit.\n", all);
    return style.alarm(fmt::format("{}, {} above {}.", all, above,
                                   above == 1 ? "its limit" : "their limits")) +
           "\n";
}

}  // namespace

std::string check_text(const CheckReport& report, const Study& study, const Style& style) {
    const std::string& title = study.head.title.empty() ? study.head.id : study.head.title;
    return style.bold(inert(title)) + "\n" + balances_text(report.balances, style) +
           findings_text(report, study, style) + "\n" + closing_text(report, style);
}

}  // namespace deckle
