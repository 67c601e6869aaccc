#include "engine/study/marginal_prices.h"

#include <fmt/format.h>

#include <algorithm>

namespace deckle {
namespace {

bool is_of_amount(const Change& change) {
    return change.kind == Change::Kind::set || change.kind == Change::Kind::scale ||
           change.kind == Change::Kind::add;
}

const Change* change_of(const std::vector<PlannedChange>& plan, const std::string& address) {
    const auto found = std::ranges::find_if(plan, [&](const PlannedChange& one) {
        return is_of_amount(*one.change) && one.change->address == address;
    });
    return found == plan.end() ? nullptr : found->change;
}

/// Factors of a name in a price list, which may be a short id of the study.
std::vector<const Factor*> factors_of(const StudyModel& model, const std::string& name) {
    const auto alias = model.stands_for.find(name);
    return model.tables.find(alias == model.stands_for.end() ? name : alias->second);
}

/// The marginal price of what a price is of, however the list names it; nullptr for none.
const Prices::Price* marginal_of(const StudyModel& model, const Prices& list,
                                 const Prices::Price& price) {
    const auto factors = factors_of(model, price.factor);
    const auto found = std::ranges::find_if(list.marginal, [&](const Prices::Price& one) {
        return factors_of(model, one.factor) == factors;
    });
    return found == list.marginal.end() ? nullptr : &*found;
}

}  // namespace

void name_kept_marginals(Study& study, const StudyModel& model) {
    for (Scenario& scenario : study.scenarios) {
        const Prices* list = model.tables.price_list(scenario.assembly->prices);
        const auto typed = std::ranges::find(model.scenarios, scenario.id, &ScenarioModel::id);
        if (list == nullptr) continue;
        Problems ignored;  // they were reported when it was built
        const auto plan = plan_of(*typed, model.scenarios, ignored);
        for (const Prices::Price& price : list->prices) {
            const Change* change = change_of(plan, price.stated.address);
            const Prices::Price* marginal = marginal_of(model, *list, price);
            if (change == nullptr || marginal == nullptr ||
                change_of(plan, marginal->stated.address) != nullptr)
                continue;
            scenario.findings.push_back(
                {change->address_place,
                 Severity::finding,
                 "marginal-price-kept",
                 fmt::format("{}: {} changes, and the marginal price beside it does not: measures "
                             "cost as before",
                             scenario.id, price.stated.address),
                 fmt::format("change {} too", marginal->stated.address),
                 {marginal->place}});
        }
    }
}

}  // namespace deckle
