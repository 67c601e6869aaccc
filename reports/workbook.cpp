#include "reports/workbook.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <map>

#include "engine/graph/spread.h"
#include "reports/footprint_notes.h"
#include "reports/inert.h"
#include "reports/scenario_text.h"
#include "reports/study_paths.h"
#include "reports/workbook_breakout.h"
#include "reports/workbook_cells.h"
#include "reports/workbook_guide.h"

namespace deckle {
namespace {

using Words = std::string_view;

constexpr Words results_sheet = "Results", breakout_sheet = "Breakout", charts_sheet = "Charts",
                gaps_sheet = "Not covered";
constexpr std::array<BreakoutBy, 5> shown_breakouts{
    BreakoutBy::stage, BreakoutBy::scope, BreakoutBy::gas, BreakoutBy::process, BreakoutBy::factor};

NodeId node_of(const Footprint& footprint, const FootprintResult& one) {
    if (!footprint.question.view) return one.result->node;
    return footprint.view == ElectricityView::market ? one.result->market : one.result->location;
}

/// As its column is headed: "bath_3ply", "bath_3ply@heat_pump".
std::string label_of(const Result& result) {
    return result.scenario.empty() ? result.of : result.of + "@" + result.scenario;
}

std::string coverage_of(const FootprintResult& one) {
    if (one.result->coverage == Coverage::not_covered) return "not covered";
    switch (one.bound) {
        case Bound::exact: return "complete";
        case Bound::at_least: return "≥ at least";
        case Bound::at_most: return "≤ at most";
        case Bound::open: return "≈ open both ways";
    }
    return {};
}

/// Those that a footprint shows at a glance with a break-out, of the same question.
std::vector<Footprint> broken_out(const Study& study, const Evaluation& at,
                                  const FootprintQuestion& question) {
    std::vector<Footprint> found;
    for (const std::string& scenario : question.scenarios) {
        FootprintQuestion narrow = question;
        narrow.scenarios = {scenario};
        narrow.by = {BreakoutBy::stage};
        narrow = at_a_glance(study, narrow);
        narrow.by.clear();
        found.push_back(ask_footprint(study, at, narrow));
    }
    return found;
}

/// Results of one indicator per one unit, side by side.
struct Panel {
    const Indicator* indicator;
    std::string per, unit;
    std::vector<std::size_t> figures;  ///< numbers of the columns of derivatives
};

class Workbook {
public:
    Workbook(const Study& study, const Evaluation& at, const FootprintQuestion& question)
        : study_(study),
          files_(named_within_study(study.files)),
          at_(at),
          all_(ask_footprint(study, at, question)),
          cells_(study.graph, at, wanted()),
          figures_(figures_of(broken_out(study, at, question))),
          breakout_(study.graph, at, cells_, figure_nodes()) {}

    std::string write(const std::string& program);

private:
    struct Figure {
        const Result* result;
        const Indicator* indicator;
        NodeId node;
    };
    /// Where a table of the break-out stands, for its chart.
    struct Placed {
        std::string title;
        std::size_t head, first, last;
        BreakoutBy by;
        std::vector<std::size_t> figures;
    };

    [[nodiscard]] std::vector<std::uint8_t> wanted() const;
    [[nodiscard]] std::vector<Figure> figures_of(const std::vector<Footprint>& asked) const;
    [[nodiscard]] std::vector<NodeId> figure_nodes() const;
    [[nodiscard]] std::vector<Panel> panels() const;
    void write_results(BookSheet sheet) const;
    void write_result(BookSheet& sheet, std::size_t row, const FootprintResult& one) const;
    void write_inputs(BookSheet sheet) const;
    [[nodiscard]] std::string spread_text(const Input& input) const;
    void write_calculation(BookSheet sheet) const;
    void write_loops(BookSheet sheet) const;
    void write_breakout(BookSheet sheet);
    std::size_t write_panel(BookSheet& sheet, std::size_t row, const Panel& panel, BreakoutBy by);
    void write_shares(BookSheet& sheet, std::size_t row, const Placed& values,
                      std::span<const std::string> groups) const;
    void write_charts(Book& book, BookSheet sheet) const;
    void write_derivatives(BookSheet sheet) const;
    void write_burdens(BookSheet sheet) const;
    void write_gaps(BookSheet sheet) const;
    void figure_heads(BookSheet& sheet, std::size_t first_column) const;
    [[nodiscard]] double value_of_group(const Figure& figure, BreakoutBy by,
                                        const std::string& group) const;
    [[nodiscard]] std::vector<std::string> groups_of(const Panel& panel, BreakoutBy by) const;
    [[nodiscard]] const std::string& text(TextId id) const { return study_.graph.text_of(id); }
    [[nodiscard]] std::string words_of(NodeId node) const;

