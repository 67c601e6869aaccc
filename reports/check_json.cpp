#include "reports/check_report.h"
#include "reports/json_parts.h"

namespace deckle {
namespace {

Json balance_json(const Balance& balance) {
    return {{"of", balance.of},
            {"kind", balance.kind},
            {"per", balance.per},
            {"in", balance.in},
            {"out", balance.out},
            {"unit", balance.unit},
            {"gap_percent", balance.gap_percent}};
}

Json finding_json(const Finding& finding, const Files& files) {
    return {{"code", finding.code},
            {"message", finding.message},
            {"hint", finding.hint},
            {"at", place_json(finding.where, files)},
            {"measured", number_or_null(finding.measured)},
            {"limit", number_or_null(finding.limit)},
            {"unit", finding.unit},
            {"above_limit", finding.above_limit()}};
}

}  // namespace

std::string check_json(const CheckReport& report, const Study& study, const std::string& program) {
    Json json = report_head("deckle-check", program);
    json["study"] = study_json(study.head);
    json["above_limit"] = report.above_limit();
    json["balances"] = Json::array();
    for (const Balance& one : report.balances) json["balances"].push_back(balance_json(one));
    json["findings"] = Json::array();
    for (const Finding& one : report.findings) {
        json["findings"].push_back(finding_json(one, study.files));
    }
    return json_text(json);
}

}  // namespace deckle
