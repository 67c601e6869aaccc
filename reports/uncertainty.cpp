#include "reports/uncertainty.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>

#include "engine/analysis/asked.h"
#include "engine/analysis/likeness.h"
#include "engine/analysis/rests_on.h"
#include "engine/study/model.h"
#include "engine/text/nearest.h"
#include "reports/footprint.h"
#include "reports/inert.h"
#include "reports/scenario_text.h"
#include "reports/words.h"

namespace deckle {
namespace {

constexpr std::array<std::string_view, 2> usual_indicators{"climate", "water_consumed"};
constexpr std::string_view today = "today";

std::string scenario_of(const Result& result) {
    return result.scenario.empty() ? std::string(today) : result.scenario;
}

/// A result that is shown, and the one it is compared with.
struct Pick {
    const Result* result = nullptr;
    const Result* against = nullptr;
    std::string unlike = {};  ///< why the two are not compared; "" where they are
};

class Picker {
public:
    Picker(const Study& study, const Evaluation& at, const UncertaintyAsked& asked)
        : study_(study), at_(at), asked_(asked), by_scenario_(is_scenario(asked.against)) {}

    std::vector<Pick> run() {
        check_names();
        std::vector<Pick> picks;
        for (const FootprintResult& one :
             ask_footprint(study_, at_, footprint_question()).results) {
            if (is_picked(*one.result, *one.subject)) picks.push_back({one.result, nullptr});
        }
        if (picks.empty()) {
            refuse_question("no-such-result", "the products asked for have no figure to draw",
                            "leave out --per and --indicator, or see deckle footprint");
        }
        if (!asked_.against.empty()) add_references(picks);
        return picks;
    }

private:
    [[nodiscard]] bool is_scenario(std::string_view name) const {
        return std::ranges::any_of(
            study_.results, [&](const Result& result) { return scenario_of(result) == name; });
    }

    void check_names() const {
        const bool known =
            asked_.against.empty() || by_scenario_ || study_.subject(asked_.against) != nullptr;
        if (!known) {
            std::vector<std::string> products;
            for (const Subject& subject : study_.subjects) products.push_back(subject.id);
            refuse_question("unknown-reference",
                            fmt::format("--against {}: there is no such product or scenario",
                                        inert(asked_.against)),
                            did_you_mean(asked_.against, products));
        }
        for (const std::string& name : asked_.scenarios) {
            if (is_scenario(name)) continue;
            refuse_question("unknown-scenario", fmt::format("there is no scenario {}", inert(name)),
                            "");
        }
    }

    /// All units and indicators are asked for, so that unknown names are refused with the nearest.
    [[nodiscard]] FootprintQuestion footprint_question() const {
        FootprintQuestion question;
        question.products = asked_.products;
        question.scenarios = scenarios();
        question.pers = asked_.pers;
        question.indicators = asked_.indicators;
        for (const std::string& per : asked_.pers) {
            const bool has_unrounded = std::ranges::any_of(study_.subjects, [&](const Subject& s) {
                return holds(s.pers, per + "_unrounded");
            });
            if (has_unrounded) question.pers.push_back(per + "_unrounded");
        }
        if (question.products.empty()) question.products = usual_products();
        const bool reference_apart =
            !asked_.against.empty() && !by_scenario_ && !holds(question.products, asked_.against);
        if (reference_apart) question.products.push_back(asked_.against);
        if (question.indicators.empty())
            question.indicators.assign(usual_indicators.begin(), usual_indicators.end());
        return question;
    }

    [[nodiscard]] std::vector<std::string> usual_products() const {
        std::vector<std::string> consumer, other;
        for (const Subject& subject : study_.subjects) {
            if (subject.kind == Subject::Kind::consumer_product) consumer.push_back(subject.id);
            if (subject.kind == Subject::Kind::mill_product) other.push_back(subject.id);
        }
        return consumer.empty() ? other : consumer;
    }

    /// Those asked for and the one they are compared with; else today, or all there are.
    [[nodiscard]] std::vector<std::string> scenarios() const {
        std::vector<std::string> ids = asked_.scenarios;
        if (ids.empty()) ids.emplace_back(today);
        if (!by_scenario_) return ids;
        if (!asked_.scenarios.empty()) {
            if (!holds(ids, asked_.against)) ids.push_back(asked_.against);
            return ids;
        }
        for (const Result& result : study_.results) {
            if (!holds(ids, scenario_of(result))) ids.push_back(scenario_of(result));
        }
        return ids;
    }

