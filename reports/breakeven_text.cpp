#include <fmt/format.h>

#include <algorithm>

#include "engine/text/number_text.h"
#include "reports/breakeven_report.h"
#include "reports/inert.h"
#include "reports/scenario_text.h"
#include "reports/table.h"
#include "reports/words.h"

namespace deckle {
namespace {

constexpr int digits = 4;
constexpr double narrow = 1e-9;  ///< of the range: a gap that is a single place for a reader

std::string number(double value) { return format_significant(value, digits); }

std::string amount(double value, std::string_view unit) {
    return unit.empty() ? number(value) : number(value) + " " + inert(unit);
}

class Printer {
public:
    Printer(const Breakeven& found, const Style& style)
        : found_(found), style_(style), unit_(found.unit) {}

    std::string text() && {
        text_ = style_.bold(question()) + "\n";
        line(along(found_.along), 0);
        print_count(found_.asked);
        for (const AskedResult& one : found_.target.others) print_count(one);
        if (!found_.unlike_pers.empty())
            line(fmt::format("These are not results of one function: {}.",
                             inert(found_.unlike_pers)),
                 0);
        if (found_.both_rest)
            line(found_.line ? "Both results rest on an input that is moved: both move with it."
                             : "Both results rest on this input: both move with it.",
                 0);
        text_ += "\n";
        if (found_.line) print_line(*found_.line);
        for (const Equality& one : found_.equalities) print_equality(one);
        print_sides();
        return std::move(text_);
    }

private:
    void line(std::string_view words, std::size_t indent) {
        text_ += paragraph(words, indent, 2, style_);
    }

    void print_count(const AskedResult& one) {
        if (one.unrounded) line(fmt::format("{}: on the unrounded count.", inert(one.address)), 0);
    }

    [[nodiscard]] std::string reference() const {
        std::vector<std::string> names;
        for (const AskedResult& one : found_.target.others) names.push_back(inert(one.address));
        const std::string all = fmt::format("{}", fmt::join(names, ", "));
        return names.size() == 1 ? all : "the mean of " + all;
    }

    [[nodiscard]] std::string question() const {
        const std::string result = inert(found_.asked.address);
        const Target& target = found_.target;
        if (target.others.empty())
            return fmt::format("{} = {}", result, amount(target.value, unit_));
        const std::string against = reference();
        if (!target.index) return fmt::format("{} = {}", result, against);
        return fmt::format("{} at index {} against {} = 100", result, shortest(*target.index),
                           against);
    }

    [[nodiscard]] std::string along(const AlongInput& one) const {
        std::string words = fmt::format("Along {}, now {}, from {} to {}", inert(one.address),
                                        amount(one.value, one.unit), number(one.range.from),
                                        amount(one.range.to, one.unit));
        if (!one.as_asked) words += " (--from and --to choose another range)";
        return words + ".";
    }

    // --- one input ---
    [[nodiscard]] std::string equality_words(const Crossing& one) const {
        const std::string& unit = found_.along.unit;
        switch (one.kind) {
            case CrossingKind::smooth:
                return fmt::format("equal at {}, {}", amount(one.at, unit), beside_now(one.at));
            case CrossingKind::touch:
                return fmt::format("equal at {}, {}, where it touches and turns back",
                                   amount(one.at, unit), beside_now(one.at));
            case CrossingKind::stretch:
                return fmt::format("equal all the way from {} to {}", number(one.low),
                                   amount(one.high, unit));
            case CrossingKind::step: break;
        }
        return fmt::format("crosses at a step at {}, {}: from {} to {} {} across it, equal nowhere",
                           amount(one.at, unit), beside_now(one.at), signed_number(one.before),
                           signed_number(one.after), inert(unit_));
    }

    [[nodiscard]] const char* beside_now(double at) const {
        if (at == found_.along.value) return "its value now";
        return at > found_.along.value ? "above its value now" : "below its value now";
    }

    static std::string signed_number(double value) {
        return (value > 0.0 ? "+" : "") + number(value);
    }

    void print_equality(const Equality& one) {
        const Crossing& crossing = one.crossing;
        line(style_.bold(equality_words(crossing)), 0);
        if (crossing.kind == CrossingKind::smooth || crossing.kind == CrossingKind::step) {
            line(fmt::format("between {} and {}", shortest(crossing.low), shortest(crossing.high)),
                 2);
        }
        if (crossing.kind != CrossingKind::step)
            line(fmt::format("there {} against {}", number(one.result), amount(one.target, unit_)),
                 2);
        for (const auto& [count, sides] : one.whole)
            line(fmt::format("it counts whole things: at {}, {}", number(count), side_words(sides)),
                 2);
        if (found_.along.interval) {
            line(fmt::format("{} the 95 % interval of its spread, {} to {}",
                             one.in_interval ? "inside" : "outside",
                             number(found_.along.interval->low),
                             amount(found_.along.interval->high, found_.along.unit)),
                 2);
        }
        print_ranges(one);
    }

