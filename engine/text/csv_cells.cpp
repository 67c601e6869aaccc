#include "engine/text/csv_cells.h"

#include <algorithm>

namespace deckle {
namespace {

using CsvRow = std::vector<CsvCell>;

/// Splits a text into rows of cells by RFC 4180, keeping the place of each cell.
class CellReader {
public:
    CellReader(const std::string& text, std::uint32_t file, Problems& problems)
        : text_(text), file_(file), problems_(problems) {}

    std::vector<CsvRow> read() {
        std::vector<CsvRow> rows;
        while (at_ < text_.size()) {
            CsvRow row = read_row();
            const bool blank = row.size() == 1 && row[0].text.empty() && !row[0].quoted;
            if (!blank) rows.push_back(std::move(row));
        }
        return rows;
    }

private:
    CsvRow read_row() {
        CsvRow row;
        for (;;) {
            row.push_back(read_cell());
            if (at_ < text_.size() && text_[at_] == ',') {
                step();
                continue;
            }
            if (at_ < text_.size() && text_[at_] == '\r') step();
            if (at_ < text_.size() && text_[at_] == '\n') step();
            return row;
        }
    }

    CsvCell read_cell() {
        CsvCell cell;
        cell.place = {file_, line_, column_, 1};
        const std::size_t start = at_;
        if (at_ < text_.size() && text_[at_] == '"') {
            read_quoted(cell);
        } else {
            while (at_ < text_.size() && text_[at_] != ',' && text_[at_] != '\n' &&
                   text_[at_] != '\r')
                step();
            cell.text = text_.substr(start, at_ - start);
        }
        cell.place.length = static_cast<std::uint32_t>(std::max<std::size_t>(1, at_ - start));
        return cell;
    }

    void read_quoted(CsvCell& cell) {
        cell.quoted = true;
        step();
        for (;;) {
            if (at_ >= text_.size()) {
                problems_.add(cell.place, "csv-quote", "a quoted cell does not end",
                              "close it with \"");
                cell.broken = true;
                return;
            }
            if (text_[at_] == '"') {
                step();
                if (at_ >= text_.size() || text_[at_] != '"') break;
            }
            cell.text += text_[at_];
            step();
        }
        if (at_ < text_.size() && text_[at_] != ',' && text_[at_] != '\n' && text_[at_] != '\r') {
            problems_.add(cell.place, "csv-quote", "text follows a quoted cell",
                          "write a quote inside a cell twice");
            while (at_ < text_.size() && text_[at_] != ',' && text_[at_] != '\n') step();
        }
    }

    void step() {
        if (text_[at_] == '\n') {
            ++line_;
            column_ = 1;
        } else {
            ++column_;
        }
        ++at_;
    }

    const std::string& text_;
    std::uint32_t file_;
    Problems& problems_;
    std::size_t at_ = 0;
    std::uint32_t line_ = 1, column_ = 1;
};

}  // namespace

std::vector<std::vector<CsvCell>> read_csv_cells(const std::string& text, std::uint32_t file,
                                                 Problems& problems) {
    return CellReader(text, file, problems).read();
}

}  // namespace deckle
