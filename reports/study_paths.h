// How readers see the files of a study named: from the deepest folder that holds them all, so that
// what is handed out does not tell where its author keeps them, and has the same bytes from
// whichever folder it was made.
#pragma once

#include <string>
#include <vector>

#include "engine/text/files.h"

namespace deckle {

/// The path of each file, the first at 0, with "/" between folders.
[[nodiscard]] std::vector<std::string> paths_within_study(const Files& files);

/// The same texts under those paths: their places are said alike.
[[nodiscard]] Files named_within_study(const Files& files);

}  // namespace deckle
