#include "engine/product/product_csv.h"

#include <fmt/format.h>

#include <algorithm>
#include <span>

#include "engine/quantity/unit_parser.h"
#include "engine/text/csv_cells.h"

namespace deckle {
namespace {

using Cell = CsvCell;
using Row = std::vector<CsvCell>;

struct Column {
    std::vector<std::string> keys;
    std::string unit;
    Place place;
    bool broken = false;  ///< reported; its cells are left out
};

/// A unit that is none is told once, where it stands, and not at every cell.
void check_unit(const Cell& cell, Column& column, Problems& problems) {
    const UnitScan scan = scan_unit(column.unit, 0);
    if (!scan.error.any()) return;
    column.broken = true;
    Place place = cell.place;
    const std::size_t offset = cell.text.find(column.unit);
    if (!cell.quoted) {
        place.column += static_cast<std::uint32_t>(offset + scan.error.offset);
        place.length = static_cast<std::uint32_t>(std::max<std::size_t>(1, scan.error.length));
    }
    problems.add(place, scan.error.code, scan.error.message, scan.error.hint);
}

std::string trimmed(std::string_view text) {
    while (!text.empty() && text.front() == ' ') text.remove_prefix(1);
    while (!text.empty() && text.back() == ' ') text.remove_suffix(1);
    return std::string(text);
}

Column read_head(const Cell& cell, Problems& problems) {
    Column column;
    column.place = cell.place;
    std::string path = trimmed(cell.text);
    if (const std::size_t open = path.find('('); open != std::string::npos) {
        column.broken = path.back() != ')';
        if (column.broken)
            problems.add(cell.place, "csv-head", fmt::format("the unit in {} is not closed", path),
                         "sheet.length (mm)");
        else column.unit = trimmed(std::string_view(path).substr(open + 1, path.size() - open - 2));
        path = trimmed(std::string_view(path).substr(0, open));
        if (!column.broken) check_unit(cell, column, problems);
    }
    for (std::size_t start = 0; start <= path.size();) {
        const std::size_t dot = std::min(path.find('.', start), path.size());
        column.keys.push_back(path.substr(start, dot - start));
        start = dot + 1;
    }
    if (path.empty()) column.broken = true;
    if (path.empty())
        problems.add(cell.place, "csv-head", "a column has no name",
                     "the head names keys: id, title, from, sheet.length (mm)");
    return column;
}

/// A key cannot hold a value and keys of its own: plies, and plies.from.
void check_paths(const std::vector<Column>& columns, Problems& problems) {
    for (const Column& column : columns) {
        for (const Column& other : columns) {
            const bool inside =
                other.keys.size() > column.keys.size() &&
                std::ranges::equal(column.keys, std::span(other.keys).first(column.keys.size()));
            if (!inside) continue;
            problems.add(other.place, "csv-head",
                         fmt::format("{} is a column of its own, and holds {}",
                                     fmt::join(column.keys, "."), fmt::join(other.keys, ".")),
                         "leave one of the two columns out", {column.place});
        }
    }
}

/// Puts a cell under its path of keys, making the mappings on the way. The keys stand in the head;
/// what a broken column would have given is marked as refused.
void put(YamlValue& product, const Column& column, const Cell& cell) {
    YamlValue* here = &product;
    product.refused |= column.broken;
    if (column.keys.front().empty()) return;
    for (std::size_t i = 0; i < column.keys.size(); ++i) {
        here->kind = YamlValue::Kind::map;
        if (!here->place.known()) here->place = cell.place;
        here->refused |= column.broken;
        auto found = std::ranges::find_if(
            here->entries, [&](const YamlEntry& e) { return e.key == column.keys[i]; });
        if (found == here->entries.end()) {
            here->entries.push_back({column.keys[i], column.place, {}});
            found = here->entries.end() - 1;
        }
        here = &found->value;
    }
    here->place = cell.place;
    here->refused = column.broken;
    if (column.broken) return;
    here->kind = YamlValue::Kind::scalar;
    here->quoted = cell.quoted || !column.unit.empty();  // then its text is not the cell's
    here->text = trimmed(cell.text);
    if (!column.unit.empty()) here->text += " " + column.unit;
}

}  // namespace

YamlValue read_product_csv(const Files& files, std::uint32_t file, Problems& problems) {
    YamlValue products;
    products.kind = YamlValue::Kind::map;
    products.place = {file, 1, 1, 1};
    const std::vector<Row> rows = read_csv_cells(files.at(file).text, file, problems);
    if (rows.empty()) {
        problems.add(products.place, "empty-file", "the file is empty",
                     "the first line names the columns: id, title, from, ...");
        return products;
    }
    std::vector<Column> columns;
    for (const Cell& cell : rows[0]) {
        columns.push_back(read_head(cell, problems));
        const auto twin = std::ranges::find_if(
            columns, [&](const Column& c) { return c.keys == columns.back().keys; });
        if (twin != columns.end() - 1)
            problems.add(cell.place, "duplicate-key",
                         fmt::format("the column {} stands twice", cell.text), "", {twin->place});
    }
    check_paths(columns, problems);
    if (columns[0].keys != std::vector<std::string>{"id"}) {
        problems.add(columns[0].place, "csv-head",
                     fmt::format("the first column is {}, not id", rows[0][0].text),
                     rows[0].size() == 1 && rows[0][0].text.find(';') != std::string::npos
                         ? "a comma stands between two cells, not a semicolon"
                         : "the first column holds the product's id");
        return products;
    }
    for (std::size_t r = 1; r < rows.size(); ++r) {
        const Row& row = rows[r];
        if (row.size() != columns.size()) {
            if (!row.back().broken)
                problems.add(
                    row[0].place, "csv-columns",
                    fmt::format("{} cells, and the head has {}", row.size(), columns.size()),
                    "a comma inside a cell needs quotes around the cell");
            continue;
        }
        const std::string id = trimmed(row[0].text);
        if (const YamlEntry* twin = products.entry(id)) {
            problems.add(row[0].place, "duplicate-key",
                         fmt::format("the product {} stands twice", id), "", {twin->place});
            continue;
        }
        YamlEntry& product = products.entries.emplace_back(YamlEntry{id, row[0].place, {}});
        product.value.kind = YamlValue::Kind::map;
        product.value.place = row[0].place;
        for (std::size_t c = 1; c < row.size(); ++c) {
            if (!trimmed(row[c].text).empty()) put(product.value, columns[c], row[c]);
        }
    }
    return products;
}

}  // namespace deckle
