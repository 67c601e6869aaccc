#include "engine/study/study_head.h"

#include <fmt/format.h>

#include <algorithm>

namespace deckle {
namespace {

/// What a scenario can have otherwise than today.
void fill_rules(StudyHead& head, const Assembly& assembly) {
    head.characterization = assembly.characterization;
    head.scarcity = assembly.scarcity;
    head.prices = assembly.prices;
    head.headline =
        assembly.electricity == "market" ? ElectricityView::market : ElectricityView::location;
    head.gwp_sets.assign(assembly.gwp_sets.begin(), assembly.gwp_sets.end());
    std::stable_partition(head.gwp_sets.begin(), head.gwp_sets.end(),
                          [&](const std::string& set) { return set == head.characterization; });
}

std::string rules_text(const RuleSet& rules) {
    std::string line;
    const auto add = [&](std::string_view what, const std::string& value) {
        if (!value.empty()) line += fmt::format("{}{}: {}", line.empty() ? "" : "; ", what, value);
    };
    add("declared unit", rules.declared_unit);
    add("boundary", rules.boundary);
    add("cut-off", rules.cut_off ? rules.cut_off->scalar.text : std::string{});
    add("allocation", fmt::format("{}", fmt::join(rules.allocation_order, ", ")));
    return line;
}

bool one_electricity_view(const Assembly& assembly) {
    const auto one = [](const auto& nodes) { return nodes->one_factor_for_both_views; };
    return std::ranges::any_of(assembly.mill_nodes, one) ||
           std::ranges::any_of(assembly.product_nodes, one);
}

}  // namespace

StudyHead study_head(const StudyModel& model) {
    StudyHead head;
    head.id = model.id;
    head.title = model.title;
    head.owner = model.owner;
    head.period = model.period;
    head.boundary = model.boundary;
    head.data_quality_spread = model.data_quality_spread;
    head.one_electricity_view = one_electricity_view(model);
    head.rules = {model.rules.id, model.rules.version, rules_text(model.rules)};
    fill_rules(head, model);
    for (const Exemption& one : model.exempted) {
        const std::string most = one.highest_plausible ? one.highest_plausible->scalar.text : "?";
        head.exempted.push_back(fmt::format("{}: {} (at most {})", one.what, one.why, most));
    }
    return head;
}

StudyHead scenario_head(const StudyHead& of_study, const Assembly& assembly) {
    StudyHead head = of_study;
    fill_rules(head, assembly);
    return head;
}

}  // namespace deckle
