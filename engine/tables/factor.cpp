#include "engine/tables/factor.h"

#include <algorithm>

namespace deckle {
namespace {

template <class Item>
const Item* by_id(const std::vector<Item>& items, std::string_view id) {
    const auto found = std::ranges::find_if(items, [&](const Item& item) { return item.id == id; });
    return found == items.end() ? nullptr : &*found;
}

}  // namespace

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

}  // namespace deckle
