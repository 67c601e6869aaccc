// Reads formulas, one a line, with a = 1.25, b = 0.375 and c_d = 7; prints their values as
// hexadecimal floats, or the code of the error.
#include <cstdio>
#include <iostream>
#include <string>

#include "tests/formula/formula_values.h"

int main() {
    const deckle::FormulaValues values{{{"a", 1.25}, {"b", 0.375}, {"c_d", 7.0}}};
    for (std::string line; std::getline(std::cin, line);) {
        const deckle::FormulaResult result = deckle::parse_formula(line);
        if (result.formula) std::printf("%a\n", deckle::walk<double>(*result.formula, values));
        else std::printf("%s\n", result.error.code.c_str());
    }
    return 0;
}
