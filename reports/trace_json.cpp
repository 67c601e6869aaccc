#include <algorithm>

#include "reports/footprint.h"
#include "reports/json_parts.h"
#include "reports/trace_report.h"

namespace deckle {
namespace {

void add_text(Json& json, const char* key, const std::string& text) {
    if (!text.empty()) json[key] = text;
}

void add_input(Json& json, const TraceNode& node, const Files& files) {
    add_text(json, "typed", node.typed);
    add_text(json, "source", node.source);
    add_text(json, "note", node.note);
    add_text(json, "amount_is", node.amount_is);
    if (node.at.known()) json["at"] = place_json(node.at, files);
}

/// `result` is what the node was asked for as; nullptr for others.
Json node_json(const TraceNode& node, const Result* result, const Files& files) {
    Json json = Json::object();
    json["n"] = node.n;
    json["address"] = node.address.empty() ? Json(nullptr) : Json(node.address);
    json["operation"] = node.operation;
    json["value"] = node.value;
    json["unit"] = node.unit;
    if (result != nullptr) json["coverage"] = name_of(result->coverage);
    json["rule"] = node.rule.empty() ? Json(nullptr) : Json(node.rule);
    json["of"] = node.of;
    const bool labelled =
        std::ranges::any_of(node.labels, [](const std::string& label) { return !label.empty(); });
    if (labelled) json["labels"] = node.labels;
    json["omitted"] = node.omitted;
    if (node.omitted > 0 && !node.of.empty()) json["omitted_sum"] = node.omitted_sum;
    if (!node.p.empty()) json["times"] = node.p;
    if (!node.q.empty()) json["divided_by"] = node.q;
    if (node.not_covered) json["not_covered"] = true;
    add_input(json, node, files);
    return json;
}

}  // namespace

std::string trace_json(const Trace& trace, const Study& study, const std::string& program) {
    Json json = report_head("deckle-trace", program);
    json["study"] = study_json(study.head);
    json["address"] = trace.address;
    json["nodes"] = Json::array();
    for (const TraceNode& node : trace.nodes) {
        json["nodes"].push_back(node_json(node, node.n == 0 ? trace.result : nullptr, study.files));
    }
    json["used_by"] = trace.used_by;
    return json_text(json);
}

}  // namespace deckle
