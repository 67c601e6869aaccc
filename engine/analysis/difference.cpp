#include "engine/analysis/difference.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <map>
#include <set>
#include <unordered_map>

#include "engine/analysis/asked.h"
#include "engine/analysis/rests_on.h"
#include "engine/study/model.h"
#include "engine/text/number_text.h"

namespace deckle {
namespace {

/// Nodes and weights of Gauss and Legendre on [0, 1], eight points: exact to degree 15 (Abramowitz
/// and Stegun, table 25.4, moved from [-1, 1]).
struct QuadraturePoint {
    double at, weight;
};
constexpr std::array<std::pair<double, double>, 4> legendre{
    {{0.183434642495649805, 0.362683783378361983},
     {0.525532409916328986, 0.313706645877887287},
     {0.796666477413626740, 0.222381034453374471},
     {0.960289856497536232, 0.101228536290376259}}};
constexpr std::array<unsigned, 4> panel_steps{1, 4, 16, 64};
constexpr double closes = 1e-9;       ///< of the change: then the line is integrated well enough
constexpr int longest_validity = 3;   ///< years: PACT Methodology 3, validity
constexpr double same_value = 1e-12;  ///< relative: units converted forth and back

std::vector<QuadraturePoint> points_of(unsigned panels) {
    std::vector<QuadraturePoint> points;
    for (unsigned panel = 0; panel < panels; ++panel) {
        for (const auto& [x, weight] : legendre) {
            for (const double sign : {-1.0, 1.0})
                points.push_back({(panel + 0.5 + 0.5 * sign * x) / panels, 0.5 * weight / panels});
        }
    }
    return points;
}

/// One input moved along a line.
struct Moved {
    NodeId input = no_node;
    double from = 0.0, to = 0.0;
    std::size_t part = 0;  ///< which part of the change it adds to
};
using Line = std::vector<Moved>;

/// A figure of one graph at other inputs.
class Figure {
public:
    Figure(const EvaluatedStudy& of, NodeId node)
        : graph_(of.study->graph), node_(node), values_(*of.at) {
        const NodeId wanted[] = {node};
        wanted_ = graph_.ancestors(wanted);
    }

    /// At `share` of the line. Errors: NoAnswer.
    double at(const Line& line, double share) {
        Overlay overlay;
        for (const Moved& one : line)
            overlay.changes.push_back({one.input, one.from + share * (one.to - one.from)});
        evaluate_into(graph_, overlay, wanted_, values_);
        return values_.value[node_];
    }

    /// Adds to each part what its inputs bring along the line.
    void integrate(const Line& line, double weight, std::vector<double>& parts) {
        if (line.empty()) return;
        const double change = at(line, 1.0) - at(line, 0.0);
        std::vector<double> found;
        for (const unsigned panels : panel_steps) {
            found = integrals(line, points_of(panels));
            double rest = change;
            for (const double one : found) rest -= one;
            if (std::abs(rest) <= closes * std::abs(change)) break;
        }
        for (std::size_t i = 0; i < line.size(); ++i) parts[line[i].part] += weight * found[i];
    }

private:
    std::vector<double> integrals(const Line& line, const std::vector<QuadraturePoint>& points) {
        std::vector<double> found(line.size());
        for (const QuadraturePoint& point : points) {
            (void)at(line, point.at);
            const auto slope = derivatives(graph_, values_, node_);
            for (std::size_t i = 0; i < line.size(); ++i)
                found[i] += point.weight * slope[line[i].input] * (line[i].to - line[i].from);
        }
        return found;
    }

    const Graph& graph_;
    NodeId node_;
    Evaluation values_;
    std::vector<std::uint8_t> wanted_;
};

/// A share that is typed as such is how burdens are shared, "mill.engine.allocation.steam".
bool is_method(std::string_view address) {
    return address.find(".allocation.") != std::string_view::npos;
}

const std::string& address_of(const Graph& graph, const Input& input) {
    return graph.text_of(input.addresses.front());
}

/// Ids of everything that `factors` of a study names.
std::set<std::string, std::less<>> table_ids(const Study& study) {
    std::set<std::string, std::less<>> ids;
    const auto add = [&](const auto& list) {
        for (const auto& one : list) ids.insert(one.id);
    };
    const Tables& tables = study.model->tables;
    add(tables.factors);
    add(tables.characterizations);
    add(tables.scarcities);
    add(tables.prices);
    return ids;
}

bool is_of_table(const std::set<std::string, std::less<>>& ids, std::string_view address) {
    return ids.contains(address.substr(0, address.find('.')));
}

/// "gas.releases.co2_fossil" of "fuels_2025.gas.releases.co2_fossil".
std::string within_table(std::string_view address) {
    const std::size_t dot = address.find('.');
    return dot == std::string_view::npos ? std::string() : std::string(address.substr(dot + 1));
}

/// The same input in both graphs, with each value in the unit of both.
struct InputPair {
    const Input *was = nullptr, *now = nullptr;
    double was_in_new = 0.0, now_in_old = 0.0;
    bool comparable = true;  ///< the units are of one kind
    bool changed = false;
};

/// Which input of OLD is which of NEW.
class Pairing {
public:
    Pairing(const EvaluatedStudy& was, const EvaluatedStudy& now)
        : was_(was.study->graph),
          now_(now.study->graph),
          at_was_(*was.at),
          at_now_(*now.at),
          tables_was_(table_ids(*was.study)),
          tables_now_(table_ids(*now.study)) {
        pair_by_address();
        pair_by_table();
    }

