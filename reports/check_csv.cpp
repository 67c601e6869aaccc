#include "reports/check_report.h"
#include "reports/csv.h"

namespace deckle {
namespace {

std::string whole(std::uint32_t number) { return number == 0 ? "" : std::to_string(number); }

std::string balance_line(const Balance& one) {
    return csv_line({"balance", csv_text(one.kind), csv_text(one.of), csv_text(one.per),
                     csv_number(one.in), csv_number(one.out), csv_text(one.unit),
                     csv_number(one.gap_percent), "", "", "", "", "", "", "", ""});
}

std::string finding_line(const Finding& one, const Files& files) {
    const bool known = one.where.known();
    return csv_line({"finding", csv_text(one.code), "", "", "", "", csv_text(one.unit), "",
                     csv_number(one.measured), csv_number(one.limit),
                     one.above_limit() ? "yes" : "no", csv_text(one.message), csv_text(one.hint),
                     known ? csv_text(files.at(one.where.file).path) : std::string(),
                     whole(one.where.line), whole(one.where.column)});
}

}  // namespace

std::string check_csv(const CheckReport& report, const Study& study) {
    std::string text =
        csv_line({"record", "code", "of", "per", "in", "out", "unit", "gap_percent", "measured",
                  "limit", "above_limit", "message", "hint", "file", "line", "column"});
    for (const Balance& one : report.balances) text += balance_line(one);
    for (const Finding& one : report.findings) text += finding_line(one, study.files);
    return text;
}

}  // namespace deckle
