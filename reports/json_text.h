// JSON as text, for the writers of this folder only: numbers as the shortest decimal that reads
// back, characters that act on a terminal escaped, and every record without inner lists on a line
// of its own.
#pragma once

#include <nlohmann/json.hpp>
#include <string>

namespace deckle {

using Json = nlohmann::ordered_json;

/// Ends with a line end. Errors: logic_error for a number that is not finite.
[[nodiscard]] std::string json_text(const Json& value);

}  // namespace deckle
