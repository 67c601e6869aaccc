// Consumer products as their file states them: rolls and folded goods, their plies, core and
// packing. product_reader.cpp fills these from YAML or CSV; product_graph.h turns them into nodes.
#pragma once

#include <optional>
#include <span>
#include <string>
#include <vector>

#include "engine/mill/mill.h"

namespace deckle {

struct Ply {
    std::string from;
    Place place;
    std::optional<Stated> grammage, stretch;
};

struct PackingLevel {
    std::string name;  ///< pack, case, pallet, ...
    Place place;
    Stated holds;  ///< how many of the level inside
    std::vector<Use> uses;
};

struct Property {
    std::string name, method, scale;
    Stated value;
};

struct Core {
    Place place, board_place;
    std::string board;
    std::optional<Stated> outside, mass;
    bool counts_as_product = false;
};

struct Product {
    std::string id, title, like, note;
    Place place;
    std::string from;
    Place from_place;
    std::optional<Stated> plies, grammage, dryness;
    std::vector<Ply> different_plies;
    bool folded = false;
    std::optional<Stated> sheet_length, sheet_width;
    std::optional<Stated> diameter, wound_thickness, count, length, compression;
    Place roll_place;
    std::optional<Stated> sheets;  ///< of a folded bundle
    std::optional<Core> core;
    std::vector<Use> glue, uses;
    std::vector<PackingLevel> packed;
    std::vector<Freight> outbound;
    std::vector<Property> properties;

    /// "roll" or "bundle": what one piece is.
    [[nodiscard]] const char* piece() const noexcept { return folded ? "bundle" : "roll"; }
};

/// Reads products from YAML files, or CSV files whose head names the same keys with their units.
/// `like` may point from one file to another.
[[nodiscard]] std::vector<Product> read_products(const Files& files,
                                                 std::span<const std::uint32_t> paths,
                                                 Problems& problems);

[[nodiscard]] std::vector<const KeyTable*> product_key_tables();

}  // namespace deckle
