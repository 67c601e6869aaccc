#include "reports/workbook_guide.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>

#include "reports/footprint_notes.h"
#include "reports/inert.h"
#include "reports/scenario_text.h"

namespace deckle {
namespace {

constexpr std::size_t text_columns = 100;  ///< that surely fit the width of the column of texts
constexpr double line_points = 15.0;

struct GuideLine {
    std::string_view head, text;
};

/// Of the sheets that a workbook may have.
constexpr std::array<GuideLine, 10> guide_sheets{
    {{"Results",
      "Every figure asked for, each with a live reference to the calculation, the value the engine "
      "found when this workbook was written, and the difference of the two."},
     {"Charts", "What each product's figure is made of, drawn from the break-out."},
     {"Breakout",
      "The figures of the main indicators as sums by stage, scope, gas, process and input. Each "
      "part is a live sum over the sheet Burdens, and the sum is compared with the result."},
     {"Inputs",
      "Every number that was typed and that a result rests on: its value, unit, spread, the file, "
      "line "
      "and column it stands on, and its source. The framed cells of the column of values may be "
      "changed: "
      "all that rests on them follows, and the differences on Results become what the change "
      "does."},
     {"Calculation",
      "Every number between inputs and results, one a row, in the order of calculation: what it "
      "is, "
      "the operation, and the formula over the cells above it."},
     {"Loops",
      "Products that are made with each other's help. One less what each uses of the others is a "
      "matrix; "
      "its inverse times what is brought in answers the loop."},
     {"Derivatives",
      "For each figure of the break-out, how much of it one unit of a sum brings with it: worked "
      "back "
      "from the figure, which has 1."},
     {"Burdens",
      "What enters from outside, one a row: amount times burden per amount; behind it, what that "
      "brings to "
      "each figure (times the derivative of the sum it stands in)."},
     {"Not covered", "What some factor or input does not state, so that a figure is not complete."},
     {"Coefficients",
      "Of water and steam (IAPWS-IF97), for the formulas of enthalpy and entropy."}}};

constexpr std::array<GuideLine, 5> guide_lines{
    {{"", "A sheet that a study does not need is left out."},
     {"Recalculate",
      "The values shown were written by the engine. To have every cell computed anew: in "
      "LibreOffice "
      "Calc press Ctrl+Shift+F9; other programs do so when they open the file or have a command of "
      "their own. Differences then stay below 1E-9 of the values unless an input was changed."},
     {"Follow a figure",
      "Select a value on Results and go to the cells it refers to (Tools, Detective, Trace "
      "Precedents), step by step, down to the inputs with their lines and sources."},
     {"Marks",
      "≥ at least: a part is not covered. ≤ at most: what is subtracted is itself at least. ≈ open "
      "both "
      "ways. Figures that are not covered at all are left empty."},
     {"Not in here",
      "Uncertainty, which is drawn by the engine, and the checks of a study. A change that the "
      "engine "
      "would refuse (a negative rest, a value outside its bounds) is not refused here."}}};

class GuideWriter {
public:
    GuideWriter(BookSheet& sheet, const Footprint& footprint)
        : sheet_(sheet), footprint_(footprint) {}

    void write(const WorkbookGuide& about) {
        const StudyHead& head = *footprint_.head;
        sheet_.widths({24, 110});
        sheet_.text(row_++, 0, head.title, CellLook::title);
        ++row_;
        line("Study", fmt::format("{} ({})", head.owner, head.id));
        line("Period", head.period);
        line("Boundary", head.boundary);
        if (!head.rules.id.empty()) line("Rules", head.rules.line());
        line("Electricity", electricity());
        line("Warming potentials", potentials());
        line("Water scarcity", head.scarcity.empty()
                                   ? std::string{}
                                   : fmt::format("model {}, version {} ({})", head.scarcity_model,
                                                 head.scarcity_version, head.scarcity));
        line("Prices", head.prices);
        for (const std::string& one : head.exempted) line("Left out", one);
        write_scenarios();
        line("Written by", about.program);
        ++row_;
        write_comparison(about.differences);
        ++row_;
        for (const GuideLine& one : guide_sheets) {
            if (std::ranges::find(about.sheets, one.head) != about.sheets.end())
                line(one.head, one.text);
        }
        for (const GuideLine& one : guide_lines) line(one.head, one.text, true);
        if (scenarios_ > 0) line("Caution", equipment_caution());
    }

private:
    /// Nothing where a study is silent, but for lines that go on.
    void line(std::string_view head, std::string_view text, bool goes_on = false) {
        if (text.empty() || (head.empty() && !goes_on)) return;
        sheet_.text(row_, 0, head, CellLook::strong);
        sheet_.height(row_, line_points * static_cast<double>(wrap(text, text_columns).size()));
        sheet_.text(row_++, 1, text, CellLook::wrapped);
    }

