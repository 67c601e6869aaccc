#include "engine/study/study_head.h"

#include <fmt/format.h>

#include <algorithm>

namespace deckle {
namespace {

void fill_electricity(StudyHead& head, const Assembly& assembly) {
    ViewsBought bought;
    for (const auto& mill : assembly.mill_nodes) bought.add(mill->electricity);
    for (const auto& product : assembly.product_nodes) bought.add(product->electricity);
    head.one_electricity_view = !bought.differ && !bought.stand_ins.empty();
    head.stand_ins.clear();
    for (const StandIn& one : bought.stand_ins) {
        if (head.stand_ins.empty() || head.stand_ins.back().factor != one.factor)
            head.stand_ins.push_back({one.factor});
        (one.view == market_view ? head.stand_ins.back().market : head.stand_ins.back().location) =
            true;
    }
}

/// What a scenario can have otherwise than today.
void fill_rules(StudyHead& head, const Assembly& assembly, const Tables& tables) {
    head.characterization = assembly.characterization;
    head.scarcity = assembly.scarcity;
    const Scarcity* scarcity = tables.scarcity(assembly.scarcity);
    head.scarcity_model = scarcity == nullptr ? std::string{} : scarcity->model;
    head.scarcity_version = scarcity == nullptr ? std::string{} : scarcity->version;
    head.prices = assembly.prices;
    head.rules = {assembly.rules.id, assembly.rules.version, assembly.rules.text()};
    head.headline =
        assembly.electricity == "market" ? ElectricityView::market : ElectricityView::location;
    fill_electricity(head, assembly);
    head.gwp_sets.assign(assembly.gwp_sets.begin(), assembly.gwp_sets.end());
    std::stable_partition(head.gwp_sets.begin(), head.gwp_sets.end(),
                          [&](const std::string& set) { return set == head.characterization; });
}

}  // namespace

std::string_view views_of(const ViewStandIn& one) noexcept {
    if (one.market && one.location) return "both views";
    return one.market ? "the market-based view" : "the location-based view";
}

StudyHead study_head(const StudyModel& model) {
    StudyHead head;
    head.id = model.id;
    head.title = model.title;
    head.owner = model.owner;
    head.period = model.period;
    head.boundary = model.boundary;
    head.data_quality_spread = model.data_quality_spread;
    fill_rules(head, model, model.tables);
    for (const Exemption& one : model.exempted) {
        const std::string most = one.highest_plausible ? one.highest_plausible->scalar.text : "?";
        head.exempted.push_back(fmt::format("{}: {} (at most {})", one.what, one.why, most));
    }
    return head;
}

StudyHead scenario_head(const StudyHead& of_study, const Assembly& assembly, const Tables& tables) {
    StudyHead head = of_study;
    fill_rules(head, assembly, tables);
    return head;
}

}  // namespace deckle
