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

#include "engine/mill/mill.h"
#include "engine/tables/factor_lines.h"

namespace deckle {

/// The two views of bought electricity, computed side by side.
inline constexpr std::size_t view_count = 2;
inline constexpr std::size_t market_view = 0;
inline constexpr std::size_t location_view = 1;
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

/// What a study says of a grid: which factors stand for it in the two views.
struct Grid {
    std::string factor, location, residual;
    Place place;
};

struct Term {
    NodeId a, b;
    Tag tag;
};

/// Who brings a burden: decides stage and scope where the kind of the factor does not.
struct Bringer {
    std::string stage, process, run_by;
};

class TermList {
public:
    TermList(Build& build, FactorBook& book, const std::vector<Grid>& grids, Bringer bringer);

    /// A use of a factor: its own lines, those of what it brings, both views. `amount` may be in
    /// any unit that `bridges` lead to the factor's; reports wrong-unit at the use.
    void add_factor(const Factor& factor, const Measure& amount, std::span<const Bridge> bridges,
                    const Use& use);

    /// Freight of a mass as delivered over its legs.
    void add_freight(const Measure& mass_t, const std::vector<Freight>& legs, std::string_view use);

    /// A use of something made, whose lines are given per unit of `amount`.
    void add_made(const Measure& amount, const Lines& lines, std::string_view use);

    /// One burden of the bringer itself: a release, a water flow.
    void add_own(IndicatorId indicator, NodeId a, NodeId b, std::string_view use,
                 std::string_view what);

    /// From now on carbon held by what is used counts in this indicator (no_index: nowhere).
    void hold_as(IndicatorId indicator) noexcept { held_ = indicator; }

    /// The terms that another list has in one view.
    void add_view_of(const TermList& other, std::size_t view);

    /// Terms of one view and indicator, in the order they were added.
    [[nodiscard]] const std::vector<Term>& terms(IndicatorId indicator, std::size_t view) const {
        return terms_[view][indicator];
    }

    /// The sum of products of one line; no_node when it has no terms.
    NodeId sum(IndicatorId indicator, std::size_t view, std::string_view unit,
               std::string_view rule, Place place) const;

    [[nodiscard]] bool uses_one_factor_for_both_views() const noexcept {
        return one_factor_for_both_;
    }
    [[nodiscard]] const std::vector<Problem>& findings() const noexcept { return findings_; }

private:
    enum class Carbon : std::uint8_t { of_the_thing, brought_along };
    void add_lines(const FactorNodes& nodes, NodeId amount, std::size_t view, std::string_view use,
                   Carbon carbon);
    void add_held(const FactorNodes& nodes, const FactorLine* line, NodeId amount, std::size_t view,
                  std::string_view use);
    const Factor* viewed(const Factor& factor, const Use& use, std::size_t view);
    const Grid* grid_of(const Factor& factor, const Use& use);
    Tag tag(const Factor& factor, TextId gas, std::string_view use);

    Build& build_;
    FactorBook& book_;
    const std::vector<Grid>& grids_;
    Bringer bringer_;
    std::array<std::vector<std::vector<Term>>, view_count> terms_;
    std::vector<Problem> findings_;
    IndicatorId held_ = no_index;
    bool one_factor_for_both_ = false;
};

}  // namespace deckle
