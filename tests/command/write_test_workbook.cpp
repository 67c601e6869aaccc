// Writes workbooks of graphs that no study has, for workbook_test.py: random ones with every
// operation, and sums, products and choices of thousands of numbers, which no one formula holds.
// write_test_workbook FOLDER: FOLDER/NUMBER.xlsx, and FOLDER/NUMBER.txt with lines
//   cell SHEET!CELL VALUE      what the engine finds for what stands there
//   zero SHEET!CELL SIZE       a break-out less its sum: zero, measured by SIZE
#include <fmt/format.h>

#include <filesystem>
#include <fstream>

#include "reports/workbook_breakout.h"
#include "reports/workbook_cells.h"
#include "tests/graph/graph_maker.h"

using namespace deckle;

namespace {

constexpr std::size_t many = 3000;

/// Sums, products and choices of many numbers, and a sum of many burdens under a loop.
struct LongGraph {
    test::Maker maker;
    NodeId figure = no_node;

    LongGraph() {
        std::vector<NodeId> inputs, near_one;
        for (std::size_t k = 0; k < many; ++k) {
            inputs.push_back(
                maker.input(fmt::format("long.input_{}", k), 0.5 + 0.001 * static_cast<double>(k)));
            near_one.push_back(maker.input(fmt::format("long.near_{}", k),
                                           1.0 + 1e-4 * static_cast<double>(k % 7)));
        }
        for (const Operation operation :
             {Operation::sum, Operation::sum_of_products, Operation::minimum, Operation::maximum})
            maker.make(operation, inputs);
        maker.make(Operation::product, near_one);
        figure = burdened(inputs, near_one);
    }

    /// A burden used by very many processes that all feed one figure, half of them through a loop.
    NodeId burdened(const std::vector<NodeId>& amounts, const std::vector<NodeId>& shares) {
        Graph& graph = maker.graph;
        const Tag tag{graph.text("energy"),
                      graph.text("boiler"),
                      graph.text("gas"),
                      graph.text("example.gas"),
                      0,
                      graph.text("1")};
        const std::vector<Tag> tags(amounts.size() / 2, tag);
        const NodeId burden = graph.burdens(amounts, tags, 0, {{}, graph.text("burdens")});
        std::vector<NodeId> uses;
        for (const NodeId share : shares)
            uses.push_back(maker.make(Operation::product, {burden, share}));
        const NodeId brought = maker.make(Operation::sum, uses);
        const std::vector<NodeId> coefficients{shares[1], shares[2]};
        const NodeId tenth = maker.number(0.1);
        const Solution loop =
            maker.solve(2, {{0, 1}, {1, 0}},
                        {maker.make(Operation::product, {tenth, coefficients[0]}),
                         maker.make(Operation::product, {tenth, coefficients[1]})},
                        1, {brought, burden});
        return maker.make(Operation::sum, {loop.parts[0], loop.parts[1], brought});
    }
};

class TestBook {
public:
    TestBook(const std::filesystem::path& folder, int number)
        : expected_(folder / fmt::format("{}.txt", number)),
          path_(folder / fmt::format("{}.xlsx", number)) {}

    void write(const Graph& graph, std::vector<NodeId> figures) {
        const Evaluation at = evaluate(graph);
        const std::vector<std::uint8_t> all(graph.size(), 1);
        const WorkbookCells cells(graph, at, all);
        Book book("a test");
        const auto sheet = [&](std::string_view name) { return book.add(std::string(name)); };
        BookSheet inputs = sheet(workbook_sheets::inputs),
                  calculation = sheet(workbook_sheets::calculation),
                  loops = sheet(workbook_sheets::loops),
                  coefficients = sheet(workbook_sheets::coefficients);
        cells.write_input_values(inputs);
        cells.write_formulas(calculation);
        cells.write_loops(loops);
        cells.write_coefficients(book, coefficients);
        for (NodeId node = 0; node < graph.size(); ++node) {
            if (graph.operation(node) != Operation::solve)
                expected_ << fmt::format("cell {} {}\n", cells.cell(node), at.value[node]);
        }
        if (!figures.empty()) write_breakout(book, graph, at, cells, figures);
        std::ofstream(path_, std::ios::binary) << book.bytes();
    }

private:
    void write_breakout(Book& book, const Graph& graph, const Evaluation& at,
                        const WorkbookCells& cells, const std::vector<NodeId>& figures) {
        const WorkbookBreakout breakout(graph, at, cells, figures);
        BookSheet derivatives = book.add(std::string(workbook_sheets::derivatives)),
                  burdens = book.add(std::string(workbook_sheets::burdens)),
                  sums = book.add("Sums");
        breakout.write_derivatives(derivatives);
        breakout.write_burdens(burdens);
        for (std::size_t k = 0; k < figures.size(); ++k) {
            std::string all;
            const auto groups = breakout.groups(k, BreakoutBy::stage);
            for (std::size_t g = 0; g < groups.size(); ++g) {
                sums.text(g, 2 * k, shown_group(BreakoutBy::stage, groups[g]));
                sums.formula(g, 2 * k + 1,
                             breakout.group_formula(k, BreakoutBy::stage, cell_name(g, 2 * k)),
                             0.0);
                all += "-" + cell_name(g, 2 * k + 1);
            }
            sums.formula(groups.size(), 2 * k + 1, cells.cell(figures[k]) + all, 0.0);
            expected_ << fmt::format("zero Sums!{} {}\n", cell_name(groups.size(), 2 * k + 1),
                                     at.value[figures[k]]);
        }
    }

    std::ofstream expected_;
    std::filesystem::path path_;
};

}  // namespace

int main(int count, char** words) {
    if (count != 2) return 2;
    const std::filesystem::path folder = words[1];
    for (int seed = 1; seed <= 6; ++seed) {
        const test::RandomGraph random =
            test::random_graph(static_cast<std::uint64_t>(100 + seed), 500);
        TestBook(folder, seed).write(random.graph(), {});
    }
    const LongGraph long_graph;
    TestBook(folder, 7).write(long_graph.maker.graph, {long_graph.figure});
}
