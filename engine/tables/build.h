// Turns stated amounts into nodes: a Measure is a node with its unit, and every conversion, every
// change of basis and every product of units is a visible node. All builders (factors, mills,
// products) write to the graph through this one class.
#pragma once

#include <functional>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "engine/graph/graph.h"
#include "engine/tables/changes.h"
#include "engine/tables/limits.h"
#include "engine/tables/quality.h"
#include "engine/tables/stated.h"

namespace deckle {

struct Measure {
    NodeId node = no_node;
    Unit unit;
    [[nodiscard]] bool known() const noexcept { return node != no_node; }
};

/// A quantity that turns one basis into another: a heating value, a density, a dryness.
struct Bridge {
    Measure measure;
    std::string_view name;  ///< for the rule: "heating value (LHV)"
};

/// `own` bridges, and those of `more` that bridge something else.
[[nodiscard]] std::vector<Bridge> joined(std::vector<Bridge> own, std::span<const Bridge> more);

class Build {
public:
    Build(Graph& to_graph, Problems& to_problems) : graph(to_graph), problems(to_problems) {}

    Graph& graph;
    Problems& problems;
    std::vector<FormulaLimit> limits;  ///< of the formulas built so far
    ValueChanges* changes = nullptr;   ///< of the scenario that is built; none for today
    const QualitySpread* quality_spread =
        nullptr;  ///< makes spreads of scores, where one is chosen

    /// Finds the node of a name in a formula; reports unknown names itself and returns an unknown
    /// Measure.
    using NameLookup = std::function<Measure(std::string_view name, Place place)>;

    /// The input of a stated quantity, named by its address, or the nodes of a stated formula.
    /// An unknown Measure when a formula could not be built (reported).
    Measure input(const Stated& stated, const NameLookup& names = {},
                  std::string_view citation = {});

    /// The amount that stands for a stated one: itself, or what the scenario sets in its place.
    const Stated& standing(const Stated& stated);

    /// Brings what is added to the unit of what it is added to; nullopt when it cannot.
    using Converter = std::function<std::optional<Measure>(const Measure& more)>;

    /// `measure` after what the scenario scales and adds to the amount it stands for. What is added
    /// is typed in the unit of the amount, whatever its place in the file adds to that, unless
    /// `converter` knows better.
    Measure adjusted(const Stated& stated, const Measure& measure, const Converter& converter = {});

    /// The first change of the scenario that scales or adds to what stands; nullptr for none.
    [[nodiscard]] const ValueChange* acting_on(const Stated& stated) const;

    void note_spread_change(const Stated& original, NodeId node);

    /// The input of a quantity whose place in the file says more about its unit than its text does:
    /// "410 kg" under `climate` of a factor per ADt is 410 kg CO2e/ADt.
    Measure input_as(const Stated& stated, const Unit& unit, std::string_view citation);

    /// An exact number the engine adds itself.
    Measure constant(double value, std::string_view unit_text, std::string_view rule,
                     Place place = {});

    /// The same in another unit of the same dimension; nullopt when the dimensions differ.
    std::optional<Measure> in_unit(const Measure& measure, const Unit& unit, Place place);

    /// The same in `target`, over at most one use of each bridge, with the fewest bridges.
    std::optional<Measure> across(const Measure& measure, const Unit& target,
                                  std::span<const Bridge> bridges, Place place);

    /// An amount of what `from` converts, in a unit of what `to` converts. Moist mass of another
    /// dryness is carried over as dry mass.
    std::optional<Measure> over_dry_mass(const Measure& measure, std::span<const Bridge> from,
                                         const Unit& target, std::span<const Bridge> to,
                                         Place place);

    /// What converts between dry and moist mass at a stated dryness; none when it is no share
    /// (reported).
    std::vector<Bridge> dryness(const Stated& stated, const NameLookup& names = {},
                                std::string_view citation = {});

    /// Of a and b; unknown when one of them is.
    Measure multiply(const Measure& a, const Measure& b, std::string_view rule, Place place);
    Measure divide(const Measure& a, const Measure& b, std::string_view rule, Place place);
    /// a + b or a − b, b brought to a's unit. Errors: logic_error for unlike dimensions.
    Measure add(const Measure& a, const Measure& b, std::string_view rule, Place place);
    Measure subtract(const Measure& a, const Measure& b, std::string_view rule, Place place);
    /// A dimensionless measure as a plain ratio (42 % becomes 0.42); reports any other
    /// (wrong-unit).
    Measure ratio(const Measure& measure, Place place);
    /// Its value at the amounts read so far; nullopt when it has none and there are problems that
    /// may be why. Errors: NoAnswer not-finite, unsolvable-loop.
    std::optional<double> value_at_load(const Measure& measure);
    /// One of the functions over measures that are in the units the operation expects.
    Measure apply(Operation operation, std::initializer_list<Measure> arguments,
                  std::string_view unit_text, std::string_view rule, Place place);

    [[nodiscard]] Origin origin(Place place, std::string_view rule) {
        return {place, graph.text(rule)};
    }
    [[nodiscard]] TextId text(std::string_view text) { return graph.text(text); }

private:
    std::optional<Measure> scaled(const Stated& standing, const Measure& measure, const Stated& by);
    std::optional<Measure> added(const Stated& standing, const Measure& measure, const Stated& by,
                                 const Converter& converter);
    void keep_correlation(Stated& stated, const Stated& replaced);
    Measure typed_input(const Stated& stated, const Unit& unit, std::string_view citation);
    Measure crossed(const Measure& measure, const Bridge& bridge, int sign, const Unit& target,
                    Place place);
    Spread spread_of(const Stated& stated);
    NodeId parameter(const Stated& stated, std::size_t k, double value);
};

/// The dimension of a plain ratio typed in % or as a number.
[[nodiscard]] Unit plain_unit();

}  // namespace deckle
