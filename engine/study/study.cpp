#include "engine/study/study.h"

#include <fmt/format.h>

#include <algorithm>
#include <map>

#include "engine/graph/evaluate.h"
#include "engine/mill/demand.h"
#include "engine/study/correlations.h"
#include "engine/study/coverage.h"
#include "engine/study/flows.h"
#include "engine/study/line_output.h"
#include "engine/study/marginal_prices.h"
#include "engine/study/mill_demand.h"
#include "engine/study/results.h"
#include "engine/study/scaled_mixes.h"
#include "engine/study/stage.h"
#include "engine/study/study_head.h"
#include "engine/study/touched.h"
#include "engine/text/nearest.h"
#include "engine/text/number_text.h"

namespace deckle {
namespace {

/// Money code of the price list, or of the first factor that states a cost.
std::string currency_of(const StudyModel& model) {
    const auto code = [](const Unit& unit) {
        for (const Money& money : unit.dimension.money()) {
            if (money.exponent != 0) return std::string(money.code.data(), money.code.size());
        }
        return std::string{};
    };
    if (const Prices* prices = model.tables.price_list(model.prices)) {
        for (const auto& price : prices->prices) return code(price.stated.unit());
    }
    for (const FactorTable& table : model.tables.factors) {
        for (const Factor& factor : table.factors) {
            if (const FactorEntry* cost = factor.entry("cost")) return code(cost->stated.unit());
        }
    }
    return {};
}

/// What building an assembly noticed and `known` does not hold, each once.
void collect_findings(const Assembly& assembly, std::span<const Problem> known,
                      std::vector<Problem>& findings) {
    const auto collect = [&](const auto& nodes) {
        for (const Problem& finding : nodes->findings) {
            const auto same = [&](const Problem& f) {
                return f.code == finding.code && f.where == finding.where;
            };
            if (std::ranges::none_of(known, same) && std::ranges::none_of(findings, same))
                findings.push_back(finding);
        }
    };
    for (const auto& mill : assembly.mill_nodes) collect(mill);
    for (const auto& product : assembly.product_nodes) collect(product);
}

/// Builds a study's graph from its model: today, then each scenario into the same graph.
class StudyBuilder {
public:
    StudyBuilder(Study& study, StudyModel& model, const ScenarioChoice& choice, Problems& problems)
        : study_(study), model_(model), choice_(choice), problems_(problems) {}

    void run() {
        read_ = problems_.count();
        add_own_indicators();
        study_.indicators = table_of(indicators_under(model_.rules));
        build(model_, {}, study_.subjects, nullptr, {});
        settle_values();
        study_.head = study_head(model_);
        collect_findings(model_, {}, study_.findings);
        build_scenarios();
        settle_coverage(study_);
        check_degrees();
        plan_solves(study_.graph);
    }

    /// Plans the loops added since the last stage, and checks what must not be negative at the
    /// amounts read. Errors: NoAnswer unsolvable-loop, not-finite, negative-rest.
    void settle_values() {
        plan_solves(study_.graph);
        const Evaluation at = evaluate(study_.graph);
        for (const Requirement& requirement : study_.graph.requirements()) {
            const double value = at.value[requirement.node];
            if (value >= 0.0) continue;
            throw NoAnswer(
                {study_.graph.origin(requirement.node).place, Severity::error, "negative-rest",
                 fmt::format("{} would be negative: {} {}", study_.graph.text_of(requirement.what),
                             format_significant(value, 6),
                             study_.graph.text_of(study_.graph.unit(requirement.node))),
                 "what a scenario takes from it, or the other sources where it is the rest of a "
                 "mix, come to more than there is",
                 changes_below(study_.graph, requirement.node)});
        }
    }

private:
    /// Nodes of what has problems must not be evaluated; those that reading refused have none.
    void stop_if_any() {
        if (problems_.count() != read_) problems_.throw_if_any();
    }

