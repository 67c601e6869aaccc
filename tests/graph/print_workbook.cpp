// Prints random graphs as workbook formulas for workbook_face.py, tab-separated:
//   column NAME VALUE...         a named column of the hidden sheet
//   cell SHEET CELL FORMULA      a formula or number
//   array SHEET FIRST LAST FORMULA   an array formula over a range
//   value SHEET CELL VALUE       what the cell must come to
#include <fmt/format.h>

#include <cstdio>
#include <string>

#include "engine/graph/evaluate.h"
#include "engine/graph/faces.h"
#include "engine/text/number_text.h"
#include "tests/graph/graph_maker.h"

using namespace deckle;

namespace {

std::string column_letters(std::size_t column) {
    std::string letters;
    for (std::size_t rest = column + 1; rest > 0; rest = (rest - 1) / 26) {
        letters.insert(letters.begin(), static_cast<char>('A' + (rest - 1) % 26));
    }
    return letters;
}

std::string cell_at(std::size_t row, std::size_t column) {
    return column_letters(column) + std::to_string(row + 1);
}
std::string cell(NodeId node) { return cell_at(node, 0); }

void replace(std::string& text, std::string_view placeholder, const std::string& with) {
    if (const auto at = text.find(placeholder); at != std::string::npos)
        text.replace(at, placeholder.size(), with);
}

/// Values of a loop stand to the right of the column of nodes: I - C, the right-hand sides, the
/// unknowns.
struct LoopCells {
    std::size_t row, size, sides;
    [[nodiscard]] std::string range(std::size_t first_column, std::size_t columns) const {
        return cell_at(row, first_column) + ":" +
               cell_at(row + size - 1, first_column + columns - 1);
    }
    [[nodiscard]] std::string matrix() const { return range(2, size); }
    [[nodiscard]] std::string right_sides() const { return range(3 + size, sides); }
    [[nodiscard]] std::string unknowns() const { return range(4 + size + sides, sides); }
};

class Sheet {
public:
    Sheet(const Graph& graph, int number)
        : graph_(graph), name_("graph" + std::to_string(number)) {}

    void print() {
        const Evaluation at = evaluate(graph_);
        for (NodeId node = 0; node < graph_.size(); ++node) {
            if (graph_.operation(node) == Operation::solve) {
                print_loop(node);
                continue;
            }
            print_cell(cell(node), fmt::format("={}", formula(node)));
            std::printf("value\t%s\t%s\t%.17g\n", name_.c_str(), cell(node).c_str(),
                        at.value[node]);
        }
    }

private:
    void print_cell(const std::string& place, const std::string& text) const {
        std::printf("cell\t%s\t%s\t%s\n", name_.c_str(), place.c_str(), text.c_str());
    }

    std::string formula(NodeId node) {
        const Operation operation = graph_.operation(node);
        const std::uint32_t payload = graph_.payload(node);
        std::vector<std::string> arguments;
        for (const NodeId argument : graph_.arguments(node)) arguments.push_back(cell(argument));
        if (operation == Operation::input) arguments = {shortest(graph_.inputs()[payload].value)};
        if (operation == Operation::constant) arguments = {shortest(graph_.constants()[payload])};
        if (operation == Operation::convert) {
            arguments.push_back(shortest(graph_.conversions()[payload].p));
            arguments.push_back(shortest(graph_.conversions()[payload].q));
        }
        if (operation == Operation::part) {
            const LoopCells& loop = loops_[graph_.payload(graph_.arguments(node)[0])];
            arguments = {loop.unknowns()};
            std::string text = fill(row_of(operation).workbook, arguments);
            replace(text, "{row}", std::to_string(payload / loop.sides + 1));
            replace(text, "{column}", std::to_string(payload % loop.sides + 1));
            return text;
        }
        return fill(row_of(operation).workbook, arguments);
    }

    void print_loop(NodeId node) {
        const Solve& system = graph_.solves()[graph_.payload(node)];
        const LoopCells loop{free_row_, system.size, system.right_sides};
        free_row_ += system.size + 1;
        loops_.push_back(loop);
        std::vector<std::string> matrix(std::size_t{system.size} * system.size);
        for (std::size_t i = 0; i < system.size; ++i) {
            for (std::size_t j = 0; j < system.size; ++j)
                matrix[i * system.size + j] = i == j ? "=1" : "=0";
        }
        const auto arguments = graph_.arguments(node);
        for (std::size_t k = 0; k < system.entries.size(); ++k) {
            matrix[system.entries[k].row * system.size + system.entries[k].column] +=
                fmt::format("-{}", cell(arguments[k]));
        }
        for (std::size_t i = 0; i < system.size; ++i) {
            for (std::size_t j = 0; j < system.size; ++j) {
                print_cell(cell_at(loop.row + i, 2 + j), matrix[i * system.size + j]);
            }
            for (std::size_t s = 0; s < system.right_sides; ++s) {
                const NodeId b = arguments[system.entries.size() + i * system.right_sides + s];
                print_cell(cell_at(loop.row + i, 3 + system.size + s), fmt::format("={}", cell(b)));
            }
        }
        std::string text(row_of(Operation::solve).workbook);
        replace(text, "{matrix}", loop.matrix());
        replace(text, "{right_sides}", loop.right_sides());
        std::printf("array\t%s\t%s\t=%s\n", name_.c_str(), loop.unknowns().c_str(), text.c_str());
    }

    const Graph& graph_;
    std::string name_;
    std::vector<LoopCells> loops_;
    std::size_t free_row_ = 0;
};

}  // namespace

int main() {
    for (const WorkbookColumn& column : workbook_columns()) {
        std::printf("column\t%s", column.name.c_str());
        for (const double value : column.values) std::printf("\t%s", shortest(value).c_str());
        std::puts("");
    }
    for (int seed = 1; seed <= 6; ++seed) {
        const test::RandomGraph random = test::random_graph(static_cast<std::uint64_t>(seed), 350);
        Sheet(random.graph(), seed).print();
    }
}
