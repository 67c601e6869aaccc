#include "engine/tables/kind.h"

#include <algorithm>
#include <array>

namespace deckle {
namespace {

using enum ScopeRule;

//                     name              stage            water  fibre  energy scope          family
constexpr std::array kinds{
    KindRow{"fuel", "", true, false, true, where_released, Family::fuel},
    KindRow{"fuel_supply", "energy", true, false, false, upstream, Family::other},
    KindRow{"electricity", "energy", true, false, true, bought_energy, Family::electricity},
    KindRow{"heat", "energy", true, false, true, bought_energy, Family::heat},
    KindRow{"fibre", "raw_materials", true, true, true, upstream, Family::fibre},
    KindRow{"recovered_fibre", "raw_materials", true, true, true, upstream, Family::fibre},
    KindRow{"chemical", "raw_materials", true, false, false, upstream, Family::other},
    KindRow{"packaging", "packaging", true, false, false, upstream, Family::other, true},
    KindRow{"freight", "inbound", false, false, false, upstream, Family::other},
    KindRow{"water_supply", "", true, false, false, upstream, Family::other},
    KindRow{"waste", "waste", true, false, false, upstream, Family::other},
    KindRow{"other", "", true, false, false, upstream, Family::other},
};

bool is_energy_alone(const Dimension& d) { return d == dimensions::energy(); }
bool is_any_mass(const Dimension& d) { return d.without_basis() == dimensions::mass; }
bool is_mass_or_area(const Dimension& d) { return is_any_mass(d) || d == dimensions::area(); }
bool is_of_fuel(const Dimension& d) {
    return d.without_basis() == dimensions::energy() || is_any_mass(d) ||
           d == dimensions::gas_volume || d == dimensions::volume();
}
bool is_of_things(const Dimension& d) {
    return d.usable() && !d.is_number() && !d.has_money() && d != dimensions::temperature;
}

constexpr std::array product_kinds{
    ProductKind{"heat", Family::heat, is_energy_alone, "energy, or mass of steam with its state",
                "12 GJ, or 5 t with pressure and make_up"},
    ProductKind{"electricity", Family::electricity, is_energy_alone, "energy", "5_200 kWh"},
    ProductKind{"fuel", Family::fuel, is_of_fuel, "energy, mass, volume or gas volume",
                "4_100 GJ LHV"},
    ProductKind{"fibre", Family::fibre, is_any_mass, "mass", "5_200 t dry"},
    ProductKind{"sheet", Family::fibre, is_mass_or_area, "mass or area", "5_200 t"},
    ProductKind{"other", Family::other, is_of_things,
                "mass, volume, pieces or another amount of things", "5_200 t or 800 piece"},
};

}  // namespace

const KindRow* find_kind(std::string_view name) noexcept {
    const auto found =
        std::ranges::find_if(kinds, [&](const KindRow& row) { return row.name == name; });
    return found == kinds.end() ? nullptr : &*found;
}

std::span<const KindRow> all_kinds() noexcept { return kinds; }

const ProductKind* find_product_kind(std::string_view name) noexcept {
    const auto found = std::ranges::find(product_kinds, name, &ProductKind::name);
    return found == product_kinds.end() ? nullptr : &*found;
}

std::span<const ProductKind> all_product_kinds() noexcept { return product_kinds; }

}  // namespace deckle
