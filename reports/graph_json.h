// The calculation graph as plain JSON, and back: what the live page evaluates, what a seal covers
// and what a difference of two years compares. Nothing is computed here; reading checks everything,
// so that a damaged or hostile text is an error and never a crash or another graph.
//
// One object:
//   format "deckle-graph", version 1
//   operations            names; the numbers of `operation` count into it
//   units, rules, sources texts; other members count into them, 0 is the empty text
//   files                 [{path, sha256}], counted from 1 by `origin`
//   operation, unit       one number a node
//   start, count          where the arguments of a node stand in `arguments`
//   arguments             node numbers, each smaller than the node's own
//   origin                [file, line, column, length, rule] a node; file 0: made by the engine
//   constants             [[n, value]]
//   inputs                [{n, address (a list where it has several), value, typed, spread, bounds,
//   source,
//                         note, amount_is}]; spread {kind, relative, parameters: nodes, null:
//                         open}; bounds [low, high], null: open
//   converts              [[n, p, q, text of p, text of q]]
//   solves                [{n, size, right_sides, entries: [[row, column]], order, unknowns}]; the
//   parts of a
//                         solve are the nodes that follow it, row by row
//   tags                  [[stage, process, use, factor, gas, scope]]
//   burdens               [[n, [tag of each term]]]
//   not_covered           [[n, subject, indicator, line only]]
//   not_negative          [[n, what]]: rests
//   correlated            [{addresses, coefficients}]: first addresses of inputs in the order of
//                         their bytes; lower triangle of the correlations, row by row
//   names                 [[address, n]]
// Numbers are shortest round trip (a negative zero is written 0). 64-bit ids follow from addresses.
#pragma once

#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "engine/graph/graph.h"

namespace deckle {

/// A file the graph was read from, in the order of Place::file; the digest in hexadecimal.
struct GraphFile {
    std::string path, sha256;
    friend bool operator==(const GraphFile&, const GraphFile&) = default;
};

/// Which names are written: all, or all but those of results, where a reader knows these otherwise.
enum class GraphNames : std::uint8_t { all, without_results };

/// Errors: logic_error for a value that is not finite, or more files named by origins than given.
[[nodiscard]] std::string graph_json(const Graph& graph, std::span<const GraphFile> files,
                                     GraphNames names = GraphNames::all);

struct GraphFromJson {
    Graph graph;
    std::vector<GraphFile> files;
};

/// Evaluates to the same bits as the graph that was written.
/// Errors: InputError bad-graph; the message says where in the object and what was expected.
[[nodiscard]] GraphFromJson read_graph_json(std::string_view text);

}  // namespace deckle