    std::vector<InputPair> pairs;
    std::vector<const Input*> dropped, added;

    [[nodiscard]] bool is_factor(std::string_view address) const {
        return is_of_table(tables_now_, address) || is_of_table(tables_was_, address);
    }

private:
    const Input* find_now(const Input& input) const {
        for (const TextId name : input.addresses) {
            const NodeId node = now_.find(was_.text_of(name));
            if (node != no_node && now_.operation(node) == Operation::input)
                return &now_.inputs()[now_.payload(node)];
        }
        return nullptr;
    }

    void pair_by_address() {
        std::set<const Input*> taken;
        for (const Input& input : was_.inputs()) {
            const Input* other = find_now(input);
            if (other == nullptr || !taken.insert(other).second) dropped.push_back(&input);
            else pairs.push_back(pair_of(input, *other));
        }
        for (const Input& input : now_.inputs()) {
            if (!taken.contains(&input)) added.push_back(&input);
        }
    }

    /// A table of another edition has another id: its lines are the same where one of that name is
    /// left on each side.
    void pair_by_table() {
        std::map<std::string, std::vector<const Input*>> names;
        for (const Input* input : added) {
            const std::string& address = address_of(now_, *input);
            if (is_of_table(tables_now_, address)) names[within_table(address)].push_back(input);
        }
        std::map<std::string, std::size_t> wanted;
        for (const Input* input : dropped) ++wanted[within_table(address_of(was_, *input))];
        std::erase_if(dropped, [&](const Input* input) {
            const std::string& address = address_of(was_, *input);
            const auto found = names.find(within_table(address));
            if (!is_of_table(tables_was_, address) || found == names.end() ||
                found->second.size() != 1 || wanted[within_table(address)] != 1)
                return false;
            pairs.push_back(pair_of(*input, *found->second.front()));
            std::erase(added, found->second.front());
            return true;
        });
    }

    InputPair pair_of(const Input& was, const Input& now) const {
        InputPair pair{&was, &now};
        const double before = at_was_.value[was.node], after = at_now_.value[now.node];
        pair.was_in_new = before;
        pair.now_in_old = after;
        if (was_.text_of(was_.unit(was.node)) != now_.text_of(now_.unit(now.node))) {
            const Unit old_unit = unit_of(was_, was.node), new_unit = unit_of(now_, now.node);
            const auto forth = conversion(old_unit, new_unit),
                       back = conversion(new_unit, old_unit);
            pair.comparable = forth && back;
            if (!pair.comparable) return pair;
            pair.was_in_new = forth->apply(before);
            pair.now_in_old = back->apply(after);
        }
        pair.changed = std::abs(pair.was_in_new - after) > same_value * std::abs(after);
        return pair;
    }

    const Graph &was_, &now_;
    const Evaluation &at_was_, &at_now_;
    std::set<std::string, std::less<>> tables_was_, tables_now_;
};

/// The walk for one result.
class Decomposition {
public:
    Decomposition(const EvaluatedStudy& was, const EvaluatedStudy& now, const Pairing& pairing,
                  NodeId node_was, NodeId node_now)
        : was_(was),
          now_(now),
          pairing_(pairing),
          figure_was_(was, node_was),
          figure_now_(now, node_now),
          rests_was_(what_it_rests_on(was.study->graph, node_was)),
          rests_now_(what_it_rests_on(now.study->graph, node_now)) {
        add_changed();
        add_dropped();
        add_added();
        sums_.resize(parts_.size());
    }

