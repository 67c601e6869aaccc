// Prints a script that computes random graphs by the browser face of the operations and compares
// the bits of every node with those of scalar evaluation. Run it with node; it exits with 1 where a
// bit differs.
#include <fmt/format.h>

#include <bit>
#include <cstdio>
#include <string>

#include "engine/graph/evaluate.h"
#include "engine/graph/faces.h"
#include "engine/text/number_text.h"
#include "tests/graph/graph_maker.h"

using namespace deckle;

namespace {

std::string cell(NodeId node) { return fmt::format("v[{}]", node); }

std::string system_text(const Solve& system) {
    std::string entries, order;
    for (const auto& entry : system.entries) {
        entries += fmt::format("[{},{}],", entry.row, entry.column);
    }
    for (std::uint32_t k = 0; k < system.size; ++k) {
        order += fmt::format("{},", system.order.empty() ? k : system.order[k]);
    }
    return fmt::format("{{size:{},right_sides:{},entries:[{}],order:[{}]}}", system.size,
                       system.right_sides, entries, order);
}

void replace(std::string& text, std::string_view placeholder, const std::string& with) {
    if (const auto at = text.find(placeholder); at != std::string::npos)
        text.replace(at, placeholder.size(), with);
}

std::string expression(const Graph& graph, NodeId node) {
    const Operation operation = graph.operation(node);
    const std::uint32_t payload = graph.payload(node);
    std::vector<std::string> arguments;
    for (const NodeId argument : graph.arguments(node)) arguments.push_back(cell(argument));
    if (operation == Operation::input) arguments = {shortest(graph.inputs()[payload].value)};
    if (operation == Operation::constant) arguments = {shortest(graph.constants()[payload])};
    if (operation == Operation::convert) {
        arguments.push_back(shortest(graph.conversions()[payload].p));
        arguments.push_back(shortest(graph.conversions()[payload].q));
    }
    std::string text = fill(row_of(operation).browser, arguments);
    if (operation == Operation::solve)
        replace(text, "{system}", system_text(graph.solves()[payload]));
    if (operation == Operation::part) replace(text, "{index}", std::to_string(payload));
    return text;
}

void print_graph(const Graph& graph) {
    const Evaluation at = evaluate(graph);
    std::puts("{ const v = [];");
    for (NodeId node = 0; node < graph.size(); ++node) {
        std::printf("%s = %s;\n", cell(node).c_str(), expression(graph, node).c_str());
        if (graph.operation(node) == Operation::solve) continue;
        std::printf("check('%s', %s, 0x%llxn);\n",
                    std::string(row_of(graph.operation(node)).name).c_str(), cell(node).c_str(),
                    static_cast<unsigned long long>(std::bit_cast<std::uint64_t>(at.value[node])));
    }
    std::puts("}");
}

/// Exponential and logarithm where the graphs never go.
void print_edges() {
    const auto check = [](Operation operation, double x) {
        const double values[] = {x};
        const std::string arguments[] = {shortest(x)};
        std::printf("check('%s', %s, 0x%llxn);\n", std::string(row_of(operation).name).c_str(),
                    fill(row_of(operation).browser, arguments).c_str(),
                    static_cast<unsigned long long>(
                        std::bit_cast<std::uint64_t>(value_of(operation, values))));
    };
    test::Numbers numbers(11);
    for (int i = 0; i < 2000; ++i) {
        check(Operation::exponential, numbers.between(-750.0, 715.0));
        check(Operation::logarithm, std::bit_cast<double>(numbers.word() & 0x7FEFFFFFFFFFFFFFULL));
        check(Operation::whole, numbers.between(-1e4, 1e4));
    }
    check(Operation::logarithm, 5e-324);
    check(Operation::logarithm, 1e-310);
}

}  // namespace

int main() {
    std::fputs(browser_script().c_str(), stdout);
    std::puts("let checked = 0, wrong = 0; const seen = new Set();");
    std::puts("function check(name, value, bits) { ++checked; seen.add(name);");
    std::puts(
        "    if (bits_of(value) !== bits && ++wrong < 20) console.log('differs:', name, value, "
        "from_bits(bits)); }");
    for (std::uint64_t seed = 1; seed <= 8; ++seed)
        print_graph(test::random_graph(seed, 350).graph());
    print_graph(test::random_loop(5, 30, 3, 5).graph());
    print_edges();
    // a loop without an answer has none in the browser either
    std::puts(
        "if (!Number.isNaN(solve({size:1,right_sides:1,entries:[[0,0]],order:[0]},[1.5,1])[0])) "
        "++wrong;");
    std::puts("console.log(`${checked} values of ${seen.size} operations, ${wrong} wrong`);");
    std::printf("process.exit(wrong === 0 && seen.size === %zu ? 0 : 1);\n", operation_count - 1);
}
