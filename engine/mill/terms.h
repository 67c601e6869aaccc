// The terms of a sum: what a process or a product brings into the system and what it uses of things
// made. One sum of products per indicator and view of electricity is built from them; processes and
// consumer products share this code, so a use means the same in both.
#pragma once

#include <array>
#include <functional>
#include <map>
#include <string>
#include <string_view>
#include <vector>

#include "engine/mill/electricity.h"
#include "engine/mill/mill.h"
#include "engine/tables/factor_lines.h"

namespace deckle {

/// A node for each view of electricity.
using Views = std::array<NodeId, view_count>;

/// A node for each indicator and view; no_node where nothing contributes.
class Lines {
public:
    explicit Lines(std::size_t indicators = 0) : views_(indicators, Views{no_node, no_node}) {}
    [[nodiscard]] Views& at(IndicatorId id) { return views_.at(id); }
    [[nodiscard]] const Views& at(IndicatorId id) const { return views_.at(id); }
    [[nodiscard]] std::size_t count() const noexcept { return views_.size(); }

private:
    std::vector<Views> views_;
};

struct Term {
    NodeId a, b;
    Tag tag;
};

/// Who brings a burden: decides stage and scope where the kind of the factor does not.
struct Bringer {
    std::string stage, process, run_by;
};

/// A use of something bought.
using BoughtUse = std::pair<const Use*, const Factor*>;

/// Reports whatever a factor brings along by itself and is typed beside it (brought-twice).
void check_brought_twice(Problems& problems, FactorBook& book, std::span<const BoughtUse> uses);

/// Reports a state of steam on what is no heat, and a supply on what is no electricity
/// (unknown-key).
void check_keys_fit(Problems& problems, const Use& use, Family family);
void report_no_steam(Problems& problems, Place place, std::string_view id);
/// Reports the state of steam that is not typed in tonnes (unknown-key).
void report_idle_state(Problems& problems, const Use& use);

class TermList {
public:
    TermList(Build& build, FactorBook& book, const std::vector<Grid>& grids, Bringer bringer);

    /// A use of a factor: its own lines, those of what it brings, both views, what counts besides
    /// where certificates were sold. `bridges` convert the amount where the factor's own do not;
    /// reports wrong-unit at the use.
    void add_factor(const Factor& factor, const Measure& amount, std::span<const Bridge> bridges,
                    const Use& use);

    /// Own power whose certificates were sold counts as the residual mix besides, in the market
    /// view; nothing of any other use. Reports unknown-grid.
    void add_sold_certificates(const Measure& amount, const Use& use);

    /// Freight of what is used, if it states any: an amount of what `counted` converts travels as
    /// moist as `delivered` says. Reports wrong-unit where its mass is not known.
    void add_freight(const Measure& amount, std::span<const Bridge> counted,
                     std::span<const Bridge> delivered, const Use& use);
    /// Freight of a mass as delivered over its legs.
    void add_freight(const Measure& mass_t, const std::vector<Freight>& legs, std::string_view use);

    /// A use of something made, whose lines are given per unit of `amount`.
    void add_made(const Measure& amount, const Lines& lines, std::string_view use);

    /// One burden of the bringer itself: a release, a water flow.
    void add_own(IndicatorId indicator, NodeId a, NodeId b, std::string_view use,
                 std::string_view what);

    /// The price of fossil CO2 that the bringer releases itself [kg CO2e per unit of `amount`].
    /// Nothing where the study has no such price, or where another runs the process.
    void add_carbon_cost(NodeId amount, NodeId co2e, const Tag& tag, std::size_t view);
    void add_own_carbon_cost(NodeId co2e, std::string_view use);

    /// What is allowed free of charge: `co2e` [kg CO2e] less to pay for.
    void add_free_allocation(NodeId co2e);

    /// From now on carbon held by what is used counts in this indicator (no_index: nowhere).
    void hold_as(IndicatorId indicator) noexcept { held_ = indicator; }

    /// Terms of one view and indicator, in the order they were added.
    [[nodiscard]] const std::vector<Term>& terms(IndicatorId indicator, std::size_t view) const {
        return terms_[view][indicator];
    }

    /// The sum of products of one line; no_node when it has no terms.
    NodeId sum(IndicatorId indicator, std::size_t view, std::string_view unit,
               std::string_view rule, Place place) const;

    [[nodiscard]] const ViewsBought& views() const noexcept { return views_; }
    [[nodiscard]] const std::vector<Problem>& findings() const noexcept { return findings_; }

private:
    enum class Carbon : std::uint8_t { of_the_thing, brought_along };
    /// Which indicators of a factor count: where one factor stands for a view and another is what
    /// is bought, each gives its own.
    enum class Part : std::uint8_t { all, of_view, as_bought };
    struct Into {
        std::size_t view;
        Part part = Part::all;
    };
    [[nodiscard]] bool counts(IndicatorId indicator, Into into) const;
    [[nodiscard]] bool is_stack_carbon(const Factor& factor, const FactorLine& line) const;
    void add_bought_power(const Factor& factor, const Measure& amount, const Use& use);
    bool add_in_view(const Factor& factor, const Measure& amount, std::span<const Bridge> bridges,
                     const Use& use, Into into);
    void add_lines(const FactorNodes& nodes, NodeId amount, Into into, const Use& use,
                   Carbon carbon);
    void add_held(const FactorNodes& nodes, const FactorLine* line, NodeId amount, std::size_t view,
                  const Use& use);
    Tag tag(const Factor& factor, TextId gas, const Use& use);

    Build& build_;
    FactorBook& book_;
    Electricity electricity_;
    Bringer bringer_;
    std::array<std::vector<std::vector<Term>>, view_count> terms_;
    std::vector<Problem> findings_;
    IndicatorId held_ = no_index;
    ViewsBought views_;
};

}  // namespace deckle