    /// Whether a careful reader would believe the value: what it makes of the mills.
    void print_ranges(const Equality& one) {
        for (const auto& [finding, now] : one.outside)
            line(fmt::format("outside a published range{}: {} [{}]", now ? ", as it is now" : "",
                             inert(finding.message), inert(finding.code)),
                 2);
        if (!one.inside.empty())
            line(fmt::format("inside the published ranges that it moves within: {}",
                             fmt::join(one.inside, ", ")),
                 2);
        if (!one.unlooked.empty())
            line(fmt::format("published ranges are not looked into: {}", inert(one.unlooked)), 2);
        if (one.outside.empty() && one.inside.empty() && one.unlooked.empty())
            line("no published range is known for what moves with it", 2);
    }

    [[nodiscard]] std::string side_words(const Sides& sides) const {
        if (!sides.result) return "no answer";
        return fmt::format("{} against {}", number(*sides.result), amount(*sides.target, unit_));
    }

    [[nodiscard]] std::string gap_words(const Gap& gap) const {
        const Range& range = found_.along.range;
        const std::string to = amount(gap.to, found_.along.unit);
        if (gap.to - gap.from > narrow * (range.to - range.from))
            return fmt::format("from {} to {}", number(gap.from), to);
        return fmt::format("at {}",
                           gap.from == range.from ? amount(gap.from, found_.along.unit) : to);
    }

    void print_sides() {
        const std::string& unit = found_.along.unit;
        text_ += "\n";
        line(
            fmt::format("now, at {}: {}", amount(found_.along.value, unit), side_words(found_.now)),
            0);
        if (!found_.line) {
            line(fmt::format("at {}: {}", amount(found_.along.range.from, unit),
                             side_words(found_.at_from)),
                 0);
            line(fmt::format("at {}: {}", amount(found_.along.range.to, unit),
                             side_words(found_.at_to)),
                 0);
        }
        for (const Unanswered& one : found_.gaps)
            line(fmt::format("no answer {}: {}", gap_words(one.gap), inert(one.why)), 0);
        if (found_.stepped) {
            line(
                "A whole number, a minimum or a maximum stands between: equality may be jumped "
                "over or hold for a stretch.",
                0);
        }
    }

    // --- two inputs ---
    [[nodiscard]] static std::string cell(const EqualityLine::Step& step, std::size_t n) {
        if (n >= step.equalities.size()) return n == 0 ? std::string(absent) : std::string();
        const Crossing& one = step.equalities[n];
        switch (one.kind) {
            case CrossingKind::stretch:
                return fmt::format("{} to {}", number(one.low), number(one.high));
            case CrossingKind::step: return "step " + number(one.at);
            case CrossingKind::touch: return "touch " + number(one.at);
            case CrossingKind::smooth: break;
        }
        return number(one.at);
    }

    void note_kinds(const EqualityLine& equality) {
        const auto any = [&](CrossingKind kind) {
            return std::ranges::any_of(equality.steps, [&](const EqualityLine::Step& step) {
                return std::ranges::find(step.equalities, kind, &Crossing::kind) !=
                       step.equalities.end();
            });
        };
        if (any(CrossingKind::stretch)) line("to: equal all the way between the two.", 0);
        if (any(CrossingKind::step)) line("step: it jumps across there, and is equal nowhere.", 0);
        if (any(CrossingKind::touch)) line("touch: it comes to equality there and turns back.", 0);
        for (const AlongInput* one : {&found_.along, &equality.second}) {
            if (one->input->counts_to > 0.0)
                line(fmt::format("{} counts whole things: no value between two can be.",
                                 inert(one->address)),
                     0);
        }
    }

    void print_line(const EqualityLine& equality) {
        line(along(equality.second), 0);
        text_ += "\n";
        std::size_t most = 1;
        for (const auto& step : equality.steps) most = std::max(most, step.equalities.size());
        Table table;
        table.columns.push_back({{inert(equality.second.address), inert(equality.second.unit)}});
        for (std::size_t n = 0; n < most; ++n) {
            table.columns.push_back({{n == 0 ? "equal at " + inert(found_.along.address) : "and at",
                                      inert(found_.along.unit)}});
        }
        for (const auto& step : equality.steps) {
            std::vector<std::string> row{number(step.value)};
            for (std::size_t n = 0; n < most; ++n) row.push_back(cell(step, n));
            table.rows.push_back(std::move(row));
        }
        text_ += table_text(table, style_);
        note_kinds(equality);
        line("Published ranges are looked into along one input alone, not along a line.", 0);
    }

    const Breakeven& found_;
    const Style& style_;
    const std::string& unit_;
    std::string text_;
};

}  // namespace

std::string_view name_of(CrossingKind kind) noexcept {
    switch (kind) {
        case CrossingKind::smooth: return "equal";
        case CrossingKind::step: return "step";
        case CrossingKind::touch: return "touch";
        case CrossingKind::stretch: break;
    }
    return "stretch";
}

std::string breakeven_text(const Breakeven& found, const Study& study, const Style& style) {
    std::set<std::string> scenarios{found.asked.result->scenario};
    for (const AskedResult& one : found.target.others) scenarios.insert(one.result->scenario);
    return Printer(found, style).text() + scenario_notes(study, scenarios, style);
}

}  // namespace deckle
