// What a question names: a result, an input, a value with its unit, each as it was typed. One place
// for the rule that questions of more or less ask for results on the unrounded count, so that a
// figure does not jump where one more sheet fits on a roll.
#pragma once

#include <optional>
#include <string>
#include <string_view>

#include "engine/quantity/unit.h"
#include "engine/study/study.h"

namespace deckle {

struct AskedResult {
    const Result* result = nullptr;
    NodeId node = no_node;   ///< in the view of electricity asked for
    std::string address;     ///< of this node
    bool unrounded = false;  ///< stands in place of the result on whole pieces that was typed
    std::optional<ElectricityView> view;  ///< where the address says one
};

/// The result of an address, perhaps with `.market` or `.location`; of a product counted in whole
/// pieces, that on the unrounded count.
/// Errors: InputError unknown-result with the nearest names, not-covered.
[[nodiscard]] AskedResult asked_result(const Study& study, std::string_view address);

/// The input of an address. Errors: InputError unknown-input with the nearest names; not-an-input
/// for a figure that a formula works out, with the inputs below it.
[[nodiscard]] const Input& asked_input(const Study& study, std::string_view address);

/// What the thing that an address belongs to is called: the title of its factor, process or
/// product;
/// "" without one.
[[nodiscard]] std::string title_of(const Study& study, std::string_view address);

/// A value as typed for `what`, in `unit`, without a spread.
/// Errors: InputError of parse_quantity, wrong-unit, missing-unit, spread-not-wanted.
[[nodiscard]] double asked_value(std::string_view typed, const Unit& unit, std::string_view what);

/// The unit of a node.
[[nodiscard]] Unit unit_of(const Graph& graph, NodeId node);

/// An InputError without a place.
[[noreturn]] void refuse_question(std::string code, std::string message, std::string hint);

}  // namespace deckle
