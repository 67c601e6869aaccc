#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "engine/study/model.h"
#include "engine/text/number_text.h"
#include "reports/footprint.h"
#include "reports/footprint_notes.h"
#include "reports/inert.h"
#include "reports/scenario_text.h"
#include "reports/table.h"
#include "reports/words.h"

namespace deckle {
namespace {

constexpr std::size_t head_width = 11;

bool is_covered(const FootprintResult& one) {
    return one.result->coverage != Coverage::not_covered;
}

std::string figure(double value, const FootprintResult& one) {
    if (!is_covered(one)) return std::string(absent);
    return std::string(mark_of(one.bound)) + format_significant(value);
}

/// A column or a line of a table: one indicator in one view of electricity.
struct Shown {
    enum class View { asked, market, location };
    const Indicator* indicator;
    View view;

    [[nodiscard]] double value(const FootprintResult& one) const {
        if (view == View::asked) return one.value;
        return view == View::market ? one.market : one.location;
    }
    [[nodiscard]] std::string view_text(const Footprint& footprint) const {
        if (view == View::asked) return {};
        const bool market = view == View::market;
        const bool headline = market == (footprint.head->headline == ElectricityView::market);
        return fmt::format("{}{}", market ? "market" : "location", headline ? "*" : "");
    }
};

using Lines = std::vector<const FootprintResult*>;

/// At a glance only the first of the main indicators shows both totals.
bool shows_both(const Indicator& indicator, const Footprint& footprint) {
    if (footprint.question.view) return false;
    return !footprint.question.at_a_glance || footprint.question.indicators.front() == indicator.id;
}

/// Both totals of an indicator stand beside each other where they differ, the headline first.
void add_shown(std::vector<Shown>& shown, const Indicator& indicator, const Lines& lines,
               const Footprint& footprint) {
    const auto of_indicator = [&](const FootprintResult* one) {
        return one->indicator == &indicator && is_covered(*one);
    };
    if (std::ranges::none_of(lines, of_indicator)) return;
    const bool differ = std::ranges::any_of(lines, [&](const FootprintResult* one) {
        return of_indicator(one) && one->market != one->location;
    });
    if (!differ || !shows_both(indicator, footprint)) {
        shown.push_back({&indicator, Shown::View::asked});
        return;
    }
    const bool market = footprint.view == ElectricityView::market;
    shown.push_back({&indicator, market ? Shown::View::market : Shown::View::location});
    shown.push_back({&indicator, market ? Shown::View::location : Shown::View::market});
}

std::vector<Shown> shown_in(const Lines& lines, const Footprint& footprint) {
    std::vector<Shown> shown;
    for (const Indicator& indicator : footprint.study->indicators) {
        add_shown(shown, indicator, lines, footprint);
    }
    const auto place = [&](const Shown& one) {
        const auto& asked = footprint.question.indicators;
        return std::ranges::find(asked, one.indicator->id) - asked.begin();
    };
    std::ranges::stable_sort(shown, {}, place);
    return shown;
}

const FootprintResult* find(const Lines& lines, const Subject& subject, std::string_view per,
                            const Indicator& indicator) {
    const auto found = std::ranges::find_if(lines, [&](const FootprintResult* one) {
        return one->subject == &subject && one->result->per == per && one->indicator == &indicator;
    });
    return found == lines.end() ? nullptr : *found;
}

std::string cell(const Lines& lines, const Subject& subject, std::string_view per,
                 const Shown& shown) {
    const FootprintResult* one = find(lines, subject, per, *shown.indicator);
    return one == nullptr ? std::string() : figure(shown.value(*one), *one);
}

// --- the head -----------------------------------------------------------------------------------

std::string head_text(const Footprint& footprint, const Style& style) {
    const StudyHead& head = *footprint.head;
    std::string facts = spaced(head.boundary);
    if (!head.period.empty()) facts = inert(head.period) + ", " + facts;
    if (!head.owner.empty()) facts = inert(head.owner) + ", " + facts;
    if (!head.rules.id.empty()) {
        facts += fmt::format(", rules {} {}", inert(head.rules.id), inert(head.rules.version));
    }
    const std::string title = inert(head.title.empty() ? head.id : head.title);
    const std::string& scenario = footprint.results.front().result->scenario;
    return style.bold(title) + "\n" + paragraph(facts, 0, 0, style) +
           scenario_text(*footprint.study, scenario, style);
}

// --- overview: a table for every unit, a row a product ------------------------------------------

std::vector<std::string> column_head(const Shown& shown, const Footprint& footprint) {
    std::vector<std::string> lines = wrap(spaced(shown.indicator->id), head_width);
    const std::string view = shown.view_text(footprint);
    if (!view.empty()) lines.push_back(view);
    lines.push_back(inert(shown.indicator->unit));
    return lines;
}

bool counts_sheets(const Footprint& footprint, std::string_view per) {
    return per == "roll" && std::ranges::any_of(footprint.results, [](const FootprintResult& one) {
               return one.subject->whole_count != no_node;
           });
}

std::string sheets_cell(const Footprint& footprint, const Subject& subject) {
    if (subject.whole_count == no_node) return {};
    return fmt::format("{:.0f}", footprint.at->value[subject.whole_count]);
}

std::vector<const Subject*> subjects_of(const Lines& lines) {
    std::vector<const Subject*> subjects;
    for (const FootprintResult* one : lines) {
        if (std::ranges::find(subjects, one->subject) == subjects.end()) {
            subjects.push_back(one->subject);
        }
    }
    return subjects;
}

/// What comes with the tissue: of all products shown, of some, of none.
std::string along(const std::vector<const Subject*>& subjects, const Footprint& footprint) {
    const auto& products = footprint.study->model->products;
    std::size_t cores = 0, packed = 0;
    for (const Subject* subject : subjects) {
        const auto product = std::ranges::find(products, subject->id, &Product::id);
        if (product == products.end()) continue;
        cores += product->core ? 1U : 0U;
        packed += product->packed.empty() ? 0U : 1U;
    }
    if (cores + packed == 0) return ", without core and packaging";
    const bool all =
        (cores == 0 || cores == subjects.size()) && (packed == 0 || packed == subjects.size());
    return fmt::format(" with its {}{}",
                       packed == 0  ? "core, without packaging"
                       : cores == 0 ? "packaging"
                                    : "core and packaging",
                       all ? "" : " where it has them");
}

std::string block_title(const Footprint& footprint, std::string_view per, const Lines& lines) {
    if (per == "t") return "Per t: 1000 kg of tissue" + along(subjects_of(lines), footprint);
    if (per != "period") return fmt::format("Per {}", spaced(per));
    return fmt::format("Per period {}: what was made of each", inert(footprint.head->period));
}

std::string block_text(const Footprint& footprint, std::string_view per, const Lines& lines,
                       const Style& style) {
    const auto shown = shown_in(lines, footprint);
    const bool sheets = counts_sheets(footprint, per);
    Table table;
    table.columns.push_back({{""}, Table::Align::text});
    if (sheets) table.columns.push_back({{"whole", "sheets"}});
    for (const Shown& one : shown) table.columns.push_back({column_head(one, footprint)});
    for (const Subject* subject : subjects_of(lines)) {
        std::vector<std::string> row{inert(subject->id)};
        if (sheets) row.push_back(sheets_cell(footprint, *subject));
        for (const Shown& one : shown) row.push_back(cell(lines, *subject, per, one));
        table.rows.push_back(std::move(row));
    }
    return "\n" + style.bold(block_title(footprint, per, lines)) + "\n" + table_text(table, style);
}

/// Products of the mills have units of their own, so the unit is a column.
std::string mill_block_text(const Footprint& footprint, const Lines& lines, const Style& style) {
    const auto shown = shown_in(lines, footprint);
    Table table;
    table.leading = 2;
    table.columns.push_back({{""}, Table::Align::text});
    table.columns.push_back({{"per"}, Table::Align::text});
    for (const Shown& one : shown) table.columns.push_back({column_head(one, footprint)});
    for (const Subject* subject : subjects_of(lines)) {
        for (const std::string& per : subject->pers) {
            std::vector<std::string> row{inert(subject->id), inert(per)};
            bool any = false;
            for (const Shown& one : shown) {
                row.push_back(cell(lines, *subject, per, one));
                any |= !row.back().empty();
            }
            if (any) table.rows.push_back(std::move(row));
        }
    }
    return "\n" + style.bold("Products of the mills") + "\n" + table_text(table, style);
}

Lines those_where(const Footprint& footprint, auto&& condition) {
    Lines lines;
    for (const FootprintResult& one : footprint.results) {
        if (condition(one)) lines.push_back(&one);
    }
    return lines;
}

bool is_mill_product(const FootprintResult& one) {
    return one.subject->kind == Subject::Kind::mill_product;
}

std::string overview_text(const Footprint& footprint, const Style& style) {
    std::vector<std::string> pers;
    for (const FootprintResult& one : footprint.results) {
        const bool known = std::ranges::find(pers, one.result->per) != pers.end();
        if (!is_mill_product(one) && !known) pers.push_back(one.result->per);
    }
    std::string text;
    for (const std::string& per : pers) {
        const Lines lines = those_where(footprint, [&](const FootprintResult& one) {
            return !is_mill_product(one) && one.result->per == per;
        });
        text += block_text(footprint, per, lines, style);
    }
    const Lines mill = those_where(footprint, is_mill_product);
    if (!mill.empty()) text += mill_block_text(footprint, mill, style);
    return text;
}

// --- detail: a table for every product, a row an indicator --------------------------------------

/// The title of a mill's product begins with its id, which stands before it already.
std::string subject_title(const Subject& subject) {
    const std::string own = subject.id.substr(subject.id.rfind('.') + 1) + ", ";
    const bool twice =
        subject.kind == Subject::Kind::mill_product && subject.title.starts_with(own);
    const std::string title = twice ? subject.title.substr(own.size()) : subject.title;
    if (title.empty()) return inert(subject.id);
    return fmt::format("{}: {}", inert(subject.id), inert(title));
}

std::string sheets_text(const Footprint& footprint, const Subject& subject) {
    if (subject.whole_count == no_node || subject.exact_count == no_node) return {};
    return fmt::format("{:.0f} whole sheets a roll ({} wound)\n",
                       footprint.at->value[subject.whole_count],
                       format_significant(footprint.at->value[subject.exact_count], 6));
}

/// A bold line or more: titles of files may be long.
std::string subject_heading(const Footprint& footprint, const Subject& subject,
                            const Style& style) {
    return heading(subject_title(subject), style) + sheets_text(footprint, subject);
}

/// What a line makes and what that comes to, with the source of each equivalent.
std::string makes_text(const Footprint& footprint, const Subject& subject,
                       const std::vector<std::string>& pers, const Style& style) {
    Table table;
    table.leading = 2;
    table.columns.push_back({{"makes"}, Table::Align::text});
    table.columns.push_back({{"unit"}, Table::Align::text});
    for (const std::string& per : pers) table.columns.push_back({{"per " + spaced(per)}});
    std::vector<std::string> names, sources;
    for (const Subject::Count& count : subject.counts) {
        auto row = std::ranges::find(names, count.what) - names.begin();
        if (row == std::ssize(names)) {
            names.push_back(count.what);
            std::vector<std::string>& cells = table.rows.emplace_back(pers.size() + 2);
            cells[0] = inert(count.title);
            if (count.unit != count.what) cells[1] = inert(count.unit);
            if (!count.source.empty())
                sources.push_back(fmt::format("{}: {}", inert(count.title), inert(count.source)));
        }
        const auto column = std::ranges::find(pers, count.per) - pers.begin();
        if (column == std::ssize(pers)) continue;
        table.rows[static_cast<std::size_t>(row)][static_cast<std::size_t>(column) + 2] =
            format_significant(footprint.at->value[count.node], 4);
    }
    if (names.empty()) return {};
    std::string text = table_text(table, style);
    for (const std::string& source : sources) text += paragraph(source, 0, 2, style);
    return text + "\n";
}

std::string detail_text(const Footprint& footprint, const Subject& subject, const Style& style) {
    const Lines lines =
        those_where(footprint, [&](const FootprintResult& one) { return one.subject == &subject; });
    Table table;
    table.leading = 2;
    table.columns.push_back({{""}, Table::Align::text});
    table.columns.push_back({{"unit"}, Table::Align::text});
    std::vector<std::string> pers;
    for (const std::string& per : subject.pers) {
        const bool any = std::ranges::any_of(
            lines, [&](const FootprintResult* one) { return one->result->per == per; });
        if (!any) continue;
        pers.push_back(per);
        table.columns.push_back({{"per " + spaced(per)}});
    }
    for (const Shown& one : shown_in(lines, footprint)) {
        const std::string view = one.view_text(footprint);
        std::string name = inert(one.indicator->id) + (view.empty() ? "" : ", " + view);
        if (one.indicator->memo) name += " (memo)";
        std::vector<std::string> row{std::move(name), inert(one.indicator->unit)};
        for (const std::string& per : pers) row.push_back(cell(lines, subject, per, one));
        table.rows.push_back(std::move(row));
    }
    return subject_heading(footprint, subject, style) +
           makes_text(footprint, subject, pers, style) + table_text(table, style);
}

std::string details_text(const Footprint& footprint, const Style& style) {
    std::string text;
    const Lines all = those_where(footprint, [](const FootprintResult&) { return true; });
    for (const Subject* subject : subjects_of(all)) text += detail_text(footprint, *subject, style);
    return text;
}

// --- break-out: a table for every product and unit, a row a contribution ------------------------

std::string contribution_name(BreakoutBy by, const std::string& name) {
    if (name.empty()) return "(unnamed)";
    if (by == BreakoutBy::gas) return inert(gas_name(name));
    return by == BreakoutBy::scope ? "scope " + inert(name) : inert(name);
}

std::string share_text(double share) { return one_decimal(100.0 * share); }

/// The columns of one indicator: its amounts and their shares, both looked up by name.
struct Part {
    const FootprintResult* one;
    const Breakout* breakout;

