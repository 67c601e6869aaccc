#include "engine/mill/figures.h"

#include <fmt/format.h>

#include <algorithm>

#include "engine/text/nearest.h"

namespace deckle {
namespace {

constexpr std::size_t deepest = 256;  ///< figures that rest on each other in a row

}  // namespace

Figures::Figures(Build& build, const Mill& mill) : build_(build), mill_(mill) {
    for (const NamedAmount& figure : mill.figures) by_name_.emplace(figure.name, &figure);
}

void Figures::build_all() {
    for (const NamedAmount& figure : mill_.figures) find(figure.name, figure.place);
}

Measure Figures::find(std::string_view name, Place place) {
    const std::string key(name);
    if (const auto known = built_.find(key); known != built_.end()) return known->second;
    if (std::ranges::find(in_progress_, key) != in_progress_.end()) {
        build_.problems.add(place, "circular-formula",
                            fmt::format("{} is calculated from itself: {} > {}", name,
                                        fmt::join(in_progress_, " > "), name),
                            "one of these figures must be typed as a number");
        return {};
    }
    if (in_progress_.size() >= deepest) {
        build_.problems.add(place, "formula-too-deep",
                            fmt::format("more than {} figures rest on each other here", deepest),
                            "let some of them be typed as numbers");
        return {};
    }
    const auto stated = by_name_.find(name);
    if (stated == by_name_.end()) {
        std::vector<std::string> names;
        for (const NamedAmount& figure : mill_.figures) names.push_back(figure.name);
        const std::string near = did_you_mean(name, names);
        build_.problems.add(place, "unknown-figure",
                            fmt::format("{} has no figure {}", mill_.id, name),
                            near.empty() ? "formulas name the figures of their mill" : near);
        return {};
    }
    in_progress_.push_back(key);
    const Measure measure =
        build_.input(stated->second->amount,
                     [this](std::string_view other, Place at) { return find(other, at); });
    in_progress_.pop_back();
    built_[key] = measure;
    return measure;
}

}  // namespace deckle
