// A comparison as JSON and as CSV: the same rows, unrounded.
#include "reports/compare_report.h"
#include "reports/csv.h"
#include "reports/footprint.h"
#include "reports/json_parts.h"
#include "reports/scenario_text.h"

namespace deckle {
namespace {

bool has_value(const ComparedFigure& figure) {
    return figure.result != nullptr && figure.result->coverage != Coverage::not_covered;
}

Json figure_json(const Compared& compared, const ComparedFigure& figure, std::size_t i) {
    Json json = Json::object();
    json["indicator"] = compared.indicators[i]->id;
    json["address"] = figure.result == nullptr ? Json(nullptr) : Json(figure.result->address);
    json["value"] = has_value(figure) ? Json(figure.value) : Json(nullptr);
    json["unit"] = compared.indicators[i]->unit;
    json["coverage"] = figure.result == nullptr ? "not_covered" : name_of(figure.result->coverage);
    json["index"] = number_or_null(figure.index);
    json["difference"] = number_or_null(figure.difference);
    json["without_index"] = figure.without_index;
    json["percent_apart"] = number_or_null(figure.percent_apart);
    return json;
}

Json changes_json(const Compared& compared, const StepCost& step) {
    Json json = Json::array();
    for (std::size_t i = 0; i < step.changes.size(); ++i)
        json.push_back({{"indicator", compared.indicators[i]->id},
                        {"value", number_or_null(step.changes[i].value)},
                        {"unit", compared.indicators[i]->unit},
                        {"lacks", step.changes[i].lacks}});
    return json;
}

Json step_json(const Compared& compared, const std::optional<StepCost>& step) {
    if (!step) return nullptr;
    return {{"against", step->against.empty() ? "today" : step->against},
            {"in_place_of", step->instead},
            {"climate", number_or_null(step->climate)},
            {"location", number_or_null(step->location)},
            {"market", number_or_null(step->market)},
            {"climate_lacks", step->climate_lacks},
            {"changes", changes_json(compared, *step)},
            {"cost", number_or_null(step->cost)},
            {"cost_lacks", step->cost_lacks},
            {"cost_per_t_avoided", number_or_null(step->per_tonne_avoided)}};
}

Json counts_json(const ComparedRow& row) {
    Json json = Json::array();
    for (const auto& count : row.counts)
        json.push_back({{"what", count.what},
                        {"title", count.title},
                        {"unit", count.unit},
                        {"value", count.value},
                        {"difference", count.difference},
                        {"source", count.source}});
    return json;
}

/// Figures of the mean of several references have no address.
Json mean_json(const Compared& compared) {
    if (!compared.mean) return nullptr;
    Json figures = Json::array();
    for (std::size_t i = 0; i < compared.mean->figures.size(); ++i) {
        Json json = figure_json(compared, compared.mean->figures[i], i);
        json["address"] = nullptr;
        figures.push_back(std::move(json));
    }
    return {
        {"per", compared.mean->per}, {"figures", figures}, {"counts", counts_json(*compared.mean)}};
}

Json row_json(const Compared& compared, const ComparedRow& row) {
    Json json = Json::object();
    json["of"] = row.of;
    json["scenario"] = row.scenario.empty() ? "today" : row.scenario;
    json["title"] = row.title;
    json["per"] = row.per;
    json["is_reference"] = row.is_reference;
    json["figures"] = Json::array();
    for (std::size_t i = 0; i < row.figures.size(); ++i)
        json["figures"].push_back(figure_json(compared, row.figures[i], i));
    json["climate_by_scope"] = {{"location", row.location}, {"market", row.market}};
    json["brings_along"] = row.bundles;
    json["not_to_be_added_to"] = row.apart_from;
    json["step"] = step_json(compared, row.step);
    json["counts"] = counts_json(row);
    json["sizes"] = Json::array();
    for (const auto& size : row.sizes)
        json["sizes"].push_back({{"what", size.what}, {"unit", size.unit}, {"value", size.value}});
    json["properties"] = Json::array();
    for (const auto& property : row.properties)
        json["properties"].push_back({{"name", property.name},
                                      {"value", property.value},
                                      {"scale", property.scale},
                                      {"method", property.method}});
    return json;
}

}  // namespace

std::string compare_json(const Compared& compared, const std::string& program) {
    Json json = report_head("deckle-comparison", program);
    json["study"] = study_json(compared.study->head);
    json["function"] = compared.function;
    json["electricity"] = name_of(compared.view);
    json["rules_differ"] = compared.rules_differ;
    json["allocations"] = Json::array();
    for (const SharedBy& one : compared.allocations)
        json["allocations"].push_back({{"process", one.process}, {"method", one.method}});
    json["rows"] = Json::array();
    for (const ComparedRow& row : compared.rows) json["rows"].push_back(row_json(compared, row));
    json["reference_mean"] = mean_json(compared);
    json["unlike_sizes"] = compared.unlike_sizes;
    json["caution"] = equipment_caution();
    return json_text(json);
}

std::string compare_csv(const Compared& compared) {
    std::string text = csv_line({"of", "scenario", "per", "indicator", "address", "value", "unit",
                                 "coverage", "index", "difference", "percent_apart"});
    const auto add = [&](const ComparedRow& row, bool is_mean) {
        for (std::size_t i = 0; i < row.figures.size(); ++i) {
            const ComparedFigure& figure = row.figures[i];
            if (figure.result == nullptr) continue;
            text += csv_line({csv_text(is_mean ? "reference_mean" : row.of),
                              csv_text(is_mean                ? ""
                                       : row.scenario.empty() ? "today"
                                                              : row.scenario),
                              csv_text(row.per), csv_text(compared.indicators[i]->id),
                              csv_text(is_mean ? "" : figure.result->address),
                              has_value(figure) ? csv_number(figure.value) : std::string(),
                              csv_text(compared.indicators[i]->unit),
                              csv_text(name_of(figure.result->coverage)),
                              figure.index ? csv_number(*figure.index) : std::string(),
                              csv_number(figure.difference), csv_number(figure.percent_apart)});
        }
    };
    for (const ComparedRow& row : compared.rows) add(row, false);
    if (compared.mean) add(*compared.mean, true);
    return text;
}

}  // namespace deckle
