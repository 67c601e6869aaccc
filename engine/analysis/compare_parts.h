// The parts of a comparison (compare.h), each in a source of its own; compare.cpp puts them
// together.
#pragma once

#include "engine/analysis/compare.h"
#include "engine/product/product_graph.h"

namespace deckle {

/// The node of a result in the view of electricity that was asked for.
[[nodiscard]] NodeId node_in_view(const Compared& compared, const Result& result);

/// The nodes of a row's consumer product; nullptr for other rows.
[[nodiscard]] const ConsumerNodes* consumer_of(const Study& study, const ComparedRow& row);

/// Refuses rows that are not equal in what was asked, and notes sizes beside it that differ.
/// Errors: InputError unlike-function.
void check_equal_function(const Study& study, const Evaluation& at, Compared& all);

/// Adds to each row what it changes against the nearest row above that it stands on.
void add_steps(const Study& study, const Evaluation& at, Compared& all);

}  // namespace deckle