    /// One stage: mills, products, results.
    void build(Assembly& assembly, const std::string& scenario, std::vector<Subject>& subjects,
               ValueChanges* changes, const std::vector<SwingSource>& swings) {
        Build build(study_.graph, problems_);
        build.changes = changes;
        build.quality_spread = model_.tables.quality_spread(model_.data_quality_spread);
        const Indicators indicators = indicators_under(assembly.rules);
        FactorBook book(build, model_.tables, indicators, choice_of_tables(assembly));
        Stage stage{study_, model_,   indicators, problems_, build,
                    book,   assembly, subjects,   scenario};
        if (scenario.empty()) check_references(book);
        build_mills(stage);
        build_products(stage);
        if (!swings.empty() && problems_.count() == read_) swing_mills(stage, swings);
        stop_if_any();
        check_formulas(study_.graph, build.limits, problems_);
        assembly.limits = build.limits;
        if (scenario.empty()) add_correlations(study_.graph, model_.correlated, problems_);
        else add_demand(stage);
        stop_if_any();
        add_product_results(stage);
        add_function_results(stage);
        add_line_results(stage);
        add_period_results(stage);
        problems_.throw_if_any();
        study_.index_subjects(scenario);
        assembly.used_factors = book.used();
        assembly.gwp_sets = book.gwp_sets();
    }

    TableChoice choice_of_tables(const Assembly& chosen) const {
        return {model_.tables.characterization(chosen.characterization),
                model_.tables.scarcity(chosen.scarcity), model_.tables.price_list(chosen.prices),
                chosen.rules.asks_for("climate_land_management"), model_.stands_for};
    }

    /// The built-in ones and the user's. Rules decide whether removals count in `climate`; the ids
    /// and their order are the same under all.
    [[nodiscard]] Indicators indicators_under(const RuleSet& rules) const {
        Indicators indicators(rules.asks_for("climate_land_management"),
                              rules.asks_for("climate_removals"), currency_of(model_));
        for (const Indicator& own : own_indicators_) indicators.add(own);
        return indicators;
    }

    static std::vector<Indicator> table_of(const Indicators& indicators) {
        return {indicators.all().begin(), indicators.all().end()};
    }

    void add_own_indicators() {
        Indicators all = indicators_under({});
        const std::size_t built_in = all.count();
        for (const FactorTable& table : model_.tables.factors) {
            for (const OwnIndicator& own : table.indicators) {
                Indicator indicator{own.id, own.unit, IndicatorKind::carried, own.title, {},
                                    false,  true};
                const Indicator* known = all.find(own.id);
                if (known == nullptr) all.add(std::move(indicator));
                else if (known->unit != own.unit || all.index(own.id) < built_in)
                    problems_.add(
                        own.place, "duplicate-id",
                        fmt::format("{} is an indicator in {} already", own.id, known->unit),
                        "choose another id, or the unit of the other table");
            }
        }
        own_indicators_.assign(all.all().begin() + static_cast<std::ptrdiff_t>(built_in),
                               all.all().end());
        check_asked_indicators(all, model_.rules);
        for (const ScenarioModel& scenario : model_.scenarios) {
            for (const Change& change : scenario.changes) {
                if (change.rules) check_asked_indicators(all, *change.rules);
            }
        }
    }

    /// Rules that ask for an indicator nobody knows would be kept by leaving it out.
    void check_asked_indicators(const Indicators& known, const RuleSet& rules) {
        std::vector<std::string> names;
        for (const Indicator& one : known.all()) names.push_back(one.id);
        for (std::size_t i = 0; i < rules.indicators.size(); ++i) {
            const std::string& asked = rules.indicators[i];
            if (listed(names, asked)) continue;
            const std::string near = did_you_mean(asked, names);
            problems_.add(rules.indicator_places[i], "unknown-indicator",
                          fmt::format("there is no indicator {}", asked),
                          near.empty() ? fmt::format("known: {}", fmt::join(names, ", ")) : near);
        }
    }

