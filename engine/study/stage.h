// Today or a scenario while its nodes are added to the graph: what every step of the build reads
// and writes. study.cpp makes one a stage; the steps are results.h, flows.h, line_output.h.
#pragma once

#include <algorithm>
#include <string>
#include <string_view>
#include <vector>

#include "engine/graph/hash_index.h"
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
    std::string scenario;                  ///< "" is today
    mutable HashIndex subject_index = {};  ///< of the first `indexed` subjects, by id
    mutable std::uint32_t indexed = 0;

    [[nodiscard]] Graph& graph() const noexcept { return study.graph; }

    /// The ids of what it has results of so far, for hints.
    [[nodiscard]] std::vector<std::string> subject_ids() const {
        std::vector<std::string> ids;
        for (const Subject& one : subjects) ids.push_back(one.id);
        return ids;
    }

    /// nullptr for none; stands until the next subject is added.
    [[nodiscard]] Subject* subject(std::string_view id) const {
        constexpr std::hash<std::string_view> hash_of;
        for (; indexed < subjects.size(); ++indexed)
            subject_index.add(hash_of(subjects[indexed].id), indexed);
        const std::uint32_t found = subject_index.find(
            hash_of(id), [&](std::uint32_t one) { return subjects[one].id == id; });
        return found == HashIndex::nothing ? nullptr : &subjects[found];
    }

    /// A result of this stage, or nullptr.
    [[nodiscard]] const Result* result(std::string_view of, std::string_view per,
                                       IndicatorId id) const {
        return study.result(of, per, indicators.at(id).id, scenario);
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
