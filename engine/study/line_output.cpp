#include "engine/study/line_output.h"

#include <fmt/format.h>

#include <optional>
#include <set>

#include "engine/study/flows.h"
#include "engine/study/results.h"
#include "engine/text/nearest.h"

namespace deckle {
namespace {

const ConsumerNodes* consumer_of(const Stage& stage, const std::string& id) {
    for (const auto& nodes : stage.assembly.product_nodes) {
        if (nodes->product->id == id) return nodes.get();
    }
    return nullptr;
}

/// gross × time efficiency × (1 − broke) [t].
Measure net_per_day(Stage& stage, const Line& line) {
    const Measure gross = stage.build.input(*line.gross);
    const auto day = stage.build.in_unit(gross, known_unit("t/d"), line.gross->place());
    if (!day) {
        stage.problems.add(line.gross->place(), "wrong-unit",
                           fmt::format("the gross output of a line is mass per time, found {}",
                                       gross.unit.dimension.text()),
                           "for example 200 t/d");
        return {};
    }
    Measure net{day->node, known_unit("t")};
    if (line.time_efficiency) {
        const Measure share = stage.build.ratio(stage.build.input(*line.time_efficiency),
                                                line.time_efficiency->place());
        net.node = stage.build.multiply(net, share, "gross × time efficiency", line.place).node;
    }
    if (line.broke) {
        const Measure broke =
            stage.build.ratio(stage.build.input(*line.broke), line.broke->place());
        const Measure kept = stage.build.subtract(stage.build.constant(1.0, "", "1", line.place),
                                                  broke, "1 − broke", line.place);
        net.node = stage.build.multiply(net, kept, "net of broke", line.place).node;
    }
    return net;
}

/// A line in making: what it makes, per day and year on whole sheets or on the unrounded count.
struct Running {
    const Line& line;
    Subject& subject;
    NodeId days;
    std::string suffix;  ///< of day and year: "" or "_unrounded"
};

/// What is counted: its id in addresses, its title and unit for print, and where it is typed.
struct Counted {
    std::string what, title, unit;
    Place place;
    std::string source;  ///< of an equivalent
};

/// One count of a line per day and per year, each a named node.
void add_count(Stage& stage, const Running& run, const Counted& counted, NodeId day) {
    const NodeId year = stage.graph().make(
        Operation::product, {day, run.days}, stage.build.text(counted.unit),
        stage.build.origin(run.line.place, fmt::format("{} × days of a year", counted.title)));
    for (const auto& [per, node] : {std::pair("day", day), std::pair("year", year)}) {
        const std::string named = per + run.suffix;
        const std::string address =
            name_result(stage, node, {run.line.id, named, counted.what}, counted.place);
        if (address.empty()) continue;
        run.subject.counts.push_back(
            {named, counted.what, counted.title, counted.unit, address, node, counted.source});
    }
}

/// Packs, cases: pieces ÷ how many each level holds.
void add_levels(Stage& stage, const Running& run, const ConsumerNodes& consumer, NodeId pieces) {
    NodeId inside = pieces;
    for (const PackingLevel& level : consumer.product->packed) {
        inside = stage.graph().make(
            Operation::quotient, {inside, stage.build.input(level.holds).node},
            stage.build.text(level.name),
            stage.build.origin(level.place,
                               fmt::format("{}s = what they hold ÷ its number", level.name)));
        add_count(stage, run, {level.name, level.name, level.name, level.place, {}}, inside);
    }
}

/// Amounts of a line in a day, by name: what it makes, and its indicators.
std::vector<std::pair<std::string, Measure>> measured(const Stage& stage, const Running& run) {
    const std::string day = "day" + run.suffix;
    std::vector<std::pair<std::string, Measure>> all;
    for (const Subject::Count& count : run.subject.counts) {
        if (count.per == day)
            all.emplace_back(count.what,
                             Measure{count.node, known_unit(count.what == "t" ? "t" : "piece")});
    }
    for (IndicatorId id = 0; id < stage.indicators.count(); ++id) {
        const Result* result = stage.result(run.line.id, day, id);
        if (result == nullptr) continue;
        const auto unit = parse_unit(result->unit);
        if (unit.unit)
            all.emplace_back(stage.indicators.at(id).id, Measure{result->node, *unit.unit});
    }
    return all;
}

/// The length that a ratio counts in: the km of "6 km/kg CO2e".
Unit length_of(const Unit& ratio) {
    const auto typed = parse_unit(std::string_view(ratio.text).substr(0, ratio.text.find('/')));
    const Unit metre = known_unit("m");
    return typed.unit && typed.unit->dimension == metre.dimension ? *typed.unit : metre;
}

/// A number of pieces, a plain number or a length; nullopt for anything else.
std::optional<Measure> number_or_length(Stage& stage, const Measure& amount, const Unit& ratio,
                                        Place place) {
    for (const Unit& unit : {known_unit("piece"), plain_unit(), length_of(ratio)}) {
        if (const auto found = stage.build.in_unit(amount, unit, place)) return found;
    }
    return std::nullopt;
}

/// Plain equivalents of what a line makes or of an indicator, by a ratio that has a source.
/// `known` collects what an equivalent can be of.
void add_equivalents(Stage& stage, const Running& run, std::set<std::string>& known) {
    const auto all = measured(stage, run);
    for (const auto& [what, amount] : all) known.insert(what);
    for (const Equivalent& one : stage.model.equivalents) {
        const auto of = std::ranges::find_if(all, [&](const auto& m) { return m.first == one.of; });
        if (of == all.end()) continue;
        const Measure ratio = stage.build.input(one.ratio, {}, one.ratio.source.text());
        const auto number =
            number_or_length(stage, stage.build.multiply(of->second, ratio, one.title, one.place),
                             ratio.unit, one.place);
        if (!number) {
            stage.problems.add(one.ratio.place(), "wrong-unit",
                               fmt::format("{} × {} is no number of pieces and no length",
                                           of->second.unit.text, ratio.unit.text),
                               fmt::format("for example 14 piece/{}", of->second.unit.text));
            continue;
        }
        add_count(stage, run,
                  {one.id, one.title.empty() ? one.id : one.title, number->unit.text, one.place,
                   one.ratio.source.text()},
                  number->node);
    }
}

/// An equivalent of something that no line has would stand nowhere.
void check_equivalents(Stage& stage, const std::set<std::string>& known) {
    const std::vector<std::string> names(known.begin(), known.end());
    for (const Equivalent& one : stage.model.equivalents) {
        if (known.contains(one.of)) continue;
        const std::string near = did_you_mean(one.of, names);
        stage.problems.add(one.of_place, "unknown-word",
                           fmt::format("no line has {} in a day", one.of),
                           !near.empty()   ? near
                           : names.empty() ? "an equivalent is of what a line makes: add a line"
                                           : fmt::format("known: {}", fmt::join(names, ", ")));
    }
}

struct LineParts {
    Subject* made;
    const ConsumerNodes* consumer;  ///< nullptr for a line that makes a sheet
};

/// What a line makes; nullopt, reported, when there is none.
std::optional<LineParts> parts_of(const Stage& stage, const Line& line) {
    if (stage.subject(line.id) != nullptr) {
        stage.problems.add(line.place, "duplicate-id",
                           fmt::format("{} is a product already", line.id), "choose another id");
        return std::nullopt;
    }
    const LineParts parts{stage.subject(line.of), consumer_of(stage, line.of)};
    if (parts.made != nullptr && (parts.consumer != nullptr || listed(parts.made->pers, "t")))
        return parts;
    stage.problems.add(line.of_place, "unknown-product",
                       fmt::format("no sheet or product is called {}", line.of),
                       did_you_mean(line.of, stage.subject_ids()));
    return std::nullopt;
}

/// Each indicator of a flow of a day, per day and per year.
void add_day_and_year(Stage& stage, const Running& run, const Flow& flow) {
    for (const auto& [id, views] : times_amount(stage, flow, "made in a day")) {
        add_result(stage, run.subject, "day" + run.suffix, id, views, flow.place);
        Views year{};
        for (std::size_t view = 0; view < view_count; ++view)
            year[view] =
                stage.graph().make(Operation::product, {views[view], run.days},
                                   stage.build.text(stage.indicators.at(id).unit),
                                   stage.build.origin(flow.place, "per day × days of a year"));
        add_result(stage, run.subject, "year" + run.suffix, id, year, flow.place);
    }
    for (const char* per : {"day", "year"}) run.subject.pers.push_back(per + run.suffix);
}

/// Pieces of `mass` [t] that `net` [t] comes to, with the levels they are packed in; their flow.
Flow add_pieces(Stage& stage, const Running& run, const LineParts& parts, const Measure& net,
                const Measure& mass) {
    const ConsumerNodes& consumer = *parts.consumer;
    const Measure pieces =
        stage.build.divide(net, mass, "pieces = net tonnes ÷ tissue in one", run.line.place);
    const std::string& piece = consumer.piece_name;
    add_count(stage, run, {piece, piece, piece, run.line.place, {}}, pieces.node);
    add_levels(stage, run, consumer, pieces.node);
    return {parts.made, consumer.piece_name + run.suffix, pieces.node, run.line.place};
}

void add_line(Stage& stage, const Line& line, std::set<std::string>& known) {
    const auto parts = parts_of(stage, line);
    if (!parts) return;
    const Measure net = net_per_day(stage, line);
    if (!net.known()) return;
    const Measure days = stage.build.ratio(stage.build.input(*line.days), line.days->place());
    if (!days.known()) return;
    Subject subject;
    subject.id = line.id;
    subject.title = line.title.empty() ? "line that makes " + line.of : line.title;
    subject.kind = Subject::Kind::line;
    subject.place = line.place;
    const auto run_on = [&](const std::string& suffix, const Measure& mass) {
        const Running run{line, subject, days.node, suffix};
        add_count(stage, run, {"t", "t", "t", line.place, {}}, net.node);
        Flow flow{parts->made, "t", net.node, line.place};
        if (parts->consumer != nullptr) flow = add_pieces(stage, run, *parts, net, mass);
        add_day_and_year(stage, run, flow);
        add_equivalents(stage, run, known);
    };
    run_on("", parts->consumer == nullptr ? Measure{} : parts->consumer->tissue_mass);
    if (parts->consumer != nullptr && parts->consumer->exact_mass.known())
        run_on(std::string(unrounded), parts->consumer->exact_mass);
    stage.subjects.push_back(std::move(subject));
}

}  // namespace

void add_line_results(Stage& stage) {
    std::set<std::string> known;
    for (const Line& line : stage.model.lines) {
        if (line.gross && line.days) add_line(stage, line, known);
    }
    if (stage.problems.empty()) check_equivalents(stage, known);
}

}  // namespace deckle
