// What the kind of a bought thing decides: which indicators are expected of its factor, the stage
// and the scope of its burden. One table; nothing else in the engine asks what kind a factor is.
#pragma once

#include <cstdint>
#include <span>
#include <string_view>

namespace deckle {

/// Things that can stand in for each other when a mix is closed with `rest`.
enum class Family : std::uint8_t { other, fuel, electricity, heat, fibre };

enum class ScopeRule : std::uint8_t {
    where_released,  ///< burned on the site: 1, 2 or 3 by who runs the process
    bought_energy,   ///< 2
    upstream,        ///< 3
};

struct KindRow {
    std::string_view name;
    std::string_view stage;     ///< "" : the stage of the process that uses it
    bool water, fibre, energy;  ///< expected besides climate
    ScopeRule scope;
    Family family;
    bool holds_carbon = false;  ///< goes out with the product: its biogenic carbon is expected
};

/// Row of a kind's name, or nullptr.
[[nodiscard]] const KindRow* find_kind(std::string_view name) noexcept;
[[nodiscard]] std::span<const KindRow> all_kinds() noexcept;

/// Family of a product's kind in a mill: heat, electricity, fuel, fibre, sheet, other.
[[nodiscard]] Family family_of_product_kind(std::string_view kind) noexcept;

}  // namespace deckle
