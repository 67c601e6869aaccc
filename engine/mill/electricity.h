// Which factors stand for bought electricity in the market-based and in the location-based view, by
// how it reaches the mill.
#pragma once

#include <array>
#include <string>
#include <vector>

#include "engine/mill/mill.h"
#include "engine/tables/factor_lines.h"

namespace deckle {

/// The two views of bought electricity, computed side by side.
inline constexpr std::size_t view_count = 2;
inline constexpr std::size_t market_view = 0;
inline constexpr std::size_t location_view = 1;

/// What a study says of a grid: which factors stand for it in the two views.
struct Grid {
    std::string factor, location, residual;
    Place place;
};

/// What stands for a use in each view. Electricity past the grid is the same in both.
struct Supplied {
    std::array<const Factor*, view_count> by{};
    const Factor* bought = nullptr;          ///< what the invoice is for, whatever the view
    std::array<bool, view_count> unnamed{};  ///< the study names no factor for the view
    bool uncertified = false;                ///< a contract without its certificate
};

/// A factor that stands for bought electricity in a view because the study names none for it.
struct StandIn {
    std::string factor;
    std::size_t view;
    auto operator<=>(const StandIn&) const = default;
};

/// How the two views of what was bought come apart.
struct ViewsBought {
    bool differ = false;             ///< anything has another factor in each view
    std::vector<StandIn> stand_ins;  ///< sorted, each once

    void add(const Supplied& supplied);
    void add(const ViewsBought& other);
};

class Electricity {
public:
    Electricity(Build& build, FactorBook& book, const std::vector<Grid>& grids)
        : build_(build), book_(book), grids_(grids) {}

    /// Whatever is no electricity stands for itself. Reports unknown-grid.
    Supplied supplied(const Factor& factor, const Use& use);

    /// The mix that counts besides own power whose certificates were sold; nullptr where none were,
    /// or where no grid says which (reported: unknown-grid).
    const Factor* in_place_of_sold(const Use& use);

private:
    Supplied from_grid(const Factor& factor, const Use& use);
    const Grid* grid_of(const Factor* factor, const Use& use);
    const Grid* grid_with(const Factor* factor);
    void report_no_grid(const Use& use);

    Build& build_;
    FactorBook& book_;
    const std::vector<Grid>& grids_;
};

}  // namespace deckle
