// What is wrong inside a short text (a number, a unit, a quantity, a formula), with the place in
// it. The reader that knows the file turns it into a Problem; nothing in this room or in formula/
// throws.
#pragma once

#include <cstddef>
#include <string>

#include "engine/text/problem.h"
#include "engine/text/yaml.h"

namespace deckle {

struct TextError {
    std::size_t offset = 0;  ///< bytes from the start of the text
    std::size_t length = 0;  ///< bytes; 0 where something is missing
    std::string code;        ///< empty: no error
    std::string message;     ///< what was found and what was expected
    std::string hint;        ///< what to do; may be empty

    [[nodiscard]] bool any() const noexcept { return !code.empty(); }
};

/// Adds the error of a scalar's text to `problems`, the caret under the part that is wrong.
void add(Problems& problems, const YamlValue& scalar, const TextError& error);

}  // namespace deckle