    const Study& study_;
    Files files_;  ///< as readers see them named
    const Evaluation& at_;
    Footprint all_;
    WorkbookCells cells_;
    std::vector<Figure> figures_;
    WorkbookBreakout breakout_;
    std::vector<Placed> charted_;
    mutable std::map<std::pair<NodeId, BreakoutBy>, Breakout> engine_;
};

std::vector<std::uint8_t> Workbook::wanted() const {
    std::vector<NodeId> nodes;
    for (const FootprintResult& one : all_.results)
        nodes.insert(nodes.end(), {one.result->node, one.result->market, one.result->location});
    return study_.graph.ancestors(nodes);
}

std::vector<Workbook::Figure> Workbook::figures_of(const std::vector<Footprint>& asked) const {
    std::vector<Figure> figures;
    for (const Footprint& footprint : asked) {
        for (const FootprintResult& one : footprint.results) {
            const NodeId node = node_of(footprint, one);
            if (one.result->coverage == Coverage::not_covered ||
                study_.graph.degree(node) != Degree::one)
                continue;
            figures.push_back({one.result, one.indicator, node});
        }
    }
    return figures;
}

std::vector<NodeId> Workbook::figure_nodes() const {
    std::vector<NodeId> nodes;
    for (const Figure& figure : figures_) nodes.push_back(figure.node);
    return nodes;
}

std::vector<Panel> Workbook::panels() const {
    std::vector<Panel> panels;
    for (std::size_t k = 0; k < figures_.size(); ++k) {
        const Result& result = *figures_[k].result;
        const auto same = std::ranges::find_if(panels, [&](const Panel& panel) {
            return panel.indicator == figures_[k].indicator && panel.per == result.per;
        });
        if (same != panels.end()) same->figures.push_back(k);
        else panels.push_back({figures_[k].indicator, result.per, result.unit, {k}});
    }
    return panels;
}

std::string Workbook::words_of(NodeId node) const {
    const std::string_view name = study_.graph.name_of(node);
    return name.empty() ? std::string() : std::string(name);
}

// --- results ------------------------------------------------------------------------------------

namespace result_columns {
constexpr std::size_t address = 0, title = 1, per = 2, indicator = 3, unit = 4, coverage = 5,
                      value = 6, engine = 7, difference = 8, relative = 9, market = 10,
                      location = 11;
}

void Workbook::write_results(BookSheet sheet) const {
    constexpr std::array<Words, 12> heads{"address",
                                          "what it is of",
                                          "per",
                                          "indicator",
                                          "unit",
                                          "coverage",
                                          "value (live)",
                                          "engine's value",
                                          "difference",
                                          "difference, relative",
                                          "market-based (live)",
                                          "location-based (live)"};
    sheet.heads(0, heads);
    double address = 46, title = 34;  // wide enough for the longest, on one line
    for (const FootprintResult& one : all_.results) {
        address = std::max(address, static_cast<double>(shown_width(one.address)));
        title = std::max(title, static_cast<double>(shown_width(one.subject->title)));
    }
    constexpr double widest = 90;
    sheet.widths({std::min(address, widest), std::min(title, widest), 12, 50, 13, 14, 15, 15, 13,
                  13, 15, 15});
    sheet.height(0, 32);
    for (std::size_t k = 0; k < all_.results.size(); ++k)
        write_result(sheet, 1 + k, all_.results[k]);
    sheet.freeze(1, 1);
    sheet.filter(0, all_.results.size(), heads.size() - 1);
}

void Workbook::write_result(BookSheet& sheet, std::size_t row, const FootprintResult& one) const {
    namespace column = result_columns;
    sheet.text(row, column::address, one.address);
    sheet.text(row, column::title, one.subject->title);
    sheet.text(row, column::per, one.result->per);
    sheet.text(row, column::indicator, one.indicator->title);
    sheet.text(row, column::unit, one.result->unit);
    sheet.text(row, column::coverage, coverage_of(one));
    if (one.result->coverage == Coverage::not_covered) return;
    const std::string live = cell_name(row, column::value), engine = cell_name(row, column::engine);
    sheet.formula(row, column::value, cells_.cell(node_of(all_, one)), one.value);
    sheet.number(row, column::engine, one.value);
    sheet.formula(row, column::difference, fmt::format("{}-{}", live, engine), 0.0);
    sheet.formula(row, column::relative,
                  fmt::format("IF({1}=0,ABS({0}),ABS({0}/{1}-1))", live, engine), 0.0,
                  CellLook::exponent);
    sheet.formula(row, column::market, cells_.cell(one.result->market), one.market);
    sheet.formula(row, column::location, cells_.cell(one.result->location), one.location);
}

// --- inputs and calculation ---------------------------------------------------------------------

/// "lognormal: k 1.1", "normal: half_width 0.05 of the value".
std::string Workbook::spread_text(const Input& input) const {
    if (input.spread.kind == SpreadKind::none) return {};
    const SpreadRow& row = row_of(input.spread.kind);
    std::string said(row.name);
    for (std::size_t k = 0; k < row.count; ++k) {
        const NodeId parameter = input.spread.parameters[k];
        if (parameter == no_node) continue;
        said += fmt::format("{} {} {}", k == 0 ? ":" : ",", row.parameters[k],
                            formula_number(at_.value[parameter]));
        if (k == 0 && input.spread.relative) said += " of the value";
    }
    return said;
}

void Workbook::write_inputs(BookSheet sheet) const {
    constexpr std::array<Words, 10> heads{
        "address",  "value (may be changed)", "unit",   "as typed",
        "spread",   "file:line:column",       "source", "note",
        "known by", "also the input of"};
    sheet.heads(0, heads);
    sheet.widths({50, 15, 15, 18, 24, 38, 50, 28, 11, 30});
    sheet.height(0, 32);
    cells_.write_input_values(sheet);
    const Graph& graph = study_.graph;
    for (std::size_t k = 0; k < cells_.inputs().size(); ++k) {
        const NodeId node = cells_.inputs()[k];
        const Input& input = graph.inputs()[graph.payload(node)];
        const std::size_t row = WorkbookCells::first_row + k;
        std::string others;
        for (std::size_t n = 1; n < input.addresses.size(); ++n)
            others += (n == 1 ? "" : ", ") + text(input.addresses[n]);
        sheet.text(row, 0, input.addresses.empty() ? std::string() : text(input.addresses[0]));
        sheet.text(row, 2, text(graph.unit(node)), CellLook::unit);
        sheet.text(row, 3, text(input.typed));
        sheet.text(row, 4, spread_text(input));
        sheet.text(row, 5, files_.where(graph.origin(node).place));
        sheet.text(row, 6, text(input.source));
        sheet.text(row, 7, text(input.note));
        sheet.text(row, 8, text(input.amount_is));
        sheet.text(row, 9, others);
    }
    sheet.freeze(1, 2);
    sheet.filter(0, cells_.inputs().size(), heads.size() - 1);
}

void Workbook::write_calculation(BookSheet sheet) const {
    constexpr std::array<Words, 6> heads{"address",      "what it is", "operation",
                                         "value (live)", "unit",       "file:line:column"};
    sheet.heads(0, heads);
    sheet.widths({58, 60, 30, 18, 16, 40});
    cells_.write_formulas(sheet);
    const Graph& graph = study_.graph;
    const auto& rows = cells_.rows();
    for (std::size_t k = 0; k < rows.size(); ++k) {
        const std::size_t row = WorkbookCells::first_row + k;
        const Origin& origin = graph.origin(rows[k].node);
        const std::string_view operation = row_of(graph.operation(rows[k].node)).words;
        sheet.text(row, 0, words_of(rows[k].node));
        sheet.text(row, 1, text(origin.rule));
        sheet.text(row, 2,
                   rows[k].piece == 0 ? std::string(operation)
                                      : fmt::format("piece {} of what follows", rows[k].piece));
        sheet.text(row, 4, text(graph.unit(rows[k].node)), CellLook::unit);
        sheet.text(row, 5, files_.where(origin.place));
    }
    sheet.freeze(1, 1);
    sheet.filter(0, rows.size(), heads.size() - 1);
}

void Workbook::write_loops(BookSheet sheet) const {
    sheet.width(0, 1, 40);
    sheet.width(1, 400, 18);
    cells_.write_loops(sheet);
}

// --- break-out ----------------------------------------------------------------------------------

double Workbook::value_of_group(const Figure& figure, BreakoutBy by,
                                const std::string& group) const {
    auto& found = engine_[{figure.node, by}];
    if (found.rows.empty()) found = break_out(study_, at_, *figure.result, figure.node, by);
    for (const Contribution& one : found.rows) {
        if (one.name == group) return one.value;
    }
    return 0.0;
}

/// Scopes by their number, else what brings most first.
std::vector<std::string> Workbook::groups_of(const Panel& panel, BreakoutBy by) const {
    std::map<std::string, double> size;
    for (const std::size_t figure : panel.figures) {
        for (const std::string& group : breakout_.groups(figure, by))
            size[group] += std::abs(value_of_group(figures_[figure], by, group));
    }
    std::vector<std::string> groups;
    for (const auto& [group, amount] : size) groups.push_back(group);
    if (by == BreakoutBy::scope) return groups;
    std::ranges::stable_sort(groups,
                             [&](const auto& a, const auto& b) { return size[a] > size[b]; });
    return groups;
}

void Workbook::write_breakout(BookSheet sheet) {
    sheet.width(0, 1, 46);
    sheet.width(1, figures_.size(), 15);
    sheet.freeze(0, 1);
    std::size_t row = 0;
    for (const Panel& panel : panels()) {
        for (const BreakoutBy by : shown_breakouts) {
            if (by == BreakoutBy::scope && panel.indicator->unit != "kg CO2e") continue;
            row = write_panel(sheet, row, panel, by);
        }
    }
}

/// The row after the table; the same row when there is nothing to break out.
std::size_t Workbook::write_panel(BookSheet& sheet, std::size_t row, const Panel& panel,
                                  BreakoutBy by) {
    const std::vector<std::string> groups = groups_of(panel, by);
    if (groups.empty() || (groups.size() == 1 && groups[0].empty())) return row;
    const std::size_t head = row + 1, first = row + 2, last = first + groups.size() - 1;
    const std::string title =
        fmt::format("{} by {}", panel.indicator->title,
                    by == BreakoutBy::factor ? "input" : std::string(name_of(by)));
    sheet.text(row, 0, fmt::format("{} [{} per {}]", title, panel.unit, panel.per),
               CellLook::strong);
    sheet.text(head, 0, "", CellLook::head);
    sheet.text(last + 1, 0, "sum", CellLook::strong);
    sheet.text(last + 2, 0, "the result less this sum");
    for (std::size_t g = 0; g < groups.size(); ++g)
        sheet.text(first + g, 0, shown_group(by, groups[g]));
    for (std::size_t k = 0; k < panel.figures.size(); ++k) {
        const std::size_t column = 1 + k;
        const Figure& figure = figures_[panel.figures[k]];
        sheet.text(head, column, label_of(*figure.result), CellLook::head);
        for (std::size_t g = 0; g < groups.size(); ++g) {
            sheet.formula(
                first + g, column,
                breakout_.group_formula(panel.figures[k], by, "$" + cell_name(first + g, 0)),
                value_of_group(figure, by, groups[g]));
        }
        sheet.formula(last + 1, column,
                      fmt::format("SUM({}:{})", cell_name(first, column), cell_name(last, column)),
                      at_.value[figure.node], CellLook::strong);
        sheet.formula(last + 2, column,
                      fmt::format("{}-{}", cells_.cell(figure.node), cell_name(last + 1, column)),
                      0.0);
    }
    const Placed placed{fmt::format("{}, {} per {}", title, panel.unit, panel.per),
                        head,
                        first,
                        last,
                        by,
                        panel.figures};
    if (by == BreakoutBy::stage || by == BreakoutBy::scope) charted_.push_back(placed);
    write_shares(sheet, last + 4, placed, groups);
    return last + 6 + groups.size() + 1;
}

void Workbook::write_shares(BookSheet& sheet, std::size_t row, const Placed& values,
                            std::span<const std::string> groups) const {
    sheet.text(row, 0, "share of the sum [%]", CellLook::head);
    for (std::size_t g = 0; g < groups.size(); ++g)
        sheet.text(row + 1 + g, 0, shown_group(values.by, groups[g]));
    for (std::size_t k = 0; k < values.figures.size(); ++k) {
        const std::size_t column = 1 + k;
        const Figure& figure = figures_[values.figures[k]];
        const std::string sum = cell_name(values.last + 1, column);
        sheet.text(row, column, label_of(*figure.result), CellLook::head);
        for (std::size_t g = 0; g < groups.size(); ++g) {
            const std::string value = cell_name(values.first + g, column);
            const double total = at_.value[figure.node];
            const double share =
                total == 0.0 ? 0.0 : 100.0 * value_of_group(figure, values.by, groups[g]) / total;
            sheet.formula(row + 1 + g, column, fmt::format("IF({0}=0,0,100*{1}/{0})", sum, value),
                          share, CellLook::percent);
        }
    }
}

void Workbook::write_charts(Book& book, BookSheet sheet) const {
    constexpr std::size_t rows_between = 3;
    constexpr double row_pixels = 20.0, bar_pixels = 26.0, frame_pixels = 170.0;
    std::size_t row = 0;
    for (const Placed& table : charted_) {
        lxw_chart* chart = book.chart(LXW_CHART_BAR_STACKED);
        workbook_colours(chart, breakout_sheet, table.head, table.first, table.last,
                         table.figures.size());
        const std::string title = inert(table.title);  // one that begins with = would be a formula
        chart_title_set_name(chart, (title.starts_with('=') ? " " + title : title).c_str());
        const std::size_t legend_lines = (table.last - table.first) / 4;
        const double height = frame_pixels +
                              bar_pixels * static_cast<double>(table.figures.size()) +
                              10.0 * static_cast<double>(legend_lines);
        lxw_chart_options options{};
        options.x_scale = 960.0 / 480.0;
        options.y_scale = height / 288.0;
        worksheet_insert_chart_opt(sheet.handle(), static_cast<lxw_row_t>(row), 0, chart, &options);
        row += static_cast<std::size_t>(height / row_pixels) + rows_between;
    }
}

void Workbook::figure_heads(BookSheet& sheet, std::size_t first_column) const {
    for (std::size_t k = 0; k < figures_.size(); ++k) {
        const Result& result = *figures_[k].result;
        sheet.text(0, first_column + k, result.address + " [" + result.unit + "]", CellLook::head);
    }
    sheet.width(first_column, figures_.size(), 18);
    sheet.height(0, 64);
}

void Workbook::write_derivatives(BookSheet sheet) const {
    constexpr std::array<Words, 2> heads{"address of the sum", "what it is"};
    sheet.heads(0, heads);
    sheet.widths({58, 50});
    figure_heads(sheet, WorkbookBreakout::figure_column);
    const auto& rows = breakout_.rows();
    for (std::size_t k = 0; k < rows.size(); ++k) {
        const std::size_t row = WorkbookBreakout::first_row + k;
        const bool is_piece = k + 1 < rows.size() && rows[k + 1] == rows[k];
        sheet.text(row, 0, words_of(rows[k]));
        sheet.text(row, 1,
                   is_piece ? "piece of what follows" : text(study_.graph.origin(rows[k]).rule));
    }
    breakout_.write_derivatives(sheet);
    sheet.freeze(1, 2);
}

void Workbook::write_burdens(BookSheet sheet) const {
    constexpr std::array<Words, 10> heads{"stage",
                                          "process",
                                          "use",
                                          "input",
                                          "gas",
                                          "scope",
                                          "amount (live)",
                                          "burden per amount (live)",
                                          "brought in (live)",
                                          "unit"};
    sheet.heads(0, heads);
    sheet.widths({16, 30, 40, 40, 14, 8, 15, 15, 15, 14});
    figure_heads(sheet, WorkbookBreakout::share_column);
    breakout_.write_burdens(sheet);
    sheet.freeze(1, 3);
    if (!breakout_.burdens().empty()) sheet.filter(0, breakout_.burdens().size(), heads.size() - 1);
}

void Workbook::write_gaps(BookSheet sheet) const {
    constexpr std::array<Words, 4> heads{"indicator", "not stated by", "where it is used",
                                         "remark"};
    sheet.heads(0, heads);
    sheet.widths({30, 48, 90, 40});
    std::size_t row = 1;
    for (const CoverageNote& note : all_.coverage) {
        sheet.text(row, 0, note.indicator);
        sheet.text(row, 1, note.factor);
        sheet.text(row, 2, fmt::format("{}", fmt::join(note.uses, ", ")), CellLook::wrapped);
        sheet.text(row++, 3, note.one_number ? "counted in another line, as one number" : "",
                   CellLook::wrapped);
    }
    sheet.freeze(1, 0);
}

// --- the whole ----------------------------------------------------------------------------------

std::string Workbook::write(const std::string& program) {
    Book book(study_.head.title);
    std::vector<std::string> sheets;
    const auto named = [&](Words name, bool wide = false) {
        sheets.emplace_back(name);
        return book.add(std::string(name), wide);
    };
    BookSheet guide = named("How to read");
    BookSheet results = named(results_sheet);
    if (!figures_.empty()) {
        BookSheet charts = named(charts_sheet);
        write_breakout(named(breakout_sheet));
        write_charts(book, charts);
    }
    write_results(results);
    write_inputs(named(workbook_sheets::inputs, true));
    write_calculation(named(workbook_sheets::calculation, true));
    if (cells_.has_loops()) write_loops(named(workbook_sheets::loops, true));
    if (!figures_.empty()) {
        write_derivatives(named(workbook_sheets::derivatives, true));
        write_burdens(named(workbook_sheets::burdens, true));
    }
    if (!all_.coverage.empty()) write_gaps(named(gaps_sheet));
    if (cells_.has_steam()) {
        BookSheet coefficients = named(workbook_sheets::coefficients);
        cells_.write_coefficients(book, coefficients);
    }
    const std::string differences = fmt::format(
        "{}!{}", results_sheet,
        range_name(1, result_columns::relative, all_.results.size(), result_columns::relative));
    write_workbook_guide(guide, all_, {differences, program, sheets});
    return book.bytes();
}

}  // namespace

std::string workbook(const Study& study, const Evaluation& at, FootprintQuestion question,
                     const std::string& program) {
    question.by.clear();
    if (question.scenarios.empty()) question.scenarios = {"today"};
    return Workbook(study, at, question).write(program);
}

}  // namespace deckle
