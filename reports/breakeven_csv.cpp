#include "reports/breakeven_report.h"
#include "reports/csv.h"

namespace deckle {
namespace {

std::vector<std::string> crossing_cells(const Crossing& one) {
    return {csv_text(name_of(one.kind)), csv_number(one.at), csv_number(one.low),
            csv_number(one.high)};
}

/// "range-heat range-electricity": what lies outside its published range there.
std::string codes_of(const Equality& one) {
    std::string codes;
    for (const auto& [finding, now] : one.outside)
        codes += (codes.empty() ? "" : " ") + finding.code;
    return codes;
}

std::string along_text(const Breakeven& found) {
    std::string text = csv_line({"result", "input", "unit", "kind", "at", "low", "high",
                                 "result_value", "against_value", "result_unit", "outside_ranges"});
    for (const Equality& one : found.equalities) {
        std::vector<std::string> cells{csv_text(found.asked.address), csv_text(found.along.address),
                                       csv_text(found.along.unit)};
        for (std::string& cell : crossing_cells(one.crossing)) cells.push_back(std::move(cell));
        cells.insert(cells.end(), {csv_number(one.result), csv_number(one.target),
                                   csv_text(found.unit), csv_text(codes_of(one))});
        text += csv_line(cells);
    }
    return text;
}

/// A step without an equality is a line with empty cells.
std::string line_text(const Breakeven& found, const EqualityLine& line) {
    std::string text = csv_line({"result", "second_input", "second_unit", "second_value", "input",
                                 "unit", "kind", "at", "low", "high"});
    for (const auto& step : line.steps) {
        const std::vector<std::string> head{
            csv_text(found.asked.address), csv_text(line.second.address),
            csv_text(line.second.unit),    csv_number(step.value),
            csv_text(found.along.address), csv_text(found.along.unit)};
        const auto add = [&](const std::vector<std::string>& tail) {
            std::vector<std::string> cells = head;
            cells.insert(cells.end(), tail.begin(), tail.end());
            text += csv_line(cells);
        };
        if (step.equalities.empty()) add({"", "", "", ""});
        for (const Crossing& one : step.equalities) add(crossing_cells(one));
    }
    return text;
}

}  // namespace

std::string breakeven_csv(const Breakeven& found) {
    return found.line ? line_text(found, *found.line) : along_text(found);
}

}  // namespace deckle
