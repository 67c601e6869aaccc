#include "reports/csv.h"

#include "engine/text/number_text.h"
#include "reports/inert.h"

namespace deckle {
namespace {

bool starts_a_formula(std::string_view text) {
    return !text.empty() &&
           std::string_view("=+-@\t\r").find(text.front()) != std::string_view::npos;
}

}  // namespace

std::string csv_text(std::string_view text) {
    std::string cell = inert(text);
    if (starts_a_formula(text)) cell.insert(cell.begin(), '\'');
    if (cell.find_first_of(",\"") == std::string::npos) return cell;
    std::string quoted = "\"";
    for (const char c : cell) {
        if (c == '"') quoted += '"';
        quoted += c;
    }
    return quoted + '"';
}

std::string csv_number(std::optional<double> value) { return value ? shortest(*value) : ""; }

std::string csv_line(const std::vector<std::string>& cells) {
    std::string line;
    for (std::size_t i = 0; i < cells.size(); ++i) {
        if (i > 0) line += ',';
        line += cells[i];
    }
    return line + "\r\n";
}

}  // namespace deckle
