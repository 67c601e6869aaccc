#include "engine/analysis/breakeven.h"

#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <cmath>
#include <limits>

#include "engine/analysis/likeness.h"
#include "engine/analysis/rests_on.h"
#include "engine/analysis/what_if.h"
#include "engine/quantity/quantity.h"
#include "engine/text/number_text.h"

namespace deckle {
namespace {

constexpr double usual_reach = 5.0;  ///< times the value, where bounds are open
constexpr double same = 1e-12;       ///< of a figure that does not move
constexpr double wider = 4.0;        ///< times the range, each way, to say what would be needed
constexpr std::size_t line_steps = 20;
constexpr std::size_t line_points = 40;  ///< of the scan for each step
constexpr double most = std::numeric_limits<double>::max();

std::string number(double value) { return format_significant(value, 4); }

std::string with_unit(double value, std::string_view unit) {
    return unit.empty() ? number(value) : fmt::format("{} {}", number(value), unit);
}

bool is_result_address(std::string_view typed) {
    return typed.starts_with("results.") || typed.starts_with("results@");
}

// --- what is asked ------------------------------------------------------------------------------

Footing footing_of(const AskedResult& asked) {
    return {asked.result->scenario, asked.result->of, asked.view};
}

void require_alike(const Study& study, const AskedResult& one, const AskedResult& other) {
    const std::string& unit = one.result->unit;
    if (one.node == other.node)
        refuse_question("same-result", fmt::format("{} is compared with itself", one.address),
                        "name another product or scenario");
    if (one.result->indicator != other.result->indicator || unit != other.result->unit) {
        refuse_question(
            "unlike-results",
            fmt::format("{} is {} [{}], {} is {} [{}]", one.address,
                        study.indicators[one.result->indicator].id, unit, other.address,
                        study.indicators[other.result->indicator].id, other.result->unit),
            "hold results of one indicator against each other");
    }
    const auto rules = unlike_rules(study, footing_of(one), footing_of(other));
    if (!rules.empty())
        refuse_question("unlike-rules",
                        fmt::format("figures made under different rules do not compare; {}",
                                    fmt::join(rules, "; ")),
                        "hold results of one set of rules against each other");
    const auto gaps = unlike_gaps(study, *one.result, *other.result);
    if (gaps.empty()) return;
    refuse_question("unlike-coverage",
                    fmt::format("of {} and {} one leaves out what the other does not: {}",
                                one.address, other.address, fmt::join(gaps, ", ")),
                    "deckle footprint lists what is not covered");
}

double index_of(const std::string& typed) {
    double value = 0.0;
    const auto end = typed.data() + typed.size();
    const auto read = std::from_chars(typed.data(), end, value);
    const bool sound = read.ec == std::errc() && read.ptr == end && std::isfinite(value);
    if (!sound || value <= 0.0)
        refuse_question("bad-index", fmt::format("`{}` is no index", typed),
                        "an index is a number above zero; the reference stands at 100");
    return value;
}

/// Of a result per t, "280 kg CO2e/t" says the same as "280 kg CO2e".
double asked_figure(const std::string& typed, const Result& result) {
    std::string per = result.per.substr(0, result.per.find("_unrounded"));
    std::ranges::replace(per, '_', ' ');
    const auto with_per = parse_unit(fmt::format("{}/{}", result.unit, per));
    const auto value = parse_quantity(typed);
    const bool says_per =
        with_per.unit && value.quantity && conversion(value.quantity->unit, *with_per.unit);
    const Unit unit = says_per ? *with_per.unit : known_unit(result.unit);
    return asked_value(typed, unit, "--equal-to");
}

/// Each as its own row is no mean of itself and others.
void require_distinct(const std::vector<AskedResult>& others) {
    for (std::size_t i = 1; i < others.size(); ++i) {
        const auto twin =
            std::find_if(others.begin(), others.begin() + static_cast<std::ptrdiff_t>(i),
                         [&](const AskedResult& one) { return one.node == others[i].node; });
        if (twin != others.begin() + static_cast<std::ptrdiff_t>(i))
            refuse_question("same-result",
                            fmt::format("{} counts twice in the reference", others[i].address),
                            "name each once");
    }
}

Target target_of(const Study& study, const Evaluation& at, const AskedResult& asked,
                 const BreakevenQuestion& question) {
    Target target;
    const bool index = !question.index.empty();
    if (!index && !is_result_address(question.equal_to)) {
        target.value = asked_figure(question.equal_to, *asked.result);
        return target;
    }
    const std::vector<std::string> one{question.equal_to};
    for (const std::string& typed : index ? question.against : one) {
        target.others.push_back(asked_result(study, typed));
        require_alike(study, asked, target.others.back());
        target.values.push_back(at.value[target.others.back().node]);
    }
    require_distinct(target.others);
    target.value = target.reference(at);
    if (!index) return target;
    target.index = index_of(question.index);
    target.factor = *target.index / 100.0;
    if (target.value <= 0.0) {
        refuse_question("reference-not-positive",
                        fmt::format("{} is {}, so nothing has an index against it",
                                    fmt::join(question.against, ", "),
                                    with_unit(target.value, asked.result->unit)),
                        "ask for a difference with --equal-to, or for another reference");
    }
    return target;
}

/// Whether a count is rounded makes no other unit.
std::string_view per_of(const AskedResult& asked) {
    const std::string_view per = asked.result->per;
    return per.substr(0, per.find("_unrounded"));
}

/// "A is per m2, B per roll".
std::string unlike_pers(const AskedResult& asked, const std::vector<AskedResult>& others) {
    std::string words;
    for (const AskedResult& other : others) {
        if (per_of(other) == per_of(asked)) continue;
        words += fmt::format(", {} per {}", other.address, per_of(other));
    }
    return words.empty() ? words
                         : fmt::format("{} is per {}{}", asked.address, per_of(asked), words);
}

/// Bounds where both are known; else from zero (or what is below it) to five times the value.
Range usual_range(const Input& input, double value) {
    const double reach = usual_reach * std::abs(value);
    Range range{value < 0.0 ? -reach : 0.0, reach};
    range.from = std::max(range.from, input.bounds.low);
    if (input.bounds.high < most) range.to = input.bounds.high;
    return range;
}

void require_range(const AlongInput& along) {
    if (!(along.range.from < along.range.to)) {
        refuse_question(
            "bad-range",
            fmt::format("{} would be looked for from {} to {}", along.address,
                        with_unit(along.range.from, along.unit), number(along.range.to)),
            "type --from and --to, the lower one first");
    }
    const Bounds& bounds = along.input->bounds;
    if (along.range.from >= bounds.low && along.range.to <= bounds.high) return;
    refuse_question(
        "range-outside-bounds",
        fmt::format("{} lies between {} and {}", along.address,
                    bounds.low > -most ? number(bounds.low) : std::string("anything below"),
                    bounds.high < most ? with_unit(bounds.high, along.unit)
                                       : std::string("anything above")),
        "narrow the range");
}

AlongInput along_of(const Study& study, const Evaluation& at,
                    const BreakevenQuestion::Along& typed) {
    AlongInput along;
    along.input = &asked_input(study, typed.input);
    along.address = typed.input;
    along.unit = study.graph.text_of(study.graph.unit(along.input->node));
    along.value = at.value[along.input->node];
    along.range = usual_range(*along.input, along.value);
    const Unit unit = unit_of(study.graph, along.input->node);
    if (!typed.from.empty()) along.range.from = asked_value(typed.from, unit, "--from");
    if (!typed.to.empty()) along.range.to = asked_value(typed.to, unit, "--to");
    along.as_asked = !typed.from.empty() || !typed.to.empty();
    if (along.input->spread.kind != SpreadKind::none)
        along.interval = interval_95(*along.input, at);
    require_range(along);
    return along;
}

// --- the walk -----------------------------------------------------------------------------------

class Walk {
public:
    Walk(const Study& study, const Evaluation& at, const BreakevenQuestion& question)
        : study_(study), at_(at), question_(question) {
        found_.asked = asked_result(study, question.result);
        found_.unit = found_.asked.result->unit;
        found_.value = at.value[found_.asked.node];
        found_.target = target_of(study, at, found_.asked, question);
        found_.unlike_pers = unlike_pers(found_.asked, found_.target.others);
        found_.along = along_of(study, at, question.along.front());
        require_rest(found_.along);
        std::vector<NodeId> figures{found_.asked.node};
        for (const AskedResult& other : found_.target.others) figures.push_back(other.node);
        what_if_.emplace(study.graph, figures);
    }

