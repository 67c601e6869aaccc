// What each row of a comparison changes against the row it stands on, and what that costs.
#include <algorithm>

#include "engine/analysis/compare_parts.h"
#include "engine/study/model.h"

namespace deckle {
namespace {

class Steps {
public:
    Steps(const Study& study, const Evaluation& at, Compared& all)
        : study_(study), at_(at), all_(all) {}

    void add() {
        for (std::size_t i = 0; i < all_.rows.size(); ++i) {
            ComparedRow& row = all_.rows[i];
            const ComparedRow* base = i == 0 ? nullptr : base_of(i);
            row.bundles = beyond(row.scenario, base == nullptr ? std::string() : base->scenario);
            if (base != nullptr && all_.rules_differ.empty()) row.step = step(row, *base);
        }
        add_apart();
    }

private:
    std::vector<std::string> parents_of(const std::string& scenario) const {
        std::vector<std::string> parents;
        if (scenario.empty()) return parents;
        // of all that are typed: a parent need not be loaded with figures of its own
        const auto typed = std::ranges::find(study_.model->scenarios, scenario, &ScenarioModel::id);
        for (const auto& [parent, place] : typed->on)
            parents.push_back(parent == "today" ? std::string() : parent);
        if (parents.empty()) parents.emplace_back();
        return parents;
    }

    /// A scenario and all that it stands on, the nearest first; today last.
    std::vector<std::string> chain_of(const std::string& scenario) const {
        std::vector<std::string> chain{scenario};
        for (std::size_t i = 0; i < chain.size(); ++i) {
            for (std::string& parent : parents_of(chain[i])) {
                if (!parent.empty() && std::ranges::find(chain, parent) == chain.end())
                    chain.push_back(std::move(parent));
            }
        }
        if (!scenario.empty()) chain.emplace_back();
        return chain;
    }

    /// The nearest row above that row `i` stands on, else the reference; nullptr without either.
    const ComparedRow* base_of(std::size_t i) const {
        const auto same_product = [&](const ComparedRow& other) {
            return other.of == all_.rows[i].of && other.per == all_.rows[i].per;
        };
        for (const std::string& scenario : chain_of(all_.rows[i].scenario)) {
            for (std::size_t k = 0; k < i; ++k) {
                if (all_.rows[k].scenario == scenario && same_product(all_.rows[k]))
                    return &all_.rows[k];
            }
        }
        for (const ComparedRow& other : all_.rows) {
            if (other.is_reference && same_product(other) && &other != &all_.rows[i]) return &other;
        }
        return nullptr;
    }

    /// Scenarios that one stands on and another does not, itself and today left out.
    std::vector<std::string> beyond(const std::string& scenario, const std::string& other) const {
        const auto theirs = chain_of(other);
        std::vector<std::string> more;
        for (const std::string& one : chain_of(scenario)) {
            if (one != scenario && std::ranges::find(theirs, one) == theirs.end())
                more.push_back(one);
        }
        return more;
    }

    /// Steps overlap unless one begins where the other has ended. That a scenario stands on another
    /// is not enough: counted against the same row, it brings the other's change along.
    void add_apart() {
        const auto stands_on = [&](const std::string& scenario, const std::string& other) {
            const auto chain = chain_of(scenario);
            return std::ranges::find(chain, other) != chain.end();
        };
        for (std::size_t i = 0; i < all_.rows.size(); ++i) {
            ComparedRow& row = all_.rows[i];
            if (!row.step) continue;
            for (std::size_t k = 0; k < i; ++k) {
                const ComparedRow& other = all_.rows[k];
                if (!other.step || other.of != row.of ||
                    stands_on(row.step->against, other.scenario) ||
                    stands_on(other.step->against, row.scenario))
                    continue;
                row.apart_from.push_back(other.scenario);
            }
        }
    }

    std::optional<StepCost> step(const ComparedRow& row, const ComparedRow& base) const {
        StepCost step;
        step.against = base.scenario;
        step.instead = beyond(base.scenario, row.scenario);
        const auto of_chain = chain_of(row.scenario);
        if (std::ranges::find(of_chain, base.scenario) == of_chain.end())
            step.instead.insert(step.instead.begin(), base.scenario);
        const Result* now = study_.result(row.of, row.per, "climate", row.scenario);
        const Result* before = study_.result(row.of, row.per, "climate", base.scenario);
        if (now == nullptr || before == nullptr) return std::nullopt;
        const auto change = [&](NodeId after, NodeId first) {
            return at_.value[after] - at_.value[first];
        };
        step.climate_lacks = unlike_gaps(study_, *now, *before);
        if (step.climate_lacks.empty()) {
            step.climate = change(node_in_view(all_, *now), node_in_view(all_, *before));
            step.location = change(now->location, before->location);
            step.market = change(now->market, before->market);
            step.climate_lacks = lacking_amounts(*now, *before);
        }
        add_cost(step, row, base);
        for (std::size_t i = 0; i < row.figures.size(); ++i)
            step.changes.push_back(change_of(row.figures[i], base.figures[i]));
        return step;
    }

    StepChange change_of(const ComparedFigure& now, const ComparedFigure& before) const {
        if (now.result == nullptr || before.result == nullptr ||
            now.result->coverage == Coverage::not_covered)
            return {};
        StepChange change;
        change.lacks = unlike_gaps(study_, *now.result, *before.result);
        if (!change.lacks.empty()) return change;
        change.value = now.value - before.value;
        change.lacks = lacking_amounts(*now.result, *before.result);
        return change;
    }

    std::vector<std::string> lacking_amounts(const Result& now, const Result& before) const {
        if (now.coverage == Coverage::complete) return {};
        return unlike_amounts(study_, at_, node_in_view(all_, now), node_in_view(all_, before));
    }

    /// No change of cost where something without a price is used in another amount: it could be
    /// any.
    void add_cost(StepCost& step, const ComparedRow& row, const ComparedRow& base) const {
        for (const std::string_view id : {Indicators::marginal_cost, Indicators::cost}) {
            const Result* now = study_.result(row.of, row.per, id, row.scenario);
            const Result* before = study_.result(row.of, row.per, id, base.scenario);
            if (now == nullptr || before == nullptr || now->coverage == Coverage::not_covered)
                continue;
            step.cost_of = id;
            step.cost_lacks = unlike_gaps(study_, *now, *before);
            if (step.cost_lacks.empty()) step.cost_lacks = lacking_amounts(*now, *before);
            if (!step.cost_lacks.empty()) return;
            step.cost =
                at_.value[node_in_view(all_, *now)] - at_.value[node_in_view(all_, *before)];
            break;
        }
        constexpr double kilograms = 1000.0;
        if (step.cost && step.climate && *step.climate < 0.0)
            step.per_tonne_avoided = *step.cost / (-*step.climate / kilograms);
    }

    const Study& study_;
    const Evaluation& at_;
    Compared& all_;
};

}  // namespace

void add_steps(const Study& study, const Evaluation& at, Compared& all) {
    Steps(study, at, all).add();
}

NodeId node_in_view(const Compared& compared, const Result& result) {
    if (!compared.question.view) return result.node;
    return compared.view == ElectricityView::market ? result.market : result.location;
}

}  // namespace deckle
