#include "reports/breakeven_report.h"
#include "reports/json_parts.h"

namespace deckle {
namespace {

Json along_json(const AlongInput& along, const Study& study) {
    Json json = input_head_json(study, *along.input, along.address);
    json["value"] = along.value;
    json["unit"] = along.unit;
    json["from"] = along.range.from;
    json["to"] = along.range.to;
    json["as_asked"] = along.as_asked;
    json["interval_95"] =
        along.interval ? Json::array({along.interval->low, along.interval->high}) : Json(nullptr);
    return json;
}

Json target_json(const Breakeven& found, const Study& study) {
    const Target& target = found.target;
    Json json = Json::object();
    json["results"] = Json::array();
    for (std::size_t i = 0; i < target.others.size(); ++i)
        json["results"].push_back(asked_json(study, target.others[i], target.values[i]));
    json["value"] = target.value;
    json["index"] = target.index ? Json(*target.index) : Json(nullptr);
    return json;
}

Json sides_json(const Sides& sides) {
    if (!sides.result) return nullptr;
    return {{"result", *sides.result}, {"against", *sides.target}};
}

Json crossing_json(const Crossing& one) {
    return {{"kind", name_of(one.kind)}, {"at", one.at},         {"low", one.low},
            {"high", one.high},          {"before", one.before}, {"after", one.after}};
}

Json equality_json(const Equality& one) {
    Json json = crossing_json(one.crossing);
    json["result"] = one.result;
    json["against"] = one.target;
    json["in_interval"] = one.in_interval;
    json["findings"] = Json::array();
    for (const auto& [finding, now] : one.outside)
        json["findings"].push_back(
            {{"code", finding.code}, {"message", finding.message}, {"now", now}});
    json["inside"] = one.inside;
    json["whole"] = Json::array();
    for (const auto& [count, sides] : one.whole)
        json["whole"].push_back({{"at", count}, {"sides", sides_json(sides)}});
    json["unlooked"] = one.unlooked.empty() ? Json(nullptr) : Json(one.unlooked);
    return json;
}

Json line_json(const EqualityLine& line, const Study& study) {
    Json json = Json::object();
    json["input"] = along_json(line.second, study);
    json["steps"] = Json::array();
    for (const auto& step : line.steps) {
        Json equalities = Json::array();
        for (const Crossing& one : step.equalities) equalities.push_back(crossing_json(one));
        json["steps"].push_back({{"value", step.value}, {"equalities", std::move(equalities)}});
    }
    return json;
}

}  // namespace

std::string breakeven_json(const Breakeven& found, const Study& study, const std::string& program) {
    Json json = report_head("deckle-breakeven", program);
    json["study"] = study_json(study.head);
    json["result"] = asked_json(study, found.asked, found.value);
    json["against"] = target_json(found, study);
    json["input"] = along_json(found.along, study);
    json["unlike_pers"] = found.unlike_pers.empty() ? Json(nullptr) : Json(found.unlike_pers);
    json["both_rest"] = found.both_rest;
    json["stepped"] = found.stepped;
    json["now"] = sides_json(found.now);
    json["at_from"] = found.line ? Json(nullptr) : sides_json(found.at_from);
    json["at_to"] = found.line ? Json(nullptr) : sides_json(found.at_to);
    json["equalities"] = Json::array();
    for (const Equality& one : found.equalities) json["equalities"].push_back(equality_json(one));
    json["gaps"] = Json::array();
    for (const Unanswered& one : found.gaps)
        json["gaps"].push_back({{"from", one.gap.from}, {"to", one.gap.to}, {"why", one.why}});
    json["line"] = found.line ? line_json(*found.line, study) : Json(nullptr);
    return json_text(json);
}

}  // namespace deckle
