#include "reports/json_parts.h"
#include "reports/sensitivity_report.h"

namespace deckle {
namespace {

Json swing_json(const Swing& swing) {
    Json json = Json::object();
    json["over"] = swing.of_spread ? "interval_95" : "step";
    json["from"] = swing.from;
    json["to"] = swing.to;
    json["at_from"] = number_or_null(swing.at_from);
    json["at_to"] = number_or_null(swing.at_to);
    json["cut"] = swing.cut;
    if (!swing.why.empty()) json["why"] = swing.why;
    return json;
}

Json input_json(const InputSensitivity& one, const Study& study) {
    Json json = input_head_json(study, *one.input, one.address);
    json["value"] = one.value;
    json["unit"] = one.unit;
    json["derivative"] = one.derivative;
    json["elasticity"] = number_or_null(one.elasticity);
    json["deviation"] = one.deviation;
    json["share"] = one.share;
    json["stepped"] = one.stepped;
    json["swing"] = swing_json(one.swing);
    json["at"] = place_json(study.graph.origin(one.input->node).place, study.files);
    return json;
}

Json sobol_json(const SobolIndices& sobol) {
    Json json = Json::object();
    json["rows"] = sobol.rows;
    json["runs"] = sobol.runs;
    json["seed"] = sobol.seed;
    json["mean"] = sobol.mean;
    json["standard_deviation"] = sobol.deviation;
    json["sum_of_first"] = sobol.sum_of_first;
    json["inputs"] = Json::array();
    for (const SobolInput& one : sobol.inputs) {
        json["inputs"].push_back({{"addresses", one.addresses},
                                  {"first", one.first.value},
                                  {"first_half_width", one.first.half_width},
                                  {"total", one.total.value},
                                  {"total_half_width", one.total.half_width},
                                  {"rank_correlation", one.rank_correlation}});
    }
    return json;
}

}  // namespace

std::string sensitivity_json(const SensitivityReport& report, const Study& study,
                             const std::string& program) {
    const Sensitivity& found = report.found;
    Json json = report_head("deckle-sensitivity", program);
    json["study"] = study_json(study.head);
    json["result"] = asked_json(study, found.asked, found.value);
    json["standard_uncertainty"] = found.standard_uncertainty;
    json["inputs_in_all"] = found.inputs_in_all;
    json["with_spread"] = found.with_spread;
    json["rank"] = name_of(found.question.rank);
    json["step"] = found.question.step;
    json["inputs"] = Json::array();
    for (const InputSensitivity& one : found.inputs)
        json["inputs"].push_back(input_json(one, study));
    json["sobol"] = report.sobol ? sobol_json(*report.sobol) : Json(nullptr);
    return json_text(json);
}

}  // namespace deckle
