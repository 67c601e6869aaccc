// What a scenario moves from one use to another: parts of an amount, as they are, by a ratio, or by
// the useful heat that both must give.
#include <fmt/format.h>

#include "engine/mill/resolve.h"
#include "engine/text/number_text.h"

namespace deckle {

std::optional<ResolvedUse> Resolver::resolved(const ProcessNodes& process, const Use& use) {
    ResolvedUse one;
    one.use = &use;
    if (!find_target(one)) return std::nullopt;
    set_bridges(one);
    set_use_amount(process, one);
    return one.amount.known() ? std::optional(std::move(one)) : std::nullopt;
}

/// What the use takes over, or has left, in the unit of what it uses.
Measure Resolver::moved_amount(const ProcessNodes& process, const ResolvedUse& use) {
    const Moved& moved = *use.use->stands_for;
    const auto before = resolved(process, *moved.from);
    if (!before || !is_known(use)) return {};
    Measure part = before->amount;
    if (moved.is_part()) {
        const Measure share = share_of(process, *before, moved);
        if (!share.known()) return {};
        part.node =
            moved.is_left
                ? left_of(part, share, use)
                : build_.multiply(part, share, "the part that is taken over", moved.place).node;
    }
    const auto amount =
        moved.is_left ? std::optional(part) : carried_over(use, *before, part, moved);
    if (!amount) {
        build_.problems.add(
            moved.place, "wrong-unit",
            fmt::format("{} is counted in {}, {} in {}", before->use->thing, part.unit.text,
                        use.use->thing, unit_of(use).text),
            fmt::format("ratio: so many {} for one {}", unit_of(use).text, part.unit.text));
    }
    if (!amount || !amount->known()) return {};
    return build_.adjusted(use.use->amount, *amount,
                           [&](const Measure& more) { return in_target_unit(process, use, more); });
}

/// What is left once a share was taken over; not less than nothing.
NodeId Resolver::left_of(const Measure& amount, const Measure& share, const ResolvedUse& use) {
    const Place place = use.use->stands_for->place;
    const Measure left = build_.subtract(build_.constant(1.0, "", "1", place), share,
                                         "1 − the part taken over", place);
    const NodeId node = build_.multiply(amount, left, "what is left", place).node;
    build_.graph.require_not_negative({node, build_.text(use.use->amount.address)});
    return node;
}

// Common practice, no published source. A condensing boiler reaches 105 % of the lower heating
// value (from memory); heat pumps and vapour recompression give a few tens of their power.
constexpr double most_of_fuel = 1.1, most_of_others = 50.0;

/// The efficiency of a source, plain; what burns gives no more than it holds.
Measure Resolver::efficiency_of(const ResolvedUse& source, const Stated& stated) {
    const Measure plain = build_.ratio(build_.input(stated, names_), stated.place());
    const auto value = plain.known() ? build_.value_at_load(plain) : std::nullopt;
    const bool burns = source.family == Family::fuel;
    if (!value || *value <= (burns ? most_of_fuel : most_of_others)) return plain;
    build_.problems.add(
        stated.place(), "efficiency-out-of-range",
        fmt::format("{}: {} % of the energy of {} as useful heat", stated.scalar.text,
                    format_significant(100.0 * *value), source.use->thing),
        burns ? "a share of the lower heating value, at most 110 %: 84 %, or 0.84"
              : "useful heat for the energy used, at most 50 for each: 310 %, or 3.1");
    return {};
}

std::optional<Measure> Resolver::carried_over(const ResolvedUse& use, const ResolvedUse& before,
                                              const Measure& part, const Moved& moved) {
    const Unit wanted = unit_of(use);
    const auto bridges = joined(use.bridges, before.bridges);
    if (moved.efficiency_from && moved.efficiency_to) {
        const auto energy = as_energy(before, part);
        if (!energy) return std::nullopt;
        const Measure gives = efficiency_of(before, *moved.efficiency_from);
        const Measure needs = efficiency_of(use, *moved.efficiency_to);
        if (!gives.known() || !needs.known()) return Measure{};
        const Measure heat =
            build_.multiply(*energy, gives, "useful heat = energy × efficiency", moved.place);
        const Measure now =
            build_.divide(heat, needs, "energy = useful heat ÷ efficiency", moved.place);
        const bool fuel = wanted.dimension != dimensions::energy();
        return build_.across({now.node, known_unit(fuel ? "GJ LHV" : "GJ")}, wanted, bridges,
                             moved.place);
    }
    if (!moved.ratio) return build_.across(part, wanted, bridges, moved.place);
    const Measure ratio = build_.input(*moved.ratio, names_);
    const Measure now =
        build_.multiply(part, ratio, "amount now = amount before × ratio", moved.place);
    if (!now.known()) return std::nullopt;
    return build_.across(now, wanted, bridges, moved.place);
}

/// The energy of an amount, of a fuel its lower heating value, counted in GJ.
std::optional<Measure> Resolver::as_energy(const ResolvedUse& use, const Measure& amount) {
    const Place place = use.use->place;
    if (const auto plain = build_.in_unit(amount, known_unit("GJ"), place)) return plain;
    const auto lower = build_.across(amount, known_unit("GJ LHV"), use.bridges, place);
    return lower ? std::optional(Measure{lower->node, known_unit("GJ")}) : std::nullopt;
}

/// One process is typed for a year, another for a tonne: so many GJ are of one use.
void Resolver::report_heat_of_several(const Moved& moved) {
    const Stated& heat = *moved.useful_heat;
    build_.problems.add(
        heat.place(), "several-uses",
        fmt::format("{} is the heat of one use, and {} is used in {} places", heat.scalar.text,
                    moved.from->thing, moved.uses.size()),
        fmt::format("from: one of {}; or a share: 20 %", fmt::join(moved.uses, ", ")));
}

/// The part of a use that is moved, 0 to 1: as typed, or the one that gives so much useful heat.
Measure Resolver::share_of(const ProcessNodes& process, const ResolvedUse& before,
                           const Moved& moved) {
    if (moved.share) return build_.ratio(build_.input(*moved.share, names_), moved.share->place());
    const Stated& stated = *moved.useful_heat;
    const Measure typed = build_.input(stated, names_);
    if (!typed.known()) return {};
    if (auto share = build_.in_unit(typed, plain_unit(), stated.place())) return *share;
    if (moved.uses.size() > 1) {
        report_heat_of_several(moved);
        return {};
    }
    const auto heat = of_process(process, stated, known_unit("GJ"), "useful heat");
    const auto energy = as_energy(before, before.amount);
    if (!heat) return {};
    if (!energy || !moved.efficiency_from) {
        build_.problems.add(stated.place(), "wrong-unit",
                            fmt::format("the energy of {} is not known", before.use->thing),
                            "give its factor a heating value, or state a share");
        return {};
    }
    const Measure gives =
        build_.ratio(build_.input(*moved.efficiency_from, names_), moved.efficiency_from->place());
    const Measure all =
        build_.multiply(*energy, gives, "useful heat = energy × efficiency", moved.place);
    return build_.divide(*heat, {all.node, known_unit("GJ")}, "part of the useful heat",
                         moved.place);
}

}  // namespace deckle
