// What a scenario moves from one use to another: parts of an amount, as they are, by a ratio, or by
// the useful heat that both must give.
#include <fmt/format.h>

#include "engine/mill/resolve.h"

namespace deckle {

std::optional<ResolvedUse> Resolver::resolved(const ProcessNodes& process, const Use& use) {
    ResolvedUse one;
    one.use = &use;
    if (!find_target(one)) return std::nullopt;
    set_bridges(one);
    set_use_amount(process, one);
    return one.amount.known() ? std::optional(std::move(one)) : std::nullopt;
}

/// What the use takes over, in the unit of what it uses.
Measure Resolver::moved_amount(const ProcessNodes& process, const ResolvedUse& use) {
    const Moved& moved = *use.use->stands_for;
    const auto before = resolved(process, *moved.from);
    if (!before || !is_known(use)) return {};
    Measure part = before->amount;
    if (moved.is_part()) {
        const Measure share = share_of(process, *before, moved);
        if (!share.known()) return {};
        const Measure product =
            build_.multiply(part, share, "the part that is taken over", moved.place);
        part.node = product.node;
    }
    const auto amount = carried_over(use, *before, part, moved);
    if (!amount) {
        build_.problems.add(
            moved.place, "wrong-unit",
            fmt::format("{} is counted in {}, {} in {}", before->use->thing, part.unit.text,
                        use.use->thing, unit_of(use).text),
            fmt::format("ratio: so many {} for one {}", unit_of(use).text, part.unit.text));
    }
    return amount ? build_.adjusted(use.use->amount, *amount) : Measure{};
}

std::optional<Measure> Resolver::carried_over(const ResolvedUse& use, const ResolvedUse& before,
                                              const Measure& part, const Moved& moved) {
    const Unit wanted = unit_of(use);
    const auto bridges = joined(use.bridges, before.bridges);
    if (moved.efficiency_from && moved.efficiency_to) {
        const auto energy = as_energy(before, part);
        if (!energy) return std::nullopt;
        const Measure gives = build_.ratio(build_.input(*moved.efficiency_from, names_),
                                           moved.efficiency_from->place());
        const Measure needs =
            build_.ratio(build_.input(*moved.efficiency_to, names_), moved.efficiency_to->place());
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

/// The part of a use that is moved, 0 to 1: as typed, or the one that gives so much useful heat.
Measure Resolver::share_of(const ProcessNodes& process, const ResolvedUse& before,
                           const Moved& moved) {
    if (moved.share) return build_.ratio(build_.input(*moved.share, names_), moved.share->place());
    const Stated& stated = *moved.useful_heat;
    const Measure typed = build_.input(stated, names_);
    if (!typed.known()) return {};
    if (auto share = build_.in_unit(typed, plain_unit(), stated.place())) return *share;
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

/// What is left after the parts that other uses took over.
void Resolver::give_away(const ProcessNodes& process, ResolvedUse& use) {
    for (const Moved& moved : use.use->given_away) {
        if (!use.amount.known()) return;
        const auto before = resolved(process, *moved.from);
        const Measure share = before ? share_of(process, *before, moved) : Measure{};
        if (!share.known()) {
            use.amount = {};
            return;
        }
        const Measure left = build_.subtract(build_.constant(1.0, "", "1", moved.place), share,
                                             "1 − the part taken over", moved.place);
        use.amount.node = build_.multiply(use.amount, left, "what is left", moved.place).node;
        build_.graph.require_not_negative({use.amount.node, build_.text(use.use->amount.address)});
    }
}

}  // namespace deckle
