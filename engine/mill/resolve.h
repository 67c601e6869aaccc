// First stage of a mill's graph: which thing each use means, and how much of it there is, in the
// unit that thing is counted in. Used by mill_graph.cpp only.
#pragma once

#include <span>
#include <string>
#include <vector>

#include "engine/mill/mill_graph.h"

namespace deckle {

class Resolver {
public:
    Resolver(Build& build, FactorBook& book, const Build::NameLookup& names, MillNodes& nodes)
        : build_(build), book_(book), names_(names), nodes_(nodes), mill_(*nodes.mill) {}

    /// Fills MillNodes::processes and products, sorted by address; amounts of products.
    void products();
    /// Targets and amounts of uses, sorted by name; `rest` last.
    void uses();
    /// Water flows, returns, leaves and losses.
    void flows();

private:
    void add_product(std::size_t process, const Made& made);
    void set_amount(ProductNodes& product);
    void add_dryness(ProductNodes& product);
    void check_composition(const ProductNodes& product);
    void check_same_composition(const ProductNodes& product);
    void check_moisture(const ProductNodes& product, const Composition::Part& moisture,
                        const Measure& share);
    void check_whole(std::span<const NodeId> shares, std::string_view what, Place place,
                     std::string_view code);

    bool find_target(ResolvedUse& use);
    void set_bridges(ResolvedUse& use);
    void check_supply(const ResolvedUse& use);
    [[nodiscard]] std::vector<std::string> bought_power(const ProductNodes& product);
    void set_use_amount(const ProcessNodes& process, ResolvedUse& use);
    Measure typed_amount(const ProcessNodes& process, const ResolvedUse& use);
    bool set_kind(ProductNodes& product, const Measure& typed);
    Measure heat_of_steam(const Made& made, const Measure& steam);
    void check_state(const ResolvedUse& use);
    [[nodiscard]] bool is_read(const ProcessNodes& process) const;
    bool is_steam(const ResolvedUse& use);
    Measure steam_use(const ProcessNodes& process, const ResolvedUse& use, const Measure& typed);
    Measure efficiency_of(const ResolvedUse& source, const Stated& stated);
    void check_make_up(const Use& use, const SteamState& made);
    std::optional<Measure> in_target_unit(const ProcessNodes& process, const ResolvedUse& use,
                                          const Measure& typed);
    [[nodiscard]] bool is_known(const ResolvedUse& use) const;
    void report_misfit(const ResolvedUse& use, const Measure& typed, const Unit& wanted,
                       const ProcessNodes& process);
    void report_plain_number(const ResolvedUse& use, const Unit& wanted,
                             const ProcessNodes& process);
    Unit unit_of(const ResolvedUse& use);
    std::vector<ProcessNodes::Flow> water_flows(const ProcessNodes& process,
                                                const std::vector<WaterFlow>& flows, bool in);
    std::optional<Measure> of_process(const ProcessNodes& process, const Stated& stated,
                                      const Unit& unit, std::string_view what);
    [[nodiscard]] std::vector<std::string> product_names() const;
    [[nodiscard]] bool is_returned(std::string_view id) const;

    // resolve_moved.cpp
    Measure moved_amount(const ProcessNodes& process, const ResolvedUse& use);
    std::optional<Measure> carried_over(const ResolvedUse& use, const ResolvedUse& before,
                                        const Measure& part, const Moved& moved);
    std::optional<ResolvedUse> resolved(const ProcessNodes& process, const Use& use);
    Measure share_of(const ProcessNodes& process, const ResolvedUse& before, const Moved& moved);
    void report_heat_of_several(const Moved& moved);
    std::optional<Measure> as_energy(const ResolvedUse& use, const Measure& amount);
    NodeId left_of(const Measure& amount, const Measure& share, const ResolvedUse& use);

    // resolve_rest.cpp
    void set_rest(ProcessNodes& process);
    void require_some_left(const ResolvedUse& rest, const Measure& left, const Measure& needed);
    [[nodiscard]] bool is_rest(const ResolvedUse& use) {
        return build_.standing(use.use->amount).is_word("rest");
    }
    ResolvedUse* find_rest(ProcessNodes& process);
    Measure needed_before_losses(const ProcessNodes& process, const ProductNodes& product,
                                 Place place);
    Measure less_other_uses(const ProcessNodes& process, const ResolvedUse& rest,
                            const ProductNodes& product, const Measure& needed);

    Build& build_;
    FactorBook& book_;
    const Build::NameLookup& names_;
    MillNodes& nodes_;
    const Mill& mill_;
};

}  // namespace deckle
