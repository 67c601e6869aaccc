// Words and paragraphs that the text reports share.
#pragma once

#include <algorithm>
#include <string>
#include <string_view>
#include <vector>

#include "reports/style.h"

namespace deckle {

/// Where a table has no figure.
inline constexpr std::string_view absent = "–";

template <class Names>
[[nodiscard]] bool holds(const Names& names, std::string_view name) {
    return std::ranges::find(names, name) != names.end();
}

/// "water_consumed" as words, inert.
[[nodiscard]] std::string spaced(std::string_view id);

/// The name of a gas as readers see it, as it was typed: CO2e that a factor states as such has no
/// gas, but the line it was typed in.
[[nodiscard]] std::string gas_name(std::string_view gas);

/// In sentences, gases by their formulas with their kinds, "CH4 (biogenic, fossil)", and CO2e that
/// factors state in place of gases.
[[nodiscard]] std::vector<std::string> gases_told(std::vector<std::string> gases);

/// "roll, on the unrounded count of sheets" of "roll_unrounded", inert.
[[nodiscard]] std::string counted_per(std::string_view per);

/// "12.3", "-0.1"; zero, and what is shown as zero, has no sign. `sign`: "+12.3" too.
[[nodiscard]] std::string one_decimal(double value, bool sign = false);

/// Names as a sentence lists them: "a, b and c", inert.
[[nodiscard]] std::string listing(const std::vector<std::string>& names);

/// A bold title behind an empty line, wrapped to the width.
[[nodiscard]] std::string heading(std::string_view title, const Style& style);

/// `text` wrapped to the width behind `indent` columns; further lines `hang` columns deeper.
[[nodiscard]] std::string paragraph(std::string_view text, std::size_t indent, std::size_t hang,
                                    const Style& style);

}  // namespace deckle
