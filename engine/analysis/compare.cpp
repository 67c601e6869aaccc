#include "engine/analysis/compare.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "engine/analysis/asked.h"
#include "engine/analysis/breakout.h"
#include "engine/study/model.h"
#include "engine/text/nearest.h"
#include "engine/text/number_text.h"

namespace deckle {
namespace {

constexpr double alike = 0.005;  ///< of a diameter or count: within what a laboratory repeats

/// What can be equal, the unit it is counted per, and the words for it. Of a piece: "piece".
struct EqualRow {
    std::string_view word, per, text;
};
constexpr std::array<EqualRow, 5> equals{
    {{"roll_diameter", "piece", "rolls of the same diameter"},
     {"sheet_count", "piece", "the same number of sheets"},
     {"area", "m2", "the same area of sheet"},
     {"mass", "t", "the same mass of tissue"},
     {"absorbed_water", "kg_absorbed", "the same mass of water absorbed"}}};

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
        check_indicators();
        check_function();
        check_rules();
        add_indices();
        add_steps();
        add_apart();
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
        const auto row = std::ranges::find(equals, question.equal, &EqualRow::word);
        if (row != equals.end()) all_.function = row->text;
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

    const ConsumerNodes* consumer(const ComparedRow& row) const {
        for (const auto& nodes : assembly_of(study_, row.scenario).product_nodes) {
            if (nodes->product->id == row.of) return nodes.get();
        }
        return nullptr;
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
                row.counts.push_back(
                    {count.what, count.what, at_.value[count.node], 0.0, count.source});
        }
        all_.rows.push_back(std::move(row));
    }

