// The names nearest to a misspelt one, for hints.
#pragma once

#include <span>
#include <string>
#include <string_view>
#include <vector>

namespace deckle {

/// ASCII capitals made small.
[[nodiscard]] std::string small_letters(std::string_view text);

/// Up to three known names within edit distance 2 (or that contain the typed one), nearest first.
[[nodiscard]] std::vector<std::string> nearest_names(std::string_view typed,
                                                     std::span<const std::string> known);

/// "did you mean a, b or c?", or "" when nothing is near.
[[nodiscard]] std::string did_you_mean(std::string_view typed, std::span<const std::string> known);

}  // namespace deckle