    [[nodiscard]] std::string electricity() const {
        if (footprint_.head->one_electricity_view)
            return "one factor stands for both the market-based and the location-based total";
        return fmt::format(
            "{}-based in the column of values{}; both stand beside it", name_of(footprint_.view),
            footprint_.view == footprint_.head->headline ? ", the study's headline" : "");
    }

    [[nodiscard]] std::string potentials() const {
        const StudyHead& head = *footprint_.head;
        return (head.gwp_sets.size() > 1 ? "a mix of sets: " : "") + potentials_text(head);
    }

    void write_scenarios() {
        for (const std::string& id : footprint_.question.scenarios) {
            const Scenario* scenario = id == "today" ? nullptr : footprint_.study->scenario(id);
            if (scenario == nullptr) continue;
            ++scenarios_;
            line("Scenario " + id, scenario->title);
            for (const Scenario::Step& step : scenario->steps)
                line(" ", fmt::format("{} ({})", step.change, step.reason));
        }
    }

    void write_comparison(const std::string& differences) {
        sheet_.text(row_, 0, "Largest difference", CellLook::strong);
        sheet_.formula(row_, 1, fmt::format("MAX({})", differences), 0.0, CellLook::left_number);
        const std::string largest = cell_name(row_++, 1);
        sheet_.text(row_, 0, "That is", CellLook::strong);
        const std::string equal = "every result equals the engine's";
        sheet_.text_formula(
            row_++, 1,
            fmt::format(
                "IF({}<=1E-9,\"{}\",\"not the engine's results: an input was changed, or the "
                "program at hand computes otherwise\")",
                largest, equal),
            equal);
    }

    BookSheet& sheet_;
    const Footprint& footprint_;
    std::size_t row_ = 0, scenarios_ = 0;
};

/// Told apart also when printed in grey, by the order of the legend and the frames of the bars. The
/// first eight: Okabe and Ito, Color Universal Design (2008), in another order; then lighter ones.
constexpr std::array<lxw_color_t, 12> series_colours{0x0072B2, 0xE69F00, 0x009E73, 0xCC79A7,
                                                     0x56B4E9, 0xD55E00, 0xF0E442, 0x555555,
                                                     0x9BC9E6, 0xF7D99A, 0x99D8C7, 0xC8C8C8};

}  // namespace

void write_workbook_guide(BookSheet& sheet, const Footprint& footprint,
                          const WorkbookGuide& about) {
    GuideWriter(sheet, footprint).write(about);
}

void workbook_colours(lxw_chart* chart, std::string_view sheet, std::size_t head, std::size_t first,
                      std::size_t last, std::size_t columns) {
    const std::string name(sheet);
    const auto column = [](std::size_t k) { return static_cast<lxw_col_t>(k); };
    const auto row = [](std::size_t k) { return static_cast<lxw_row_t>(k); };
    for (std::size_t k = first; k <= last; ++k) {
        lxw_chart_series* series = chart_add_series(chart, nullptr, nullptr);
        chart_series_set_categories(series, name.c_str(), row(head), 1, row(head), column(columns));
        chart_series_set_values(series, name.c_str(), row(k), 1, row(k), column(columns));
        chart_series_set_name_range(series, name.c_str(), row(k), 0);
        lxw_chart_fill fill{};
        fill.color = series_colours.at((k - first) % series_colours.size());
        lxw_chart_line frame{};
        frame.color = 0xFFFFFF;
        frame.width = 0.75F;
        chart_series_set_fill(series, &fill);
        chart_series_set_line(series, &frame);
    }
    chart_axis_set_reverse(chart->y_axis);  // the first product on top
    chart_legend_set_position(chart, LXW_CHART_LEGEND_BOTTOM);
    chart_set_style(chart, 2);
}

}  // namespace deckle
