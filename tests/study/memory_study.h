// A study from texts in memory, for tests: what a file says stands beside what is expected of it.
#pragma once

#include <catch2/catch.hpp>
#include <string>
#include <utility>
#include <vector>

#include "engine/graph/evaluate.h"
#include "engine/study/study.h"

namespace deckle::test {

/// Loads a study whose files are given as (name, text); the first must be "study.yaml".
class MemoryStudy {
public:
    using Texts = std::vector<std::pair<std::string, std::string>>;
    explicit MemoryStudy(const Texts& files) {
        for (const auto& [name, text] : files) study.files.add(name, text);
        load_study("study.yaml", study);
        at = evaluate(study.graph);
    }

    [[nodiscard]] double result(const std::string& of, const std::string& per,
                                const std::string& indicator) const {
        const Result* found = study.result(of, per, indicator);
        INFO(of << "." << per << "." << indicator);
        REQUIRE(found != nullptr);
        return at.value[found->node];
    }

    /// Value of any address. Fails the test when there is none.
    [[nodiscard]] double value(const std::string& address) const {
        const NodeId node = study.graph.find(address);
        INFO(address);
        REQUIRE(node != no_node);
        return at.value[node];
    }

    Study study;
    Evaluation at;
};

}  // namespace deckle::test
