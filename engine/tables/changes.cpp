#include "engine/tables/changes.h"

#include <fmt/format.h>

#include <algorithm>

#include "engine/tables/spread_reader.h"

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

/// The same amount, and nothing new of how far it may be off or where it is from.
bool is_same(const Stated& stated, const Stated& replaced) {
    const Quantity& now = stated.amount.quantity;
    const auto factor = conversion(now.unit, replaced.unit());
    return factor && factor->apply(now.value) == replaced.amount.quantity.value &&
           now.spread.kind == SpreadKind::none && stated.source.empty() &&
           stated.amount_is.empty() && stated.note.empty();
}

/// "0.1 kg CO2e/kWh" for what stands as "0.2 kg" in a factor per kWh, as reports print it: the same
/// number without its `per`.
void drop_per(Stated& stated, const Stated& replaced) {
    if (replaced.per.empty()) return;
    Unit& now = stated.amount.quantity.unit;
    const Unit& before = replaced.unit();
    const Unit whole = now * known_unit(replaced.per);
    Unit plain = whole.terms.size() < now.terms.size() ? whole : now;
    constexpr std::string_view word = " CO2e";
    const bool climate = replaced.address.find(".climate.") != std::string::npos;
    if (climate && before.dimension == dimensions::mass && plain.text.ends_with(word))
        plain = known_unit(plain.text.substr(0, plain.text.size() - word.size()));
    else if (climate && before.dimension == dimensions::co2e && plain.dimension == dimensions::mass)
        plain = known_unit(plain.text + std::string(word));
    if (plain.dimension == before.dimension) now = plain;
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

void ValueChanges::forget(std::string_view prefix) {
    for (auto& [address, numbers] : by_address_) {
        if (!address.starts_with(prefix)) continue;
        for (const std::size_t number : numbers) all_[number].touched = true;  // then lost again
        numbers.clear();
    }
}

std::vector<ValueChange*> ValueChanges::of(const Stated& stated) {
    std::vector<std::pair<std::size_t, std::size_t>> found;  // number, heir
    const auto take = [&](std::string_view address, std::size_t heir) {
        const auto numbers = by_address_.find(address);
        if (numbers == by_address_.end()) return;
        for (const std::size_t number : numbers->second) {
            if (number >= stated.changed_from && number < stated.changed_until)
                found.emplace_back(number, heir);
        }
    };
    const auto take_all = [&](const std::string& address, std::size_t heir) {
        take(address, heir);
        take(address + ".spread", heir);
    };
    take_all(stated.address, 0);
    for (std::size_t heir = 0; heir < stated.also.size(); ++heir)
        take_all(stated.also[heir], heir + 1);
    std::ranges::sort(found);
    std::vector<ValueChange*> changes;
    std::size_t own = 0;
    for (const auto& [number, heir] : found) {
        if (heir < own) continue;
        own = heir;
        changes.push_back(&all_[number]);
    }
    return changes;
}

std::vector<ValueChange*> ValueChanges::behind_set(const Stated& stated) {
    std::vector<ValueChange*> changes = of(stated);
    const auto last_set = std::find_if(
        changes.rbegin(), changes.rend(),
        [](const ValueChange* change) { return change->kind == ValueChange::Kind::set; });
    changes.erase(changes.begin(), last_set.base());
    std::erase_if(changes, [](const ValueChange* change) {
        return change->kind == ValueChange::Kind::spread;  // stands in the input
    });
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
    drop_per(stated, replaced);
    const bool any_unit =
        is_use(change.address) || (replaced.any_unit && stated.unit().dimension.has_money());
    if (!any_unit && !counts_alike(stated.unit(), replaced.unit())) {
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
    change.same = is_same(stated, replaced);
    keep_spread(stated, replaced);
}

void settle_spread(ValueChange& change, const Stated& standing, Problems& problems) {
    if (change.settled) return;
    change.settled = true;
    change.stated = standing;
    const TypedSpread before =
        standing.is_quantity() ? standing.amount.quantity.spread : TypedSpread{};
    change.was = before.kind == SpreadKind::none ? "exact" : before.typed;
    take_spread(change.spread, change.stated, problems);
}

}  // namespace deckle
