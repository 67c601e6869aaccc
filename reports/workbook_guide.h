// The first sheet of a workbook, which says what it is and how to read it, and how its charts look.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "reports/footprint.h"
#include "reports/workbook_book.h"

namespace deckle {

struct WorkbookGuide {
    std::string differences;  ///< range with the relative differences of the results
    std::string program;
    std::vector<std::string> sheets;  ///< that the workbook has: others are not explained
};
void write_workbook_guide(BookSheet& sheet, const Footprint& footprint, const WorkbookGuide& about);

/// One series a row of a table, one bar a column; `head` is the row with the columns' names.
void workbook_colours(lxw_chart* chart, std::string_view sheet, std::size_t head, std::size_t first,
                      std::size_t last, std::size_t columns);

}  // namespace deckle
