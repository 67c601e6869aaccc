// A text table for reading: text columns to the left, numbers under each other at the decimal
// point, heads of several lines with the unit last. Columns that do not fit the width follow in a
// further panel under the same leading columns. Cells are shown as they are: make them inert first.
#pragma once

#include <cstddef>
#include <string>
#include <vector>

#include "reports/style.h"

namespace deckle {

struct Table {
    enum class Align { text, number };

    struct Column {
        std::vector<std::string> head;  ///< lines from top to bottom; the last one is the unit
        Align align = Align::number;
        bool joined = false;  ///< stands in one panel with the column before it
    };

    std::vector<Column> columns;
    std::size_t leading = 1;                     ///< columns repeated in every panel
    std::vector<std::vector<std::string>> rows;  ///< a cell a column; an empty row is a line across
};

/// Errors: logic_error when a row has another number of cells than there are columns.
[[nodiscard]] std::string table_text(const Table& table, const Style& style);

}  // namespace deckle
