#include "engine/study/flows.h"

#include <fmt/format.h>

#include "engine/study/results.h"
#include "engine/text/nearest.h"

namespace deckle {
namespace {

/// Tonnes for any mass, else the word that was typed.
Unit known_per(const Output& output) {
    const auto parsed = parse_unit(output.per);
    if (parsed.unit && parsed.unit->dimension == dimensions::mass) return known_unit("t");
    Unit unit;
    unit.text = output.per;
    return unit;
}

Measure output_amount(Stage& stage, const Output& output, const std::string& per) {
    const Measure typed = stage.build.input(output.amount);
    if (per != "t" || typed.unit.dimension != dimensions::mass) return typed;
    return *stage.build.in_unit(typed, known_unit("t"), output.amount.place());
}

/// nullopt, reported, when the product or its unit is unknown.
std::optional<Flow> flow_of(Stage& stage, const Output& output) {
    Subject* subject = stage.subject(output.of);
    if (subject == nullptr) {
        stage.problems.add(output.place, "unknown-product",
                           fmt::format("no mill or product is called {}", output.of),
                           did_you_mean(output.of, stage.subject_ids()));
        return std::nullopt;
    }
    const std::string per = per_of(known_per(output));
    if (!listed(subject->pers, per)) {
        stage.problems.add(output.amount.place(), "unknown-per",
                           fmt::format("{} has no results per {}", output.of, output.per),
                           fmt::format("known: {}", fmt::join(subject->pers, ", ")));
        return std::nullopt;
    }
    const Measure amount = output_amount(stage, output, per);
    if (!amount.known()) return std::nullopt;
    return Flow{subject, per, amount.node, output.place};
}

void add_output(Stage& stage, const Output& output, std::vector<std::vector<Views>>& parts) {
    const auto flow = flow_of(stage, output);
    if (!flow) return;
    const auto made = times_amount(stage, *flow, "output of the period");
    for (const auto& [id, views] : made) {
        add_result(stage, *flow->subject, "period", id, views);
        parts[id].push_back(views);
    }
    flow->subject->pers.push_back("period");
}

/// The output of all products, one indicator after the other.
void add_all_output(Stage& stage, const std::vector<std::vector<Views>>& parts) {
    Subject all;
    all.id = "all";
    all.title = "all products of the study's output";
    all.kind = Subject::Kind::all;
    all.pers = {"period"};
    all.place = stage.model.place;
    for (IndicatorId id = 0; id < stage.indicators.count(); ++id) {
        if (parts[id].empty()) continue;
        Views views{};
        for (std::size_t view = 0; view < view_count; ++view) {
            std::vector<NodeId> terms;
            for (const Views& part : parts[id]) terms.push_back(part[view]);
            views[view] = stage.graph().make(
                Operation::sum, terms, stage.build.text(stage.indicators.at(id).unit),
                stage.build.origin(stage.model.place, "sum of the output of all products"));
        }
        add_result(stage, all, "period", id, views);
    }
    stage.subjects.push_back(std::move(all));
}

}  // namespace

std::vector<std::pair<IndicatorId, Views>> times_amount(Stage& stage, const Flow& flow,
                                                        std::string_view what) {
    std::vector<std::pair<IndicatorId, Views>> made;
    for (std::size_t i = stage.first_result; i < stage.study.results.size(); ++i) {
        const Result& unit = stage.study.results[i];
        if (unit.of != flow.subject->id || unit.per != flow.per) continue;
        Views views{};
        for (std::size_t view = 0; view < view_count; ++view) {
            const NodeId of_one = view == market_view ? unit.market : unit.location;
            views[view] = stage.graph().make(
                Operation::product, {of_one, flow.amount}, stage.build.text(unit.unit),
                stage.build.origin(flow.place, fmt::format("{} × per {}", what, flow.per)));
        }
        made.emplace_back(unit.indicator, views);
    }
    return made;
}

void add_period_results(Stage& stage) {
    std::vector<std::vector<Views>> parts(stage.indicators.count());
    std::vector<const Output*> sorted;
    sorted.reserve(stage.model.output.size());
    for (const Output& output : stage.model.output) sorted.push_back(&output);
    std::ranges::sort(sorted, {}, &Output::of);
    for (const Output* output : sorted) add_output(stage, *output, parts);
    if (!sorted.empty()) add_all_output(stage, parts);
}

void add_function_results(Stage& stage) {
    for (const Function& function : stage.model.functions) {
        for (const Output& output : function.flows) {
            const auto flow = flow_of(stage, output);
            if (!flow) continue;
            if (listed(flow->subject->pers, function.id)) {
                stage.problems.add(
                    function.place, "duplicate-id",
                    fmt::format("{} has results per {} already", output.of, function.id),
                    "choose another id");
                continue;
            }
            for (const auto& [id, views] : times_amount(stage, *flow, function.title))
                add_result(stage, *flow->subject, function.id, id, views);
            flow->subject->pers.push_back(function.id);
        }
    }
}

}  // namespace deckle