    void run(ResultDifference& result) {
        // inputs first, then the method: half of the whole
        figure_was_.integrate(joined(changed_was_, dropped_), 0.5, sums_);
        figure_now_.integrate(joined(at_end(changed_now_), added_), 0.5, sums_);
        // the method first
        figure_was_.integrate(joined(at_start(changed_was_), dropped_), 0.5, sums_);
        figure_now_.integrate(joined(changed_now_, added_), 0.5, sums_);
        const double after = jump(1.0), before = jump(0.0);
        take(result, 0.5 * (after + before));
    }

private:
    /// An input that stands still has no part.
    static Line at_end(Line line) {
        for (Moved& one : line) one.from = one.to;
        return line;
    }
    static Line at_start(Line line) {
        for (Moved& one : line) one.to = one.from;
        return line;
    }
    static Line joined(Line line, const Line& more) {
        line.insert(line.end(), more.begin(), more.end());
        return line;
    }

    /// NEW less OLD at equal inputs, without what was added and dropped.
    double jump(double share) {
        const auto still = [&](const Line& line) {
            return share == 1.0 ? at_end(line) : at_start(line);
        };
        const double now = figure_now_.at(joined(still(changed_now_), at_start(added_)), 0.0);
        const double was = figure_was_.at(joined(still(changed_was_), at_end(dropped_)), 1.0);
        return now - was;
    }

    void add_changed() {
        for (const InputPair& pair : pairing_.pairs) {
            const bool counts = rests_was_[pair.was->node].on || rests_now_[pair.now->node].on;
            if (!counts) continue;
            if (!pair.comparable) {
                notes_.push_back(fmt::format("{} changed its kind of unit: counted as method",
                                             address_of(now_.study->graph, *pair.now)));
                continue;
            }
            if (!pair.changed) continue;
            const double before = was_.at->value[pair.was->node],
                         after = now_.at->value[pair.now->node];
            changed_was_.push_back({pair.was->node, before, pair.now_in_old, parts_.size()});
            changed_now_.push_back({pair.now->node, pair.was_in_new, after, parts_.size()});
            parts_.push_back(part_of(pair));
        }
    }

    void add_dropped() {
        for (const Input* input : pairing_.dropped) {
            if (!rests_was_[input->node].on) continue;
            if (is_method(address_of(was_.study->graph, *input))) continue;
            dropped_.push_back({input->node, was_.at->value[input->node], 0.0, parts_.size()});
            parts_.push_back(single(was_.study->graph, *input, DifferenceKind::dropped));
        }
        keep_possible(figure_was_, dropped_, changed_was_, was_.study->graph, 1.0);
    }

    void add_added() {
        for (const Input* input : pairing_.added) {
            if (!rests_now_[input->node].on) continue;
            if (is_method(address_of(now_.study->graph, *input))) continue;
            added_.push_back({input->node, 0.0, now_.at->value[input->node], parts_.size()});
            parts_.push_back(single(now_.study->graph, *input, DifferenceKind::added));
        }
        keep_possible(figure_now_, added_, changed_now_, now_.study->graph, 0.0);
    }

    /// Only what may be 0 is taken out; the rest stands as it is and counts as method.
    void keep_possible(Figure& figure, Line& line, const Line& changed, const Graph& graph,
                       double empty_end) {
        std::erase_if(line, [&](const Moved& one) {
            const Bounds& bounds = graph.inputs()[graph.payload(one.input)].bounds;
            return bounds.low > 0.0 || bounds.high < 0.0 ||
                   !has_answer(figure, {one}, changed, empty_end);
        });
        if (!line.empty() && !has_answer(figure, line, changed, empty_end)) {
            line.clear();
            notes_.emplace_back(
                "what was added or dropped cannot be taken out together: counted as method");
        }
    }

    static bool has_answer(Figure& figure, const Line& line, const Line& changed,
                           double empty_end) {
        try {
            const Line gone = empty_end == 1.0 ? at_end(line) : at_start(line);
            (void)figure.at(joined(at_start(changed), gone), 0.0);
            (void)figure.at(joined(at_end(changed), gone), 0.0);
            return true;
        } catch (const NoAnswer&) {
            return false;
        }
    }

    DifferencePart part_of(const InputPair& pair) const {
        const Graph &was = was_.study->graph, &now = now_.study->graph;
        DifferencePart part = single(now, *pair.now, DifferenceKind::input_changed);
        const std::string& before = address_of(was, *pair.was);
        if (before != part.address && was.find(part.address) == no_node) part.address_was = before;
        if (pairing_.is_factor(part.address)) part.kind = DifferenceKind::factor_revised;
        part.typed_was = was.text_of(pair.was->typed);
        return part;
    }

