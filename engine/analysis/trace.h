// The derivation of one number: the graph below it, in the order a person reads it, with unrounded
// values, places and sources; and, from an input, what depends on it.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "engine/study/study.h"

namespace deckle {

struct TraceOptions {
    int depth = 0;    ///< levels; 0: down to the inputs, 250 levels at most
    int largest = 0;  ///< of a sum, only the N largest terms in absolute value; 0: all
};

struct TraceNode {
    std::size_t n = 0;  ///< number in the trace, root 0
    NodeId node = no_node;
    std::string address;    ///< "" for an unnamed node
    std::string operation;  ///< "input", "sum_of_products", ...
    std::string words;      ///< the rule in words, or the operation's
    double value = 0.0;
    std::string unit;
    std::string rule;
    std::vector<std::size_t> of;  ///< numbers of its operands in the trace
    std::vector<std::string>
        labels;                ///< of each operand where a term has a name (use, factor, gas)
    std::size_t omitted = 0;   ///< operands left out by `largest` or `depth`
    double omitted_sum = 0.0;  ///< what the left-out terms add up to
    std::string typed;         ///< of an input
    Place at;
    std::string source, note, amount_is;
    std::string p, q;  ///< of a conversion
    bool not_covered = false;
};

struct Trace {
    std::string address;
    const Result* result = nullptr;    ///< that the address names; nullptr: it names no result
    std::vector<TraceNode> nodes;      ///< root first; every node once
    std::vector<std::string> used_by;  ///< addresses of results that rest on an input
};

/// Errors: InputError unknown-address with the nearest names.
[[nodiscard]] Trace trace(const Study& study, const Evaluation& at, std::string_view address,
                          const TraceOptions& options);

}  // namespace deckle
