// Changes that a scenario makes to single amounts. Build looks them up by the address of every
// amount it turns into a node, so a change reaches whatever has an address, and nothing else in
// the engine knows of scenarios.
#pragma once

#include <deque>
#include <map>
#include <string>
#include <string_view>
#include <vector>

#include "engine/graph/graph.h"
#include "engine/tables/stated.h"

namespace deckle {

struct ValueChange {
    enum class Kind : std::uint8_t { set, scale, add, spread };

    Kind kind = Kind::set;
    std::string id = {};       ///< of the change: "scenarios.heat_pump.changes.3"
    std::string address = {};  ///< of the amount that changes, ".spread" behind it for its spread
    Stated stated = {};        ///< the new amount, the ratio, or what is added; of a spread the
                               ///< amount that it is set about, once something was built
    YamlEntry spread = {};     ///< as typed: a scalar "± 5 % of value", or a mapping
    NodeId input = no_node;    ///< of a spread: the input that has it
    bool touched = false;      ///< something with this address was built
    bool stands = true;        ///< no later `set` took its place
    std::string was = {};  ///< of a `set`: the text it took the place of, once something was built
    bool settled = false;  ///< a `set` took over what it does not say of the amount it replaces
    bool same = false;     ///< a `set` to what stood there
};

/// In the order they are made; later ones act on what earlier ones left.
class ValueChanges {
public:
    void add(ValueChange change);

    /// What was changed under these addresses so far is gone, and others stand there.
    void forget(std::string_view prefix);

    /// Those that concern an amount, under its own address or one it is inherited under. Once an
    /// heir is changed by its own address, changes of what it is like reach it no more.
    [[nodiscard]] std::vector<ValueChange*> of(const Stated& stated);

    /// Those of them that act on the amount which stands: behind the last `set`.
    [[nodiscard]] std::vector<ValueChange*> behind_set(const Stated& stated);

    [[nodiscard]] const std::deque<ValueChange>& all() const noexcept { return all_; }

private:
    std::deque<ValueChange> all_;
    std::map<std::string, std::vector<std::size_t>, std::less<>> by_address_;
};

/// A `set` takes over limits, and without a spread of its own the relative spread and the draw of
/// the amount it replaces: a meter that reads 5 % off does so after the change too. Reports a
/// quantity of another dimension (wrong-unit), but for the amount of a use and for a price, which
/// may be typed in any unit that leads to what is used.
void settle_set(ValueChange& change, const Stated& replaced, Problems& problems);

/// The amount that stands, with the spread that the change names in place of its own; it keeps its
/// value, its place and its draw. Codes: spread-without-number, bad-spread and those of spreads.
void settle_spread(ValueChange& change, const Stated& standing, Problems& problems);

}  // namespace deckle
