// Correlation of ranks: how steadily one series goes up where another does, whatever the shape of
// the dependence between them.
#pragma once

#include <span>
#include <vector>

namespace deckle {

/// Ranks from 1, equal values sharing the mean of theirs.
[[nodiscard]] std::vector<double> ranks_of(std::span<const double> values);

/// Spearman's coefficient: the linear correlation of ranks (also right with ties, unlike the
/// shortcut 1 - 6 sum d^2 / (n (n^2 - 1))); 0 when one series is constant. Both of equal length.
[[nodiscard]] double correlation_of_ranks(std::span<const double> ranks,
                                          std::span<const double> others);

}  // namespace deckle
