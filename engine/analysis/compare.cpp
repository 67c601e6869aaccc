#include "engine/analysis/compare.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "engine/analysis/asked.h"
#include "engine/analysis/breakout.h"
#include "engine/analysis/compare_parts.h"
#include "engine/product/result_words.h"
#include "engine/study/model.h"
#include "engine/text/nearest.h"
#include "engine/text/number_text.h"

namespace deckle {
namespace {

constexpr std::string_view gaps_differ = "what is not covered differs from the reference";

class Comparer {
public:
    Comparer(const Study& study, const Evaluation& at, ComparisonQuestion question)
        : study_(study), at_(at) {
        all_.study = &study;
        all_.question = std::move(question);
        all_.view = all_.question.view.value_or(study.head.headline);
    }

    Compared run() {
        fill_defaults();
        find_indicators();
        for (const std::string& of : all_.question.products) {
            for (const std::string& scenario : all_.question.scenarios) add_row(scenario, of);
        }
        for (const std::string& reference : all_.question.references) add_reference(reference);
        check_indicators();
        check_equal_function(study_, at_, all_);
        check_rules();
        add_indices();
        add_steps(study_, at_, all_);
        return std::move(all_);
    }

private:
    void fill_defaults() {
        ComparisonQuestion& question = all_.question;
        if (question.scenarios.empty()) question.scenarios.emplace_back();
        std::ranges::replace(question.scenarios, std::string("today"), std::string());
        const auto subjects = study_.subjects_of(question.scenarios.front());
        const bool whole = study_.subject("all") != nullptr && question.scenarios.size() > 1;
        if (question.products.empty() && whole && question.equal.empty())
            question.products = {"all"};
        const bool any = !question.products.empty();
        for (const Subject& subject : subjects) {
            if (!any && subject.kind == Subject::Kind::consumer_product)
                question.products.push_back(subject.id);
        }
        if (question.products.empty()) {
            for (const Subject& subject : subjects) question.products.push_back(subject.id);
        }
        if (question.equal.empty())
            question.equal =
                question.products == std::vector<std::string>{"all"} ? "period" : "mass";
        const auto row = std::ranges::find(equal_functions, question.equal, &EqualFunction::word);
        if (row != equal_functions.end()) all_.function = row->text;
        for (const Function& function : study_.model->functions) {
            if (function.id == question.equal) all_.function = function.title;
        }
        if (all_.function.empty()) all_.function = "one " + question.equal;
    }

    bool of_lines() const {
        return std::ranges::all_of(all_.question.products, [&](const std::string& of) {
            const Subject* subject = study_.subject(of, all_.question.scenarios.front());
            return subject != nullptr && subject->kind == Subject::Kind::line;
        });
    }

    void find_indicators() {
        auto& wanted = all_.question.indicators;
        asked_indicators_ = wanted.size();
        if (wanted.empty()) {
            wanted = {"climate",          "water_consumed", "energy_non_renewable",
                      "energy_renewable", "cost",           "cost_marginal"};
            if (of_lines()) wanted.insert(wanted.begin() + 1, "fibre");
        }
        std::vector<std::string> known;
        for (const Indicator& one : study_.indicators) known.push_back(one.id);
        for (const std::string& id : wanted) {
            const auto found = std::ranges::find(study_.indicators, id, &Indicator::id);
            if (found == study_.indicators.end())
                refuse_question("unknown-indicator", fmt::format("there is no indicator {}", id),
                                indicator_meant(id, known));
            all_.indicators.push_back(&*found);
        }
    }

    /// An indicator that was asked for, and that no row has: a report without it would not say so.
    void check_indicators() const {
        if (asked_indicators_ == 0) return;
        for (std::size_t i = 0; i < all_.indicators.size(); ++i) {
            if (std::ranges::any_of(all_.rows, [&](const ComparedRow& row) {
                    return row.figures[i].result != nullptr;
                }))
                continue;
            const ComparedRow& row = all_.rows.front();
            refuse_question("no-such-result",
                            fmt::format("no row has {} per {}", all_.indicators[i]->id, row.per),
                            "deckle footprint lists what the study has");
        }
    }

