// Today or a scenario while its nodes are added to the graph: what every step of the build reads
// and writes. study.cpp makes one a stage; the steps are results.h, flows.h, line_output.h.
#pragma once

#include <algorithm>
#include <string>
#include <string_view>
#include <vector>

#include "engine/study/model.h"

namespace deckle {

struct Stage {
    Study& study;
    const StudyModel& model;
    const Indicators& indicators;
    Problems& problems;
    Build& build;
    FactorBook& book;
    Assembly& assembly;  ///< mills and products as they stand, and the nodes made of them
    std::vector<Subject>& subjects;
    std::string scenario;                             ///< "" is today
    std::size_t first_result = study.results.size();  ///< of this stage, in Study::results

    [[nodiscard]] Graph& graph() const noexcept { return study.graph; }

    /// The ids of what it has results of so far, for hints.
    [[nodiscard]] std::vector<std::string> subject_ids() const {
        std::vector<std::string> ids;
        for (const Subject& one : subjects) ids.push_back(one.id);
        return ids;
    }

    /// nullptr for none; stands until the next subject is added.
    [[nodiscard]] Subject* subject(std::string_view id) const {
        const auto found = std::ranges::find(subjects, id, &Subject::id);
        return found == subjects.end() ? nullptr : &*found;
    }
};

[[nodiscard]] inline bool listed(const std::vector<std::string>& list, std::string_view word) {
    return std::ranges::find(list, word) != list.end();
}

/// "GJ", "t", "t_dry": a unit as part of an address.
[[nodiscard]] inline std::string per_of(const Unit& unit) {
    std::string per = unit.text;
    std::ranges::replace(per, ' ', '_');
    return per;
}

}  // namespace deckle
