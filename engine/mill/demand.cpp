#include "engine/mill/demand.h"

#include <fmt/format.h>

#include <algorithm>

#include "engine/mill/resolve.h"

namespace deckle {
namespace {

/// x = C·x + b over all products of a mill, written down entry by entry.
class Levels {
public:
    Levels(Build& build, const AskedMill& asked) : build_(build), mill_(asked.mill) {
        for (std::size_t p = 0; p < mill_.products.size(); ++p)
            b_.push_back(asked.asked[p] == no_node ? nothing(p) : asked.asked[p]);
    }

    /// C as it stands, but for the sources of the mixes in `apart`: their entries are added by
    /// hand.
    void add_needs(const std::vector<std::pair<std::size_t, std::vector<std::size_t>>>& apart) {
        const std::size_t count = mill_.products.size();
        for (std::size_t of = 0; of < count; ++of) {
            for (std::size_t by = 0; by < count; ++by) {
                const bool is_apart = std::ranges::any_of(apart, [&](const auto& mix) {
                    return mix.first == by && std::ranges::find(mix.second, of) != mix.second.end();
                });
                if (is_apart) continue;
                const NodeId need = need_of(build_, mill_, by, of);
                if (need != no_node) add(of, by, need);
            }
        }
    }

    void add(std::size_t of, std::size_t by, NodeId need) {
        entries_.push_back({static_cast<std::uint32_t>(of), static_cast<std::uint32_t>(by)});
        needs_.push_back(need);
    }

    /// More that is asked for, whatever the levels.
    void add_fixed(std::size_t of, NodeId amount) {
        b_[of] = build_.graph.make(Operation::sum, {b_[of], amount}, unit(of),
                                   build_.origin(place(of), "asked for in any case"));
    }

    /// The system in the order of the ids: the order of a file moves no bit.
    std::vector<NodeId> solved() {
        const std::vector<std::size_t> products = in_order_of_ids();
        std::vector<TextId> unknowns, units;
        std::vector<NodeId> b;
        std::vector<std::uint32_t> row_of(products.size());
        for (std::size_t row = 0; row < products.size(); ++row) {
            const std::size_t p = products[row];
            row_of[p] = static_cast<std::uint32_t>(row);
            unknowns.push_back(build_.text(mill_.products[p].made->amount.address));
            units.push_back(unit(p));
            b.push_back(b_[p]);
        }
        for (Solve::Entry& entry : entries_) entry = {row_of[entry.row], row_of[entry.column]};
        sort_entries();
        const auto parts =
            build_.graph
                .solve(static_cast<std::uint32_t>(products.size()), entries_, needs_, 1, b,
                       unknowns, units,
                       build_.origin(mill_.mill->place, "demand on each product: x = C·x + b"))
                .parts;
        std::vector<NodeId> levels;
        levels.reserve(parts.size());
        for (const std::uint32_t row : row_of) levels.push_back(parts[row]);
        return levels;
    }

private:
    TextId unit(std::size_t p) { return build_.text(mill_.products[p].amount.unit.text); }
    Place place(std::size_t p) const { return mill_.products[p].made->place; }

    NodeId nothing(std::size_t p) {
        return build_.graph.constant(0.0, unit(p), build_.origin(place(p), "used inside the mill"));
    }

    std::vector<std::size_t> in_order_of_ids() const {
        std::vector<std::size_t> order(mill_.products.size());
        for (std::size_t p = 0; p < order.size(); ++p) order[p] = p;
        std::ranges::sort(order, {}, [&](std::size_t p) { return mill_.products[p].id; });
        return order;
    }

    /// Row by row.
    void sort_entries() {
        std::vector<std::size_t> order(entries_.size());
        for (std::size_t i = 0; i < order.size(); ++i) order[i] = i;
        std::ranges::sort(order, {}, [&](std::size_t i) {
            return std::pair(entries_[i].row, entries_[i].column);
        });
        std::vector<Solve::Entry> entries;
        std::vector<NodeId> needs;
        for (const std::size_t i : order) {
            entries.push_back(entries_[i]);
            needs.push_back(needs_[i]);
        }
        entries_ = std::move(entries);
        needs_ = std::move(needs);
    }

    Build& build_;
    const MillNodes& mill_;
    std::vector<Solve::Entry> entries_;
    std::vector<NodeId> needs_, b_;
};

/// The mix of one product: its sources and the one that swings.
class Mix {
public:
    Mix(Build& build, const MillNodes& before, const MillNodes& mill, const MixSwing& swing)
        : build_(build), before_(before), mill_(mill), swing_(swing) {}

