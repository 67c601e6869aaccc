// Where a text came from. Every value read from a file keeps its Place, so that an error message,
// a trace and a report can all point to the line. A Place without file is "made by the engine".
#pragma once

#include <cstdint>

namespace deckle {

struct Place {
    std::uint32_t file = 0;    ///< index into Files, counted from 1; 0 = no file
    std::uint32_t line = 0;    ///< from 1
    std::uint32_t column = 0;  ///< from 1, in bytes
    std::uint32_t length = 0;  ///< bytes the caret covers; at least 1 when known

    [[nodiscard]] constexpr bool known() const noexcept { return file != 0; }
    friend constexpr bool operator==(const Place&, const Place&) = default;
};

}  // namespace deckle
