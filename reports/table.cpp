#include "reports/table.h"

#include <algorithm>
#include <stdexcept>
#include <string_view>

#include "reports/inert.h"

namespace deckle {
namespace {

constexpr std::size_t gap = 2;
constexpr std::size_t widest_text_column = 44;

struct LineWidths {
    std::size_t width = 0;
    std::size_t before = 0;  ///< columns up to the decimal point
    std::size_t after = 0;   ///< from the decimal point on
};

/// Columns of a number before its decimal point; of anything else all.
std::size_t before_point(std::string_view cell) {
    return shown_width(cell.substr(0, cell.find('.')));
}

std::string spaces(std::size_t count) { return std::string(count, ' '); }

class TablePrinter {
public:
    TablePrinter(const Table& table, const Style& style) : table_(table), style_(style) {
        for (const auto& row : table.rows) {
            if (!row.empty() && row.size() != table.columns.size()) {
                throw std::logic_error("a table row has another number of cells than the table");
            }
        }
        for (std::size_t c = 0; c < table.columns.size(); ++c) measures_.push_back(measure(c));
    }

    [[nodiscard]] std::string text() const {
        std::string result;
        for (const auto& panel : panels()) {
            if (!result.empty()) result += '\n';
            result += head_text(panel);
            for (const auto& row : table_.rows) {
                result += row.empty() ? rule_text(panel) : row_text(row, panel);
            }
        }
        return result;
    }

private:
    using Panel = std::vector<std::size_t>;

    [[nodiscard]] bool is_text(std::size_t column) const {
        return table_.columns[column].align == Table::Align::text;
    }

    [[nodiscard]] LineWidths measure(std::size_t column) const {
        LineWidths result;
        for (const auto& row : table_.rows) {
            if (row.empty()) continue;
            const std::size_t before = before_point(row[column]);
            result.before = std::max(result.before, before);
            result.after = std::max(result.after, shown_width(row[column]) - before);
            if (is_text(column)) result.width = std::max(result.width, shown_width(row[column]));
        }
        if (is_text(column)) result.width = std::min(result.width, widest_text_column);
        else result.width = result.before + result.after;
        for (const auto& line : table_.columns[column].head) {
            result.width = std::max(result.width, shown_width(line));
        }
        return result;
    }

    [[nodiscard]] std::vector<Panel> panels() const {
        std::vector<Panel> result;
        Panel leading;
        for (std::size_t c = 0; c < table_.columns.size(); ++c) {
            if (c < table_.leading) {
                leading.push_back(c);
                continue;
            }
            const bool joined = table_.columns[c].joined;
            if (result.empty() ||
                (!joined && width_of(result.back()) + width_with_joined(c) > style_.width)) {
                result.push_back(leading);
            }
            result.back().push_back(c);
        }
        if (result.empty()) result.push_back(leading);
        return result;
    }

    /// Of a column and those joined to it, the gaps before them included.
    [[nodiscard]] std::size_t width_with_joined(std::size_t column) const {
        std::size_t width = measures_[column].width + gap;
        while (++column < table_.columns.size() && table_.columns[column].joined)
            width += measures_[column].width + gap;
        return width;
    }

    [[nodiscard]] std::size_t width_of(const Panel& panel) const {
        std::size_t width = 0;
        for (const std::size_t c : panel) width += measures_[c].width + gap;
        return width - gap;
    }

    [[nodiscard]] std::string head_text(const Panel& panel) const {
        std::size_t lines = 0;
        for (const std::size_t c : panel) lines = std::max(lines, table_.columns[c].head.size());
        std::string result;
        for (std::size_t l = 0; l < lines; ++l) {
            std::string line;
            for (const std::size_t c : panel) {
                const auto& head = table_.columns[c].head;
                const std::size_t missing = lines - head.size();
                append(line, aligned(l < missing ? std::string() : head[l - missing], c),
                       c == panel[0]);
            }
            result += style_.bold(trimmed(std::move(line))) + '\n';
        }
        return result;
    }

    [[nodiscard]] std::string rule_text(const Panel& panel) const {
        std::string rule;
        for (std::size_t i = 0; i < std::min(width_of(panel), style_.width); ++i) rule += "─";
        return style_.faint(rule) + '\n';
    }

    /// A first cell wider than its column stands on lines of its own; another text goes on in the
    /// lines below. Nothing is cut.
    [[nodiscard]] std::string row_text(const std::vector<std::string>& cells,
                                       const Panel& panel) const {
        std::string result;
        std::vector<std::vector<std::string>> columns;
        std::size_t lines = 1;
        for (const std::size_t c : panel) {
            const bool too_wide = is_text(c) && shown_width(cells[c]) > measures_[c].width;
            if (too_wide && c == panel[0]) {
                for (const std::string& line : broken(cells[c], style_.width))
                    result += line + '\n';
                columns.emplace_back();
            } else if (too_wide) {
                columns.push_back(broken(cells[c], measures_[c].width));
            } else {
                columns.push_back({is_text(c) ? cells[c] : at_point(cells[c], c)});
            }
            lines = std::max(lines, columns.back().size());
        }
        for (std::size_t l = 0; l < lines; ++l) {
            std::string line;
            for (std::size_t i = 0; i < panel.size(); ++i) {
                const bool ended = l >= columns[i].size();
                append(line, aligned(ended ? std::string() : columns[i][l], panel[i]), i == 0);
            }
            line = trimmed(std::move(line));
            const bool alone = line.empty() && !result.empty();  // a wide first cell was all
            if (!alone) result += line + '\n';
        }
        return result;
    }

    [[nodiscard]] std::string aligned(const std::string& text, std::size_t column) const {
        const std::string pad = spaces(measures_[column].width - shown_width(text));
        return is_text(column) ? text + pad : pad + text;
    }

    [[nodiscard]] std::string at_point(const std::string& cell, std::size_t column) const {
        const LineWidths& m = measures_[column];
        const std::size_t before = before_point(cell);
        const std::size_t after = shown_width(cell) - before;
        return spaces(m.width - m.after - before) + cell + spaces(m.after - after);
    }

    static void append(std::string& line, const std::string& cell, bool first) {
        if (!first) line += spaces(gap);
        line += cell;
    }

    static std::string trimmed(std::string line) {
        line.erase(line.find_last_not_of(' ') + 1);
        return line;
    }

    const Table& table_;
    const Style& style_;
    std::vector<LineWidths> measures_;
};

}  // namespace

std::string table_text(const Table& table, const Style& style) {
    return TablePrinter(table, style).text();
}

}  // namespace deckle
