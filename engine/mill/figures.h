// The figures of a mill: named quantities and formulas over each other, built when first asked for.
#pragma once

#include <string>
#include <string_view>
#include <unordered_map>
#include <vector>

#include "engine/mill/mill.h"
#include "engine/tables/build.h"

namespace deckle {

class Figures {
public:
    Figures(Build& build, const Mill& mill);

    /// Builds every figure, used or not, so that each is checked and has its address.
    void build_all();

    /// The figure of a name. Reports unknown-figure, circular-formula and formula-too-deep; then
    /// it is unknown.
    Measure find(std::string_view name, Place place);

private:
    Build& build_;
    const Mill& mill_;
    std::unordered_map<std::string_view, const NamedAmount*> by_name_;
    std::unordered_map<std::string, Measure> built_;
    std::vector<std::string> in_progress_;
};

}  // namespace deckle