    static DifferencePart single(const Graph& graph, const Input& input, DifferenceKind kind) {
        DifferencePart part;
        part.kind = kind;
        part.address = address_of(graph, input);
        (kind == DifferenceKind::dropped ? part.typed_was : part.typed_now) =
            graph.text_of(input.typed);
        return part;
    }

    void take(ResultDifference& result, double method) {
        double rest = result.change - method;
        for (std::size_t i = 0; i < parts_.size(); ++i) {
            parts_[i].part = sums_[i];
            rest -= sums_[i];
        }
        parts_.push_back({DifferenceKind::method, {}, {}, {}, {}, method, 0.0});
        result.jumps = rest;
        std::erase_if(parts_, [](const DifferencePart& one) { return one.part == 0.0; });
        for (DifferencePart& one : parts_) {
            one.share = result.change == 0.0 ? 0.0 : one.part / result.change;
            result.absolute += std::abs(one.part);
        }
        result.absolute += std::abs(rest);
        std::ranges::stable_sort(parts_, [](const DifferencePart& a, const DifferencePart& b) {
            return std::abs(a.part) > std::abs(b.part);
        });
        result.parts = std::move(parts_);
        result.notes = std::move(notes_);
    }

    const EvaluatedStudy &was_, &now_;
    const Pairing& pairing_;
    Figure figure_was_, figure_now_;
    std::vector<Rests> rests_was_, rests_now_;
    std::vector<DifferencePart> parts_;
    std::vector<double> sums_;
    Line changed_was_, changed_now_, dropped_, added_;
    std::vector<std::string> notes_;
};

std::string percent_of(double share) { return format_significant(100.0 * share, 3) + " %"; }

void judge_change(const DifferenceQuestion& question, ResultDifference& result) {
    if (!result.relative) return;
    const double moved = std::abs(*result.relative);
    if (moved >= question.trigger)
        result.findings.push_back(
            {"recalculation-due",
             fmt::format("it changed by {}: {} or more asks for a new "
                         "calculation of what was handed out",
                         percent_of(*result.relative), percent_of(question.trigger))});
    if (!question.limit) return;
    if (moved > *question.limit)
        result.findings.push_back(
            {"change-above-limit", fmt::format("the change is {} of the old figure, the limit {}",
                                               percent_of(moved), percent_of(*question.limit))});
    const double absolute = result.absolute / std::abs(result.was);
    if (absolute > *question.limit)
        result.findings.push_back(
            {"parts-above-limit",
             fmt::format("the parts without their signs are {} of the old figure, the limit {}",
                         percent_of(absolute), percent_of(*question.limit))});
    for (const DifferencePart& one : result.parts) {
        const double part = std::abs(one.part / result.was);
        if (part > *question.limit)
            result.findings.push_back(
                {"part-above-limit",
                 fmt::format("{} alone is {} of the old figure",
                             one.address.empty() ? "method" : one.address, percent_of(part))});
    }
}

/// The last day of a period such as "2025-01-01 .. 2025-12-31"; "" where it is none.
std::string last_day(const std::string& period) {
    constexpr std::size_t length = 10;  // of an ISO 8601 date
    if (period.size() < length) return {};
    std::string day = period.substr(period.size() - length);
    for (std::size_t i = 0; i < length; ++i) {
        const bool dash = i == 4 || i == 7;
        if (dash ? day[i] != '-' : day[i] < '0' || day[i] > '9') return {};
    }
    return day;
}

/// What OLD was calculated from is too long ago when NEW's period ends.
void judge_age(const StudyHead& was, const StudyHead& now, ResultDifference& result) {
    const std::string before = last_day(was.period), after = last_day(now.period);
    if (before.empty() || after.empty()) return;
    const int year = std::stoi(before.substr(0, 4)) + longest_validity;
    const std::string valid_to = fmt::format("{:04}{}", year, before.substr(4));
    if (after > valid_to)
        result.findings.push_back(
            {"too-old", fmt::format("the old figure is of a period that ended on {}: valid for {} "
                                    "years, the new one ends on {}",
                                    before, longest_validity, after)});
}

std::vector<std::string> heads_changed(const StudyHead& was, const StudyHead& now) {
    std::vector<std::string> changed;
    const auto compare = [&](std::string_view what, const std::string& a, const std::string& b) {
        const auto shown = [](const std::string& text) { return text.empty() ? "none" : text; };
        if (a != b) changed.push_back(fmt::format("{}: {}, now {}", what, shown(a), shown(b)));
    };
    const auto view = [](ElectricityView one) {
        return std::string(one == ElectricityView::market ? "market" : "location");
    };
    compare("period", was.period, now.period);
    compare("boundary", was.boundary, now.boundary);
    compare("warming potentials", was.characterization, now.characterization);
    compare("water scarcity", was.scarcity, now.scarcity);
    compare("prices", was.prices, now.prices);
    compare("electricity", view(was.headline), view(now.headline));
    compare("rules", fmt::format("{} {}", was.rules.id, was.rules.version),
            fmt::format("{} {}", now.rules.id, now.rules.version));
    return changed;
}

/// By address.
std::map<std::string, const Process*> processes_of(const Study& study) {
    std::map<std::string, const Process*> all;
    for (const Mill& mill : study.model->mills) {
        for (const Process& process : mill.processes) all.emplace(process.address(), &process);
    }
    return all;
}

/// Processes that came or went, and allocations by another method.
void add_processes_changed(const Study& was, const Study& now, std::vector<std::string>& changed) {
    const auto method = [](const Process& process) {
        return process.allocation ? process.allocation->method : std::string("none");
    };
    const auto before = processes_of(was), after = processes_of(now);
    for (const auto& [address, process] : before) {
        const auto found = after.find(address);
        if (found == after.end()) changed.push_back(fmt::format("process {}: dropped", address));
        else if (method(*process) != method(*found->second))
            changed.push_back(fmt::format("allocation of {}: {}, now {}", address, method(*process),
                                          method(*found->second)));
    }
    for (const auto& [address, process] : after) {
        if (!before.contains(address)) changed.push_back(fmt::format("process {}: added", address));
    }
}

/// What is asked where nothing was.
std::vector<std::string> usual_results(const Study& was, const Study& now) {
    const auto in_both = [&](const Subject& subject) -> std::string {
        if (subject.pers.empty()) return {};
        const std::string& per = subject.pers.front();
        const Result* one = was.result(subject.id, per, "climate");
        const Result* other = now.result(subject.id, per, "climate");
        return one == nullptr || other == nullptr ? std::string() : other->address;
    };
    std::vector<std::string> all;
    for (const Subject& subject : now.subjects) {
        const std::string address = in_both(subject);
        if (address.empty()) continue;
        if (subject.kind == Subject::Kind::all) return {address};
        all.push_back(address);
    }
    return all;
}

ResultDifference difference_of(const EvaluatedStudy& was, const EvaluatedStudy& now,
                               const Pairing& pairing, const std::string& address) {
    const AskedResult before = asked_result(*was.study, address);
    const AskedResult after = asked_result(*now.study, address);
    if (before.result->unit != after.result->unit)
        refuse_question("unlike-results",
                        fmt::format("{} is in {} in one study and in {} in the other", address,
                                    before.result->unit, after.result->unit),
                        "the two cannot be held against each other");
    ResultDifference result;
    result.address = after.address;
    result.unit = after.result->unit;
    result.was = was.at->value[before.node];
    result.now = now.at->value[after.node];
    result.change = result.now - result.was;
    if (result.was != 0.0) result.relative = result.change / std::abs(result.was);
    if (before.result->coverage != after.result->coverage)
        result.notes.emplace_back("what is covered differs: one of the two is \"at least\"");
    std::vector<std::string> notes = result.notes;
    Decomposition(was, now, pairing, before.node, after.node).run(result);
    result.notes.insert(result.notes.begin(), notes.begin(), notes.end());
    return result;
}

}  // namespace

std::string_view name_of(DifferenceKind kind) noexcept {
    switch (kind) {
        case DifferenceKind::input_changed: return "input_changed";
        case DifferenceKind::factor_revised: return "factor_revised";
        case DifferenceKind::added: return "added";
        case DifferenceKind::dropped: return "dropped";
        case DifferenceKind::method: break;
    }
    return "method";
}

bool Difference::has_findings() const noexcept {
    return std::ranges::any_of(results, [](const auto& one) { return !one.findings.empty(); });
}

Difference difference(const EvaluatedStudy& was, const EvaluatedStudy& now,
                      DifferenceQuestion question) {
    Difference found;
    found.question = std::move(question);
    found.heads = heads_changed(was.study->head, now.study->head);
    add_processes_changed(*was.study, *now.study, found.heads);
    std::vector<std::string> asked = found.question.results;
    if (asked.empty()) asked = usual_results(*was.study, *now.study);
    if (asked.empty())
        refuse_question("unlike-results", "the two studies have no result in common",
                        "--result ADDRESS names one that both have");
    const Pairing pairing(was, now);
    for (const std::string& address : asked) {
        found.results.push_back(difference_of(was, now, pairing, address));
        judge_change(found.question, found.results.back());
        judge_age(was.study->head, now.study->head, found.results.back());
    }
    return found;
}

}  // namespace deckle
