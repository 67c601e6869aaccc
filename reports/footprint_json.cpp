#include <algorithm>

#include "engine/analysis/check.h"
#include "reports/footprint.h"
#include "reports/json_parts.h"
#include "reports/scenario_text.h"

namespace deckle {
namespace {

Json breakout_json(const Breakout& breakout) {
    Json rows = Json::array();
    for (const Contribution& row : breakout.rows) {
        rows.push_back({{"name", row.name},
                        {"value", row.value},
                        {"share", breakout.shares ? Json(row.share) : Json(nullptr)}});
    }
    return rows;
}

Json count_json(const Footprint& footprint, NodeId node) {
    return node == no_node ? Json(nullptr) : Json(footprint.at->value[node]);
}

Json result_json(const Footprint& footprint, const FootprintResult& one) {
    const auto number = [&](double value) {
        return one.result->coverage == Coverage::not_covered ? Json(nullptr) : Json(value);
    };
    Json json = Json::object();
    json["address"] = one.address;
    json["of"] = one.result->of;
    json["per"] = one.result->per;
    json["indicator"] = one.indicator->id;
    json["scenario"] = one.result->scenario.empty() ? "today" : one.result->scenario;
    json["value"] = number(one.value);
    json["unit"] = one.result->unit;
    json["market"] = number(one.market);
    json["location"] = number(one.location);
    json["coverage"] = name_of(one.result->coverage);
    json["one_number"] = one.result->one_number;
    json["whole_count"] = count_json(footprint, one.subject->whole_count);
    Json by = Json::object();
    for (const Breakout& breakout : one.by) {
        by[std::string(name_of(breakout.by))] = breakout_json(breakout);
    }
    json["by"] = std::move(by);
    return json;
}

/// What lines make, and what that comes to.
Json makes_json(const Footprint& footprint) {
    Json all = Json::array();
    const Subject* last = nullptr;
    for (const FootprintResult& one : footprint.results) {  // those of a subject stand together
        if (one.subject == last) continue;
        last = one.subject;
        for (const Subject::Count& count : last->counts)
            all.push_back({{"address", count.address},
                           {"of", last->id},
                           {"per", count.per},
                           {"what", count.what},
                           {"title", count.title},
                           {"unit", count.unit},
                           {"value", footprint.at->value[count.node]},
                           {"source", count.source}});
    }
    return all;
}

Json coverage_json(const CoverageNote& note) {
    return {{"indicator", note.indicator},
            {"is", note.one_number ? "in_another_line" : "not_covered"},
            {"factor", note.factor},
            {"uses", note.uses}};
}

}  // namespace

std::string footprint_json(const Footprint& footprint, const std::string& program) {
    const Study& study = *footprint.study;
    Json json = report_head("deckle-footprint", program);
    json["study"] = study_json(*footprint.head);
    json["results"] = Json::array();
    for (const FootprintResult& one : footprint.results) {
        json["results"].push_back(result_json(footprint, one));
    }
    json["makes"] = makes_json(footprint);
    json["coverage"] = Json::array();
    for (const CoverageNote& note : footprint.coverage) {
        json["coverage"].push_back(coverage_json(note));
    }
    json["findings"] = Json::array();
    for (const Finding& one : check_study(study, *footprint.at).findings) {
        const Problem finding{one.where, Severity::finding, one.code, one.message, one.hint, {}};
        json["findings"].push_back(problem_json(finding, study.files));
    }
    const bool scenarios = std::ranges::any_of(footprint.results, [](const FootprintResult& one) {
        return !one.result->scenario.empty();
    });
    json["caution"] = scenarios ? Json(equipment_caution()) : Json(nullptr);
    return json_text(json);
}

}  // namespace deckle