    /// Unrounded where a count is rounded; of units not asked for the usual ones.
    [[nodiscard]] bool is_picked(const Result& result, const Subject& subject) const {
        if (result.coverage == Coverage::not_covered) return false;
        if (holds(subject.pers, result.per + "_unrounded")) return false;
        if (!asked_.pers.empty()) return true;
        constexpr std::string_view unrounded = "_unrounded";
        std::string per = result.per;
        if (per.ends_with(unrounded)) per.resize(per.size() - unrounded.size());
        const bool any_usual = std::ranges::any_of(
            asked_.usual_pers, [&](std::string_view usual) { return holds(subject.pers, usual); });
        return any_usual ? holds(asked_.usual_pers, per) : per == subject.pers.front();
    }

    void add_references(std::vector<Pick>& picks) const {
        bool any = false;
        const Pick* why = nullptr;
        for (Pick& pick : picks) {
            const Result* reference = reference_of(*pick.result);
            if (reference == nullptr || reference == pick.result) continue;
            pick.against = reference;
            pick.unlike = unlike(*pick.result, *reference);
            any = any || pick.unlike.empty();
            if (!pick.unlike.empty()) why = &pick;
        }
        if (any) return;
        if (why != nullptr) refuse_unlike(*why);
        refuse_question(
            "nothing-to-compare",
            fmt::format("no figure asked for has one of {} beside it", inert(asked_.against)),
            "name another product, and a unit that both have: --per t");
    }

    [[nodiscard]] std::vector<std::string> rules(const Result& one, const Result& other) const {
        return unlike_rules(study_, {one.scenario, one.of, {}}, {other.scenario, other.of, {}});
    }

    [[nodiscard]] std::string unlike(const Result& one, const Result& other) const {
        if (!rules(one, other).empty()) return "they are made under different rules";
        return unlike_gaps(study_, one, other).empty() ? "" : "what is not covered differs";
    }

    [[noreturn]] void refuse_unlike(const Pick& pick) const {
        const auto differ = rules(*pick.result, *pick.against);
        if (!differ.empty())
            refuse_question("unlike-rules",
                            fmt::format("figures made under different rules do not compare; {}",
                                        fmt::join(differ, "; ")),
                            "name scenarios of one set of rules with --scenario");
        refuse_question(
            "unlike-coverage",
            fmt::format("of {} and {} one leaves out what the other does not: {}",
                        pick.result->address, pick.against->address,
                        fmt::join(unlike_gaps(study_, *pick.result, *pick.against), ", ")),
            "deckle footprint lists what is not covered");
    }

    /// Of the unrounded count where the reference has one, whatever the figure has.
    [[nodiscard]] const Result* reference_of(const Result& result) const {
        constexpr std::string_view unrounded = "_unrounded";
        std::string per = result.per;
        if (per.ends_with(unrounded)) per.resize(per.size() - unrounded.size());
        const Result* found = reference_per(result, per + std::string(unrounded));
        return found != nullptr ? found : reference_per(result, per);
    }

    [[nodiscard]] const Result* reference_per(const Result& result, const std::string& per) const {
        const std::string of = by_scenario_ ? result.of : asked_.against;
        const std::string scenario = by_scenario_ ? asked_.against : scenario_of(result);
        for (const Result& one : study_.results) {
            if (one.of == of && one.per == per && one.indicator == result.indicator &&
                scenario_of(one) == scenario && one.coverage != Coverage::not_covered)
                return &one;
        }
        return nullptr;
    }

