// Comma-separated values after RFC 4180: CRLF line ends, quotes where needed. A text that a
// spreadsheet would take for a formula is kept from acting by a leading apostrophe; numbers are
// written unrounded.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace deckle {

/// A text as a cell.
[[nodiscard]] std::string csv_text(std::string_view text);
/// A number as a cell: the shortest decimal that reads back; empty when there is none.
[[nodiscard]] std::string csv_number(std::optional<double> value);
/// Cells joined to a line, with its end.
[[nodiscard]] std::string csv_line(const std::vector<std::string>& cells);

}  // namespace deckle