    /// Ids the study itself names: grids, short ids, prices.
    void check_references(FactorBook& book) {
        const auto need = [&](const std::string& id, Place place) {
            if (!id.empty() && book.find(id, place) == nullptr)
                problems_.add(place, "unknown-factor", fmt::format("there is no factor {}", id),
                              model_.tables.meant(id));
        };
        for (const Grid& grid : model_.grids) {
            need(grid.factor, grid.place);
            need(grid.location, grid.place);
            need(grid.residual, grid.place);
        }
        for (const auto& [id, place] : model_.stands_for_places)
            need(model_.stands_for.find(id)->second, place);
        if (const Prices* prices = model_.tables.price_list(model_.prices)) {
            for (const auto& price : prices->prices) need(price.factor, price.place);
            for (const auto& price : prices->marginal) need(price.factor, price.place);
            check_free_allocation(*prices);
        }
    }

    void check_free_allocation(const Prices& prices) {
        std::vector<std::string> names;
        for (const Mill& mill : model_.mills) {
            for (const Process& process : mill.processes) names.push_back(process.address());
        }
        for (const auto& one : prices.free_allocation) {
            if (!listed(names, one.factor))
                problems_.add(one.place, "unknown-process",
                              fmt::format("there is no process {}", one.factor),
                              did_you_mean(one.factor, names));
        }
    }

    void build_mills(Stage& stage) {
        for (const Mill& mill : stage.assembly.mills)
            stage.assembly.mill_nodes.push_back(
                build_mill(stage.build, stage.book, model_.grids, mill));
    }

    /// Once it is known what the products ask of the mills, mixes that swing are built anew.
    void swing_mills(Stage& stage, const std::vector<SwingSource>& swings) {
        Assembly& assembly = stage.assembly;
        std::vector<std::vector<SwungMix>> mixes;
        for (const auto& nodes : assembly.mill_nodes)
            mixes.push_back(swung(stage, *nodes, swings_of(*nodes->mill, swings)));
        if (!problems_.empty()) return;
        for (std::size_t m = 0; m < mixes.size(); ++m) {
            if (mixes[m].empty()) continue;
            assembly.mill_nodes[m] =
                build_mill(stage.build, stage.book, model_.grids, assembly.mills[m], mixes[m]);
        }
        assembly.product_nodes.clear();
        build_products(stage);
    }

    std::vector<SwungMix> swung(Stage& stage, const MillNodes& mill,
                                const std::vector<MixSwing>& swings) {
        if (swings.empty()) return {};
        const MillNodes& before = model_.nodes_of(mill.mill->id);
        const MillDemand& then = demand_today(before);
        const MillDemand now = demand_of(stage.build, model_, stage.assembly, mill, before);
        const auto& unknown = then.unknown.empty() ? now.unknown : then.unknown;
        if (unknown.empty())
            return swing(stage.build, {before, then.amounts}, {mill, now.amounts}, swings);
        problems_.add(swings.front().place, "output-not-stated",
                      fmt::format("{} makes {}, and nothing says how much of it, so a change of "
                                  "the demand on {} has no amount",
                                  mill.mill->id, fmt::join(unknown, ", "), swings.front().product),
                      fmt::format("output: {{{}.{}: ...}} in the study, or of products made of it",
                                  mill.mill->id, unknown.front()));
        return {};
    }

    /// Of each mill once, whatever the number of scenarios.
    const MillDemand& demand_today(const MillNodes& mill) {
        const auto [found, is_new] = demands_today_.try_emplace(&mill);
        if (is_new) {
            Build today(study_.graph, problems_);
            today.quality_spread = model_.tables.quality_spread(model_.data_quality_spread);
            found->second = demand_of(today, model_, model_, mill, mill);
        }
        return found->second;
    }

