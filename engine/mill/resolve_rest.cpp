// The use of a mix that is its rest: what the product needs less the other uses of its kind.
#include <fmt/format.h>

#include "engine/mill/resolve.h"

namespace deckle {

/// `rest` = output ÷ (1 − losses) − the other uses of the same family, on the product's basis.
void Resolver::set_rest(ProcessNodes& process) {
    ResolvedUse* rest = find_rest(process);
    if (rest == nullptr) return;
    const ProductNodes& product = nodes_.products[process.products[0]];
    const Measure needed = needed_before_losses(process, product, rest->use->amount.place());
    if (!needed.known()) return;
    const Measure left = less_other_uses(process, *rest, product, needed);
    if (!left.known()) return;
    require_some_left(*rest, left, needed);
    check_state(*rest);
    const auto amount = build_.over_dry_mass(left, product.bridges, unit_of(*rest), rest->bridges,
                                             rest->use->amount.place());
    if (!amount) return report_misfit(*rest, left, unit_of(*rest), process);
    rest->amount = *amount;
    const std::string& address = rest->use->amount.address;
    if (build_.graph.find(address) == no_node) build_.graph.name(amount->node, address);
}

/// The one use that is the rest of a mix, or nullptr; what cannot be a rest is reported.
ResolvedUse* Resolver::find_rest(ProcessNodes& process) {
    std::vector<ResolvedUse*> rests;
    for (ResolvedUse& use : process.uses) {
        if (is_rest(use)) rests.push_back(&use);
    }
    if (rests.empty()) return nullptr;
    ResolvedUse& rest = *rests.front();
    const Place place = rest.use->amount.place();
    if (const ValueChange* change = build_.acting_on(rest.use->amount)) {
        build_.problems.add(
            change->stated.place(), "rest-of-several",
            fmt::format("{} is the rest of its mix, whatever the other sources "
                        "leave: there is no amount to scale or add to",
                        rest.use->amount.address),
            "change the other sources, and the rest follows; an amount that is set closes no mix",
            {place});
        return nullptr;
    }
    if (rests.size() > 1) {
        build_.problems.add(rests[1]->use->amount.place(), "two-rests",
                            "two uses cannot both be the rest", "type one of them", {place});
        return nullptr;
    }
    if (process.products.empty()) return nullptr;  // reported
    if (process.products.size() != 1) {
        build_.problems.add(place, "rest-of-several",
                            fmt::format("{} makes {} products; rest needs one", process.process->id,
                                        process.products.size()),
                            "");
        return nullptr;
    }
    const ProductNodes& product = nodes_.products[process.products[0]];
    if (!product.amount.known() || !is_known(rest)) return nullptr;  // reported
    if (rest.family != product.family || product.family == Family::other) {
        build_.problems.add(
            place, "rest-of-another-kind",
            fmt::format("{} is not of the kind of {}: a rest closes a mix of one kind",
                        rest.use->thing, product.id),
            "type the amount, or give the product its kind");
        return nullptr;
    }
    return &rest;
}

/// Other uses that add up to the whole leave nothing, or by rounding a little less than nothing.
void Resolver::require_some_left(const ResolvedUse& rest, const Measure& left,
                                 const Measure& needed) {
    constexpr double rounding = 1e-12;  // of what is needed
    const Place place = rest.use->amount.place();
    const Measure slack = build_.multiply(
        needed, build_.constant(rounding, "", "what rounding may take", place), "slack", place);
    const NodeId node =
        build_.graph.make(Operation::sum, {left.node, slack.node}, build_.text(left.unit.text),
                          build_.origin(place, "a rest is not negative"));
    build_.graph.require_not_negative({node, build_.text(rest.use->amount.address)});
}

Measure Resolver::needed_before_losses(const ProcessNodes& process, const ProductNodes& product,
                                       Place place) {
    if (!process.process->losses) return product.amount;
    const Measure losses = build_.input(*process.process->losses, names_);
    if (!losses.known()) return {};
    const Measure one = build_.constant(1.0, "", "1", place);
    const Measure kept = build_.subtract(one, build_.ratio(losses, place), "1 − losses", place);
    const Measure needed = build_.divide(product.amount, kept, "output ÷ (1 − losses)", place);
    return {needed.node, product.amount.unit};
}

Measure Resolver::less_other_uses(const ProcessNodes& process, const ResolvedUse& rest,
                                  const ProductNodes& product, const Measure& needed) {
    const TextId unit = build_.text(needed.unit.text);
    std::vector<NodeId> parts{needed.node};
    for (const ResolvedUse& use : process.uses) {
        if (&use == &rest || use.family != product.family || !use.amount.known()) continue;
        const auto amount = build_.over_dry_mass(use.amount, use.bridges, needed.unit,
                                                 product.bridges, use.use->place);
        if (!amount) {
            report_misfit(use, use.amount, needed.unit, process);
            return {};
        }
        parts.push_back(build_.graph.make(
            Operation::negate, {amount->node}, unit,
            build_.origin(use.use->place, fmt::format("less {}", use.use->name))));
    }
    const NodeId node = build_.graph.make(
        Operation::sum, parts, unit,
        build_.origin(rest.use->amount.place(),
                      "rest = output ÷ (1 − losses) less the other uses of its kind"));
    return {node, needed.unit};
}

}  // namespace deckle
