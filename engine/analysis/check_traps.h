// Known traps of published factors, numbered as they were collected: each is caught by a rule of
// `check`, or needs none for a stated reason. One table, so that none is forgotten.
#pragma once

#include <span>
#include <string_view>

namespace deckle {

struct Trap {
    int number;
    std::string_view what;    ///< the trap in a line
    std::string_view code;    ///< of the rule that catches it, or ""
    std::string_view reason;  ///< why it needs no rule, or ""
};

[[nodiscard]] std::span<const Trap> known_traps() noexcept;

}  // namespace deckle