    /// What is asked of each product of a scenario's mills, beside today.
    void add_demand(Stage& stage) {
        for (const auto& now : stage.assembly.mill_nodes) {
            const MillNodes& before = model_.nodes_of(now->mill->id);
            const MillDemand& then = demand_today(before);
            const MillDemand asked = demand_of(stage.build, model_, stage.assembly, *now, before);
            stage.assembly.demand.push_back(
                {demand_levels(stage.build, before, or_typed(before, then)),
                 demand_levels(stage.build, *now, or_typed(*now, asked)),
                 then.unknown.empty() && asked.unknown.empty()});
        }
    }

    /// Products of which nothing says how much, at the amounts typed.
    static std::vector<NodeId> or_typed(const MillNodes& mill, MillDemand asked) {
        for (const std::string& id : asked.unknown) {
            const ProductNodes* product = mill.product(id);
            asked.amounts[static_cast<std::size_t>(product - mill.products.data())] =
                product->amount.node;
        }
        return std::move(asked.amounts);
    }

    static std::vector<MixSwing> swings_of(const Mill& mill, const std::vector<SwingSource>& all) {
        std::vector<MixSwing> swings;
        for (const SwingSource& one : all) {
            if (one.mill == mill.id) swings.push_back({one.product, one.source, one.place});
        }
        return swings;
    }

    void build_products(Stage& stage) {
        Assembly& assembly = stage.assembly;
        for (const Product& product : assembly.products) {
            assembly.product_nodes.push_back(
                build_product(stage.build, stage.book, model_.grids, assembly.mill_nodes, product));
        }
    }

    void build_scenarios() {
        check_choice();
        for (const ScenarioModel& scenario : model_.scenarios) {
            if (!choice_.all && !listed(choice_.ids, scenario.id)) continue;
            const auto plan = plan_of(scenario, model_.scenarios, problems_);
            problems_.throw_if_any();
            try {
                add_scenario(scenario, plan);
                settle_values();
            } catch (const InputError& error) {
                std::vector<Problem> named;
                for (const Problem& one : error.problems)
                    named.push_back(in_scenario(one, scenario, plan));
                throw InputError(std::move(named));
            } catch (const NoAnswer& error) {
                throw NoAnswer(in_scenario(error.problem, scenario, plan));
            }
        }
        name_scaled_mixes(study_, model_);
        name_kept_marginals(study_, model_);
    }

    void check_choice() {
        std::vector<std::string> names;
        for (const ScenarioModel& scenario : model_.scenarios) names.push_back(scenario.id);
        for (const std::string& id : choice_.ids) {
            if (id == "today" || listed(names, id)) continue;
            const std::string near = did_you_mean(id, names);
            problems_.add({}, "unknown-scenario", fmt::format("there is no scenario {}", id),
                          !near.empty() ? near
                          : names.empty()
                              ? "the study names no file of scenarios: scenarios: [FILE]"
                              : fmt::format("known: {}", fmt::join(names, ", ")));
        }
        problems_.throw_if_any();
    }

    void add_scenario(const ScenarioModel& model, const std::vector<PlannedChange>& plan) {
        Scenario& scenario = study_.scenarios.emplace_back();
        scenario.id = model.id;
        scenario.title = model.title;
        scenario.note = model.note;
        scenario.place = model.place;
        for (const auto& [id, place] : model.on) scenario.on.push_back(id);
        const auto assembly = std::make_shared<Assembly>();
        scenario.assembly = assembly;
        take_rules(plan, *assembly);
        scenario.indicators = table_of(indicators_under(assembly->rules));
        assembly->mills = model_.mills;
        assembly->products = model_.products;
        PlannedStudy planned = change_mills(assembly->mills, plan, problems_);
        ValueChanges& changes = planned.values;
        problems_.throw_if_any();
        const std::size_t first_result = study_.results.size();
        build(*assembly, model.id, scenario.subjects, &changes, planned.swings);
        for (const PlannedChange& one : plan) {
            if (one.change->kind == Change::Kind::rule && one.change->rule == "allocation")
                scenario.allocation = words_of(*one.change);
        }
        for (const PlannedChange& one : plan)
            scenario.steps.push_back({words_of(*one.change) + reached_by(*one.change, planned) +
                                          was(*one.change, changes) +
                                          left_out_of(*one.change, *assembly, problems_),
                                      one.change->reason, one.from->id, one.change->place});
        settle_allocations(*assembly);
        scenario.head = scenario_head(study_.head, *assembly, model_.tables);
        collect_findings(*assembly, study_.findings, scenario.findings);
        check_touched(study_, *assembly, model, changes, first_result, problems_);
        problems_.throw_if_any();
    }

