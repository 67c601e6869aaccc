// The shapes that a spread can have, as typed and as drawn: one list for all rooms.
#pragma once

#include <cstdint>

namespace deckle {

/// What each is made of and how, says graph/spread.h. Those from arcsine on are typed as a mapping
/// only (tables/spread_reader.h).
enum class SpreadKind : std::uint8_t {
    none,
    normal,
    lognormal,
    triangular,
    uniform,
    arcsine,
    curvilinear_trapezoid,
    student_t,
    truncated_normal,
};

}  // namespace deckle
