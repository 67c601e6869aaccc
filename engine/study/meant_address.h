// What somebody may have meant who typed an address of an amount that is not there.
#pragma once

#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "engine/mill/mill.h"

namespace deckle {

/// A hint: the uses of a thing that was typed by its id, an address with the same keys and some
/// more or fewer, one that is near in letters, or what stands at the part that is right; "" where
/// nothing does.
[[nodiscard]] std::string address_meant(std::string_view typed, std::span<const std::string> known,
                                        const std::vector<Mill>& mills);

}  // namespace deckle