    const Study& study_;
    const Evaluation& at_;
    const UncertaintyAsked& asked_;
    bool by_scenario_;
};

/// FNV-1a over the texts of all files, each after its length.
std::string fingerprint(const Files& files) {
    std::string all;
    for (std::uint32_t file = 1; file <= files.count(); ++file)
        all += fmt::format("{}\n{}", files.at(file).text.size(), files.at(file).text);
    return fmt::format("{:016x}", stable_id(all));
}

void count_inputs(const Study& study, const std::vector<Pick>& picks, UncertaintyReport& report) {
    std::vector<NodeId> wanted;
    for (const Pick& pick : picks) {
        wanted.push_back(pick.result->node);
        if (pick.against != nullptr) wanted.push_back(pick.against->node);
    }
    const auto rests = what_it_rests_on(study.graph, wanted);
    for (const Input& input : study.graph.inputs()) {
        if (!rests[input.node].on) continue;
        const bool exact = input.spread.kind == SpreadKind::none;
        ++(exact ? report.without_spread : report.with_spread);
    }
}

SpreadSet spreads_of(const Study& study) {
    const QualitySpread* set = study.model->tables.quality_spread(study.model->data_quality_spread);
    if (set == nullptr) return {};
    return {set->id, fmt::format("{}; {}", set->title, set->source.text())};
}

/// The products of all picks in their order.
std::vector<std::string> products_of(const std::vector<Pick>& picks) {
    std::vector<std::string> products;
    for (const Pick& pick : picks) {
        if (!holds(products, pick.result->of)) products.push_back(pick.result->of);
    }
    return products;
}

/// The products of a shard follow each other, so that joining is appending.
std::vector<std::string> products_of_shard(const std::vector<std::string>& products, Shard shard) {
    const std::size_t first = products.size() * (shard.part - 1) / shard.of;
    const std::size_t last = products.size() * shard.part / shard.of;
    return {products.begin() + static_cast<std::ptrdiff_t>(first),
            products.begin() + static_cast<std::ptrdiff_t>(last)};
}

UncertaintyRow row_of(const Study& study, const Pick& pick) {
    const Result& result = *pick.result;
    UncertaintyRow row;
    row.address = result.address;
    row.of = result.of;
    row.per = result.per;
    row.indicator = study.indicators[result.indicator].id;
    row.scenario = scenario_of(result);
    row.unit = result.unit;
    row.bound = bound_of(study, result);
    if (pick.against != nullptr) row.against = pick.against->address;
    row.not_compared = pick.unlike;
    return row;
}

}  // namespace

UncertaintyReport ask_uncertainty(const Study& study, const Evaluation& at,
                                  UncertaintyAsked asked) {
    const std::vector<Pick> picks = Picker(study, at, asked).run();
    UncertaintyReport report;
    report.study = study.head;
    report.study_files = fingerprint(study.files);
    report.asked = std::move(asked);
    report.asked.products = products_of(picks);
    report.spreads = spreads_of(study);
    count_inputs(study, picks, report);

    std::set<std::string> scenarios;
    for (const Pick& pick : picks) {
        scenarios.insert(pick.result->scenario);
        if (pick.against != nullptr) scenarios.insert(pick.against->scenario);
    }
    report.scenario_findings = scenario_findings(study, scenarios);

    std::vector<UncertainGroup> groups;
    for (const std::string& product :
         products_of_shard(report.asked.products, report.asked.shard)) {
        UncertainGroup group;
        for (const Pick& pick : picks) {
            if (pick.result->of != product) continue;
            report.rows.push_back(row_of(study, pick));
            group.push_back({pick.result->node, pick.against == nullptr || !pick.unlike.empty()
                                                    ? no_node
                                                    : pick.against->node});
        }
        groups.push_back(std::move(group));
    }
    std::size_t row = 0;
    for (const auto& group : uncertainty(study.graph, at, groups, report.asked.draws)) {
        for (const FigureUncertainty& figure : group) report.rows[row++].figure = figure;
    }
    return report;
}

std::string_view name_of(IntervalKind kind) noexcept {
    return kind == IntervalKind::symmetric ? "symmetric" : "shortest";
}

std::string_view name_of(FirstOrderVerdict verdict) noexcept {
    switch (verdict) {
        case FirstOrderVerdict::accepted: return "accepted";
        case FirstOrderVerdict::refused: return "refused";
        case FirstOrderVerdict::undecided: return "undecided";
        case FirstOrderVerdict::not_judged: break;
    }
    return "not_judged";
}

std::string_view name_of(ComparisonVerdict verdict) noexcept {
    switch (verdict) {
        case ComparisonVerdict::below: return "below";
        case ComparisonVerdict::probably_below: return "probably_below";
        case ComparisonVerdict::probably_above: return "probably_above";
        case ComparisonVerdict::above: return "above";
        case ComparisonVerdict::equal: return "equal";
        case ComparisonVerdict::too_close: break;
    }
    return "too_close";
}

}  // namespace deckle
