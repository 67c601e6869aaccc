#include "reports/digest.h"
#include "reports/footprint.h"
#include "reports/json_parts.h"
#include "reports/uncertainty.h"

namespace deckle {
namespace {

Json sample_json(const Sample& sample, IntervalKind kind) {
    const Summary& summary = sample.summary;
    const bool ends = kind == IntervalKind::symmetric;
    const auto end_error = [&](double error) { return ends ? Json(error) : Json(nullptr); };
    Json json = Json::object();
    json["draws"] = sample.draws;
    json["mean"] = summary.mean;
    json["standard_uncertainty"] = summary.standard_uncertainty;
    json["median"] = summary.median;
    json["low"] = summary.low;
    json["high"] = summary.high;
    json["standard_errors"] = {{"mean", sample.errors.mean},
                               {"standard_uncertainty", sample.errors.standard_uncertainty},
                               {"low", end_error(sample.errors.low)},
                               {"high", end_error(sample.errors.high)}};
    json["digits_that_hold"] = digits_that_hold(summary, sample.errors);
    return json;
}

Json first_order_json(const FirstOrder& one) {
    return {{"standard_uncertainty", one.standard_uncertainty},
            {"low", one.low},
            {"high", one.high},
            {"verdict", name_of(one.verdict)},
            {"digits", one.digits}};
}

Json comparison_json(const Comparison& one, IntervalKind kind) {
    Json json = Json::object();
    json["below"] = one.below;
    json["verdict"] = name_of(one.verdict);
    json["difference"] = sample_json(one.difference, kind);
    json["ratio"] = one.ratio ? sample_json(*one.ratio, kind) : Json(nullptr);
    return json;
}

Json against_json(const UncertaintyRow& row, IntervalKind kind) {
    if (row.against.empty()) return nullptr;
    const auto one = [&](const std::optional<Comparison>& comparison) {
        return comparison ? comparison_json(*comparison, kind) : Json(nullptr);
    };
    Json json = Json::object();
    json["address"] = row.against;
    json["paired"] = one(row.figure.paired);
    json["unpaired"] = one(row.figure.unpaired);
    json["not_compared"] = row.not_compared.empty() ? Json(nullptr) : Json(row.not_compared);
    return json;
}

Json row_json(const UncertaintyRow& row, IntervalKind kind) {
    Json json = Json::object();
    json["address"] = row.address;
    json["of"] = row.of;
    json["per"] = row.per;
    json["indicator"] = row.indicator;
    json["scenario"] = row.scenario;
    json["unit"] = row.unit;
    json["coverage"] = name_of(row.bound == Bound::exact ? Coverage::complete : Coverage::at_least);
    json["bound"] = name_of(row.bound);
    json["value"] = row.figure.value;
    json["drawn"] = sample_json(row.figure.sample, kind);
    json["first_order"] = first_order_json(row.figure.first_order);
    json["against"] = against_json(row, kind);
    return json;
}

/// What every shard of one question has in common.
Json run_json(const UncertaintyReport& report) {
    const UncertaintyAsked& asked = report.asked;
    const bool adaptive = asked.draws.adaptive_digits != 0;
    Json json = Json::object();
    json["study_files"] = report.study_files;
    json["seed"] = asked.draws.seed;
    json["draws"] = adaptive ? Json(nullptr) : Json(asked.draws.draws);
    json["adaptive_digits"] = adaptive ? Json(asked.draws.adaptive_digits) : Json(nullptr);
    json["interval"] = name_of(asked.draws.interval);
    json["coverage_probability"] = coverage_probability;
    json["products"] = asked.products;
    json["pers"] = asked.pers;
    json["indicators"] = asked.indicators;
    json["scenarios"] = asked.scenarios;
    json["against"] = asked.against.empty() ? Json(nullptr) : Json(asked.against);
    json["unpaired"] = asked.draws.unpaired;
    json["data_quality_spread"] =
        report.spreads.id.empty()
            ? Json(nullptr)
            : Json({{"id", report.spreads.id}, {"source", report.spreads.source}});
    json["inputs_with_spread"] = report.with_spread;
    json["inputs_without_spread"] = report.without_spread;
    json["scenario_findings"] = report.scenario_findings;
    return json;
}

}  // namespace

std::string uncertainty_json(const UncertaintyReport& report, const std::string& program) {
    const Shard shard = report.asked.shard;
    Json json = report_head("deckle-uncertainty", program);
    json["study"] = study_json(report.study);
    json["run"] = run_json(report);
    json["shard"] = shard.of == 1 ? Json(nullptr) : Json({{"part", shard.part}, {"of", shard.of}});
    json["results"] = Json::array();
    for (const UncertaintyRow& row : report.rows)
        json["results"].push_back(row_json(row, report.asked.draws.interval));
    if (shard.of != 1) json["shard"]["digest"] = shard_digest(json);
    return json_text(json);
}

std::string shard_digest(Json report) {
    report.at("shard").erase("digest");
    return sha256_of(json_text(report));
}

}  // namespace deckle