    /// From here on a process has the allocation that it was built with.
    static void settle_allocations(Assembly& assembly) {
        for (std::size_t m = 0; m < assembly.mills.size(); ++m) {
            MillNodes& nodes = *assembly.mill_nodes[m];
            for (std::size_t p = 0; p < nodes.processes.size(); ++p) {
                ProcessNodes& built = nodes.processes[p];
                if (built.allocation == nullptr) continue;
                auto& allocation = assembly.mills[m].processes[p].allocation;
                allocation = Allocation(*built.allocation);  // it may stand behind another
                built.allocation = &*allocation;
            }
        }
    }

    void take_rules(const std::vector<PlannedChange>& plan, Assembly& assembly) {
        assembly.characterization = model_.characterization;
        assembly.scarcity = model_.scarcity;
        assembly.prices = model_.prices;
        assembly.electricity = model_.electricity;
        assembly.rules = model_.rules;
        for (const PlannedChange& one : plan) {
            const Change& change = *one.change;
            if (change.kind != Change::Kind::rule || change.rule == "allocation") continue;
            if (one.from == plan.back().from) check_rule_is_other(change, assembly);
            if (change.rule == "electricity") set_electricity(change, assembly);
            if (change.rule == "characterization")
                set_table(change, model_.tables.characterizations, assembly.characterization);
            if (change.rule == "scarcity")
                set_table(change, model_.tables.scarcities, assembly.scarcity);
            if (change.rule == "prices") set_table(change, model_.tables.prices, assembly.prices);
            if (change.rules) assembly.rules = *change.rules;
        }
    }

    void check_rule_is_other(const Change& change, const Assembly& standing) {
        const std::pair<std::string_view, std::string> rules[] = {
            {"characterization", standing.characterization},
            {"scarcity", standing.scarcity},
            {"prices", standing.prices},
            {"electricity", standing.electricity.empty() ? "location" : standing.electricity},
            {"rules", standing.rules.name()}};
        const auto same =
            std::ranges::find(rules, change.rule, [](auto& one) { return one.first; });
        if (same == std::end(rules) || same->second != change.word) return;
        problems_.add(change.word_place, "nothing-changed",
                      fmt::format("{} stands as {} already", change.rule, change.word),
                      "leave the change out");
    }

    void set_electricity(const Change& change, Assembly& assembly) {
        if (change.word != "market" && change.word != "location")
            problems_.add(change.word_place, "unknown-word",
                          fmt::format("electricity: {} is not known", change.word),
                          "market or location");
        assembly.electricity = change.word;
    }

    template <class Table>
    void set_table(const Change& change, const std::vector<Table>& tables, std::string& id) {
        std::vector<std::string> names;
        for (const Table& table : tables) names.push_back(table.id);
        if (!listed(names, change.word)) {
            const std::string near = did_you_mean(change.word, names);
            problems_.add(
                change.word_place, "unknown-set",
                fmt::format("no file under `factors` holds {}: {}", change.rule, change.word),
                near.empty() ? fmt::format("known: {}", fmt::join(names, ", ")) : near);
        }
        id = change.word;
    }

    /// What a `set` took the place of: ", was 42 %".
    static std::string was(const Change& change, const ValueChanges& changes) {
        for (const ValueChange& one : changes.all()) {
            if (one.id == change.id && !one.was.empty()) return ", was " + one.was;
        }
        return {};
    }

