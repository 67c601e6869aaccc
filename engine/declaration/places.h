// Countries and the regions that hold them, as far as the geography of data sets is rated: ISO
// 3166-1 codes and names in the spelling of ids ("austria"), regions and subregions of the UN
// (M49).
#pragma once

#include <string>
#include <string_view>

namespace deckle {

/// "South-eastern Asia", "south_eastern_asia": the spelling of ids, so that both are the same.
[[nodiscard]] std::string place_id(std::string_view text);

/// The code of a country named by code or name; "" for what is none.
[[nodiscard]] std::string_view country_code(std::string_view text);

/// Whether a region (of the UN, or the European Union as "eu27") holds a country, named by its
/// code.
[[nodiscard]] bool region_holds(std::string_view region, std::string_view country);

/// Countries whose subdivisions a rating tells apart: US, CA, BR, AR, MX, RU, IN, CN, AU (PACT,
/// How-to Guide V3, matrix of ratings).
[[nodiscard]] bool is_rated_by_subdivision(std::string_view country);

}  // namespace deckle
