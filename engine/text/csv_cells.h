// Cells of comma-separated values by RFC 4180, each with its place. What the cells mean is their
// reader's matter.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "engine/text/problem.h"

namespace deckle {

struct CsvCell {
    std::string text;
    Place place;
    bool quoted = false;
    bool broken = false;  ///< where it ends cannot be read (reported)
};

/// Rows of cells, blank lines left out. Code: csv-quote goes to `problems`.
[[nodiscard]] std::vector<std::vector<CsvCell>> read_csv_cells(const std::string& text,
                                                               std::uint32_t file,
                                                               Problems& problems);

}  // namespace deckle
