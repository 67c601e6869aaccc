// Studies of the tests of scenarios: the worked example with more factors at hand, and the
// scenarios that are typed for it.
#pragma once

#include <map>
#include <string>
#include <string_view>
#include <vector>

#include "engine/study/study.h"

namespace deckle::test {

using Texts = std::map<std::string, std::string>;  ///< contents by name of file

struct Edit {
    std::string file, find, put;
};

/// Each `find` stands once in its file.
[[nodiscard]] Texts edited(Texts texts, const std::vector<Edit>& edits);

/// The worked example, with more factors at hand, two views of electricity and prices of products.
[[nodiscard]] Texts example();

struct Loaded {
    Study study;
    Evaluation at;

    explicit Loaded(const Texts& texts, const ScenarioChoice& choice = {});
    [[nodiscard]] double value(const std::string& address) const;
    [[nodiscard]] const Scenario& scenario(std::string_view id) const;
};

[[nodiscard]] Texts with_scenarios(Texts texts, const std::string& scenarios);

/// One scenario "s" of these changes, each a line of YAML in flow style.
[[nodiscard]] std::string one_scenario(const std::vector<std::string>& changes);

/// The example with that scenario.
[[nodiscard]] Loaded changed(const std::vector<std::string>& changes);

/// The one problem a study is refused with.
[[nodiscard]] Problem refused(const Texts& texts);

inline constexpr double rounding = 1e-12;  ///< where the order of operations differs

/// Equal but for rounding, in parts of what is expected.
void check_near(double found, double expected);

}  // namespace deckle::test
