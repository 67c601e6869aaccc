#include "engine/study/flows.h"

#include <fmt/format.h>

#include "engine/study/results.h"
#include "engine/text/nearest.h"

namespace deckle {
namespace {

/// nullopt, reported, when the product or its unit is unknown.
std::optional<Flow> flow_of(Stage& stage, const Output& output) {
    Subject* subject = stage.subject(output.of);
    if (subject == nullptr) {
        stage.problems.add(output.place, "unknown-product",
                           fmt::format("no mill or product is called {}", output.of),
                           did_you_mean(output.of, stage.subject_ids()));
        return std::nullopt;
    }
    const std::string per = per_of(output);
    if (!listed(subject->pers, per)) {
        stage.problems.add(output.amount.place(), "unknown-per",
                           fmt::format("{} has no results per {}", output.of, output.per),
                           fmt::format("known: {}", fmt::join(subject->pers, ", ")));
        return std::nullopt;
    }
    const Measure amount = output_amount(stage.build, output);
    if (!amount.known()) return std::nullopt;
    return Flow{subject, per, amount.node, output.place};
}

/// Results of a flow per `per`, and on the unrounded count where its unit has one.
void add_flow_results(Stage& stage, const Flow& flow, std::string_view per, std::string_view what) {
    const auto add = [&](const Flow& one, const std::string& named) {
        for (const auto& [id, views] : times_amount(stage, one, what))
            add_result(stage, *one.subject, named, id, views, flow.place);
        one.subject->pers.push_back(named);
    };
    add(flow, std::string(per));
    if (const auto exact = on_unrounded_count(flow))
        add(*exact, fmt::format("{}{}", per, unrounded));
}

constexpr std::string_view period = "period", period_unrounded = "period_unrounded";

/// What the output of the study's products comes to, one indicator after the other; of products
/// without an unrounded count their whole ones, where `per` asks for it.
void add_sum(Stage& stage, Subject& all, const std::vector<Subject*>& made, std::string_view per) {
    std::vector<std::vector<Views>> parts(stage.indicators.count());
    for (const Subject* subject : made) {
        const std::string_view own = listed(subject->pers, per) ? per : period;
        for (IndicatorId id = 0; id < stage.indicators.count(); ++id) {
            if (const Result* one = stage.result(subject->id, own, id))
                parts[id].push_back({one->market, one->location});
        }
    }
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
        add_result(stage, all, std::string(per), id, views, all.place);
    }
    all.pers.emplace_back(per);
}

void add_all_output(Stage& stage, const std::vector<Subject*>& made) {
    Subject all;
    all.id = "all";
    all.title = "all products of the study's output";
    all.kind = Subject::Kind::all;
    all.place = stage.model.place;
    add_sum(stage, all, made, period);
    if (std::ranges::any_of(made,
                            [](const Subject* one) { return listed(one->pers, period_unrounded); }))
        add_sum(stage, all, made, period_unrounded);
    stage.subjects.push_back(std::move(all));
}

}  // namespace

std::string per_of(const Output& output) {
    const auto parsed = parse_unit(output.per);
    if (parsed.unit && parsed.unit->dimension == dimensions::mass) return "t";
    Unit unit;
    unit.text = output.per;
    return per_of(unit);
}

Measure output_amount(Build& build, const Output& output) {
    const Measure typed = build.input(output.amount);
    if (per_of(output) != "t" || typed.unit.dimension != dimensions::mass) return typed;
    return *build.in_unit(typed, known_unit("t"), output.amount.place());
}

std::optional<Flow> on_unrounded_count(const Flow& flow) {
    Flow exact = flow;
    exact.per += unrounded;
    return listed(flow.subject->pers, exact.per) ? std::optional(exact) : std::nullopt;
}

std::vector<std::pair<IndicatorId, Views>> times_amount(Stage& stage, const Flow& flow,
                                                        std::string_view what) {
    std::vector<std::pair<IndicatorId, Views>> made;
    for (IndicatorId id = 0; id < stage.indicators.count(); ++id) {
        const Result* unit = stage.result(flow.subject->id, flow.per, id);
        if (unit == nullptr) continue;
        Views views{};
        for (std::size_t view = 0; view < view_count; ++view) {
            const NodeId of_one = view == market_view ? unit->market : unit->location;
            views[view] = stage.graph().make(
                Operation::product, {of_one, flow.amount}, stage.build.text(unit->unit),
                stage.build.origin(flow.place, fmt::format("{} × per {}", what, flow.per)));
        }
        made.emplace_back(id, views);
    }
    return made;
}

void add_period_results(Stage& stage) {
    std::vector<const Output*> sorted;
    sorted.reserve(stage.model.output.size());
    for (const Output& output : stage.model.output) sorted.push_back(&output);
    std::ranges::sort(sorted, {}, &Output::of);
    std::vector<Flow> flows;
    std::vector<Subject*> made;
    for (const Output* output : sorted) {
        if (auto flow = flow_of(stage, *output)) {
            made.push_back(flow->subject);
            flows.push_back(std::move(*flow));
        }
    }
    // summed by name, told in the order of the study
    std::ranges::sort(flows, {}, &Flow::subject);
    for (const Flow& flow : flows) add_flow_results(stage, flow, period, "output of the period");
    if (!sorted.empty()) add_all_output(stage, made);
}

void add_function_results(Stage& stage) {
    for (const Function& function : stage.model.functions) {
        // of any product: at equal "pack", packs of one and a function of another would meet
        const auto twin = std::ranges::find_if(
            stage.subjects, [&](const Subject& one) { return listed(one.pers, function.id); });
        if (twin != stage.subjects.end()) {
            stage.problems.add(function.place, "duplicate-id",
                               fmt::format("{} has results per {} already", twin->id, function.id),
                               "choose another id");
            continue;
        }
        for (const Output& output : function.flows) {
            const auto flow = flow_of(stage, output);
            if (!flow) continue;
            add_flow_results(stage, *flow, function.id, function.title);
        }
    }
}

}  // namespace deckle
