// Prints random graphs, one a line: {"graph": as the page carries it, "values": of every node, as
// the engine evaluates it}. Nodes without a value of their own (systems of loops) have 0. Usage:
// print_graphs HOW_MANY
#include <fmt/format.h>

#include <cstdio>
#include <cstdlib>
#include <string>

#include "engine/graph/evaluate.h"
#include "engine/text/number_text.h"
#include "reports/graph_json.h"
#include "tests/graph/graph_maker.h"

using namespace deckle;

namespace {

void print_line(const Graph& graph) {
    const Evaluation at = evaluate(graph);
    std::string text = graph_json(graph, {});
    for (char& c : text) {
        if (c == '\n') c = ' ';
    }
    std::string values;
    for (NodeId node = 0; node < graph.size(); ++node)
        values += fmt::format("{}{}", node == 0 ? "" : ",", shortest(at.value[node]));
    fmt::print("{{\"graph\": {}, \"values\": [{}]}}\n", text, values);
}

}  // namespace

int main(int count, char** words) {
    if (count != 2) return 2;
    const auto graphs = static_cast<std::uint32_t>(std::strtoul(words[1], nullptr, 10));
    for (std::uint32_t seed = 1; seed <= graphs; ++seed) {
        if (seed % 10 == 0) print_line(test::random_loop(seed, 20 + seed % 40, 3, 5).graph());
        else print_line(test::random_graph(seed, 60 + 10 * (seed % 25)).graph());
    }
    return 0;
}
