#include "engine/quantity/text_error.h"

#include <algorithm>

namespace deckle {

void add(Problems& problems, const YamlValue& scalar, const TextError& error) {
    const Place place = place_inside(scalar, error.offset, std::max<std::size_t>(error.length, 1));
    problems.add(place, error.code, error.message, error.hint);
}

}  // namespace deckle
