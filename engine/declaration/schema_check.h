// Whether a product footprint has the properties of the model, each of its type and form.
#pragma once

#include <vector>

#include "engine/declaration/declared.h"
#include "engine/text/problem.h"

namespace deckle {

/// Adds what is wrong; codes property-*. Missing properties that are only expected are findings.
void check_schema(const Declared& one, std::vector<Problem>& problems);

}  // namespace deckle