    /// The unit that the function is counted per; on the unrounded count where there is one.
    std::string per_of(const Subject& subject, const ComparedRow& row) const {
        const std::string& equal = all_.question.equal;
        const auto known = std::ranges::find(equals, equal, &EqualRow::word);
        std::string per = known == equals.end() ? equal : std::string(known->per);
        if (per == "piece") {
            const ConsumerNodes* nodes = consumer(row);
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
        refuse_question("no-such-result", fmt::format("{} has no result per {}", row.of, per),
                        hint);
    }

    ComparedFigure figure(const ComparedRow& row, const std::string& indicator) const {
        ComparedFigure figure;
        figure.result = study_.result(row.of, row.per, indicator, row.scenario);
        if (figure.result == nullptr) return figure;
        figure.value = at_.value[node_of(*figure.result)];
        return figure;
    }

    NodeId node_of(const Result& result) const {
        if (!all_.question.view) return result.node;
        return all_.view == ElectricityView::market ? result.market : result.location;
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
        const ConsumerNodes* nodes = consumer(row);
        if (nodes == nullptr) return;
        for (const Property& property : nodes->product->properties)
            row.properties.push_back(
                {property.name, property.value.scalar.text, property.scale, property.method});
    }

    // --- what must be equal
    // ---------------------------------------------------------------------------------------
    void check_function() const {
        const std::string& equal = all_.question.equal;
        if (equal == "roll_diameter" || equal == "sheet_count") {
            check_same(equal == "roll_diameter" ? "diameter" : "number of sheets",
                       equal == "roll_diameter" ? "m" : "sheets",
                       [&](const ComparedRow& row) -> std::optional<double> {
                           const ConsumerNodes* nodes = consumer(row);
                           if (nodes == nullptr) return std::nullopt;
                           const Measure& one =
                               equal == "roll_diameter" ? nodes->diameter : nodes->count;
                           return one.known() ? std::optional(at_.value[one.node]) : std::nullopt;
                       });
        }
        if (equal == "absorbed_water") check_absorbencies();
    }

    template <class Value>
    void check_same(std::string_view what, std::string_view unit, Value value_of) const {
        std::optional<double> first;
        for (const ComparedRow& row : all_.rows) {
            const std::optional<double> value = value_of(row);
            if (!value)
                refuse_question(
                    "unlike-function",
                    fmt::format("{} has no {}", name_of({row.scenario, row.of, {}}), what),
                    "compare at another function: area, mass, absorbed_water");
            if (!first) first = value;
            if (std::abs(*value - *first) > alike * *first)
                refuse_question(
                    "unlike-function",
                    fmt::format("the {} differs: {} has {} {}, {} has {} {}", what,
                                name_of({all_.rows.front().scenario, all_.rows.front().of, {}}),
                                format_significant(*first, 4), unit,
                                name_of({row.scenario, row.of, {}}), format_significant(*value, 4),
                                unit),
                    "compare at another function, or products that are alike in it");
        }
    }

    /// Absorbencies measured in different ways, or in ways that nobody states, do not compare; nor
    /// do those of sheets of another dryness: a moister one holds part of its water already.
    void check_absorbencies() const {
        const auto method = [](const ComparedRow& row) {
            const auto found =
                std::ranges::find(row.properties, "absorbency", &ComparedRow::Property::name);
            return found == row.properties.end() ? std::string{} : found->method;
        };
        const ComparedRow& first = all_.rows.front();
        for (const ComparedRow& row : all_.rows) {
            if (method(row).empty() && all_.rows.size() > 1)
                refuse_question(
                    "unlike-function",
                    fmt::format("the absorbency of {} is stated without its method", row.of),
                    "absorbency: {value: 9.4 g/g, method: ISO 12625-8}");
            if (method(row) == method(first)) continue;
            refuse_question(
                "unlike-function",
                fmt::format("absorbency is measured in different ways: {} by {}, {} by {}",
                            first.of, method(first), row.of, method(row)),
                "compare figures of one method");
        }
        if (std::ranges::any_of(all_.rows,
                                [&](const ComparedRow& row) { return dryness(row).has_value(); }))
            check_same("dryness", "%", [&](const ComparedRow& row) { return dryness(row); });
    }

    /// [%]
    std::optional<double> dryness(const ComparedRow& row) const {
        const ConsumerNodes* nodes = consumer(row);
        if (nodes == nullptr || !nodes->dryness.known()) return std::nullopt;
        return 100.0 * at_.value[nodes->dryness.node];
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
    std::size_t row_named(const std::string& typed) const {
        const std::size_t sign = typed.find('@');
        const std::string of = typed.substr(0, sign);
        std::string scenario = sign == std::string::npos ? "" : typed.substr(sign + 1);
        if (scenario == "today") scenario.clear();
        std::vector<std::string> names;
        for (std::size_t i = 0; i < all_.rows.size(); ++i) {
            const ComparedRow& row = all_.rows[i];
            names.push_back(name_of({row.scenario, row.of, {}}));
            const bool same_scenario =
                sign == std::string::npos ? !of.empty() : row.scenario == scenario;
            if ((of.empty() || row.of == of) && same_scenario) return i;
        }
        refuse_question("unknown-reference", fmt::format("{} is none of the rows", typed),
                        fmt::format("one of {}", fmt::join(names, ", ")));
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
        }
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

    // --- each against what it stands on ----------------------------------------------------
    std::vector<std::string> parents_of(const std::string& scenario) const {
        std::vector<std::string> parents;
        if (scenario.empty()) return parents;
        // of all that are typed: a parent need not be loaded with figures of its own
        const auto typed = std::ranges::find(study_.model->scenarios, scenario, &ScenarioModel::id);
        for (const auto& [parent, place] : typed->on)
            parents.push_back(parent == "today" ? std::string() : parent);
        if (parents.empty()) parents.emplace_back();
        return parents;
    }

    /// A scenario and all that it stands on, the nearest first; today last.
    std::vector<std::string> chain_of(const std::string& scenario) const {
        std::vector<std::string> chain{scenario};
        for (std::size_t i = 0; i < chain.size(); ++i) {
            for (std::string& parent : parents_of(chain[i])) {
                if (!parent.empty() && std::ranges::find(chain, parent) == chain.end())
                    chain.push_back(std::move(parent));
            }
        }
        if (!scenario.empty()) chain.emplace_back();
        return chain;
    }

    /// The nearest row above that row `i` stands on, else the reference; nullptr without either.
    const ComparedRow* base_of(std::size_t i) const {
        const auto same_product = [&](const ComparedRow& other) {
            return other.of == all_.rows[i].of && other.per == all_.rows[i].per;
        };
        for (const std::string& scenario : chain_of(all_.rows[i].scenario)) {
            for (std::size_t k = 0; k < i; ++k) {
                if (all_.rows[k].scenario == scenario && same_product(all_.rows[k]))
                    return &all_.rows[k];
            }
        }
        for (const ComparedRow& other : all_.rows) {
            if (other.is_reference && same_product(other) && &other != &all_.rows[i]) return &other;
        }
        return nullptr;
    }

    /// Scenarios that one stands on and another does not, itself and today left out.
    std::vector<std::string> beyond(const std::string& scenario, const std::string& other) const {
        const auto theirs = chain_of(other);
        std::vector<std::string> more;
        for (const std::string& one : chain_of(scenario)) {
            if (one != scenario && std::ranges::find(theirs, one) == theirs.end())
                more.push_back(one);
        }
        return more;
    }

    void add_steps() {
        for (std::size_t i = 0; i < all_.rows.size(); ++i) {
            ComparedRow& row = all_.rows[i];
            const ComparedRow* base = i == 0 ? nullptr : base_of(i);
            row.bundles = beyond(row.scenario, base == nullptr ? std::string() : base->scenario);
            if (base != nullptr && all_.rules_differ.empty()) row.step = step(row, *base);
        }
    }

    /// Steps against one row of scenarios that do not stand on one another overlap.
    void add_apart() {
        const auto stands_on = [&](const std::string& scenario, const std::string& other) {
            const auto chain = chain_of(scenario);
            return std::ranges::find(chain, other) != chain.end();
        };
        for (std::size_t i = 0; i < all_.rows.size(); ++i) {
            ComparedRow& row = all_.rows[i];
            if (!row.step) continue;
            for (std::size_t k = 0; k < i; ++k) {
                const ComparedRow& other = all_.rows[k];
                if (!other.step || other.of != row.of || other.scenario == row.step->against ||
                    stands_on(row.scenario, other.scenario) ||
                    stands_on(other.scenario, row.scenario))
                    continue;
                row.apart_from.push_back(other.scenario);
            }
        }
    }

    std::optional<StepCost> step(const ComparedRow& row, const ComparedRow& base) const {
        StepCost step;
        step.against = base.scenario;
        step.instead = beyond(base.scenario, row.scenario);
        const auto of_chain = chain_of(row.scenario);
        if (std::ranges::find(of_chain, base.scenario) == of_chain.end())
            step.instead.insert(step.instead.begin(), base.scenario);
        const Result* now = study_.result(row.of, row.per, "climate", row.scenario);
        const Result* before = study_.result(row.of, row.per, "climate", base.scenario);
        if (now == nullptr || before == nullptr) return std::nullopt;
        const auto change = [&](NodeId after, NodeId first) {
            return at_.value[after] - at_.value[first];
        };
        step.climate_lacks = unlike_gaps(study_, *now, *before);
        if (step.climate_lacks.empty()) {
            step.climate = change(node_of(*now), node_of(*before));
            step.location = change(now->location, before->location);
            step.market = change(now->market, before->market);
            step.climate_lacks = lacking_amounts(*now, *before);
        }
        add_cost(step, row, base);
        return step;
    }

    std::vector<std::string> lacking_amounts(const Result& now, const Result& before) const {
        if (now.coverage == Coverage::complete) return {};
        return unlike_amounts(study_, at_, node_of(now), node_of(before));
    }

    /// No change of cost where something without a price is used in another amount: it could be
    /// any.
    void add_cost(StepCost& step, const ComparedRow& row, const ComparedRow& base) const {
        for (const std::string_view id : {Indicators::marginal_cost, Indicators::cost}) {
            const Result* now = study_.result(row.of, row.per, id, row.scenario);
            const Result* before = study_.result(row.of, row.per, id, base.scenario);
            if (now == nullptr || before == nullptr || now->coverage == Coverage::not_covered)
                continue;
            step.cost_lacks = unlike_gaps(study_, *now, *before);
            if (step.cost_lacks.empty()) step.cost_lacks = lacking_amounts(*now, *before);
            if (!step.cost_lacks.empty()) return;
            step.cost = at_.value[node_of(*now)] - at_.value[node_of(*before)];
            break;
        }
        constexpr double kilograms = 1000.0;
        if (step.cost && step.climate && *step.climate < 0.0)
            step.per_tonne_avoided = *step.cost / (-*step.climate / kilograms);
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
