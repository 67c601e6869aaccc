#include "reports/difference_report.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <map>

#include "engine/text/number_text.h"
#include "reports/csv.h"
#include "reports/footprint_notes.h"
#include "reports/inert.h"
#include "reports/json_parts.h"
#include "reports/table.h"
#include "reports/words.h"

namespace deckle {
namespace {

constexpr std::size_t most_parts_shown = 20;
constexpr std::string_view rule_of_parts =
    "inputs move together along the straight line from OLD to NEW, each takes the integral of its "
    "derivative (Aumann and Shapley 1974); added ones grow from 0, dropped ones shrink to 0; "
    "method is the two calculations at equal inputs, the mean of before and after the inputs moved "
    "(Dietzenbacher and Los 1998)";

std::string words_of(DifferenceKind kind) {
    switch (kind) {
        case DifferenceKind::input_changed: return "inputs changed";
        case DifferenceKind::factor_revised: return "factors revised";
        case DifferenceKind::added: return "added";
        case DifferenceKind::dropped: return "dropped";
        case DifferenceKind::method: break;
    }
    return "method";
}

std::string signed_text(double value) {
    return (value > 0.0 ? "+" : "") + format_significant(value);
}

std::string share_text(const ResultDifference& one, double part) {
    return one.change == 0.0 ? std::string("–") : one_decimal(100.0 * part / one.change);
}

/// Sums by kind, those that occur.
std::string kinds_table(const ResultDifference& one, const Style& style) {
    std::map<DifferenceKind, double> sums;
    for (const DifferencePart& part : one.parts) sums[part.kind] += part.part;
    Table table;
    table.columns = {{{"why"}, Table::Align::text}, {{"part", inert(one.unit)}}, {{"share", "%"}}};
    for (const auto& [kind, sum] : sums)
        table.rows.push_back({words_of(kind), signed_text(sum), share_text(one, sum)});
    if (one.jumps != 0.0 && std::abs(one.jumps) > 1e-9 * one.absolute)
        table.rows.push_back(
            {"whole numbers, minima, maxima", signed_text(one.jumps), share_text(one, one.jumps)});
    table.rows.emplace_back();
    table.rows.push_back({"change", signed_text(one.change), one.change == 0.0 ? "–" : "100.0"});
    return table_text(table, style);
}

/// What was typed stands under its input: beside it, it would not fit.
std::string parts_table(const ResultDifference& one, const Style& style) {
    Table table;
    table.columns = {
        {{"input"}, Table::Align::text}, {{"part", inert(one.unit)}}, {{"share", "%"}}};
    std::size_t shown = 0;
    for (const DifferencePart& part : one.parts) {
        if (part.kind == DifferenceKind::method) continue;
        if (++shown > most_parts_shown) break;
        const auto typed = [&](const std::string& text) {
            return text.empty() ? std::string("–") : inert(text);
        };
        table.rows.push_back(
            {inert(part.address), signed_text(part.part), share_text(one, part.part)});
        table.rows.push_back(
            {fmt::format("was {}, is {}", typed(part.typed_was), typed(part.typed_now)), "", ""});
    }
    return table.rows.empty() ? std::string() : "\n" + table_text(table, style);
}

/// Whether any part goes against the change.
bool cancels(const ResultDifference& one) {
    return std::ranges::any_of(
        one.parts, [&](const DifferencePart& part) { return part.part * one.change < 0.0; });
}

std::string result_text(const ResultDifference& one, const Style& style) {
    const std::string relative =
        one.relative
            ? fmt::format(" ({}{:.2f} %)", *one.relative > 0.0 ? "+" : "", 100.0 * *one.relative)
            : std::string();
    std::string text =
        "\n" +
        style.bold(fmt::format("{}: {}, now {} {}{}", inert(one.address),
                               format_significant(one.was, 4), format_significant(one.now, 4),
                               inert(one.unit), relative)) +
        "\n";
    if (one.change == 0.0 && one.parts.empty()) text += "Nothing that it rests on changed.\n";
    else text += kinds_table(one, style) + parts_table(one, style);
    for (const std::string& note : one.notes) text += paragraph(inert(note), 2, 2, style);
    for (const DifferenceFinding& finding : one.findings)
        text += fmt::format("finding: {} [{}]\n", inert(finding.message), finding.code);
    return text;
}

Json part_json(const DifferencePart& part) {
    const auto text = [](const std::string& word) {
        return word.empty() ? Json(nullptr) : Json(word);
    };
    return {{"why", name_of(part.kind)},
            {"address", text(part.address)},
            {"address_was", text(part.address_was)},
            {"was", text(part.typed_was)},
            {"is", text(part.typed_now)},
            {"part", part.part},
            {"share", part.share}};
}

Json difference_result_json(const ResultDifference& one) {
    Json json = Json::object();
    json["address"] = one.address;
    json["unit"] = one.unit;
    json["was"] = one.was;
    json["is"] = one.now;
    json["change"] = one.change;
    json["relative"] = number_or_null(one.relative);
    json["parts"] = Json::array();
    for (const DifferencePart& part : one.parts) json["parts"].push_back(part_json(part));
    json["jumps"] = one.jumps;
    json["parts_without_sign"] = one.absolute;
    json["notes"] = one.notes;
    json["findings"] = Json::array();
    for (const DifferenceFinding& finding : one.findings)
        json["findings"].push_back({{"code", finding.code}, {"message", finding.message}});
    return json;
}

}  // namespace

std::string difference_text(const DifferenceReport& report, const Style& style) {
    const Difference& found = *report.found;
    std::string text =
        style.bold(fmt::format("{}, now {}", inert(report.old_name), inert(report.new_name))) +
        "\n" + inert(report.now->title) + "\n";
    for (const std::string& head : found.heads) text += paragraph(inert(head), 2, 2, style);
    for (const ResultDifference& one : found.results) text += result_text(one, style);
    text += "\n" + style.bold("Notes") + "\n";
    text += paragraph(fmt::format("The parts add up to the change. Rule: {}.", rule_of_parts), 2, 2,
                      style);
    if (std::ranges::any_of(found.results, cancels))
        text +=
            paragraph("Parts of opposite sign cancel: single shares may be below 0 or above 100 %.",
                      2, 2, style);
    return text;
}

std::string difference_json(const DifferenceReport& report, const std::string& program) {
    const Difference& found = *report.found;
    Json json = report_head("deckle-difference", program);
    json["old"] = study_json(*report.was);
    json["new"] = study_json(*report.now);
    json["heads"] = found.heads;
    json["rule"] = rule_of_parts;
    json["trigger"] = found.question.trigger;
    json["limit"] = found.question.limit ? Json(*found.question.limit) : Json(nullptr);
    json["results"] = Json::array();
    for (const ResultDifference& one : found.results)
        json["results"].push_back(difference_result_json(one));
    return json_text(json);
}

std::string difference_csv(const DifferenceReport& report) {
    std::string text =
        csv_line({"result", "why", "address", "address_was", "was", "is", "part", "share", "unit"});
    for (const ResultDifference& one : report.found->results) {
        for (const DifferencePart& part : one.parts)
            text += csv_line({csv_text(one.address), csv_text(name_of(part.kind)),
                              csv_text(part.address), csv_text(part.address_was),
                              csv_text(part.typed_was), csv_text(part.typed_now),
                              csv_number(part.part), csv_number(part.share), csv_text(one.unit)});
        text += csv_line({csv_text(one.address), "jumps", "", "", "", "", csv_number(one.jumps), "",
                          csv_text(one.unit)});
        text += csv_line({csv_text(one.address), "change", "", "", csv_number(one.was),
                          csv_number(one.now), csv_number(one.change), "", csv_text(one.unit)});
    }
    return text;
}

}  // namespace deckle
