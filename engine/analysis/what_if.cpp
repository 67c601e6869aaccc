#include "engine/analysis/what_if.h"

#include <fmt/format.h>

#include "engine/text/problem.h"

namespace deckle {

WhatIf::WhatIf(const Graph& graph, std::span<const NodeId> figures)
    : graph_(graph),
      wanted_(graph.ancestors(figures)),
      values_{std::vector<double>(graph.size(), 0.0),
              std::vector<double>(graph.solved_size(), 0.0)} {
    std::vector<NodeId> nodes(figures.begin(), figures.end());
    for (const Requirement& requirement : graph.requirements()) {
        // it stands beside what it watches, its first term
        const auto terms = graph.arguments(requirement.node);
        const bool watched = !terms.empty() && wanted_[terms[0]] != 0;
        if (!watched && wanted_[requirement.node] == 0) continue;
        requirements_.push_back(requirement);
        nodes.push_back(requirement.node);
    }
    wanted_ = graph.ancestors(nodes);
}

const Evaluation* WhatIf::at(const std::vector<Overlay::Change>& changes) {
    why_.clear();
    try {
        evaluate_into(graph_, {changes}, wanted_, values_);
    } catch (const NoAnswer& failure) {
        why_ = failure.problem.message;
        return nullptr;
    }
    check_requirements();
    return why_.empty() ? &values_ : nullptr;
}

void WhatIf::check_requirements() {
    for (const Requirement& requirement : requirements_) {
        if (values_.value[requirement.node] >= 0.0) continue;
        why_ = fmt::format("the rest {} would be negative", graph_.text_of(requirement.what));
        return;
    }
}

}  // namespace deckle
