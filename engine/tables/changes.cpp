#include "engine/tables/changes.h"

#include <fmt/format.h>

#include <algorithm>

namespace deckle {
namespace {

bool is_use(std::string_view address) {
    const std::size_t last = address.rfind('.');
    return last != std::string_view::npos && address.substr(0, last).ends_with(".uses");
}

/// True for amounts of one dimension, but for pieces: a roll and a pack count one each, and are not
/// one another.
bool counts_alike(const Unit& one, const Unit& other) {
    return one.dimension == other.dimension &&
           (one.dimension != dimensions::piece || one.text == other.text);
}

/// The replaced amount's spread about the new value, in proportion, and its draw.
void keep_spread(Stated& stated, const Stated& replaced) {
    Quantity& now = stated.amount.quantity;
    const Quantity& before = replaced.amount.quantity;
    if (before.spread.kind == SpreadKind::none || before.value == 0.0) return;
    if (now.spread.kind != SpreadKind::none || !conversion(before.unit, now.unit)) return;
    const double ratio = now.value / before.value;  // of the unlike units too, where they differ
    now.spread = before.spread;
    if (!now.spread.relative) now.spread.half_width *= ratio;
    now.spread.low *= ratio;
    now.spread.high *= ratio;
    now.spread.inexact_by *= ratio;
    now.spread.scale *= ratio;
    stated.spread_parts = replaced.spread_parts;
    now.spread.offset = now.spread.length = 0;
    stated.drawn_as = replaced.drawn_as.empty() ? replaced.address : replaced.drawn_as;
}

}  // namespace

void ValueChanges::add(ValueChange change) {
    auto& numbers = by_address_[change.address];
    if (change.kind == ValueChange::Kind::set) {
        for (const std::size_t number : numbers) all_[number].stands = false;
    }
    numbers.push_back(all_.size());
    all_.push_back(std::move(change));
}

std::vector<ValueChange*> ValueChanges::of(const Stated& stated) {
    std::vector<std::size_t> numbers;
    const auto take = [&](std::string_view address) {
        const auto found = by_address_.find(address);
        if (found != by_address_.end())
            numbers.insert(numbers.end(), found->second.begin(), found->second.end());
    };
    take(stated.address);
    for (const std::string& other : stated.also) take(other);
    std::ranges::sort(numbers);
    std::vector<ValueChange*> changes;
    changes.reserve(numbers.size());
    for (const std::size_t number : numbers) changes.push_back(&all_[number]);
    return changes;
}

void settle_set(ValueChange& change, const Stated& replaced, Problems& problems) {
    if (change.settled) return;
    change.settled = true;
    change.was = (replaced.is_quantity() ? "" : "the formula ") + replaced.scalar.text;
    if (replaced.is_word("rest")) change.was = "the rest";
    Stated& stated = change.stated;
    stated.within = replaced.within;
    if (stated.scores.empty()) stated.scores = replaced.scores;
    stated.allow = replaced.allow;
    if (!stated.is_quantity() && stated.allow == Allow::quantity) {
        problems.add(stated.place(), "not-a-quantity",
                     fmt::format("{} takes a number with its unit", change.address),
                     "formulas stand in mills only, where their figures have names");
        stated.amount = replaced.amount;  // so that nothing else is reported
        return;
    }
    if (!stated.is_quantity() || !replaced.is_quantity()) return;
    if (stated.amount.quantity.of.empty()) stated.amount.quantity.of = replaced.amount.quantity.of;
    if (!is_use(change.address) && !counts_alike(stated.unit(), replaced.unit())) {
        const bool pieces = stated.unit().dimension == replaced.unit().dimension;
        const auto name = [&](const Unit& unit) {
            return pieces ? unit.text : unit.dimension.text();
        };
        problems.add(stated.place(), "wrong-unit",
                     fmt::format("{} is {}, found {}", change.address, name(replaced.unit()),
                                 name(stated.unit())),
                     fmt::format("it stands as {} today", replaced.scalar.text));
        stated.amount.quantity = replaced.amount.quantity;  // so that nothing else is reported
        return;
    }
    keep_spread(stated, replaced);
}

}  // namespace deckle
