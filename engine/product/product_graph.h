// Consumer products as graph nodes: winding geometry, mass of tissue, and the footprint per roll,
// sheet, pack, tonne and square metre, on whole sheets and on the unrounded count.
#pragma once

#include <memory>
#include <string>
#include <string_view>
#include <vector>

#include "engine/mill/mill_graph.h"
#include "engine/product/product.h"

namespace deckle {

/// A tonne of tissue together with the cores in it, where they count as product.
inline constexpr std::string_view tonne_with_core = "t_with_core";
/// The name of a roll's core among its uses.
inline constexpr std::string_view core_use = "core";

/// Footprint per one of something: "roll", "pack", "t", "roll_unrounded".
struct PerLines {
    std::string per;
    Lines lines;     ///< carried and held indicators
    Measure number;  ///< of pieces in one, or of it in one piece; unknown for the piece itself
    bool holds_pieces = false;  ///< `number` counts pieces
};

/// What one piece takes of a sheet of a mill, on whole sheets, in the unit the sheet is counted in.
struct SheetTaken {
    const MillNodes* mill;
    std::size_t product;  ///< index into MillNodes::products
    Measure amount;
};

struct ConsumerNodes {
    const Product* product = nullptr;
    std::vector<PerLines> pers;
    NodeId whole_count = no_node;  ///< whole sheets a roll, where sheets have a length
    NodeId exact_count = no_node;
    Measure diameter;  ///< of a roll [m]
    Measure count;     ///< sheets a piece, unrounded; unknown where it is not perforated
    Measure sheet_length, sheet_width;  ///< [m]; a length where sheets have one
    Measure area;                       ///< of a piece, on the unrounded count [m2]
    Measure tissue_mass;                ///< t of tissue a piece, on whole sheets
    Measure product_mass;               ///< with the core, where it counts as product
    std::vector<SheetTaken> sheets;
    Measure exact_mass;  ///< the same on the unrounded count; unknown where none is rounded
    Measure dryness;     ///< of the tissue as weighed [kg dry/kg]; unknown where not stated
    const MillNodes* mill = nullptr;       ///< of its (first) sheet
    std::size_t sheet_process = no_index;  ///< process that makes the (first) sheet
    Lines piece;                           ///< the sum of one piece, whose terms `--by user` reads
    std::string piece_name;
    ViewsBought electricity;
    std::vector<Problem> findings;

    [[nodiscard]] const PerLines* per(std::string_view name) const;
    /// The unit of a tonne of the product itself: "t_with_core" where its core is a part of it.
    [[nodiscard]] std::string_view product_tonne() const;
};

/// Adds a product to the graph. `mills` are searched for its sheets ("sheet" or "mill.sheet").
/// Problems go to build.problems.
[[nodiscard]] std::unique_ptr<ConsumerNodes> build_product(
    Build& build, FactorBook& book, const std::vector<Grid>& grids,
    const std::vector<std::unique_ptr<MillNodes>>& mills, const Product& product);

}  // namespace deckle
