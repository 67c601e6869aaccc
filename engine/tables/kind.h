// What a kind decides. Of a bought thing: which indicators are expected of its factor, the stage
// and the scope of its burden. Of a product of a mill: what it is counted in. One table each;
// nothing else in the engine asks what kind a factor is.
#pragma once

#include <cstdint>
#include <span>
#include <string_view>

#include "engine/quantity/dimension.h"

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

struct ProductKind {
    std::string_view name;
    Family family;
    bool (*counts)(const Dimension&);  ///< whether an amount of it can have this dimension
    std::string_view counted_in;       ///< the same in words
    std::string_view example;
};

/// Row of a kind of product of a mill, or nullptr.
[[nodiscard]] const ProductKind* find_product_kind(std::string_view name) noexcept;
[[nodiscard]] std::span<const ProductKind> all_product_kinds() noexcept;

}  // namespace deckle
