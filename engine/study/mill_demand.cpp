#include "engine/study/mill_demand.h"

#include <algorithm>
#include <set>

#include "engine/mill/demand.h"
#include "engine/study/flows.h"

namespace deckle {
namespace {

bool is_good(const ProductNodes& product) {
    return product.family == Family::other || product.family == Family::fibre;
}

/// What the mill makes for others; energy that nothing uses is spare, but for a mill of energy.
std::vector<std::size_t> finals_of(const MillNodes& mill) {
    std::vector<std::size_t> goods, all;
    for (std::size_t p = 0; p < mill.products.size(); ++p) {
        if (!is_final(mill, p)) continue;
        all.push_back(p);
        if (is_good(mill.products[p])) goods.push_back(p);
    }
    return goods.empty() ? all : goods;
}

class DemandReader {
public:
    DemandReader(Build& build, const StudyModel& model, const Assembly& assembly,
                 const MillNodes& mill)
        : build_(build), model_(model), assembly_(assembly), mill_(mill), finals_(finals_of(mill)) {
        asked_.amounts.assign(mill.products.size(), no_node);
    }

    MillDemand run(const MillNodes& today) {
        std::vector<const Output*> sorted;
        for (const Output& output : model_.output) sorted.push_back(&output);
        std::ranges::sort(sorted, {}, &Output::of);
        for (const Output* output : sorted) add(*output);
        if (std::ranges::all_of(asked_.amounts, [](NodeId node) { return node == no_node; }))
            take_typed(today);
        for (const std::size_t p : finals_) {
            if (asked_.amounts[p] == no_node) go_along(p);
        }
        return std::move(asked_);
    }

private:
    void add(const Output& output) {
        const auto consumer = std::ranges::find_if(assembly_.product_nodes, [&](const auto& nodes) {
            return nodes->product->id == output.of;
        });
        if (consumer != assembly_.product_nodes.end()) return add_sheets(**consumer, output);
        for (std::size_t p = 0; p < mill_.products.size(); ++p) {
            const ProductNodes& product = mill_.products[p];
            if (output.of != product.id && output.of != mill_.mill->id + "." + product.id) continue;
            const auto amount = build_.across(build_.input(output.amount), product.amount.unit,
                                              product.bridges, output.place);
            if (amount) add(p, amount->node, output.place);
        }
    }

    void add_sheets(const ConsumerNodes& nodes, const Output& output) {
        const PerLines* per = nodes.per(per_of(output));
        if (per == nullptr) return;  // reported with the results of the period
        Measure pieces = output_amount(build_, output);
        if (per->number.known()) {
            const Measure number{per->number.node, {}};
            pieces = per->holds_pieces
                         ? build_.multiply(pieces, number, "pieces of the output", output.place)
                         : build_.divide(pieces, number, "pieces of the output", output.place);
        }
        for (const SheetTaken& sheet : nodes.sheets) {
            if (sheet.mill != &mill_) continue;
            const Measure amount = build_.multiply(sheet.amount, {pieces.node, {}},
                                                   "sheet for the output", output.place);
            add(sheet.product, amount.node, output.place);
        }
    }

    void add(std::size_t p, NodeId amount, Place place) {
        NodeId& all = asked_.amounts[p];
        all = all == no_node
                  ? amount
                  : build_.graph.make(Operation::sum, {all, amount},
                                      build_.text(mill_.products[p].amount.unit.text),
                                      build_.origin(place, "asked for by the study's output"));
    }

    /// Final products of one process, as today: their levels are in proportion.
    void take_typed(const MillNodes& today) {
        std::set<std::size_t> processes;
        for (const std::size_t p : finals_) processes.insert(mill_.products[p].process_index);
        if (processes.size() != 1) return;
        for (const std::size_t p : finals_) {
            const ProductNodes& product = mill_.products[p];
            const ProductNodes* old = today.product(product.id);
            if (old == nullptr) continue;
            const auto amount = build_.across(old->amount, product.amount.unit, product.bridges,
                                              product.made->place);
            if (amount) asked_.amounts[p] = amount->node;
        }
    }

    /// A co-product comes with what its process is asked for, in the proportion made.
    void go_along(std::size_t p) {
        const ProductNodes& product = mill_.products[p];
        for (const std::size_t q : mill_.processes[product.process_index].products) {
            if (q == p || asked_.amounts[q] == no_node || !is_final(mill_, q)) continue;
            const Place place = product.made->place;
            const Measure times =
                build_.divide({asked_.amounts[q], {}}, {mill_.products[q].amount.node, {}},
                              "output ÷ amount typed", place);
            asked_.amounts[p] =
                build_.multiply(product.amount, times, "made along with it", place).node;
            return;
        }
        std::set<std::size_t> seen;
        if (!is_told_before(p, seen)) asked_.unknown.push_back(product.id);
    }

    /// True where the output is told of what the product is made of: a sheet, before converting.
    bool is_told_before(std::size_t p, std::set<std::size_t>& seen) const {
        if (!seen.insert(p).second) return false;
        for (const ResolvedUse& use : mill_.processes[mill_.products[p].process_index].uses) {
            if (use.product == no_index || !is_good(mill_.products[use.product])) continue;
            if (asked_.amounts[use.product] != no_node || is_told_before(use.product, seen))
                return true;
        }
        return false;
    }

    Build& build_;
    const StudyModel& model_;
    const Assembly& assembly_;
    const MillNodes& mill_;
    std::vector<std::size_t> finals_;
    MillDemand asked_;
};

}  // namespace

MillDemand demand_of(Build& build, const StudyModel& model, const Assembly& assembly,
                     const MillNodes& mill, const MillNodes& today) {
    return DemandReader(build, model, assembly, mill).run(today);
}

}  // namespace deckle