    /// False, reported, when there is no such mix.
    bool find() {
        product_ = index_of(mill_);
        const std::size_t old = index_of(before_);
        if (product_ == no_index || old == no_index) return false;
        old_ = old;
        for (const ResolvedUse& use : process().uses) {
            if (use.family == made().family) sources_.push_back(&use);
        }
        source_ = source_named(swing_.source);
        if (source_ != nullptr && made().family != Family::other) return true;
        build_.problems.add(
            swing_.place, "not-a-mix",
            fmt::format("{} is not of the kind of {}", swing_.source, swing_.product),
            "name a use of the mix that gives the same kind of energy or fibre");
        return false;
    }

    [[nodiscard]] std::size_t product() const noexcept { return product_; }

    [[nodiscard]] std::vector<std::size_t> products_of_sources() const {
        std::vector<std::size_t> products;
        for (const ResolvedUse* use : sources_) {
            if (use->product != no_index) products.push_back(use->product);
        }
        return products;
    }

    /// The mix in a system of levels: sources at the level they had, the swinging one as it must.
    void write(Levels& levels, NodeId level_before) {
        const Measure scale = scale_of(level_before);
        for (const ResolvedUse* use : sources_) {
            if (use->product == no_index) continue;
            const Measure amount = use == source_ ? standing_amount() : use->amount;
            levels.add_fixed(use->product, times(amount, scale).node);
        }
        if (source_->product == no_index) return;
        const Measure more = needed_per_unit();
        levels.add(source_->product, product_, more.node);
        const Measure level{level_before, made().amount.unit};
        const Measure had = times({more.node, source_->amount.unit}, level);
        levels.add_fixed(
            source_->product,
            build_.graph.make(Operation::negate, {had.node}, build_.text(source_->amount.unit.text),
                              build_.origin(swing_.place, "what today asks for")));
    }

    /// The amounts once the level is known: made = typed × level ÷ level of today.
    SwungMix amounts(NodeId level_before, NodeId level) {
        const Measure factor = build_.divide({level, {}}, {level_before, {}},
                                             "demand ÷ demand of today", swing_.place);
        SwungMix mix;
        mix.product = swing_.product;
        mix.factor = factor.node;
        const Measure one = build_.constant(1.0, "", "1", swing_.place);
        const Measure growth = build_.subtract(factor, one, "change of demand", swing_.place);
        const Measure before{made().amount.node, made().amount.unit};
        const Measure needed = needed_per_unit();
        const Measure more = times(times(before, growth), needed);
        for (const ResolvedUse* use : sources_) {
            Measure amount = use->amount;
            if (use == source_) {
                amount = standing_amount();
                amount.node = build_.graph.make(
                    Operation::sum, {amount.node, more.node}, build_.text(amount.unit.text),
                    build_.origin(swing_.place, "its amount and the change of demand"));
                build_.graph.require_not_negative(
                    {amount.node, build_.text(use->use->amount.address)});
            }
            mix.sources.emplace_back(use->use->name, amount);
        }
        return mix;
    }

private:
    std::size_t index_of(const MillNodes& mill) const {
        const ProductNodes* product = mill.product(swing_.product);
        return product == nullptr ? no_index
                                  : static_cast<std::size_t>(product - mill.products.data());
    }
    const ProductNodes& made() const { return mill_.products[product_]; }
    const ProcessNodes& process() const { return mill_.processes[made().process_index]; }
    const ProcessNodes& process_before() const {
        return before_.processes[before_.products[old_].process_index];
    }

    const ResolvedUse* source_named(const std::string& name) const {
        const auto found = std::ranges::find_if(
            sources_, [&](const ResolvedUse* use) { return use->use->name == name; });
        return found == sources_.end() ? nullptr : *found;
    }

    Measure times(const Measure& a, const Measure& b) {
        return {build_.multiply(a, b, "at the level of demand", swing_.place).node, a.unit};
    }

    /// Level ÷ amount typed: the account of the process may be for any output.
    Measure scale_of(NodeId level) {
        return {build_
                    .divide({level, made().amount.unit}, made().amount,
                            "demand of today ÷ amount typed", swing_.place)
                    .node,
                {}};
    }

    /// Units of the source that one more unit of the product takes: 1 ÷ (1 − losses).
    Measure needed_per_unit() {
        const Measure one = build_.constant(1.0, "", "1", swing_.place);
        Measure whole = one;
        if (process().process->losses && process().losses.known()) {
            const Measure kept = build_.subtract(one, build_.ratio(process().losses, swing_.place),
                                                 "1 − losses", swing_.place);
            whole = build_.divide(one, kept, "1 ÷ (1 − losses)", swing_.place);
        }
        const auto in_source =
            build_.across({whole.node, made().amount.unit}, source_->amount.unit,
                          joined(source_->bridges, made().bridges), swing_.place);
        if (!in_source) {
            build_.problems.add(
                swing_.place, "not-a-mix",
                fmt::format("{} is counted in {}, {} in {}", swing_.source,
                            source_->amount.unit.text, swing_.product, made().amount.unit.text),
                "name another source");
            return whole;
        }
        return {in_source->node, {}};
    }