    [[nodiscard]] const Contribution* find(const std::string& name) const {
        const auto found = std::ranges::find(breakout->rows, name, &Contribution::name);
        return found == breakout->rows.end() ? nullptr : &*found;
    }
};

std::vector<Part> parts_of(const Lines& lines, BreakoutBy by) {
    std::vector<Part> parts;
    for (const FootprintResult* one : lines) {
        const auto found = std::ranges::find(one->by, by, &Breakout::by);
        if (found != one->by.end()) parts.push_back({one, &*found});
    }
    return parts;
}

std::vector<std::string> names_in(const std::vector<Part>& parts) {
    std::vector<std::string> names;
    for (const Part& part : parts) {
        for (const Contribution& row : part.breakout->rows) {
            if (std::ranges::find(names, row.name) == names.end()) names.push_back(row.name);
        }
    }
    return names;
}

/// A line of which nothing is stated is no zero.
void add_cells(std::vector<std::string>& row, const Part& part, const std::string& name) {
    const Contribution* found = part.find(name);
    const bool open = std::ranges::binary_search(part.breakout->open, name);
    const bool stated = found != nullptr && found->value != 0.0;
    if (open && !stated) {
        row.insert(row.end(), 2, std::string(absent));
        return;
    }
    const std::string_view mark = open ? mark_of(part.one->bound) : std::string_view{};
    row.push_back(stated ? std::string(mark) + format_significant(found->value) : "0");
    if (!part.breakout->shares) row.emplace_back(absent);
    else row.push_back(share_text(found == nullptr ? 0.0 : found->share));
}

Table breakout_table(const std::vector<Part>& parts, BreakoutBy by) {
    Table table;
    table.columns.push_back({{fmt::format("by {}", name_of(by))}, Table::Align::text});
    std::vector<std::string> total{"total"};
    for (const Part& part : parts) {
        std::vector<std::string> head = wrap(spaced(part.one->indicator->id), head_width);
        head.push_back(inert(part.one->result->unit));
        table.columns.push_back({std::move(head)});
        table.columns.push_back({{"share", "%"}});
        total.push_back(figure(part.breakout->total, *part.one));
        total.push_back(part.breakout->shares ? "100.0" : std::string(absent));
    }
    for (const std::string& name : names_in(parts)) {
        std::vector<std::string> row{contribution_name(by, name)};
        for (const Part& part : parts) add_cells(row, part, name);
        table.rows.push_back(std::move(row));
    }
    table.rows.emplace_back();
    table.rows.push_back(std::move(total));
    return table;
}

/// Shares are rounded one by one: say so where the rounded ones miss 100.
std::string rounding_note(const Part& part) {
    const std::string indicator = inert(part.one->indicator->id);
    if (!part.breakout->shares) {
        return fmt::format("{}: what adds and what subtracts nearly cancel, so no shares.",
                           indicator);
    }
    double sum = 0.0;
    for (const Contribution& row : part.breakout->rows) sum += std::stod(share_text(row.share));
    if (std::abs(sum - 100.0) < 0.05) return {};
    return fmt::format("{}: the shares add to 100 %; as rounded here, to {:.1f}.", indicator, sum);
}

bool is_share_of_covered(const Part& part) {
    return part.breakout->shares && part.one->bound != Bound::exact;
}

std::string breakout_text(const Lines& lines, BreakoutBy by, const Style& style) {
    const std::vector<Part> parts = parts_of(lines, by);
    if (parts.empty()) return {};
    const FootprintResult& first = *parts.front().one;
    const std::string title =
        fmt::format("{}, per {}", subject_title(*first.subject), spaced(first.result->per));
    std::string text = heading(title, style) + table_text(breakout_table(parts, by), style);
    for (const Part& part : parts) {
        const std::string note = rounding_note(part);
        if (!note.empty()) text += paragraph(note, 0, 2, style);
    }
    if (std::ranges::any_of(parts, is_share_of_covered))
        text += paragraph("Shares are of what is covered.", 0, 2, style);
    return text;
}

std::string breakouts_text(const Footprint& footprint, const Style& style) {
    std::string text;
    const Lines all = those_where(footprint, [](const FootprintResult&) { return true; });
    for (const Subject* subject : subjects_of(all)) {
        for (const std::string& per : subject->pers) {
            const Lines lines = those_where(footprint, [&](const FootprintResult& one) {
                return one.subject == subject && one.result->per == per;
            });
            for (const BreakoutBy by : footprint.question.by) {
                text += breakout_text(lines, by, style);
            }
        }
    }
    return text;
}

}  // namespace

std::string footprint_text(const Footprint& footprint, const Style& style) {
    const auto& question = footprint.question;
    std::string tables;
    if (!question.by.empty()) tables = breakouts_text(footprint, style);
    else if (!question.products.empty()) tables = details_text(footprint, style);
    else tables = overview_text(footprint, style);
    return head_text(footprint, style) + tables + footprint_notes(footprint, tables, style);
}

}  // namespace deckle
