// A workbook in the making: sheets, cells, number formats, print set-up. Knows nothing of studies.
// Texts become strings whatever they begin with; formulas are ours alone. The bytes depend on what
// was written and on nothing else. The spreadsheet library appears in this header and the sources
// of the workbook alone.
#pragma once

#include <xlsxwriter.h>

#include <filesystem>
#include <map>
#include <span>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

namespace deckle {

/// How a cell looks. Colour never says anything alone: what may be typed over says so in its head.
enum class CellLook : std::uint8_t {
    text,
    wrapped,
    unit,
    head,
    title,
    strong,
    input,
    number,
    percent,
    exponent,
    left_number
};

/// Limits of the file format (ECMA-376-1, 18.3 and the programs that read it).
inline constexpr std::size_t most_rows = 1'048'576, most_columns = 16'384, longest_formula = 8'192,
                             most_arguments = 255;

/// "B", "AA": of a column counted from 0.
[[nodiscard]] std::string column_letters(std::size_t column);
/// "B7" of row and column counted from 0; "$B$7" when fixed.
[[nodiscard]] std::string cell_name(std::size_t row, std::size_t column, bool fixed = false);
/// "$B$7:$C$9", with both ends counted from 0.
[[nodiscard]] std::string range_name(std::size_t row, std::size_t column, std::size_t last_row,
                                     std::size_t last_column);
/// A decimal as formulas write it.
[[nodiscard]] std::string formula_number(double value);

class Book;

class BookSheet {
public:
    BookSheet(Book& book, lxw_worksheet* sheet) : book_(&book), sheet_(sheet) {}

    void text(std::size_t row, std::size_t column, std::string_view text,
              CellLook look = CellLook::text);
    void number(std::size_t row, std::size_t column, double value, CellLook look = CellLook::number,
                int digits = 4);
    /// `formula` without its equals sign; `value` is what it comes to now.
    void formula(std::size_t row, std::size_t column, const std::string& formula, double value,
                 CellLook look = CellLook::number, int digits = 4);
    void text_formula(std::size_t row, std::size_t column, const std::string& formula,
                      const std::string& value);
    /// One formula over a range; `values` row by row.
    void array(std::size_t row, std::size_t column, std::size_t rows, std::size_t columns,
               const std::string& formula, std::span<const double> values);
    void heads(std::size_t row, std::span<const std::string_view> texts);
    /// Widths in characters, from the first column on.
    void widths(std::initializer_list<double> characters);
    /// The same width for `count` columns from `first` on.
    void width(std::size_t first, std::size_t count, double characters);
    void height(std::size_t row, double points);
    /// Rows and columns that stay when the sheet is scrolled; the rows are printed on every page.
    void freeze(std::size_t rows, std::size_t columns);
    void filter(std::size_t first_row, std::size_t last_row, std::size_t last_column);
    [[nodiscard]] lxw_worksheet* handle() const noexcept { return sheet_; }

private:
    Book* book_;
    lxw_worksheet* sheet_;
};

class Book {
public:
    explicit Book(const std::string& title);
    ~Book();
    Book(const Book&) = delete;
    Book& operator=(const Book&) = delete;

    /// A sheet of this name, set up for printing across; a wide one on A3, others on A4.
    BookSheet add(const std::string& name, bool wide = false);
    /// A name for a range: `Sheet!$A$2:$A$9`.
    void define(const std::string& name, const std::string& range);
    [[nodiscard]] lxw_chart* chart(std::uint8_t type) { return workbook_add_chart(book_, type); }
    /// The file's bytes; nothing may be written after. Errors: InputError cannot-write when there
    /// is no room for temporary files.
    [[nodiscard]] std::string bytes();

private:
    friend class BookSheet;
    [[nodiscard]] lxw_format* format(CellLook look, double value, int digits);
    [[nodiscard]] lxw_format* new_format(CellLook look, const std::string& number_format);

    std::filesystem::path folder_;
    std::string file_, folder_name_;
    lxw_workbook* book_ = nullptr;
    std::map<std::pair<CellLook, std::string>, lxw_format*> formats_;
};

}  // namespace deckle
