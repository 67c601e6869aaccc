#include <fmt/format.h>

#include <algorithm>
#include <map>

#include "engine/text/number_text.h"
#include "reports/compare_report.h"
#include "reports/footprint.h"
#include "reports/inert.h"
#include "reports/scenario_text.h"
#include "reports/table.h"
#include "reports/words.h"

namespace deckle {
namespace {

constexpr std::size_t count_head_width = 14;
constexpr std::string_view mean_label = "mean of the references";

bool one_product(const Compared& compared) {
    return std::ranges::all_of(
        compared.rows, [&](const ComparedRow& row) { return row.of == compared.rows.front().of; });
}

/// The scenario where only scenarios differ, the product where only products do, and of one row.
std::string label(const Compared& compared, const ComparedRow& row) {
    std::string name = name_of_row(row);
    if (compared.rows.size() > 1 && one_product(compared))
        name = row.scenario.empty() ? "today" : row.scenario;
    return inert(name) + (row.is_reference ? " (reference)" : "");
}

/// A figure that is not whole bears the mark of how it can still move.
std::string figure_text(const Compared& compared, const ComparedFigure& figure) {
    if (figure.result == nullptr || figure.result->coverage == Coverage::not_covered)
        return std::string(absent);
    const Bound bound = bound_of(*compared.study, *figure.result);
    return std::string(mark_of(bound)) + format_significant(figure.value);
}

/// Indicators that some row has a figure for.
std::vector<std::size_t> shown_indicators(const Compared& compared) {
    std::vector<std::size_t> shown;
    for (std::size_t i = 0; i < compared.indicators.size(); ++i) {
        if (std::ranges::any_of(compared.rows, [&](const ComparedRow& row) {
                const Result* result = row.figures[i].result;
                return result != nullptr && result->coverage != Coverage::not_covered;
            }))
            shown.push_back(i);
    }
    return shown;
}

bool has_percents(const Compared& compared) {
    return std::ranges::any_of(compared.rows, [](const ComparedRow& row) {
        return std::ranges::any_of(row.figures, [](const ComparedFigure& figure) {
            return figure.percent_apart.has_value();
        });
    });
}

std::string figures_table(const Compared& compared, const Style& style) {
    Table table;
    table.columns.push_back({{""}, Table::Align::text});
    const auto shown = shown_indicators(compared);
    const bool one_set = compared.rules_differ.empty();
    const bool with_index = one_set && compared.rows.size() > 1;
    const bool with_percent = has_percents(compared);
    for (const std::size_t i : shown) {
        const Indicator& indicator = *compared.indicators[i];
        table.columns.push_back({{spaced(indicator.id), inert(indicator.unit)}});
        if (with_index)
            table.columns.push_back(
                {{"index of", spaced(indicator.id)}, Table::Align::number, true});
        if (with_percent)
            table.columns.push_back({{"difference", "%"}, Table::Align::number, true});
    }
    const auto add = [&](const std::string& name, const ComparedRow& row) {
        std::vector<std::string> cells{name};
        for (const std::size_t i : shown) {
            const ComparedFigure& figure = row.figures[i];
            cells.push_back(figure_text(compared, figure));
            if (with_index)
                cells.push_back(figure.index ? one_decimal(*figure.index) : std::string(absent));
            if (with_percent)
                cells.push_back(figure.percent_apart ? one_decimal(*figure.percent_apart, true)
                                                     : std::string(absent));
        }
        table.rows.push_back(std::move(cells));
    };
    for (const ComparedRow& row : compared.rows) add(label(compared, row), row);
    if (compared.mean) add(std::string(mean_label), *compared.mean);
    return table_text(table, style);
}

/// Scope 1 and 3 stand once where the views of electricity do not differ in them.
std::string scopes_table(const Compared& compared, const Style& style) {
    Table table;
    table.columns.push_back({{""}, Table::Align::text});
    for (const std::string_view head : {"scope 1", "scope 2", "scope 2", "scope 3", "scope 3"}) {
        const std::size_t n = table.columns.size();
        const std::string view = n == 1 ? "" : (n % 2 == 0 ? "location" : "market");
        table.columns.push_back({{std::string(head), view, "kg CO2e"}});
    }
    for (const ComparedRow& row : compared.rows) {
        table.rows.push_back(
            {label(compared, row), format_significant(row.location[0]),
             format_significant(row.location[1]), format_significant(row.market[1]),
             format_significant(row.location[2]), format_significant(row.market[2])});
    }
    return heading("Climate by scope", style) + table_text(table, style);
}

std::string currency_of(const Compared& compared) {
    const auto found =
        std::ranges::find(compared.study->indicators, Indicators::cost, &Indicator::id);
    return found == compared.study->indicators.end() ? std::string("money") : found->unit;
}

std::string scenario_text(const std::string& scenario) {
    return scenario.empty() ? "today" : inert(scenario);
}

std::string or_absent(const std::optional<double>& value, std::string_view mark = "") {
    return value ? std::string(mark) + format_significant(*value) : std::string(absent);
}

std::string_view view_text(ElectricityView view) {
    return view == ElectricityView::market ? "market-based" : "location-based";
}

/// Which measures avoid nothing in the view that their costs are told in, or only there.
std::string avoided_notes(const Compared& compared, const Style& style) {
    const bool market = compared.view == ElectricityView::market;
    std::vector<std::string> nothing, elsewhere, only_here;
    for (const ComparedRow& row : compared.rows) {
        if (!row.step || !row.step->cost || !row.step->climate) continue;
        const StepCost& step = *row.step;
        const bool other_avoids = (market ? *step.location : *step.market) < 0.0;
        if (step.per_tonne_avoided && !other_avoids) only_here.push_back(label(compared, row));
        if (!step.per_tonne_avoided)
            (other_avoids ? elsewhere : nothing).push_back(label(compared, row));
    }
    std::string text;
    const std::string_view view = view_text(compared.view);
    const auto say = [&](const std::vector<std::string>& rows, const std::string& words) {
        if (!rows.empty()) text += paragraph(listing(rows) + ": " + words, 0, 2, style);
    };
    const std::string shows =
        fmt::format("--electricity {} shows the other view.", market ? "location" : "market");
    say(nothing, "nothing is avoided, so no cost of it.");
    say(elsewhere, fmt::format("nothing is avoided in the {} view; {}", view, shows));
    say(only_here, fmt::format("avoided in the {} view alone; {}", view, shows));
    return text;
}

/// The indicator that steps count cost by; "" without one.
std::string cost_of_steps(const Compared& compared) {
    for (const ComparedRow& row : compared.rows) {
        if (row.step && !row.step->cost_of.empty()) return row.step->cost_of;
    }
    return {};
}

/// Indicators whose change stands beside those of climate and of what costs are counted by.
std::vector<std::size_t> changes_shown(const Compared& compared) {
    std::vector<std::size_t> shown = shown_indicators(compared);
    const std::string cost = cost_of_steps(compared);
    std::erase_if(shown, [&](std::size_t i) {
        return compared.indicators[i]->id == "climate" || compared.indicators[i]->id == cost;
    });
    return shown;
}

/// What is not in the changes beside climate and cost: a sentence a reason, with its rows.
std::string change_notes(const Compared& compared, const Style& style) {
    std::vector<std::pair<std::string, std::vector<std::string>>> rows_of;
    for (const std::size_t i : changes_shown(compared)) {
        const std::string of = spaced(compared.indicators[i]->id);
        for (const ComparedRow& row : compared.rows) {
            if (!row.step || row.step->changes[i].lacks.empty()) continue;
            const StepChange& change = row.step->changes[i];
            const std::string lacks = listing(change.lacks);
            const std::string why =
                change.value
                    ? fmt::format(
                          "≈ of {} leaves out what is not covered and used in another "
                          "amount: {}.",
                          of, lacks)
                    : fmt::format("no change of {}, since what is not covered differs: {}.", of,
                                  lacks);
            auto said = std::ranges::find(rows_of, why, [](const auto& one) { return one.first; });
            if (said == rows_of.end()) said = rows_of.insert(said, {why, {}});
            said->second.push_back(label(compared, row));
        }
    }
    std::string text;
    for (const auto& [why, rows] : rows_of)
        text += paragraph(listing(rows) + ": " + why, 0, 2, style);
    return text;
}

/// What a row brings along or stands instead of, and what no change was found for.
std::string step_notes(const Compared& compared, const Style& style) {
    std::string text;
    const auto say = [&](const std::string& note) { text += paragraph(note, 0, 2, style); };
    for (const ComparedRow& row : compared.rows) {
        if (!row.step) continue;
        const StepCost& step = *row.step;
        const std::string name = label(compared, row);
        if (!row.bundles.empty())
            say(fmt::format("{} brings along {}.", name, listing(row.bundles)));
        if (!step.instead.empty())
            say(fmt::format("{} stands in place of {}.", name, listing(step.instead)));
        if (!step.climate)
            say(fmt::format("{}: no change of climate, since what is not covered differs: {}.",
                            name, listing(step.climate_lacks)));
        else if (!step.climate_lacks.empty())
            say(fmt::format("{}: ≈ leaves out what is not covered and used in another amount: {}.",
                            name, listing(step.climate_lacks)));
        if (!row.apart_from.empty())
            say(fmt::format("{} is not counted on top of {}: their changes are not to be added.",
                            name, listing(row.apart_from)));
        if (!step.cost_lacks.empty())
            say(
                fmt::format("{}: no change of cost, since what is used in another amount has no "
                            "price: {}.",
                            name, listing(step.cost_lacks)));
    }
    return text;
}

std::string steps_table(const Compared& compared, const Style& style) {
    if (std::ranges::none_of(compared.rows,
                             [](const ComparedRow& row) { return row.step.has_value(); }))
        return {};
    const std::string money = inert(currency_of(compared));
    Table table;
    table.leading = 2;
    table.columns.push_back({{""}, Table::Align::text});
    table.columns.push_back({{"against"}, Table::Align::text});
    for (const std::string_view view : {"location", "market"})
        table.columns.push_back({{"change of", "climate", std::string(view), "kg CO2e"}});
    const std::vector<std::size_t> others = changes_shown(compared);
    for (const std::size_t i : others) {
        const Indicator& indicator = *compared.indicators[i];
        table.columns.push_back({{"change of", spaced(indicator.id), inert(indicator.unit)}});
    }
    const std::string cost = cost_of_steps(compared);
    if (!cost.empty()) {
        table.columns.push_back({{"change of", spaced(cost), money}});
        table.columns.push_back({{"cost of a", "tonne avoided",
                                  std::string(view_text(compared.view)), money + "/t CO2e"}});
    }
    for (const ComparedRow& row : compared.rows) {
        if (!row.step) continue;
        const StepCost& step = *row.step;
        const auto mark = [](const std::vector<std::string>& lacks) {
            return lacks.empty() ? "" : "≈";
        };
        std::vector<std::string> cells{label(compared, row), scenario_text(step.against),
                                       or_absent(step.location, mark(step.climate_lacks)),
                                       or_absent(step.market, mark(step.climate_lacks))};
        for (const std::size_t i : others)
            cells.push_back(or_absent(step.changes[i].value, mark(step.changes[i].lacks)));
        if (!cost.empty()) {
            cells.push_back(or_absent(step.cost));
            cells.push_back(or_absent(step.per_tonne_avoided));
        }
        table.rows.push_back(std::move(cells));
    }
    std::string note =
        "Against: the nearest row above that the measure stands on; without one, the reference.";
    note += !cost.empty()
                ? " Costs are those of what is bought, at marginal prices where the price "
                  "list states them, with the carbon price; no investment."
                : " The study has no prices, so no costs.";
    return heading("Measures, each against the row named beside it", style) +
           table_text(table, style) + paragraph(note, 0, 0, style) +
           avoided_notes(compared, style) + step_notes(compared, style) +
           change_notes(compared, style);
}

/// How far production lines are from the reference, indicator by indicator.
std::string differences_table(const Compared& compared, const Style& style) {
    const bool lines = std::ranges::all_of(
        compared.rows, [](const ComparedRow& row) { return !row.counts.empty(); });
    if (!lines || !compared.rules_differ.empty() || compared.rows.size() < 2) return {};
    Table table;
    table.columns.push_back({{""}, Table::Align::text});
    const auto shown = shown_indicators(compared);
    for (const std::size_t i : shown) {
        const Indicator& indicator = *compared.indicators[i];
        table.columns.push_back({{spaced(indicator.id), inert(indicator.unit)}});
    }
    for (const ComparedRow& row : compared.rows) {
        std::vector<std::string> cells{label(compared, row)};
        for (const std::size_t i : shown) cells.push_back(or_absent(row.figures[i].difference));
        table.rows.push_back(std::move(cells));
    }
    return heading(fmt::format("More than the reference, per {}",
                               counted_per(compared.rows.front().per)),
                   style) +
           table_text(table, style);
}

/// What production lines make, and how far that is from the reference.
std::string counts_table(const Compared& compared, const Style& style) {
    Table table;
    table.columns.push_back({{""}, Table::Align::text});
    std::vector<std::string> names, sources;
    for (const ComparedRow& row : compared.rows) {
        for (const auto& count : row.counts) {
            if (std::ranges::find(names, count.what) != names.end()) continue;
            names.push_back(count.what);
            std::vector<std::string> head = wrap(inert(count.title), count_head_width);
            if (count.unit != count.what) head.push_back(inert(count.unit));
            table.columns.push_back({std::move(head)});
            table.columns.push_back({{"more than", "reference"}, Table::Align::number, true});
            if (!count.source.empty())
                sources.push_back(fmt::format("{}: {}", inert(count.title), inert(count.source)));
        }
    }
    if (names.empty()) return {};
    const auto add = [&](const std::string& label, const ComparedRow& row) {
        std::vector<std::string> cells{label};
        for (const std::string& name : names) {
            const auto found = std::ranges::find(row.counts, name, &ComparedRow::Count::what);
            const bool has = found != row.counts.end();
            cells.push_back(has ? format_significant(found->value, 4) : std::string(absent));
            cells.push_back(has ? format_significant(found->difference) : std::string(absent));
        }
        table.rows.push_back(std::move(cells));
    };
    for (const ComparedRow& row : compared.rows) add(label(compared, row), row);
    if (compared.mean) add(std::string(mean_label), *compared.mean);
    std::string text =
        heading(fmt::format("Made per {}", counted_per(compared.rows.front().per)), style) +
        table_text(table, style);
    for (const std::string& source : sources) text += paragraph(source, 0, 2, style);
    return text;
}

/// How large the pieces are that are equal in one size.
std::string sizes_table(const Compared& compared, const Style& style) {
    if (one_product(compared)) return {};
    std::vector<std::string> names;
    Table table;
    table.columns.push_back({{""}, Table::Align::text});
    for (const ComparedRow& row : compared.rows) {
        for (const auto& size : row.sizes) {
            if (holds(names, size.what)) continue;
            names.push_back(size.what);
            table.columns.push_back({{size.what, size.unit}});
        }
    }
    if (names.empty()) return {};
    for (const ComparedRow& row : compared.rows) {
        std::vector<std::string> cells{label(compared, row)};
        for (const std::string& name : names) {
            const auto found = std::ranges::find(row.sizes, name, &ComparedRow::Size::what);
            cells.push_back(found == row.sizes.end() ? std::string(absent)
                                                     : format_significant(found->value, 4));
        }
        table.rows.push_back(std::move(cells));
    }
    std::string text = heading("What is in one piece", style) + table_text(table, style);
    if (!compared.unlike_sizes.empty())
        text += paragraph(fmt::format("They are equal in what was asked, and differ in {}: the "
                                      "pieces do not hold the same paper. --equal area or mass "
                                      "compares as much of each.",
                                      listing(compared.unlike_sizes)),
                          0, 2, style);
    return text;
}

std::vector<std::string> property_names(const Compared& compared) {
    std::vector<std::string> names;
    for (const ComparedRow& row : compared.rows) {
        for (const auto& property : row.properties) {
            if (std::ranges::find(names, property.name) == names.end())
                names.push_back(property.name);
        }
    }
    return names;
}

std::string properties_table(const Compared& compared, const Style& style) {
    const auto names = property_names(compared);
    if (names.empty() || one_product(compared)) return {};
    Table table;
    table.columns.push_back({{""}, Table::Align::text});
    std::map<std::string, std::vector<std::string>> measured;  ///< how, and of which rows
    std::map<std::string, std::size_t> times;
    for (const std::string& name : names)
        table.columns.push_back({{spaced(name)}, Table::Align::text});
    for (const ComparedRow& row : compared.rows) {
        std::vector<std::string> cells{label(compared, row)};
        for (const std::string& name : names) {
            const auto found =
                std::ranges::find(row.properties, name, &ComparedRow::Property::name);
            cells.push_back(found == row.properties.end() ? std::string(absent)
                                                          : inert(found->value));
            if (found == row.properties.end()) continue;
            const std::string scale = found->scale.empty() ? "" : ", scale " + inert(found->scale);
            measured[fmt::format("{}: {}{}", spaced(name),
                                 found->method.empty() ? "without a method" : inert(found->method),
                                 scale)]
                .push_back(name_of_row(row));
            ++times[spaced(name)];
        }
        table.rows.push_back(std::move(cells));
    }
    std::string text = heading("As the laboratory reports them", style) + table_text(table, style);
    for (const auto& [how, rows] : measured) {
        const bool all = rows.size() == times.at(how.substr(0, how.find(':')));
        text += paragraph(all ? how : fmt::format("{} ({})", how, listing(rows)), 0, 2, style);
    }
    return text;
}

/// One sentence an indicator and reason, with the rows that it is true of.
std::string index_notes(const Compared& compared, const Style& style) {
    std::string text;
    for (std::size_t i = 0; i < compared.indicators.size(); ++i) {
        std::map<std::string, std::vector<std::string>> rows_of;
        for (const ComparedRow& row : compared.rows) {
            const std::string& why = row.figures[i].without_index;
            if (!why.empty() && why != "not covered") rows_of[why].push_back(label(compared, row));
        }
        for (const auto& [why, rows] : rows_of)
            text += paragraph(
                fmt::format("No index of {} for {}: {}.", spaced(compared.indicators[i]->id),
                            rows.size() == compared.rows.size() ? "any row" : listing(rows), why),
                0, 2, style);
    }
    return text.empty() ? text : "\n" + text;
}

std::string allocations_text(const Compared& compared, const Style& style) {
    std::string text;
    for (const SharedBy& one : compared.allocations) {
        std::string method = one.method;
        std::ranges::replace(method, '_', ' ');
        text +=
            fmt::format("{}{} by {}", text.empty() ? "" : ", ", inert(one.process), inert(method));
    }
    if (text.empty()) return text;
    const std::string of =
        compared.rules_differ.empty()
            ? std::string()
            : fmt::format(" ({})", scenario_text(compared.rows.front().scenario));
    return "\n" + paragraph(fmt::format("Shared among products{}: {}.", of, text), 0, 2, style);
}

std::string rows_text(const Compared& compared, const Style& style) {
    std::string text;
    for (const ComparedRow& row : compared.rows) {
        const Scenario* scenario =
            row.scenario.empty() ? nullptr : compared.study->scenario(row.scenario);
        if (scenario == nullptr) continue;
        std::string line = fmt::format("{}: {}", inert(row.scenario), inert(scenario->title));
        if (!scenario->on.empty()) {
            std::string parents;
            for (const std::string& parent : scenario->on)
                parents += (parents.empty() ? "" : ", ") + inert(parent);
            line += fmt::format(" (on {})", parents);
        }
        if (!row.step && !row.bundles.empty() && row.bundles != scenario->on)
            line += fmt::format("; it brings along {}", listing(row.bundles));
        if (text.find(line) != std::string::npos) continue;
        text += paragraph(line, 0, 2, style);
        for (const Problem& finding : scenario->findings)
            text += paragraph(fmt::format("{} ({})", inert(finding.message), inert(finding.hint)),
                              2, 2, style);
    }
    return text.empty() ? text : "\n" + text;
}

/// The view of electricity, and what counts 100.
std::string basis_text(const Compared& compared) {
    std::string text = fmt::format(
        "Electricity: {}.", compared.one_view ? view_text(compared.view) : "by each row's rules");
    if (!compared.rules_differ.empty()) return text;
    return text + (compared.mean
                       ? " Indices: the plain mean of the references, each counted once, is 100."
                       : " Indices: the reference counts 100.");
}

}  // namespace

std::string name_of_row(const ComparedRow& row) {
    return row.scenario.empty() ? row.of : fmt::format("{}@{}", row.of, row.scenario);
}

std::string compare_text(const Compared& compared, const Style& style) {
    const StudyHead& head = compared.study->head;
    const ComparedRow& first = compared.rows.front();
    std::string text = style.bold(inert(head.title.empty() ? head.id : head.title)) + "\n";
    std::string equal = fmt::format("Equal function: {}", inert(compared.function));
    equal += one_product(compared)
                 ? fmt::format("; {} per {}", inert(first.of), counted_per(first.per))
                 : fmt::format("; results per {}", counted_per(first.per));
    text += paragraph(equal + ". " + basis_text(compared), 0, 0, style);
    for (const std::string& differs : compared.rules_differ)
        text += paragraph("Made under different rules, so without an index: " + inert(differs), 0,
                          2, style);
    const std::string figures = figures_table(compared, style);
    text += "\n" + figures;
    if (has_percents(compared))
        text += paragraph(
            "Difference: from the first row of the same product, by other rules and whatever else "
            "the row changes.",
            0, 2, style);
    for (const std::string& note : mark_notes(figures, "deckle footprint"))
        text += paragraph(note, 0, 2, style);
    text += index_notes(compared, style);
    text += differences_table(compared, style) + counts_table(compared, style);
    text += scopes_table(compared, style) + steps_table(compared, style);
    text += sizes_table(compared, style) + properties_table(compared, style) +
            allocations_text(compared, style) + rows_text(compared, style);
    return text + "\n" + paragraph(equipment_caution(), 0, 0, style);
}

}  // namespace deckle
