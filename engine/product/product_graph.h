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

/// Footprint per one of something: "roll", "pack", "t", "roll_unrounded".
struct PerLines {
    std::string per;
    Lines lines;  ///< carried and held indicators
};

struct ConsumerNodes {
    const Product* product = nullptr;
    std::vector<PerLines> pers;
    NodeId whole_count = no_node;  ///< whole sheets a roll, where sheets have a length
    NodeId exact_count = no_node;
    Measure diameter;     ///< of a roll [m]
    Measure count;        ///< sheets a piece, unrounded; unknown where it is not perforated
    Measure tissue_mass;  ///< t of tissue a piece, on whole sheets
    const MillNodes* mill = nullptr;       ///< of its (first) sheet
    std::size_t sheet_process = no_index;  ///< process that makes the (first) sheet
    Lines piece;                           ///< the sum of one piece, whose terms `--by user` reads
    std::string piece_name;
    bool one_factor_for_both_views = false;
    std::vector<Problem> findings;

    [[nodiscard]] const PerLines* per(std::string_view name) const;
};

/// Adds a product to the graph. `mills` are searched for its sheets ("sheet" or "mill.sheet").
/// Problems go to build.problems.
[[nodiscard]] std::unique_ptr<ConsumerNodes> build_product(
    Build& build, FactorBook& book, const std::vector<Grid>& grids,
    const std::vector<std::unique_ptr<MillNodes>>& mills, const Product& product);

}  // namespace deckle
