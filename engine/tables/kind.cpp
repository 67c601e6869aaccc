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

}  // namespace

const KindRow* find_kind(std::string_view name) noexcept {
    const auto found =
        std::ranges::find_if(kinds, [&](const KindRow& row) { return row.name == name; });
    return found == kinds.end() ? nullptr : &*found;
}

std::span<const KindRow> all_kinds() noexcept { return kinds; }

Family family_of_product_kind(std::string_view kind) noexcept {
    if (kind == "heat") return Family::heat;
    if (kind == "electricity") return Family::electricity;
    if (kind == "fuel") return Family::fuel;
    if (kind == "fibre" || kind == "sheet") return Family::fibre;
    return Family::other;
}

}  // namespace deckle
