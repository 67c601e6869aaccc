// The man page and the bash completion, from the table of verbs. The build writes both.
#pragma once

#include <string>

namespace deckle::command {

/// deckle(1) in the man macros.
[[nodiscard]] std::string man_page(const std::string& version);

/// A completion script for bash.
[[nodiscard]] std::string bash_completion();

}  // namespace deckle::command
