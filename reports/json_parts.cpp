#include "reports/json_parts.h"

#include "reports/footprint.h"

namespace deckle {
namespace {

Json rules_json(const Rules& rules) {
    if (rules.id.empty()) return nullptr;
    return {{"id", rules.id}, {"version", rules.version}};
}

}  // namespace

Json text_or_null(const std::string& text) { return text.empty() ? Json(nullptr) : Json(text); }

Json report_head(std::string_view format, std::string_view program) {
    Json head = Json::object();
    head["format"] = format;
    head["version"] = 1;
    head["program"] = program;
    return head;
}

Json number_or_null(const std::optional<double>& value) {
    return value ? Json(*value) : Json(nullptr);
}

Json study_json(const StudyHead& head) {
    Json study = Json::object();
    study["id"] = head.id;
    study["title"] = head.title;
    study["owner"] = text_or_null(head.owner);
    study["period"] = head.period;
    study["boundary"] = head.boundary;
    study["characterization"] = head.characterization;
    study["gwp_sets"] = head.gwp_sets;
    study["electricity"] = name_of(head.headline);
    study["one_electricity_view"] = head.one_electricity_view;
    study["electricity_stand_ins"] = Json::array();
    for (const ViewStandIn& one : head.stand_ins)
        study["electricity_stand_ins"].push_back(
            {{"factor", one.factor}, {"market", one.market}, {"location", one.location}});
    study["scarcity"] = text_or_null(head.scarcity);
    study["scarcity_model"] = text_or_null(head.scarcity_model);
    study["scarcity_version"] = text_or_null(head.scarcity_version);
    study["rules"] = rules_json(head.rules);
    return study;
}

Json place_json(Place place, const Files& files) {
    if (!place.known()) return nullptr;
    Json at = Json::object();
    at["file"] = files.at(place.file).path;
    at["line"] = place.line;
    at["column"] = place.column;
    at["length"] = place.length;
    return at;
}

Json asked_json(const Study& study, const AskedResult& asked, double value) {
    Json json = Json::object();
    json["address"] = asked.address;
    json["of"] = asked.result->of;
    json["per"] = asked.result->per;
    json["indicator"] = study.indicators[asked.result->indicator].id;
    json["value"] = value;
    json["unit"] = asked.result->unit;
    json["coverage"] = name_of(asked.result->coverage);
    json["unrounded"] = asked.unrounded;
    return json;
}

Json input_head_json(const Study& study, const Input& input, const std::string& address) {
    Json json = Json::object();
    json["address"] = address;
    json["title"] = text_or_null(title_of(study, address));
    json["typed"] = study.graph.text_of(input.typed);
    return json;
}

Json problem_json(const Problem& problem, const Files& files) {
    Json json = Json::object();
    json["code"] = problem.code;
    json["severity"] = problem.severity == Severity::error ? "error" : "finding";
    json["message"] = problem.message;
    const bool known = problem.where.known();
    json["file"] = known ? Json(files.at(problem.where.file).path) : Json(nullptr);
    json["line"] = known ? Json(problem.where.line) : Json(nullptr);
    json["column"] = known ? Json(problem.where.column) : Json(nullptr);
    return json;
}

}  // namespace deckle