    // --- rows
    // ---------------------------------------------------------------------------------------
    void add_row(const std::string& scenario, const std::string& of) {
        const Subject* subject = study_.subject(of, scenario);
        if (subject == nullptr) {
            std::vector<std::string> names;
            for (const Subject& one : study_.subjects_of(scenario)) names.push_back(one.id);
            refuse_question("unknown-product",
                            fmt::format("there is no product {}", name_of({scenario, of, {}})),
                            did_you_mean(of, names));
        }
        ComparedRow row;
        row.scenario = scenario;
        row.of = of;
        row.title = subject->title;
        row.per = per_of(*subject, row);
        for (const Indicator* indicator : all_.indicators)
            row.figures.push_back(figure(row, indicator->id));
        const Result* climate = study_.result(of, row.per, "climate", scenario);
        if (climate != nullptr) {
            row.location = scopes(*climate, climate->location);
            row.market = scopes(*climate, climate->market);
        }
        add_properties(row);
        for (const Subject::Count& count : subject->counts) {
            if (count.per == row.per)
                row.counts.push_back({count.what, count.title, count.unit, at_.value[count.node],
                                      0.0, count.source});
        }
        all_.rows.push_back(std::move(row));
    }

    /// The unit that the function is counted per; on the unrounded count where there is one.
    std::string per_of(const Subject& subject, const ComparedRow& row) const {
        const std::string& equal = all_.question.equal;
        const auto known = std::ranges::find(equal_functions, equal, &EqualFunction::word);
        std::string per = known == equal_functions.end() ? equal : std::string(known->per);
        if (per == "piece") {
            const ConsumerNodes* nodes = consumer_of(study_, row);
            per = nodes == nullptr ? "roll" : nodes->piece_name;
        }
        const auto has = [&](const std::string& one) {
            return std::ranges::find(subject.pers, one) != subject.pers.end();
        };
        if (has(per + "_unrounded")) return per + "_unrounded";
        if (has(per)) return per;
        std::string hint = fmt::format("it has {}", fmt::join(subject.pers, ", "));
        if (equal == "absorbed_water")
            hint = "properties: {absorbency: {value: 9.4 g/g, method: ISO 12625-8}}";
        for (const Function& function : study_.model->functions) {
            if (function.id == equal)
                hint =
                    fmt::format("add {} to the flows of the function {}; {}", row.of, equal, hint);
        }
        refuse_question("no-such-result", fmt::format("{} has no result per {}", row.of, per),
                        hint);
    }

    ComparedFigure figure(const ComparedRow& row, const std::string& indicator) const {
        ComparedFigure figure;
        figure.result = study_.result(row.of, row.per, indicator, row.scenario);
        if (figure.result == nullptr) return figure;
        figure.value = at_.value[node_in_view(all_, *figure.result)];
        return figure;
    }

    Scopes scopes(const Result& climate, NodeId node) const {
        Scopes scopes{};
        const Breakout parts = break_out(study_, at_, climate, node, BreakoutBy::scope);
        for (const Contribution& part : parts.rows) {
            if (part.name == "1" || part.name == "2" || part.name == "3")
                scopes.at(static_cast<std::size_t>(part.name[0] - '1')) += part.value;
        }
        return scopes;
    }

    void add_properties(ComparedRow& row) const {
        const ConsumerNodes* nodes = consumer_of(study_, row);
        if (nodes == nullptr) return;
        for (const Property& property : nodes->product->properties)
            row.properties.push_back(
                {property.name, property.value.scalar.text, property.scale, property.method});
    }

    // --- rules
    // ---------------------------------------------------------------------------------------
    Footing footing(const ComparedRow& row) const {
        return {row.scenario, row.of, all_.question.view};
    }

