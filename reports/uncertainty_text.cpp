#include <fmt/format.h>

#include <algorithm>

#include "engine/text/number_text.h"
#include "reports/footprint.h"
#include "reports/inert.h"
#include "reports/scenario_text.h"
#include "reports/table.h"
#include "reports/uncertainty.h"
#include "reports/words.h"

namespace deckle {
namespace {

constexpr int figure_digits = 4;
constexpr int usual_uncertainty_digits = 2;

std::string figure_text(double value) { return format_significant(value, figure_digits); }

std::string chance_text(double share) {
    // "100.0" only of all draws, "0.0" only of none
    const double shown = share < 1.0 ? std::min(share * 100.0, 99.9) : 100.0;
    return fmt::format("{:.1f} %", share > 0.0 ? std::max(shown, 0.1) : 0.0);
}

std::string draws_text(const UncertaintyReport& report) {
    const UncertaintyQuestion& draws = report.asked.draws;
    if (draws.adaptive_digits == 0) return format_count(draws.draws) + " draws";
    return fmt::format("draws until {} digit{} of every uncertainty hold", draws.adaptive_digits,
                       draws.adaptive_digits == 1 ? "" : "s");
}

std::string head_text(const UncertaintyReport& report, const Style& style) {
    const StudyHead& study = report.study;
    std::string text = style.bold(inert(study.title)) + "\n";
    std::string line = fmt::format(
        "{}, seed {}; {} inputs have a spread, {} have none and count as exact", draws_text(report),
        report.asked.draws.seed, report.with_spread, report.without_spread);
    const Shard shard = report.asked.shard;
    if (shard.of != 1) line += fmt::format("; shard {} of {}", shard.part, shard.of);
    const SpreadSet& spreads = report.spreads;
    const std::string set =
        spreads.id.empty()
            ? "Scores of data quality give no spread: the study names no data_quality_spread."
            : fmt::format("Spread from scores of data quality: {} ({}).", inert(spreads.id),
                          inert(spreads.source));
    return text + paragraph(line, 0, 2, style) + paragraph(set, 0, 2, style);
}

constexpr std::string_view unrounded = "_unrounded";

/// "roll" of roll_unrounded; a note says so.
std::string per_text(const UncertaintyRow& row) {
    std::string per = row.per;
    if (per.ends_with(unrounded)) per.resize(per.size() - unrounded.size());
    return spaced(per);
}

/// What distinguishes a row in its table.
std::string name_of_row(const UncertaintyRow& row) {
    return inert(row.scenario == "today" ? row.of : fmt::format("{} ({})", row.of, row.scenario));
}

std::string digits_text(const Sample& sample) {
    if (sample.summary.standard_uncertainty == 0.0) return "exact";
    return std::to_string(digits_that_hold(sample.summary, sample.errors));
}

std::string verdict_text(const FirstOrder& one) {
    switch (one.verdict) {
        case FirstOrderVerdict::accepted: return one.digits == 1 ? "agrees, 1 digit" : "agrees";
        case FirstOrderVerdict::refused: return "DIFFERS";
        case FirstOrderVerdict::undecided: return "more draws";
        case FirstOrderVerdict::not_judged: break;
    }
    return "-";
}

std::vector<std::string> cells_of(const UncertaintyRow& row, int adaptive_digits) {
    const int uncertainty_digits = std::max(usual_uncertainty_digits, adaptive_digits);
    const FigureUncertainty& figure = row.figure;
    const Summary& drawn = figure.sample.summary;
    std::vector<std::string> cells{
        name_of_row(row),
        per_text(row),
        std::string(mark_of(row.bound)) + figure_text(figure.value),
        figure_text(drawn.mean),
        format_significant(drawn.standard_uncertainty, uncertainty_digits),
        figure_text(drawn.median),
        figure_text(drawn.low),
        figure_text(drawn.high),
        digits_text(figure.sample),
        format_significant(figure.first_order.standard_uncertainty, uncertainty_digits),
        verdict_text(figure.first_order)};
    if (adaptive_digits != 0) cells.push_back(format_count(figure.sample.draws));
    return cells;
}

std::string table_of(const UncertaintyReport& report, const std::string& indicator,
                     const std::string& unit, const Style& style) {
    const bool adaptive = report.asked.draws.adaptive_digits != 0;
    Table table;
    table.leading = 2;
    table.columns = {{{spaced(indicator), inert(unit)}, Table::Align::text},
                     {{"per"}, Table::Align::text},
                     {{"at the", "inputs"}},
                     {{"mean"}},
                     {{"standard", "uncertainty"}},
                     {{"median"}},
                     {{"95 %", "from"}},
                     {{"", "to"}},
                     {{"digits", "that hold"}, Table::Align::text},
                     {{"first", "order"}},
                     {{"and the", "draws"}, Table::Align::text}};
    if (adaptive) table.columns.push_back({{"draws"}});
    for (const UncertaintyRow& row : report.rows) {
        if (row.indicator == indicator && row.unit == unit)
            table.rows.push_back(cells_of(row, report.asked.draws.adaptive_digits));
    }
    return "\n" + table_text(table, style);
}

std::string tables_text(const UncertaintyReport& report, const Style& style) {
    std::string text;
    std::vector<std::pair<std::string, std::string>> told;
    for (const UncertaintyRow& row : report.rows) {
        const std::pair key(row.indicator, row.unit);
        if (std::ranges::find(told, key) != told.end()) continue;
        told.push_back(key);
        text += table_of(report, row.indicator, row.unit, style);
    }
    return text;
}

/// The reference in words: another product, or the same one in another scenario.
std::string reference_name(const UncertaintyReport& report, const UncertaintyRow& row) {
    const auto& products = report.asked.products;
    const std::string& against = report.asked.against;
    const bool product = std::ranges::find(products, against) != products.end();
    return inert(product ? against : fmt::format("{} ({})", row.of, against));
}

std::string verdict_text(const std::string& name, const std::string& reference,
                         const Comparison& one) {
    const auto sentence = [&](std::string_view verb) {
        return fmt::format("{} {} {}", name, verb, reference);
    };
    switch (one.verdict) {
        case ComparisonVerdict::below: return sentence("is below");
        case ComparisonVerdict::probably_below: return sentence("is probably below");
        case ComparisonVerdict::probably_above: return sentence("is probably above");
        case ComparisonVerdict::above: return sentence("is above");
        case ComparisonVerdict::equal: return sentence("equals");
        case ComparisonVerdict::too_close: break;
    }
    return fmt::format("{} and {} are too close to call", name, reference);
}

std::string interval_text(const Sample& sample) {
    return fmt::format("{} (95 %: {} to {})", figure_text(sample.summary.median),
                       figure_text(sample.summary.low), figure_text(sample.summary.high));
}

std::string comparison_text(const UncertaintyReport& report, const UncertaintyRow& row,
                            const Style& style) {
    const Comparison& paired = *row.figure.paired;
    const std::string name = name_of_row(row);
    std::string text =
        fmt::format("{} in {} per {}: {} is below in {} of the draws; difference {} {}",
                    verdict_text(name, reference_name(report, row), paired), spaced(row.indicator),
                    per_text(row), name, chance_text(paired.below),
                    interval_text(paired.difference), inert(row.unit));
    if (paired.ratio) text += fmt::format(", ratio {}", interval_text(*paired.ratio));
    text += ".";
    if (row.figure.unpaired) {
        const Comparison& apart = *row.figure.unpaired;
        text += fmt::format(
            " If each had draws of its own for what both rest on: below in {}, difference {}.",
            chance_text(apart.below), interval_text(apart.difference));
    }
    return paragraph(text, 2, 2, style);
}

std::string comparisons_text(const UncertaintyReport& report, const Style& style) {
    if (report.asked.against.empty()) return {};
    std::string text = "\n" + style.bold("Against " + inert(report.asked.against)) +
                       ", both under the same draws\n";
    for (const UncertaintyRow& row : report.rows) {
        if (row.figure.paired) text += comparison_text(report, row, style);
        else if (!row.against.empty())
            text += paragraph(fmt::format("{} in {} per {} is not compared with {}: {}.",
                                          name_of_row(row), spaced(row.indicator), per_text(row),
                                          reference_name(report, row), row.not_compared),
                              2, 2, style);
    }
    return text;
}

std::string notes_text(const UncertaintyReport& report, std::string_view above,
                       const Style& style) {
    const auto says = [&](std::string_view word) { return above.find(word) != std::string::npos; };
    std::vector<std::string> notes;
    notes.emplace_back(
        "The mean of the draws differs from the figure at the inputs where a spread is skewed (a "
        "value typed with ×÷ is the median) or a figure is no straight line of its inputs.");
    const bool ends = report.asked.draws.interval == IntervalKind::symmetric;
    notes.push_back(fmt::format(
        "95 %: the {} interval. Digits that hold: of the standard uncertainty, in mean{} after so "
        "many draws (JCGM 101, 7.9); more with --draws.{}",
        ends ? "symmetric" : "shortest", ends ? ", uncertainty and both ends," : " and uncertainty",
        ends ? ""
             : " The ends of the shortest interval are not judged: they settle far more slowly "
               "than these."));
    notes.emplace_back(
        "First order: the standard uncertainty by the law of propagation (GUM, 5.1.2). The draws "
        "bear its 95 % interval out or not (JCGM 101, clause 8).");
    const bool unmoved = std::ranges::any_of(report.rows, [](const UncertaintyRow& row) {
        return row.figure.sample.summary.standard_uncertainty == 0.0;
    });
    if (unmoved && report.with_spread > 0)
        notes.emplace_back(
            "A standard uncertainty of 0: what has a spread moves the figure by no more than "
            "rounding.");
    if (says("more draws")) notes.emplace_back("more draws: too few of them to judge.");
    for (std::string& note : mark_notes(above, "deckle footprint"))
        notes.push_back(std::move(note));
    for (const UncertaintyRow& row : report.rows) {
        if (!row.per.ends_with(unrounded)) continue;
        notes.push_back(
            fmt::format("Where a roll has whole sheets, figures are those of the unrounded count, "
                        "since a whole "
                        "one jumps: {}.",
                        inert(row.address)));
        break;
    }
    if (!report.asked.against.empty())
        notes.emplace_back(
            "below, above: in at least 97.5 % of the draws; probably: 90 %; else too close to "
            "call. Equal draws count half. The limits are Deckle's own.");
    std::string text = "\n" + style.bold("Notes") + "\n";
    for (const std::string& note : notes) text += paragraph(note, 2, 2, style);
    return text;
}

}  // namespace

std::string uncertainty_text(const UncertaintyReport& report, const Style& style) {
    const std::string above =
        head_text(report, style) + tables_text(report, style) + comparisons_text(report, style);
    const bool scenarios = std::ranges::any_of(report.rows, [](const UncertaintyRow& row) {
        return row.scenario != "today" || row.against.starts_with("results@");
    });
    return above + notes_text(report, above, style) +
           (scenarios ? scenario_notes(report.scenario_findings, style) : std::string());
}

}  // namespace deckle
