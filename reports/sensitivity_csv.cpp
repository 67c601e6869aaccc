#include <algorithm>

#include "reports/csv.h"
#include "reports/sensitivity_report.h"

namespace deckle {
namespace {

std::vector<std::string> sobol_cells(const SensitivityReport& report, const std::string& address) {
    if (!report.sobol) return {"", "", "", "", ""};
    const auto& inputs = report.sobol->inputs;
    const auto found = std::ranges::find_if(inputs, [&](const SobolInput& one) {
        return std::ranges::find(one.addresses, address) != one.addresses.end();
    });
    if (found == inputs.end()) return {"", "", "", "", ""};
    return {csv_number(found->first.value), csv_number(found->first.half_width),
            csv_number(found->total.value), csv_number(found->total.half_width),
            csv_number(found->rank_correlation)};
}

std::string line(const SensitivityReport& report, const InputSensitivity& one, const Study& study) {
    std::vector<std::string> cells{csv_text(report.found.asked.address),
                                   csv_text(one.address),
                                   csv_text(one.title),
                                   csv_text(study.graph.text_of(one.input->typed)),
                                   csv_number(one.value),
                                   csv_text(one.unit),
                                   csv_number(one.derivative),
                                   csv_number(one.elasticity),
                                   csv_number(one.deviation),
                                   csv_number(one.share),
                                   one.stepped ? "yes" : "no",
                                   one.swing.of_spread ? "interval_95" : "step",
                                   csv_number(one.swing.from),
                                   csv_number(one.swing.to),
                                   csv_number(one.swing.at_from),
                                   csv_number(one.swing.at_to)};
    for (std::string& cell : sobol_cells(report, one.address)) cells.push_back(std::move(cell));
    return csv_line(cells);
}

}  // namespace

std::string sensitivity_csv(const SensitivityReport& report, const Study& study) {
    std::string text = csv_line({"result",
                                 "address",
                                 "title",
                                 "typed",
                                 "value",
                                 "unit",
                                 "derivative",
                                 "elasticity",
                                 "deviation",
                                 "share",
                                 "stepped",
                                 "moved_over",
                                 "from",
                                 "to",
                                 "at_from",
                                 "at_to",
                                 "first",
                                 "first_half_width",
                                 "total",
                                 "total_half_width",
                                 "rank_correlation"});
    for (const InputSensitivity& one : report.found.inputs) text += line(report, one, study);
    return text;
}

}  // namespace deckle