    /// The swinging source before demand changes; what the scenario took off the other sources is
    /// its to give. A rest has seen to that itself.
    Measure standing_amount() {
        Measure amount = source_->amount;
        if (build_.standing(source_->use->amount).is_word("rest")) return amount;
        for (const ResolvedUse* use : sources_) {
            if (use == source_) continue;
            const auto before = std::ranges::find_if(
                process_before().uses,
                [&](const ResolvedUse& one) { return one.use->name == use->use->name; });
            if (before == process_before().uses.end() || before->amount.node == use->amount.node)
                continue;
            const auto bridges = joined(source_->bridges, joined(use->bridges, made().bridges));
            const auto was = build_.across(before->amount, amount.unit, bridges, swing_.place);
            const auto is = build_.across(use->amount, amount.unit, bridges, swing_.place);
            if (!was || !is) continue;
            const Measure change =
                build_.subtract(*was, *is, "what another source gives less", swing_.place);
            amount = build_.add(amount, change, "and the swinging source more", swing_.place);
        }
        return amount;
    }

    Build& build_;
    const MillNodes& before_;
    const MillNodes& mill_;
    const MixSwing& swing_;
    std::size_t product_ = no_index, old_ = no_index;
    std::vector<const ResolvedUse*> sources_;
    const ResolvedUse* source_ = nullptr;
};

}  // namespace

NodeId need_of(Build& build, const MillNodes& mill, std::size_t by, std::size_t of) {
    const ProductNodes& product = mill.products[by];
    const ProductNodes& other = mill.products[of];
    std::vector<NodeId> amounts;
    for (const ResolvedUse& use : mill.processes[product.process_index].uses) {
        if (use.product == of) amounts.push_back(use.amount.node);
    }
    if (amounts.empty()) return no_node;
    const TextId unit = build.text(other.amount.unit.text);
    const Place place = product.made->place;
    NodeId amount =
        amounts.size() == 1
            ? amounts[0]
            : build.graph.make(Operation::sum, amounts, unit,
                               build.origin(place, fmt::format("all uses of {}", other.id)));
    if (product.share.known()) {
        amount = build.graph.make(Operation::product, {amount, product.share.node}, unit,
                                  build.origin(place, fmt::format("part of {}", product.id)));
    }
    return build.graph.make(Operation::quotient, {amount, product.amount.node},
                            build.text(per_text(other.amount.unit.text, product.amount.unit)),
                            build.origin(place, fmt::format("{} that one {} of {} needs", other.id,
                                                            product.amount.unit.text, product.id)));
}

bool is_final(const MillNodes& mill, std::size_t product) {
    const std::size_t own = mill.products[product].process_index;
    for (std::size_t p = 0; p < mill.processes.size(); ++p) {
        const auto& uses = mill.processes[p].uses;
        if (p != own && std::ranges::find(uses, product, &ResolvedUse::product) != uses.end())
            return false;
    }
    return true;
}

std::vector<NodeId> demand_levels(Build& build, const MillNodes& mill,
                                  const std::vector<NodeId>& asked) {
    Levels levels(build, {mill, asked});
    levels.add_needs({});
    return levels.solved();
}

std::vector<SwungMix> swing(Build& build, const AskedMill& before, const AskedMill& now,
                            const std::vector<MixSwing>& swings) {
    const std::vector<NodeId> today = demand_levels(build, before.mill, before.asked);
    std::vector<Mix> mixes;
    std::vector<NodeId> today_of;
    std::vector<std::pair<std::size_t, std::vector<std::size_t>>> apart;
    for (const MixSwing& one : swings) {
        Mix mix(build, before.mill, now.mill, one);
        if (!mix.find()) continue;
        apart.emplace_back(mix.product(), mix.products_of_sources());
        const ProductNodes* old = before.mill.product(one.product);
        today_of.push_back(today[static_cast<std::size_t>(old - before.mill.products.data())]);
        mixes.push_back(mix);
    }
    Levels levels(build, now);
    levels.add_needs(apart);
    for (std::size_t i = 0; i < mixes.size(); ++i) mixes[i].write(levels, today_of[i]);
    const std::vector<NodeId> then = levels.solved();
    std::vector<SwungMix> swung;
    for (std::size_t i = 0; i < mixes.size(); ++i)
        swung.push_back(mixes[i].amounts(today_of[i], then[mixes[i].product()]));
    return swung;
}

}  // namespace deckle
