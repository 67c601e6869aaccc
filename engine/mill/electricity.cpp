#include "engine/mill/electricity.h"

#include <fmt/format.h>

#include <algorithm>

#include "engine/text/nearest.h"

namespace deckle {

void ViewsBought::add(const Supplied& supplied) {
    ViewsBought one{supplied.by[market_view] != supplied.by[location_view], {}};
    for (std::size_t view = 0; view < view_count; ++view) {
        if (supplied.unnamed[view]) one.stand_ins.push_back({supplied.by[view]->address(), view});
    }
    add(one);
}

void ViewsBought::add(const ViewsBought& other) {
    differ = differ || other.differ;
    stand_ins.insert(stand_ins.end(), other.stand_ins.begin(), other.stand_ins.end());
    std::ranges::sort(stand_ins);
    stand_ins.erase(std::unique(stand_ins.begin(), stand_ins.end()), stand_ins.end());
}

Supplied Electricity::supplied(const Factor& factor, const Use& use) {
    const Supply::Kind kind = use.supply ? use.supply->kind : Supply::Kind::grid;
    const bool past_the_grid = kind == Supply::Kind::direct_line || kind == Supply::Kind::own;
    if (factor.kind->family != Family::electricity || past_the_grid)
        return {.by = {&factor, &factor}, .bought = &factor};
    return from_grid(factor, use);
}

/// Market view: what a certificate holds, else the residual mix. Location view: the grid's mix.
Supplied Electricity::from_grid(const Factor& factor, const Use& use) {
    const Grid* grid = grid_of(&factor, use);
    const auto named = [&](const std::string& id) {
        return id.empty() ? nullptr : book_.find(id, grid->place);
    };
    const Factor* location = grid == nullptr ? nullptr : named(grid->location);
    const Factor* residual = grid == nullptr ? nullptr : named(grid->residual);
    const bool contract = use.supply && use.supply->kind == Supply::Kind::contract;
    const bool certified = contract && use.supply->certificate;

    Supplied supplied;
    supplied.bought = &factor;
    supplied.uncertified = contract && !certified;
    supplied.unnamed[location_view] = location == nullptr;
    supplied.unnamed[market_view] = !certified && residual == nullptr;
    supplied.by[location_view] = location != nullptr ? location : &factor;
    supplied.by[market_view] = &factor;
    if (supplied.uncertified) supplied.by[market_view] = supplied.by[location_view];
    if (!certified && residual != nullptr) supplied.by[market_view] = residual;
    return supplied;
}

const Factor* Electricity::in_place_of_sold(const Use& use) {
    if (!use.supply || use.supply->kind != Supply::Kind::own) return nullptr;
    const bool sold = use.supply->certificates_sold;
    if (!sold && use.supply->grid.empty()) return nullptr;
    if (grids_.empty() && use.supply->grid.empty()) {
        build_.problems.add(
            use.supply->place, "unknown-grid",
            "certificates were sold, and the study names no grid whose residual mix replaces them",
            "grids: {GRID_FACTOR: {location: ..., residual: ...}} in the study");
        return nullptr;
    }
    const Grid* grid = grid_of(nullptr, use);
    if (grid == nullptr || !sold) return nullptr;
    return book_.find(grid->residual.empty() ? grid->factor : grid->residual, grid->place);
}

/// The grid that a supply names, else the one whose factor is used, else the only one there is.
const Grid* Electricity::grid_of(const Factor* factor, const Use& use) {
    if (use.supply && !use.supply->grid.empty()) {
        const Grid* named = grid_with(book_.find(use.supply->grid, use.supply->place));
        if (named == nullptr) report_no_grid(use);
        return named;
    }
    if (const Grid* own = grid_with(factor)) return own;
    if (use.supply && use.supply->kind == Supply::Kind::grid && !grids_.empty()) {
        report_no_grid(use);
        return nullptr;
    }
    const bool any = use.supply && use.supply->kind != Supply::Kind::grid;
    if (any && grids_.size() > 1) report_no_grid(use);
    return any && grids_.size() == 1 ? &grids_.front() : nullptr;
}

const Grid* Electricity::grid_with(const Factor* factor) {
    if (factor == nullptr) return nullptr;
    for (const Grid& grid : grids_) {
        if (book_.find(grid.factor, grid.place) == factor) return &grid;
    }
    return nullptr;
}

void Electricity::report_no_grid(const Use& use) {
    std::vector<std::string> names;
    for (const Grid& grid : grids_) names.push_back(grid.factor);
    const std::string& named = use.supply->grid;
    if (use.supply->kind == Supply::Kind::grid) {
        build_.problems.add(
            use.supply->place, "unknown-grid",
            fmt::format("{} is no grid of the study, so it is not bought from the grid", use.thing),
            fmt::format("use {} instead of it", fmt::join(names, " or ")));
        return;
    }
    build_.problems.add(use.supply->place, "unknown-grid",
                        named.empty() ? fmt::format("the study has {} grids, and {} names none",
                                                    names.size(), use.name)
                                      : fmt::format("the study names no grid {}", named),
                        named.empty() ? fmt::format("grid: {}", fmt::join(names, " or "))
                                      : did_you_mean(named, names));
}

}  // namespace deckle
