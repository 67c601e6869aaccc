#include <fmt/format.h>

#include <algorithm>

#include "engine/text/number_text.h"
#include "reports/inert.h"
#include "reports/scenario_text.h"
#include "reports/sensitivity_report.h"
#include "reports/table.h"
#include "reports/words.h"

namespace deckle {
namespace {

std::string change(const std::optional<double>& value) {
    if (!value) return std::string(absent);
    return (*value > 0.0 ? "+" : "") + format_significant(*value);
}

/// "0.312", with three decimals whatever the size: elasticities and indices stand side by side.
std::string share(double value) { return fmt::format("{:.3f}", value == 0.0 ? 0.0 : value); }

std::string elasticity(const std::optional<double>& value) {
    return value ? share(*value) : std::string(absent);
}

std::string percent_of(double share) { return one_decimal(100.0 * share); }

std::string step_text(const Sensitivity& found) {
    return fmt::format("± {} %", shortest(100.0 * found.question.step));
}

std::string swing_kind(const Sensitivity& found, const InputSensitivity& one) {
    std::string kind = one.swing.of_spread ? "95 %" : step_text(found);
    if (one.swing.cut) kind += ", bound";
    if (one.stepped) kind += ", step";
    return kind;
}

std::vector<std::string> row_of(const Sensitivity& found, const InputSensitivity& one,
                                const Graph& graph) {
    return {inert(one.address),
            elasticity(one.elasticity),
            one.deviation > 0.0 ? percent_of(one.share) : std::string(absent),
            change(one.swing.change_from),
            change(one.swing.change_to),
            swing_kind(found, one),
            format_significant(one.derivative),
            inert(one.unit),
            inert(graph.text_of(one.input->typed))};
}

std::string inputs_table(const Sensitivity& found, const Study& study, const Style& style) {
    const std::string unit = inert(found.asked.result->unit);
    using Align = Table::Align;
    Table table;
    table.columns = {{{"input"}, Align::text},
                     {{"elasticity", "% for 1 %"}},
                     {{"share of", "variance", "%"}},
                     {{"change at", "low end", unit}},
                     {{"change at", "high end", unit}},
                     {{"moved", "over"}, Align::text},
                     {{"derivative", unit, "per unit"}},
                     {{"unit"}, Align::text},
                     {{"typed"}, Align::text}};
    for (const InputSensitivity& one : found.inputs)
        table.rows.push_back(row_of(found, one, study.graph));
    return table_text(table, style);
}

std::string sobol_table(const SobolIndices& sobol, std::size_t most, const Style& style) {
    using Align = Table::Align;
    Table table;
    table.columns = {{{"input"}, Align::text},
                     {{"alone", "first order"}},
                     {{"±"}},
                     {{"with others", "total"}},
                     {{"±"}},
                     {{"rank", "correlation"}}};
    for (const SobolInput& one : sobol.inputs) {
        if (most != 0 && table.rows.size() == most) break;
        table.rows.push_back({inert(fmt::format("{}", fmt::join(one.addresses, " + "))),
                              share(one.first.value), share(one.first.half_width),
                              share(one.total.value), share(one.total.half_width),
                              share(one.rank_correlation)});
    }
    return table_text(table, style);
}

class Notes {
public:
    explicit Notes(const Style& style) : style_(style) {}
    void add(std::string_view text) { text_ += paragraph(text, 2, 2, style_); }
    [[nodiscard]] std::string text() const {
        return text_.empty() ? std::string() : "\n" + style_.bold("Notes") + "\n" + text_;
    }

private:
    const Style& style_;
    std::string text_;
};

void note_swings(Notes& notes, const Sensitivity& found) {
    notes.add(fmt::format(
        "Change: what the result moves by when this input alone goes to the ends of its 95 % "
        "interval, or {} where it has no spread.",
        step_text(found)));
    const auto any = [&](const auto& holds) { return std::ranges::any_of(found.inputs, holds); };
    if (any([](const InputSensitivity& one) { return one.stepped; })) {
        notes.add(
            "step: a whole number, a minimum or a maximum stands between; the derivative does not "
            "see it jump, the ends do.");
    }
    if (any([](const InputSensitivity& one) { return one.swing.cut; }))
        notes.add("bound: one end lies where the input can go no further.");
    for (const InputSensitivity& one : found.inputs) {
        if (!one.swing.why.empty())
            notes.add(
                fmt::format("– at an end of {}: {}.", inert(one.address), inert(one.swing.why)));
    }
}

void note_without_spread(Notes& notes, const Sensitivity& found) {
    if (found.without_spread.empty()) return;
    std::vector<std::string> names;
    for (const auto& [address, value] : found.without_spread)
        names.push_back(fmt::format("{} ({})", inert(address), share(value)));
    notes.add(fmt::format(
        "Without a spread, so in no share; the largest elasticities: {}. --rank elasticity puts "
        "them in their place.",
        fmt::join(names, ", ")));
}

std::string head_text(const SensitivityReport& report, const Style& style) {
    const Sensitivity& found = report.found;
    const std::string unit = inert(found.asked.result->unit);
    std::string text = style.bold(fmt::format("{}: {} {}", inert(found.asked.address),
                                              format_significant(found.value, 4), unit)) +
                       "\n";
    if (found.asked.unrounded)
        text +=
            paragraph(fmt::format("On the unrounded count, in place of {}.", inert(report.typed)),
                      0, 0, style);
    const std::string rests = fmt::format("It rests on {} inputs, {} of them with a spread",
                                          found.inputs_in_all, found.with_spread);
    if (found.with_spread == 0) return text + paragraph(rests + ".", 0, 0, style);
    if (found.standard_uncertainty == 0.0)
        return text + paragraph(rests + "; to first order nothing with one moves it.", 0, 0, style);
    return text + paragraph(fmt::format("{}: standard uncertainty {} {} to first order.", rests,
                                        format_significant(found.standard_uncertainty, 2), unit),
                            0, 0, style);
}

std::string sobol_text(const SensitivityReport& report, const Style& style) {
    const SobolIndices& sobol = *report.sobol;
    std::string text =
        "\n" + style.bold("Sobol indices: shares of the variance of all draws") + "\n";
    text += sobol_table(sobol, report.found.question.largest, style);
    text += paragraph(
        fmt::format("{} rows, {} runs, seed {}; ± is half of a 95 % interval. Mean {} {}, standard "
                    "deviation {}. The first-order indices add to {}; well below 1, inputs act "
                    "together.",
                    sobol.rows, sobol.runs, sobol.seed, format_significant(sobol.mean, 4),
                    inert(report.found.asked.result->unit), format_significant(sobol.deviation, 2),
                    share(sobol.sum_of_first)),
        0, 2, style);
    return text;
}

}  // namespace

std::string sensitivity_text(const SensitivityReport& report, const Study& study,
                             const Style& style) {
    const Sensitivity& found = report.found;
    std::string text = head_text(report, style);
    text += "\n" +
            style.bold(fmt::format("{} inputs, ranked by {}", found.inputs.size(),
                                   name_of(found.question.rank))) +
            "\n" + inputs_table(found, study, style);
    if (report.sobol) text += sobol_text(report, style);
    Notes notes(style);
    note_swings(notes, found);
    note_without_spread(notes, found);
    return text + notes.text() + scenario_notes(study, {found.asked.result->scenario}, style);
}

}  // namespace deckle
