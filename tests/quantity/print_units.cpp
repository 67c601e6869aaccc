// Prints the unit table for comparison with other programs: symbol, p, q (exact decimals, value in
// base units = p / q) and what it measures, one symbol a line, tabs between.
#include <fmt/core.h>

#include "engine/quantity/unit_table.h"

int main() {
    for (const deckle::UnitSymbol& row : deckle::unit_table()) {
        fmt::print("{}\t{}\t{}\t{}\n", row.symbol, deckle::decimal_text(row.to_base.p),
                   deckle::decimal_text(row.to_base.q), deckle::dimension_of(row.measure).text());
    }
    return 0;
}