    void check_rules() {
        const ComparedRow& first = all_.rows.front();
        all_.allocations = allocations_of(study_, first.scenario);
        struct Said {
            UnlikeRule rule;
            std::string scenario;
            std::vector<std::string> products;
        };
        std::vector<Said> said;  // a line for a difference and scenario, whatever the products
        for (const ComparedRow& row : all_.rows) {
            for (UnlikeRule& rule : rules_that_differ(study_, footing(first), footing(row))) {
                all_.one_view = all_.one_view && rule.what != "electricity";
                auto same = std::ranges::find_if(said, [&](const Said& one) {
                    return one.scenario == row.scenario && one.rule.what == rule.what &&
                           one.rule.one == rule.one && one.rule.other == rule.other;
                });
                if (same == said.end())
                    same = said.insert(said.end(), Said{std::move(rule), row.scenario, {}});
                same->products.push_back(name_of({row.scenario, row.of, {}}));
            }
        }
        for (const Said& one : said) {
            const bool scenarios = one.rule.of_scenario && one.scenario != first.scenario;
            all_.rules_differ.push_back(fmt::format(
                "{}: {} has {}, {} {} {}", one.rule.what,
                scenarios ? name_of_scenario(first.scenario)
                          : name_of({first.scenario, first.of, {}}),
                one.rule.one,
                scenarios ? name_of_scenario(one.scenario)
                          : fmt::format("{}", fmt::join(one.products, ", ")),
                scenarios || one.products.size() == 1 ? "has" : "have", one.rule.other));
        }
        if (all_.rules_differ.empty() || all_.question.other_rules) return;
        refuse_question("unlike-rules",
                        fmt::format("figures made under different rules do not compare; {}",
                                    fmt::join(all_.rules_differ, "; ")),
                        "--other-rules sets them side by side, without an index");
    }

    // --- index and steps
    // ---------------------------------------------------------------------------------------
    /// "OF", "@SCENARIO" or "OF@SCENARIO" as typed.
    struct Named {
        std::string of;                       ///< "" for any
        std::optional<std::string> scenario;  ///< nullopt for any
    };
    static Named named(const std::string& typed) {
        const std::size_t sign = typed.find('@');
        if (sign == std::string::npos) return {typed, std::nullopt};
        const std::string scenario = typed.substr(sign + 1);
        return {typed.substr(0, sign), scenario == "today" ? std::string() : scenario};
    }

    std::optional<std::size_t> find_row(const Named& name) const {
        for (std::size_t i = 0; i < all_.rows.size(); ++i) {
            const ComparedRow& row = all_.rows[i];
            if ((name.of.empty() || row.of == name.of) &&
                (!name.scenario || row.scenario == *name.scenario))
                return i;
        }
        return std::nullopt;
    }

    /// A reference that is a product of the study need not be among the products asked for.
    void add_reference(const std::string& typed) {
        const Named name = named(typed);
        if (find_row(name) || name.of.empty()) return;
        const std::string scenario = name.scenario.value_or(all_.question.scenarios.front());
        const bool built = scenario.empty() || study_.scenario(scenario) != nullptr;
        if (built && study_.subject(name.of, scenario) != nullptr) add_row(scenario, name.of);
    }

    std::size_t row_named(const std::string& typed) const {
        if (const auto row = find_row(named(typed))) return *row;
        std::vector<std::string> names;
        for (const ComparedRow& row : all_.rows)
            names.push_back(name_of({row.scenario, row.of, {}}));
        refuse_question(
            "unknown-reference", fmt::format("{} is none of the rows", typed),
            fmt::format("one of {}, or another product of the study", fmt::join(names, ", ")));
    }

    /// The rows whose mean counts 100.
    std::vector<std::size_t> reference_rows() const {
        std::vector<std::size_t> rows;
        for (const std::string& typed : all_.question.references) rows.push_back(row_named(typed));
        if (rows.empty()) rows.push_back(0);
        std::ranges::sort(rows);
        rows.erase(std::unique(rows.begin(), rows.end()), rows.end());
        return rows;
    }