    Breakeven run() {
        found_.now = sides({{found_.along.input->node, found_.along.value}});
        if (question_.along.size() > 1) return with_line();
        const Roots roots = roots_along(found_.along.range, {});
        found_.at_from = sides_at(found_.along.range.from);
        found_.at_to = sides_at(found_.along.range.to);
        for (const Gap& gap : roots.gaps) found_.gaps.push_back({gap, why_none(gap)});
        if (roots.crossings.empty()) refuse_no_equality();
        for (const Crossing& crossing : roots.crossings)
            found_.equalities.push_back(equality(crossing));
        return std::move(found_);
    }

private:
    /// One of the two sides must move with the input.
    void require_rest(const AlongInput& along) {
        const NodeId input = along.input->node;
        Rests rests = what_it_rests_on(study_.graph, found_.asked.node)[input];
        const bool result_rests = rests.on;
        for (const AskedResult& one : found_.target.others) {
            const Rests other = what_it_rests_on(study_.graph, one.node)[input];
            found_.both_rest |= result_rests && other.on;
            rests.on |= other.on;
            rests.through_step |= other.through_step;
        }
        found_.stepped |= rests.through_step;
        if (rests.on) return;
        throw NoAnswer({{},
                        Severity::error,
                        "does-not-rest-on",
                        fmt::format("{}{} does not rest on {}", found_.asked.address, or_others(),
                                    along.address),
                        "deckle sensitivity lists the inputs that it rests on",
                        {}});
    }

