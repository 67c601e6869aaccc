#include <fmt/format.h>

#include <array>
#include <cmath>
#include <limits>
#include <map>
#include <set>

#include "engine/analysis/check.h"
#include "engine/study/model.h"
#include "engine/tables/limits.h"
#include "reports/digest.h"
#include "reports/footprint.h"
#include "reports/graph_json.h"
#include "reports/json_parts.h"
#include "reports/page_report.h"
#include "reports/study_paths.h"

namespace deckle {
namespace {

std::vector<GraphFile> files_of(const Study& study) {
    const std::vector<std::string> paths = paths_within_study(study.files);
    std::vector<GraphFile> files;
    for (std::uint32_t file = 1; file <= study.files.count(); ++file) {
        files.push_back({paths[file - 1], sha256_of(study.files.bytes_of(file))});
    }
    return files;
}

Json node_json(NodeId node) { return node == no_node ? Json(nullptr) : Json(node); }

std::string_view name_of(Subject::Kind kind) {
    switch (kind) {
        case Subject::Kind::mill_product: return "mill_product";
        case Subject::Kind::consumer_product: return "consumer_product";
        case Subject::Kind::line: return "line";
        case Subject::Kind::all: break;
    }
    return "all";
}

Json subject_json(const Subject& subject, const Files& files) {
    Json json = Json::object();
    json["id"] = subject.id;
    json["title"] = subject.title;
    json["kind"] = name_of(subject.kind);
    json["pers"] = subject.pers;
    json["whole_count"] = node_json(subject.whole_count);
    json["exact_count"] = node_json(subject.exact_count);
    json["at"] = place_json(subject.place, files);
    return json;
}

Json head_json(const StudyHead& head) {
    Json json = study_json(head);
    json["exempted"] = head.exempted;
    json["rules_text"] = head.rules.text;
    json["prices"] = head.prices;
    return json;
}

Json steps_json(const Scenario& scenario, const Files& files) {
    Json steps = Json::array();
    for (const Scenario::Step& step : scenario.steps) {
        steps.push_back({{"change", step.change},
                         {"reason", step.reason},
                         {"scenario", step.scenario},
                         {"at", place_json(step.place, files)}});
    }
    return steps;
}

/// What the engine refuses of a scenario that leads beyond: [node, low, high, what]; an end that is
/// open is null.
Json limits_json(const Assembly& assembly) {
    const auto end = [](double value) {
        return std::abs(value) < std::numeric_limits<double>::max() ? Json(value) : Json(nullptr);
    };
    Json list = Json::array();
    for (const FormulaLimit& limit : assembly.limits) {
        const Bounds bounds = bounds_of(limit);
        list.push_back({limit.node, end(bounds.low), end(bounds.high), limit.formula});
    }
    return list;
}

/// What the addresses of amounts begin with, in words: "fennaby.towel_machine", "products.napkin".
class Titles {
public:
    void add(const Tables& tables) {
        for (const FactorTable& table : tables.factors) {
            for (const Factor& factor : table.factors)
                add(table.id + "." + factor.id, factor.title);
        }
    }

    void add(const Assembly& assembly) {
        for (const Mill& mill : assembly.mills) {
            add(mill.id, mill.title);
            for (const Process& process : mill.processes) add(process.address(), process.title);
        }
        for (const Product& product : assembly.products)
            add("products." + product.id, product.title);
    }

    [[nodiscard]] Json json() const { return titles_; }

private:
    void add(const std::string& begin, const std::string& title) {
        if (!title.empty()) titles_[begin] = title;
    }

    Json titles_ = Json::object();
};

class PageWriter {
public:
    PageWriter(const Study& study, const Evaluation& at)
        : study_(study), files_(named_within_study(study.files)), at_(at) {}

    Json write() {
        Json json = Json::object();
        json["indicators"] = indicators();
        json["scenarios"] = Json::array({today()});
        for (const Scenario& one : study_.scenarios) json["scenarios"].push_back(scenario(one));
        json["titles"] = titles();
        json["note"] = study_.model->note;
        json["findings"] = findings();
        for (Json& one : json["scenarios"]) add_results(one);
        json["checked"] = checked();
        return json;
    }

private:
    [[nodiscard]] Json indicators() const {
        Json list = Json::array();
        for (const Indicator& one : study_.indicators) {
            list.push_back(
                {{"id", one.id}, {"title", one.title}, {"unit", one.unit}, {"memo", one.memo}});
        }
        return list;
    }

    [[nodiscard]] Json titles() const {
        Titles titles;
        titles.add(study_.model->tables);
        for (const Scenario& one : study_.scenarios) titles.add(*one.assembly);
        titles.add(*study_.model);
        return titles.json();
    }

    [[nodiscard]] Json subjects(std::string_view scenario) const {
        Json list = Json::array();
        for (const Subject& subject : study_.subjects_of(scenario))
            list.push_back(subject_json(subject, files_));
        return list;
    }