    /// A result that is an amount must be linear in its burdens, or its break-out would not add up.
    void check_degrees() {
        for (const Result& result : study_.results) {
            for (const NodeId node : {result.market, result.location}) {
                const Degree degree = study_.graph.degree(node);
                if (degree != Degree::one && degree != Degree::any)
                    throw std::logic_error(result.address + " is not linear in its burdens");
            }
        }
    }

    Study& study_;
    StudyModel& model_;
    const ScenarioChoice& choice_;
    Problems& problems_;
    std::size_t read_ = 0;  ///< problems that reading found
    std::map<const MillNodes*, MillDemand> demands_today_;
    std::vector<Indicator> own_indicators_;  ///< that factor tables add
};

}  // namespace

const StudyHead& Study::head_of(std::string_view id) const {
    const Scenario* found = id.empty() ? nullptr : scenario(id);
    return found == nullptr ? head : found->head;
}

std::span<const Subject> Study::subjects_of(std::string_view id) const {
    const Scenario* found = id.empty() ? nullptr : scenario(id);
    return found == nullptr ? std::span<const Subject>(subjects)
                            : std::span<const Subject>(found->subjects);
}

std::span<const Indicator> Study::indicators_of(std::string_view id) const {
    const Scenario* found = id.empty() ? nullptr : scenario(id);
    return found == nullptr ? indicators : found->indicators;
}

const Scenario* Study::scenario(std::string_view id) const {
    const auto found =
        std::ranges::find_if(scenarios, [&](const Scenario& s) { return s.id == id; });
    return found == scenarios.end() ? nullptr : &*found;
}

const MillNodes& Assembly::nodes_of(std::string_view mill) const {
    return **std::ranges::find_if(mill_nodes,
                                  [&](const auto& nodes) { return nodes->mill->id == mill; });
}

const Assembly& assembly_of(const Study& study, std::string_view scenario) {
    const Scenario* found = scenario.empty() ? nullptr : study.scenario(scenario);
    return found == nullptr ? static_cast<const Assembly&>(*study.model) : *found->assembly;
}

namespace {

/// What a reader refuses and yet reads past: all else of the file stands.
bool leaves_the_rest_whole(const Problem& problem) {
    return problem.code == "unknown-key" || problem.code == "unknown-set" ||
           problem.code == "bad-period";
}

/// Whether a problem of the build may come of a key that was not read.
bool may_follow(const Problem& problem, std::span<const Problem> read) {
    return std::ranges::any_of(read, [&](const Problem& cause) {
        if (cause.code != "unknown-key" || cause.where.file != problem.where.file) return false;
        return problem.code == "missing-key" || problem.code == "wrong-unit" ||
               problem.where.line == cause.where.line;
    });
}

/// Builds as far as it goes in spite of what reading refused, so that a load tells all it can at
/// once. Always throws.
[[noreturn]] void tell_more(Study& study, StudyModel& model, Problems& problems) {
    const std::vector<Problem> read(problems.all().begin(), problems.all().end());
    std::vector<Problem> told = read;
    try {
        StudyBuilder(study, model, {}, problems).run();
    } catch (const InputError& error) {
        for (const Problem& problem : error.problems) {
            const bool known = std::ranges::any_of(read, [&](const Problem& one) {
                return one.where == problem.where && one.code == problem.code;
            });
            if (!known && !may_follow(problem, read)) told.push_back(problem);
        }
    } catch (const std::exception&) {  // it may come of what was refused
    }
    Problems all;
    all.add(InputError(std::move(told)));
    all.throw_if_any();
    throw std::logic_error("what reading refused is a problem");
}

}  // namespace

void load_study(const std::string& path, Study& study, const ScenarioChoice& choice) {
    const auto model = std::make_shared<StudyModel>();
    study.model = model;
    Problems problems;
    read_study(path, study.files, *model, problems);
    if (!problems.empty() && std::ranges::all_of(problems.all(), leaves_the_rest_whole))
        tell_more(study, *model, problems);
    problems.throw_if_any();
    StudyBuilder(study, *model, choice, problems).run();
}

}  // namespace deckle