    [[nodiscard]] std::string or_others() const {
        std::string words;
        for (const AskedResult& one : found_.target.others)
            words += fmt::format(" (or {})", one.address);
        return words;
    }

    [[nodiscard]] Sides sides(const std::vector<Overlay::Change>& changes) {
        const Evaluation* there = what_if_->at(changes);
        if (there == nullptr) return {};
        const Target& target = found_.target;
        const double reference = target.reference(*there);
        if (target.index && reference <= 0.0) return {};  // no index against it
        return {there->value[found_.asked.node], target.factor * reference};
    }
    [[nodiscard]] Sides sides_at(double x) { return sides({{found_.along.input->node, x}}); }

    [[nodiscard]] std::string why_none(const Gap& gap) {
        const Sides there = sides_at(gap.from + (gap.to - gap.from) / 2.0);
        if (there.result) return "it leaps from one side to the other";
        return what_if_->why().empty() ? "the reference is not above zero" : what_if_->why();
    }

    /// `fixed`: what else is changed meanwhile.
    Roots roots_along(Range range, const std::vector<Overlay::Change>& fixed,
                      std::size_t points = 200) {
        std::vector<Overlay::Change> changes(1, {found_.along.input->node, 0.0});
        changes.insert(changes.end(), fixed.begin(), fixed.end());
        const auto difference = [&](double x) -> Reading {
            changes.front().value = x;
            const Sides there = sides(changes);
            if (!there.result) return {false, 0.0, 1.0};
            const double scale = std::max(std::abs(*there.result), std::abs(*there.target));
            return {true, *there.result - *there.target, scale};
        };
        return find_roots(difference, range, points);
    }

