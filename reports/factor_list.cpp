#include "reports/factor_list.h"

#include <fmt/format.h>

#include <algorithm>

#include "engine/text/nearest.h"
#include "reports/csv.h"
#include "reports/inert.h"
#include "reports/json_parts.h"
#include "reports/table.h"
#include "reports/words.h"

namespace deckle {
namespace {

std::string kind_of(const Factor& factor) {
    return factor.kind == nullptr ? std::string() : std::string(factor.kind->name);
}

std::string per_of(const Factor& factor) {
    return factor.per ? factor.per->scalar.text : std::string();
}

/// "climate.fossil", "releases.co2_fossil", "fibre".
std::string name_of(const FactorEntry& entry) {
    return entry.key.empty() ? entry.group : fmt::format("{}.{}", entry.group, entry.key);
}

/// What it states in one of `groups`, else in all: "fossil 0.196 kg, biogenic 0 kg".
std::string stated_text(const Factor& factor, bool climate_alone) {
    std::vector<std::string> parts;
    for (const FactorEntry& entry : factor.entries) {
        const bool climate = entry.group == "climate" || entry.group == "releases";
        if (climate_alone && !climate) continue;
        parts.push_back(
            fmt::format("{} {}", climate_alone && !entry.key.empty() ? entry.key : name_of(entry),
                        entry.stated.scalar.text));
    }
    return fmt::format("{}", fmt::join(parts, ", "));
}

std::string brings_text(const Factor& factor) {
    std::vector<std::string> parts;
    for (const Brought& one : factor.brings)
        parts.push_back(fmt::format("{} {}", one.factor, one.stated.scalar.text));
    return fmt::format("{}", fmt::join(parts, ", "));
}

/// The climate line as typed, and what comes along.
std::string climate_text(const Factor& factor) {
    const std::string stated = stated_text(factor, true), brings = brings_text(factor);
    const std::string along = brings.empty() ? std::string() : "brings " + brings;
    return inert(stated.empty() || along.empty() ? stated + along : stated + "; " + along);
}

void require_kinds(const FactorQuestion& question) {
    std::vector<std::string> known;
    for (const KindRow& row : all_kinds()) known.emplace_back(row.name);
    for (const std::string& kind : question.kinds) {
        if (holds(known, kind)) continue;
        const std::string near = did_you_mean(kind, known);
        refuse_question("unknown-kind", fmt::format("there is no kind {}", inert(kind)),
                        near.empty() ? fmt::format("known: {}", fmt::join(known, ", ")) : near);
    }
}

bool fits(const Factor& factor, const FactorQuestion& question) {
    const bool of_kind = question.kinds.empty() || holds(question.kinds, kind_of(factor));
    return of_kind && std::ranges::all_of(question.words, [&](const std::string& word) {
               return factor.is_about(word);
           });
}

std::string table_of(const FactorTable& table, const std::vector<const Factor*>& factors,
                     const Style& style) {
    using Align = Table::Align;
    Table shown;
    shown.columns = {{{"id"}, Align::text},     {{"kind"}, Align::text},
                     {{"per"}, Align::text},    {{"climate, as typed"}, Align::text},
                     {{"region"}, Align::text}, {{"title"}, Align::text}};
    for (const Factor* factor : factors)
        shown.rows.push_back({inert(factor->id), kind_of(*factor), inert(per_of(*factor)),
                              climate_text(*factor), inert(factor->region), inert(factor->title)});
    return heading(fmt::format("{}: {}", inert(table.id), inert(table.title)), style) +
           paragraph(inert(table.source.text()), 2, 2, style) + table_text(shown, style);
}

Json factor_json(const Factor& factor, const Files& files) {
    Json json = Json::object();
    json["address"] = factor.address();
    json["table"] = factor.table;
    json["id"] = factor.id;
    json["title"] = text_or_null(factor.title);
    json["kind"] = text_or_null(kind_of(factor));
    json["per"] = text_or_null(per_of(factor));
    json["region"] = text_or_null(factor.region);
    json["reference_period"] = text_or_null(factor.reference_period);
    json["valid"] = text_or_null(factor.valid);
    json["states"] = Json::array();
    for (const FactorEntry& entry : factor.entries)
        json["states"].push_back({{"what", name_of(entry)}, {"typed", entry.stated.scalar.text}});
    json["brings"] = Json::array();
    for (const Brought& one : factor.brings)
        json["brings"].push_back({{"factor", one.factor}, {"typed", one.stated.scalar.text}});
    json["confirmed"] = factor.confirmed;
    json["source"] = text_or_null(factor.source.text());
    json["note"] = text_or_null(factor.note);
    json["at"] = place_json(factor.place, files);
    return json;
}

}  // namespace

FactorList list_factors(const StudyModel& model, const Files& files,
                        const FactorQuestion& question) {
    require_kinds(question);
    FactorList list{&model, &files, {}};
    for (const FactorTable& table : model.tables.factors) {
        for (const Factor& factor : table.factors) {
            if (fits(factor, question)) list.factors.push_back(&factor);
        }
    }
    if (list.factors.empty()) {
        refuse_question("unknown-factor", "no factor of this study fits",
                        "every word stands in the id, the title or the kind; without words all "
                        "factors are listed");
    }
    return list;
}

std::string factor_list_text(const FactorList& list, const Style& style) {
    std::string text =
        style.bold(inert(list.model->title.empty() ? list.model->id : list.model->title)) + "\n";
    text += fmt::format("{} factor{}\n", list.factors.size(), list.factors.size() == 1 ? "" : "s");
    for (const FactorTable& table : list.model->tables.factors) {
        std::vector<const Factor*> factors;
        for (const Factor* factor : list.factors) {
            if (factor->table == table.id) factors.push_back(factor);
        }
        if (!factors.empty()) text += table_of(table, factors, style);
    }
    return text + heading("Notes", style) +
           paragraph(
               "As typed in the tables. A use takes the id of a factor, or TABLE.ID where several "
               "tables have it; deckle trace STUDY TABLE.ID... shows one that is used.",
               2, 2, style);
}

std::string factor_list_json(const FactorList& list, std::string_view program) {
    Json json = report_head("deckle-factors", program);
    json["study"] = list.model->id;
    json["factors"] = Json::array();
    for (const Factor* factor : list.factors)
        json["factors"].push_back(factor_json(*factor, *list.files));
    return json_text(json);
}

std::string factor_list_csv(const FactorList& list) {
    std::string text =
        csv_line({"address", "title", "kind", "per", "region", "reference_period", "valid",
                  "states", "brings", "confirmed", "source", "note", "file", "line"});
    for (const Factor* factor : list.factors) {
        const Place place = factor->place;
        text += csv_line({csv_text(factor->address()), csv_text(factor->title), kind_of(*factor),
                          csv_text(per_of(*factor)), csv_text(factor->region),
                          csv_text(factor->reference_period), csv_text(factor->valid),
                          csv_text(stated_text(*factor, false)), csv_text(brings_text(*factor)),
                          factor->confirmed ? "yes" : "no", csv_text(factor->source.text()),
                          csv_text(factor->note),
                          place.known() ? csv_text(list.files->at(place.file).path) : std::string(),
                          place.known() ? fmt::format("{}", place.line) : std::string()});
    }
    return text;
}

}  // namespace deckle