    [[nodiscard]] Json today() const {
        return {{"id", "today"},
                {"title", "Today"},
                {"note", ""},
                {"on", Json::array()},
                {"steps", Json::array()},
                {"allocation", ""},
                {"limits", limits_json(*study_.model)},
                {"study", head_json(study_.head)},
                {"subjects", subjects("")}};
    }

    [[nodiscard]] Json scenario(const Scenario& one) const {
        return {{"id", one.id},
                {"title", one.title},
                {"note", one.note},
                {"on", one.on},
                {"steps", steps_json(one, files_)},
                {"allocation", one.allocation},
                {"limits", limits_json(*one.assembly)},
                {"study", head_json(one.head)},
                {"subjects", subjects(one.id)}};
    }

    [[nodiscard]] Json findings() const {
        Json list = Json::array();
        for (const Finding& one : check_study(study_, at_).findings) {
            list.push_back({{"code", one.code},
                            {"message", one.message},
                            {"hint", one.hint},
                            {"above_limit", one.above_limit()},
                            {"at", place_json(one.where, files_)}});
        }
        return list;
    }

    /// {of, per, rows: [[indicator, node, market, location, bound, flags]]}: numbers alone, named
    /// in page/data.ts
    void add_results(Json& scenario) {
        FootprintQuestion question;
        question.scenarios.push_back(scenario["id"].get<std::string>());
        const Footprint footprint = ask_footprint(study_, at_, std::move(question));
        Json groups = Json::array();
        for (const FootprintResult& one : footprint.results) {
            const bool same = !groups.empty() && groups.back()["of"] == one.result->of &&
                              groups.back()["per"] == one.result->per;
            if (!same) {
                groups.push_back(
                    {{"of", one.result->of}, {"per", one.result->per}, {"rows", Json::array()}});
            }
            groups.back()["rows"].push_back(row(one));
        }
        scenario["results"] = std::move(groups);
        scenario["uncovered"] = uncovered_json(footprint);
    }

    Json row(const FootprintResult& one) {
        const Result& result = *one.result;
        for (const NodeId node : {result.node, result.market, result.location}) nodes_.insert(node);
        return {result.indicator,
                result.node,
                result.market,
                result.location,
                static_cast<int>(one.bound),
                (result.one_number ? 1 : 0) + (result.coverage != Coverage::not_covered ? 2 : 0)};
    }

    static Json uncovered_json(const Footprint& footprint) {
        Json list = Json::array();
        for (const CoverageNote& note : footprint.coverage) {
            list.push_back({{"indicator", note.indicator},
                            {"factor", note.factor},
                            {"uses", note.uses},
                            {"one_number", note.one_number}});
        }
        return list;
    }

    /// What the browser has to find again: the nodes behind all results, and the engine's values.
    [[nodiscard]] Json checked() const {
        Json nodes = Json::array(), values = Json::array();
        for (const NodeId node : nodes_) {
            if (node == no_node) continue;
            nodes.push_back(node);
            values.push_back(at_.value[node]);
        }
        return {{"nodes", std::move(nodes)}, {"values", std::move(values)}};
    }

    const Study& study_;
    const Files files_;  ///< as readers see them named
    const Evaluation& at_;
    std::set<NodeId> nodes_;
};

Json uncertain_row(const UncertaintyRow& row, const Histogram& histogram) {
    const Summary& summary = row.figure.sample.summary;
    return {{"address", row.address},
            {"scenario", row.scenario},
            {"of", row.of},
            {"per", row.per},
            {"indicator", row.indicator},
            {"mean", summary.mean},
            {"standard_uncertainty", summary.standard_uncertainty},
            {"median", summary.median},
            {"low", summary.low},
            {"high", summary.high},
            {"least", histogram.low},
            {"most", histogram.high},
            {"counts", histogram.counts}};
}

Json uncertainty_json(const PageQuestion& question, const PageUncertainty& uncertainty) {
    Json rows = Json::array();
    for (std::size_t k = 0; k < uncertainty.rows.size(); ++k)
        rows.push_back(uncertain_row(uncertainty.rows[k], uncertainty.histograms[k]));
    return {{"draws", question.draws},
            {"seed", question.seed},
            {"with_spread", uncertainty.with_spread},
            {"without_spread", uncertainty.without_spread},
            {"why", uncertainty.why},
            {"rows", std::move(rows)}};
}

}  // namespace

std::string page_data(const Study& study, const Evaluation& at, const PageQuestion& question,
                      const PageUncertainty& uncertainty) {
    Json page = report_head("deckle-page", question.program);
    page["seal"] = question.seal;
    page.update(PageWriter(study, at).write());
    page["uncertainty"] = uncertainty_json(question, uncertainty);
    Json data = Json::object();
    data["graph"] =
        Json::parse(graph_json(study.graph, files_of(study), GraphNames::without_results));
    data["page"] = std::move(page);
    // without spaces and in ASCII alone, which a browser reads in half the time
    return data.dump(-1, ' ', true);
}

}  // namespace deckle