    [[nodiscard]] Equality equality(const Crossing& crossing) {
        Equality one;
        one.crossing = crossing;
        const Sides there = sides_at(crossing.at);
        one.result = there.result.value_or(0.0);
        one.target = there.target.value_or(0.0);
        const auto& interval = found_.along.interval;
        one.in_interval = interval && crossing.at >= interval->low && crossing.at <= interval->high;
        add_whole(one);
        look_into_ranges(one);
        return one;
    }

    /// An input that counts things can be the whole numbers beside an equality, not the equality.
    void add_whole(Equality& one) {
        const double most_things = found_.along.input->counts_to, at = one.crossing.at;
        const bool stretch = one.crossing.kind == CrossingKind::stretch;
        if (most_things == 0.0 || stretch || at == std::floor(at)) return;
        for (const double count : {std::floor(at), std::ceil(at)}) {
            if (count >= 1.0 && count <= most_things)
                one.whole.emplace_back(count, sides_at(count));
        }
    }

    /// Published ranges of the mills behind all results, at this value of the input.
    void look_into_ranges(Equality& one) const {
        std::vector<std::pair<std::string, std::vector<NodeId>>> by_scenario;
        const auto add = [&](const AskedResult& asked) {
            const std::string& scenario = asked.result->scenario;
            auto same = std::ranges::find(by_scenario, scenario, [](auto& it) { return it.first; });
            if (same == by_scenario.end()) same = by_scenario.insert(same, {scenario, {}});
            same->second.push_back(asked.node);
        };
        add(found_.asked);
        for (const AskedResult& other : found_.target.others) add(other);
        for (const auto& [scenario, figures] : by_scenario)
            look_into_ranges(one, scenario, figures);
    }

    void look_into_ranges(Equality& one, const std::string& scenario,
                          const std::vector<NodeId>& figures) const {
        std::vector<std::vector<Rests>> rests;
        for (const NodeId figure : figures) rests.push_back(what_it_rests_on(study_.graph, figure));
        const auto matters = [&](NodeId node) {
            return std::ranges::any_of(rests, [&](const auto& of) { return of[node].on; });
        };
        std::vector<RangeReading> there;
        try {
            there = range_readings(
                study_, evaluate(study_.graph, {{{found_.along.input->node, one.crossing.at}}}),
                scenario, matters);
        } catch (const NoAnswer&) {
            one.unlooked = "another part of the study has no answer there";
            return;
        }
        const auto now = range_readings(study_, at_, scenario, matters);
        for (RangeReading& reading : there) {
            const auto before = std::ranges::find_if(now, [&](const RangeReading& it) {
                return it.code == reading.code && it.of == reading.of;
            });
            const bool known = before != now.end();
            if (reading.outside) {
                reading.outside->message = said_of(scenario, std::move(reading.outside->message));
                one.outside.push_back({std::move(*reading.outside), known && before->outside});
            } else if ((!known || moves(before->measured, reading.measured)) &&
                       std::ranges::find(one.inside, reading.what) == one.inside.end()) {
                one.inside.push_back(reading.what);
            }
        }
    }

    static bool moves(double before, double after) {
        return std::abs(after - before) > same * std::max(std::abs(before), std::abs(after));
    }

    // --- two inputs ---
    Breakeven with_line() {
        EqualityLine line;
        line.second = along_of(study_, at_, question_.along[1]);
        if (line.second.input == found_.along.input)
            refuse_question("same-input", "both inputs are the same", "name two inputs");
        require_rest(line.second);
        const Range& range = line.second.range;
        bool any = false;
        for (std::size_t i = 0; i <= line_steps; ++i) {
            const double share = static_cast<double>(i) / line_steps;
            const double value =
                i == line_steps ? range.to : range.from + share * (range.to - range.from);
            const Roots roots =
                roots_along(found_.along.range, {{line.second.input->node, value}}, line_points);
            any |= !roots.crossings.empty();
            line.steps.push_back({value, roots.crossings});
        }
        if (!any) refuse_no_line(line);
        found_.line = std::move(line);
        return std::move(found_);
    }

