#include "reports/spot_check_report.h"

#include <fmt/format.h>

#include <cmath>

#include "engine/text/number_text.h"
#include "reports/csv.h"
#include "reports/footprint_notes.h"
#include "reports/inert.h"
#include "reports/json_parts.h"
#include "reports/table.h"

namespace deckle {
namespace {

std::string plural_of(SpotKind kind) {
    switch (kind) {
        case SpotKind::input: return "Inputs of mills and products";
        case SpotKind::factor: return "Lines of factors and prices";
        case SpotKind::weight: break;
    }
    return "Warming potentials and scarcity";
}

std::string spot_text(const Spot& spot, const Study& study, const Style& style) {
    const std::string where = study.files.where(study.graph.origin(spot.input->node).place);
    std::string text =
        fmt::format("  [ ] {}  {:.1f} %\n", style.bold(inert(spot.address)), 100.0 * spot.weight);
    const auto line = [&](std::string_view what, const std::string& words) {
        if (!words.empty())
            text += paragraph(fmt::format("{}: {}", what, inert(words)), 6, 2, style);
    };
    line("typed", study.graph.text_of(spot.input->typed));
    line("at", where);
    line("document", spot.document.empty() ? "not stated" : spot.document);
    line("enters", spot.enters);
    text += "      found: ____________\n";
    return text;
}

std::string spots_text(const SpotCheck& check, const Study& study, const Style& style) {
    std::string text;
    for (const SpotKind kind : {SpotKind::input, SpotKind::factor, SpotKind::weight}) {
        std::string list;
        for (const Spot& spot : check.spots) {
            if (!spot.drawn && spot.kind == kind) list += spot_text(spot, study, style);
        }
        if (!list.empty()) text += "\n" + style.bold(plural_of(kind)) + "\n" + list;
    }
    std::string drawn;
    for (const Spot& spot : check.spots) {
        if (spot.drawn) drawn += spot_text(spot, study, style);
    }
    if (drawn.empty()) return text;
    return text + "\n" + style.bold(fmt::format("Drawn at random, seed {}", check.question.seed)) +
           "\n" + drawn;
}

std::string percent_text(double share) {
    return fmt::format("{:.3f}", share == 0.0 ? 0.0 : 100.0 * share);
}

std::string signed_moves(double value) {
    return (value > 0.0 ? "+" : "") + format_significant(value);
}

std::string deviation_rows(const Deviations& one, const Style& style) {
    const auto share = [&](double moves) {
        return one.value == 0.0 ? std::string("–") : percent_text(moves / std::abs(one.value));
    };
    using Align = Table::Align;
    Table table;
    table.columns = {{{"input"}, Align::text},
                     {{"typed"}},
                     {{"found"}},
                     {{"unit"}, Align::text},
                     {{"moves", inert(one.asked.result->unit)}},
                     {{"share", "%"}}};
    for (const Deviation& row : one.rows)
        table.rows.push_back({inert(row.address), shortest(row.value), shortest(row.found),
                              inert(row.unit), signed_moves(row.moves), share(row.moves)});
    table.rows.emplace_back();
    const auto sum = [&](const char* words, double moves) {
        table.rows.push_back({words, "", "", "", signed_moves(moves), share(moves)});
    };
    sum("sum with sign", one.with_sign);
    sum("sum without sign", one.without_sign);
    sum("all as found at once", one.together);
    return table_text(table, style);
}

/// What the rows leave open.
std::string row_notes(const Deviations& one, const Style& style) {
    std::string text;
    if (one.blank > 0)
        text += paragraph(fmt::format("{} of {} rows are blank under found: they count as found as "
                                      "typed.",
                                      one.blank, one.blank + one.rows.size()),
                          0, 2, style);
    for (const std::string& since : one.typed_since)
        text +=
            paragraph("Typed otherwise since the sample was drawn: " + inert(since), 0, 2, style);
    return text;
}

Json spot_json(const Spot& spot, const Study& study) {
    const auto text = [](const std::string& word) {
        return word.empty() ? Json(nullptr) : Json(word);
    };
    Json json = input_head_json(study, *spot.input, spot.address);
    json["kind"] = name_of(spot.kind);
    json["chosen"] = spot.drawn ? "random" : "largest";
    json["value"] = spot.value;
    json["unit"] = spot.unit;
    json["elasticity"] = spot.elasticity;
    json["weight"] = spot.weight;
    json["document"] = text(spot.document);
    json["page"] = text(spot.page);
    json["enters"] = text(spot.enters);
    json["at"] = place_json(study.graph.origin(spot.input->node).place, study.files);
    json["found"] = nullptr;
    return json;
}

}  // namespace

std::string spot_check_text(const SpotCheck& check, const Study& study, const Style& style) {
    std::string text =
        style.bold(fmt::format("{}: {} {}", inert(check.asked.address), shortest(check.value),
                               inert(check.asked.result->unit))) +
        "\n";
    text += paragraph(
        fmt::format("{} of {} inputs: the fewest that make up {} % of each list, and {} at random.",
                    check.spots.size(), check.inputs_in_all, shortest(100.0 * check.question.share),
                    check.question.random),
        0, 0, style);
    text += spots_text(check, study, style);
    text += "\n" + style.bold("Notes") + "\n";
    return text + paragraph(
                      "%: of its list, by elasticity without sign: by how many % the result moves "
                      "for 1 % of the input. With --format csv the column found can be filled in; "
                      "deckle check --found then sums what it comes to.",
                      2, 2, style);
}

std::string spot_check_json(const SpotCheck& check, const Study& study,
                            const std::string& program) {
    Json json = report_head("deckle-sample", program);
    json["study"] = study_json(study.head);
    json["result"] = asked_json(study, check.asked, check.value);
    json["share"] = check.question.share;
    json["random"] = check.question.random;
    json["seed"] = check.question.seed;
    json["inputs_in_all"] = check.inputs_in_all;
    json["sample"] = Json::array();
    for (const Spot& spot : check.spots) json["sample"].push_back(spot_json(spot, study));
    return json_text(json);
}

std::string spot_check_csv(const SpotCheck& check, const Study& study) {
    std::string text =
        csv_line({"result", "chosen", "kind", "address", "title", "typed", "value", "unit",
                  "weight", "document", "page", "file", "line", "enters", "found"});
    for (const Spot& spot : check.spots) {
        const Place place = study.graph.origin(spot.input->node).place;
        text += csv_line(
            {csv_text(check.asked.address),
             spot.drawn ? fmt::format("random with seed {}", check.question.seed) : "largest",
             csv_text(name_of(spot.kind)), csv_text(spot.address), csv_text(spot.title),
             csv_text(study.graph.text_of(spot.input->typed)), csv_number(spot.value),
             csv_text(spot.unit), csv_number(spot.weight), csv_text(spot.document),
             csv_text(spot.page),
             place.known() ? csv_text(study.files.at(place.file).path) : std::string(),
             place.known() ? fmt::format("{}", place.line) : std::string(), csv_text(spot.enters),
             ""});
    }
    return text;
}

std::string deviations_text(const std::vector<Deviations>& all, const Style& style) {
    const bool none =
        std::ranges::all_of(all, [](const Deviations& one) { return one.rows.empty(); });
    if (none) return "Nothing was filled in under found.\n";
    std::string text;
    for (const Deviations& one : all) {
        text += (text.empty() ? "" : "\n") +
                style.bold(fmt::format("{}: {} {}", inert(one.asked.address),
                                       format_significant(one.value, 6),
                                       inert(one.asked.result->unit))) +
                "\n" + deviation_rows(one, style);
        if (one.limit)
            text += fmt::format(
                "{} the limit of {} %{}\n", one.above_limit() ? "finding: above" : "Within",
                shortest(100.0 * *one.limit), one.above_limit() ? " [above-limit]" : "");
        text += row_notes(one, style);
    }
    return text;
}

std::string deviations_json(const std::vector<Deviations>& all, const Study& study,
                            const std::string& program) {
    Json json = report_head("deckle-deviations", program);
    json["study"] = study_json(study.head);
    json["results"] = Json::array();
    for (const Deviations& one : all) {
        Json rows = Json::array();
        for (const Deviation& row : one.rows)
            rows.push_back({{"address", row.address},
                            {"value", row.value},
                            {"found", row.found},
                            {"unit", row.unit},
                            {"moves", row.moves},
                            {"share", row.share}});
        json["results"].push_back({{"result", asked_json(study, one.asked, one.value)},
                                   {"deviations", std::move(rows)},
                                   {"with_sign", one.with_sign},
                                   {"without_sign", one.without_sign},
                                   {"together", one.together},
                                   {"blank", one.blank},
                                   {"typed_since", one.typed_since},
                                   {"limit", one.limit ? Json(*one.limit) : Json(nullptr)},
                                   {"above_limit", one.above_limit()}});
    }
    return json_text(json);
}

std::string deviations_csv(const std::vector<Deviations>& all) {
    std::string text = csv_line({"result", "address", "value", "found", "unit", "moves", "share"});
    const auto sum = [&](const Deviations& one, const char* words, double moves) {
        text += csv_line({csv_text(one.asked.address), words, "", "",
                          csv_text(one.asked.result->unit), csv_number(moves),
                          csv_number(one.value == 0.0 ? 0.0 : moves / std::abs(one.value))});
    };
    for (const Deviations& one : all) {
        for (const Deviation& row : one.rows)
            text += csv_line({csv_text(one.asked.address), csv_text(row.address),
                              csv_number(row.value), csv_number(row.found), csv_text(row.unit),
                              csv_number(row.moves), csv_number(row.share)});
        sum(one, "sum with sign", one.with_sign);
        sum(one, "sum without sign", one.without_sign);
        sum(one, "all as found at once", one.together);
    }
    return text;
}

}  // namespace deckle
