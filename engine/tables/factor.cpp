#include "engine/tables/factor.h"

#include <fmt/format.h>

#include <algorithm>

#include "engine/text/nearest.h"

namespace deckle {
namespace {

template <class Item>
const Item* by_id(const std::vector<Item>& items, std::string_view id) {
    const auto found = std::ranges::find_if(items, [&](const Item& item) { return item.id == id; });
    return found == items.end() ? nullptr : &*found;
}

constexpr std::size_t most_offered = 3;

}  // namespace

bool Factor::is_about(std::string_view word) const {
    const std::string wanted = small_letters(word);
    const auto has = [&](std::string_view text) {
        return small_letters(text).find(wanted) != std::string::npos;
    };
    return has(address()) || has(title) || (kind != nullptr && has(kind->name));
}

bool Factor::states(std::string_view group) const {
    return std::ranges::any_of(entries, [&](const FactorEntry& e) { return e.group == group; });
}

const FactorEntry* Factor::entry(std::string_view group, std::string_view key) const {
    const auto found = std::ranges::find_if(
        entries, [&](const FactorEntry& e) { return e.group == group && e.key == key; });
    return found == entries.end() ? nullptr : &*found;
}

const Characterization::Gas* Characterization::gas(std::string_view wanted) const {
    return by_id(gases, wanted);
}

const Scarcity::Weight* Scarcity::weight(std::string_view region, std::string_view use) const {
    const auto found = std::ranges::find_if(
        weights, [&](const Weight& w) { return w.region == region && w.use == use; });
    return found == weights.end() ? nullptr : &*found;
}

bool Scarcity::knows_region(std::string_view region) const {
    return std::ranges::any_of(weights, [&](const Weight& w) { return w.region == region; });
}

const Characterization* Tables::characterization(std::string_view id) const {
    return by_id(characterizations, id);
}
const Scarcity* Tables::scarcity(std::string_view id) const { return by_id(scarcities, id); }

const QualitySpread* Tables::quality_spread(std::string_view id) const {
    return by_id(quality_spreads, id);
}
const Prices* Tables::price_list(std::string_view id) const { return by_id(prices, id); }

std::vector<const Factor*> Tables::find(std::string_view reference) const {
    const std::size_t dot = reference.find('.');
    const std::string_view table =
        dot == std::string_view::npos ? std::string_view{} : reference.substr(0, dot);
    const std::string_view id =
        dot == std::string_view::npos ? reference : reference.substr(dot + 1);
    std::vector<const Factor*> found;
    for (const FactorTable& one : factors) {
        if (!table.empty() && one.id != table) continue;
        if (const Factor* factor = by_id(one.factors, id)) found.push_back(factor);
    }
    return found;
}

std::vector<std::string> Tables::names() const {
    std::vector<std::string> names;
    for (const FactorTable& table : factors) {
        for (const Factor& factor : table.factors) {
            names.push_back(factor.id);
            names.push_back(factor.address());
        }
    }
    return names;
}

std::string Tables::meant(std::string_view typed, std::span<const std::string> more) const {
    std::vector<std::string> known(more.begin(), more.end());
    for (std::string& name : names()) known.push_back(std::move(name));
    const std::string near = did_you_mean(typed, known);
    if (!near.empty()) return near;
    std::vector<std::string> about;
    for (const FactorTable& table : factors) {
        for (const Factor& factor : table.factors) {
            if (factor.is_about(typed)) about.push_back(factor.address());
        }
    }
    if (about.empty()) return "deckle factors STUDY lists the factors that a study knows";
    const std::size_t shown = std::min(most_offered, about.size());
    const std::string others =
        about.size() > shown ? fmt::format(" and {} more", about.size() - shown) : std::string();
    return fmt::format(
        "about {0}: {1}{2}; deckle factors STUDY {0} lists them", typed,
        fmt::join(about.begin(), about.begin() + static_cast<std::ptrdiff_t>(shown), ", "), others);
}

}  // namespace deckle