    // --- none ---
    [[nodiscard]] std::string sides_text(double x) {
        const Sides there = sides_at(x);
        const std::string where = fmt::format("at {}", with_unit(x, found_.along.unit));
        if (!there.result) return fmt::format("{} there is no answer", where);
        return fmt::format("{} it is {} against {}", where, number(*there.result),
                           with_unit(*there.target, found_.unit));
    }

    /// The nearest equality outside the range, beyond what the input may be included.
    [[nodiscard]] std::string outside() {
        const Range& range = found_.along.range;
        const double reach = wider * (range.to - range.from);
        std::optional<double> nearest;
        for (const Range& side :
             {Range{range.from - reach, range.from}, Range{range.to, range.to + reach}}) {
            for (const Crossing& one : roots_along(side, {}).crossings) {
                const auto away = [&](double x) {
                    return x < range.from ? range.from - x : x - range.to;
                };
                if (!nearest || away(one.at) < away(*nearest)) nearest = one.at;
            }
        }
        if (!nearest) return "no value near the range gives it either";
        const Bounds& bounds = found_.along.input->bounds;
        const bool possible = *nearest >= bounds.low && *nearest <= bounds.high;
        const std::string take =
            fmt::format("it would take {}", with_unit(*nearest, found_.along.unit));
        if (!possible) return take + ", which this input cannot be";
        return take + ", outside the range: widen it with --from and --to" + left_at(*nearest);
    }

    /// The published ranges that a value outside the range of the question leaves, in words.
    [[nodiscard]] std::string left_at(double x) const {
        Equality there;
        there.crossing.at = x;
        look_into_ranges(there);
        std::string words;
        for (const auto& [finding, now] : there.outside)
            words += fmt::format("; there, outside a published range{}: {}",
                                 now ? ", as it is now" : "", finding.message);
        return words;
    }

    [[nodiscard]] std::string not_of_one_function() const {
        const std::string& unlike = found_.unlike_pers;
        return unlike.empty() ? unlike : "; and these are not results of one function: " + unlike;
    }

    [[noreturn]] void refuse_no_equality() {
        const Range& range = found_.along.range;
        throw NoAnswer({{},
                        Severity::error,
                        "no-equality",
                        fmt::format("{} meets its mark nowhere from {} to {} of {}: {}; {}",
                                    found_.asked.address, number(range.from),
                                    with_unit(range.to, found_.along.unit), found_.along.address,
                                    sides_text(range.from), sides_text(range.to)),
                        outside() + not_of_one_function(),
                        {}});
    }

    [[noreturn]] void refuse_no_line(const EqualityLine& line) {
        throw NoAnswer(
            {{},
             Severity::error,
             "no-equality",
             fmt::format("{} meets its mark nowhere from {} to {} of {}, whatever {} is "
                         "from {} to {}",
                         found_.asked.address, number(found_.along.range.from),
                         with_unit(found_.along.range.to, found_.along.unit), found_.along.address,
                         line.second.address, number(line.second.range.from),
                         with_unit(line.second.range.to, line.second.unit)),
             "widen the ranges with --from and --to" + not_of_one_function(),
             {}});
    }

    const Study& study_;
    const Evaluation& at_;
    const BreakevenQuestion& question_;
    Breakeven found_;
    std::optional<WhatIf> what_if_;
};

}  // namespace

double Target::reference(const Evaluation& at) const {
    if (others.empty()) return value;
    double sum = 0.0;
    for (const AskedResult& one : others) sum += at.value[one.node];
    return sum / static_cast<double>(others.size());
}

Breakeven breakeven(const Study& study, const Evaluation& at, const BreakevenQuestion& question) {
    return Walk(study, at, question).run();
}

}  // namespace deckle
