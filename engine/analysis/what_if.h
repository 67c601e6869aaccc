// Figures at passing values of inputs: one evaluation of what they rest on for each question, with
// an overlay, without touching the study. For one-at-a-time swings and break-evens.
#pragma once

#include <initializer_list>
#include <span>
#include <string>
#include <vector>

#include "engine/graph/evaluate.h"

namespace deckle {

class WhatIf {
public:
    WhatIf(const Graph& graph, std::span<const NodeId> figures);

    /// All values that the figures rest on, until the next call; nullptr where these values of the
    /// inputs have no answer (a loop that cannot be solved, a negative rest, no finite value).
    [[nodiscard]] const Evaluation* at(const std::vector<Overlay::Change>& changes);
    /// Why the last call had no answer.
    [[nodiscard]] const std::string& why() const noexcept { return why_; }
    [[nodiscard]] const Graph& graph() const noexcept { return graph_; }

private:
    void check_requirements();

    const Graph& graph_;
    std::vector<std::uint8_t> wanted_;
    std::vector<Requirement> requirements_;  ///< those that the figures rest on
    Evaluation values_;
    std::string why_;
};

}  // namespace deckle
