// Texts from files and from the command line made harmless before they are shown: line ends,
// terminal escapes, marks that turn the direction of writing and broken UTF-8 become visible
// escapes. Also measures how many columns a text takes.
#pragma once

#include <cstddef>
#include <string>
#include <string_view>
#include <vector>

namespace deckle {

/// One line without effect on a terminal or on its neighbours: `\n`, `\x1b`, `\u202e` in place of
/// what acts.
[[nodiscard]] std::string inert(std::string_view text);

/// The same for a text of several lines: line ends and tabs stay.
[[nodiscard]] std::string inert_lines(std::string_view text);

/// The inside of a JSON string: what RFC 8259 demands escaped, and every character that acts.
/// Broken UTF-8 becomes U+FFFD.
[[nodiscard]] std::string json_escaped(std::string_view text);

/// A text inside a Markdown document: characters that mark anything are escaped.
[[nodiscard]] std::string markdown_inert(std::string_view text);
/// A text inside an HTML element or attribute.
[[nodiscard]] std::string html_inert(std::string_view text);

/// Columns on a terminal: wide characters take two, combining marks none.
[[nodiscard]] std::size_t shown_width(std::string_view text);

/// The text itself, or its start and an ellipsis, within `width` columns.
[[nodiscard]] std::string cut_to(std::string_view text, std::size_t width);

/// Lines of at most `width` columns, broken at spaces; a longer word keeps a line to itself.
[[nodiscard]] std::vector<std::string> wrap(std::string_view text, std::size_t width);
/// The same; a longer word goes on in the next line.
[[nodiscard]] std::vector<std::string> broken(std::string_view text, std::size_t width);

}  // namespace deckle
