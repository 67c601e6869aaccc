// Spread from data-quality scores by a published table: what each score of each criterion adds to
// the variance of the logarithm. The study chooses the set; without one, scores say nothing of
// spread. The sets disagree by far more than their rounding, so that results must name the set.
#pragma once

#include <array>
#include <optional>
#include <string>
#include <vector>

#include "engine/tables/citation.h"
#include "engine/tables/stated.h"

namespace deckle {

class QualitySpread {
public:
    /// What the numbers of a table are: 95 % factors k (from value / k to value × k, sigma taken as
    /// half of ln k, as their authors do), geometric standard deviations g (sigma = ln g), or
    /// variances of the logarithm.
    enum class Numbers : std::uint8_t { factors_95, geometric_deviations, variances };

    struct Row {
        std::string criterion;
        std::array<std::optional<double>, 5> numbers;  ///< of scores 1 to 5; none: not published
    };

    std::string id, title, note;
    Place place;
    Citation source;
    bool confirmed = true;
    Numbers numbers = Numbers::factors_95, basic_numbers = Numbers::factors_95;
    std::vector<std::pair<std::string, double>> basic;  ///< by line ("ch4_fossil"), `other` last
    std::vector<Row> rows;

    /// Whether the set has a number for the score.
    [[nodiscard]] bool has(const Score& score) const;
    /// Variance of the logarithm: that of the line itself and of each score. A criterion without a
    /// score adds nothing.
    [[nodiscard]] double variance(const std::vector<Score>& scores, std::string_view line) const;

private:
    [[nodiscard]] const Row* row(std::string_view criterion) const;
};

/// The stated amount with the lognormal of its scores, its own value as the median; unchanged where
/// it has a spread, is zero or negative, or has no scores. Reports a score for which the set has no
/// number (score-without-number) and a spread that leaves what the amount may be (spread-too-wide).
[[nodiscard]] Stated with_spread_of_scores(const Stated& stated, const QualitySpread& set,
                                           Problems& problems);

/// Reads `{technology: 2, geography: 1}`. Codes: bad-score, unknown-key.
[[nodiscard]] std::vector<Score> read_scores(const YamlEntry& entry, Problems& problems);

extern const KeyTable data_quality_keys;

}  // namespace deckle
