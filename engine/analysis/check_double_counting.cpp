#include <fmt/format.h>

#include <algorithm>

#include "engine/analysis/check_parts.h"

namespace deckle::checking {
namespace {

/// Carbon dioxide typed as measured at the stack beside a fuel that brings the same.
void stack_twice(CheckContext& check, const ProcessNodes& process) {
    for (const NamedAmount& release : process.process->releases) {
        if (release.name != "co2_fossil" && release.name != "co2_biogenic") continue;
        for (const ResolvedUse& use : process.uses) {
            if (use.factor == nullptr || use.family != Family::fuel ||
                use.factor->entry("releases", release.name) == nullptr)
                continue;
            check.add({"stack-twice", release.place,
                       fmt::format("{}: {} is typed as a release, and {} brings its own",
                                   process.process->address(), release.name, use.use->name),
                       "keep one: the release holds only what does not come from the fuels used "
                       "(lime, digester gas that is no use)"});
            break;
        }
    }
}

/// A factor for goods delivered to a place holds their freight; "as delivered" speaks of moisture.
void freight_twice(CheckContext& check, const std::string& of, const Use& use,
                   const Factor* factor) {
    if (factor == nullptr || use.freight.empty()) return;
    const std::string words = factor->id + " " + factor->title;
    if (!mentions(words, {"delivered"}) || mentions(words, {"as delivered"})) return;
    check.add({"freight-twice", use.freight.front().place,
               fmt::format("{}: freight is typed for {}, and {} holds their delivery", of, use.name,
                           factor->address()),
               "type only the legs beyond the place of delivery, or take the factor at the "
               "supplier's gate"});
}

const Factor* factor_of(const CheckContext& check, const std::string& id) {
    const auto alias = check.model.stands_for.find(id);
    const auto found =
        check.model.tables.find(alias == check.model.stands_for.end() ? id : alias->second);
    return found.empty() ? nullptr : found.front();
}

/// Water from a supply brings the factor of that supply, which stands beside it as a use.
void supply_twice(CheckContext& check, const ProcessNodes& process) {
    for (const auto& flow : process.takes_in) {
        if (flow.water->from != "supply") continue;
        const Factor* brought = factor_of(check, flow.water->factor);
        for (const ResolvedUse& use : process.uses) {
            if (use.factor == nullptr || use.factor != brought) continue;
            check.add(
                {"supply-twice", use.use->place,
                 fmt::format("{}: {} is used, and {} taken in brings the same",
                             process.process->address(), use.use->name, flow.water->id),
                 "keep one: water in the balance is taken in, and its supply counts by that"});
        }
    }
}

}  // namespace

void check_double_counting(CheckContext& check) {
    for (const auto& mill : check.model.mill_nodes) {
        for (const ProcessNodes& process : mill->processes) {
            stack_twice(check, process);
            supply_twice(check, process);
            for (const ResolvedUse& use : process.uses)
                freight_twice(check, process.process->address(), *use.use, use.factor);
        }
    }
    for (const Product& product : check.model.products) {
        const auto all = [&](const std::vector<Use>& uses) {
            for (const Use& use : uses)
                freight_twice(check, "products." + product.id, use, factor_of(check, use.thing));
        };
        all(product.uses);
        for (const PackingLevel& level : product.packed) all(level.uses);
    }
}

}  // namespace deckle::checking