    void add_indices() {
        const std::vector<std::size_t> references = reference_rows();
        for (const std::size_t row : references) all_.rows[row].is_reference = true;
        add_count_differences(references);
        if (!all_.rules_differ.empty()) return add_percents();
        if (references.size() > 1) all_.mean = mean_row(references);
        for (std::size_t i = 0; i < all_.indicators.size(); ++i) {
            ComparedFigure base = all_.rows[references.front()].figures[i];
            base.value = 0.0;
            for (const std::size_t row : references) {
                const ComparedFigure& one = all_.rows[row].figures[i];
                base.value += one.value / static_cast<double>(references.size());
                if (one.result == nullptr || base.result == nullptr) base.result = nullptr;
                else if (!unlike_gaps(study_, *one.result, *base.result).empty())
                    base.without_index = gaps_differ;
            }
            for (ComparedRow& row : all_.rows) set_index(row.figures[i], base);
            if (!all_.mean) continue;
            if (!base.without_index.empty()) base.result = nullptr;
            set_index(base, ComparedFigure(base));
            all_.mean->figures.push_back(base);
        }
    }

    /// The plain mean of the references, each counted once, with what lines make.
    ComparedRow mean_row(const std::vector<std::size_t>& references) const {
        ComparedRow mean;
        mean.per = all_.rows[references.front()].per;
        for (ComparedRow::Count count : all_.rows[references.front()].counts) {
            count.value = mean_count(references, count.what);
            count.difference = 0.0;
            mean.counts.push_back(std::move(count));
        }
        return mean;
    }

    /// How far rules, and whatever else a row does otherwise, take a product from its first row.
    void add_percents() {
        for (std::size_t r = 0; r < all_.rows.size(); ++r) {
            ComparedRow& row = all_.rows[r];
            const auto base = std::ranges::find_if(all_.rows, [&](const ComparedRow& other) {
                return other.of == row.of && other.per == row.per;
            });
            if (&*base == &row) continue;
            for (std::size_t i = 0; i < row.figures.size(); ++i) {
                ComparedFigure& figure = row.figures[i];
                const ComparedFigure& before = base->figures[i];
                if (figure.result == nullptr || before.result == nullptr || before.value <= 0.0 ||
                    figure.result->coverage == Coverage::not_covered ||
                    !unlike_gaps(study_, *figure.result, *before.result).empty())
                    continue;
                figure.percent_apart = 100.0 * (figure.value / before.value - 1.0);
            }
        }
    }

    void set_index(ComparedFigure& figure, const ComparedFigure& base) const {
        if (figure.result == nullptr || base.result == nullptr) return;
        if (figure.result->coverage == Coverage::not_covered ||
            base.result->coverage == Coverage::not_covered) {
            figure.without_index = "not covered";
            return;
        }
        if (!base.without_index.empty() ||
            !unlike_gaps(study_, *figure.result, *base.result).empty()) {
            figure.without_index = gaps_differ;
            return;
        }
        figure.difference = figure.value - base.value;
        if (base.value > 0.0) figure.index = 100.0 * (figure.value / base.value);
        else figure.without_index = "the reference is not above zero";
    }

    void add_count_differences(const std::vector<std::size_t>& references) {
        for (ComparedRow& row : all_.rows) {
            for (ComparedRow::Count& count : row.counts) {
                count.difference = count.value - mean_count(references, count.what);
            }
        }
    }

    double mean_count(const std::vector<std::size_t>& references, std::string_view what) const {
        double mean = 0.0;
        for (const std::size_t reference : references) {
            for (const ComparedRow::Count& other : all_.rows[reference].counts) {
                if (other.what == what)
                    mean += other.value / static_cast<double>(references.size());
            }
        }
        return mean;
    }

    const Study& study_;
    const Evaluation& at_;
    Compared all_;
    std::size_t asked_indicators_ = 0;
};

}  // namespace

Compared compare(const Study& study, const Evaluation& at, ComparisonQuestion question) {
    return Comparer(study, at, std::move(question)).run();
}

}  // namespace deckle
