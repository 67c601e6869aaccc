// Prints random loops with their solutions, one number a line after a header a loop: size, right
// sides, entries; then row, column, coefficient of each entry; the right-hand sides; the solution;
// the solution of the transposed system for the same right-hand sides.
#include <cstdio>

#include "engine/graph/solve.h"
#include "tests/graph/graph_maker.h"

using namespace deckle;

int main() {
    for (const std::uint32_t size : {2U, 8U, 33U, 64U, 65U, 150U, 500U}) {
        const test::RandomGraph random = test::random_loop(size, size, 3, 6);
        const Evaluation at = evaluate(random.graph());
        const Solve& system = random.graph().solves()[0];
        const auto arguments = random.graph().arguments(system.node);
        std::vector<double> coefficients, b, x(std::size_t{size} * 3), lambda(x.size());
        for (std::size_t k = 0; k < arguments.size(); ++k) {
            (k < system.entries.size() ? coefficients : b).push_back(at.value[arguments[k]]);
        }
        if (solve_system(system, coefficients, b, x).outcome != SolveOutcome::solved) return 1;
        solve_transposed(system, coefficients, b, lambda);
        std::printf("%u 3 %zu\n", size, system.entries.size());
        for (std::size_t k = 0; k < coefficients.size(); ++k) {
            std::printf("%u %u %.17g\n", system.entries[k].row, system.entries[k].column,
                        coefficients[k]);
        }
        for (const auto* values : {&b, &x, &lambda}) {
            for (const double value : *values) std::printf("%.17g\n", value);
        }
    }
}
