#include "engine/study/study.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <set>

#include "engine/graph/solve.h"
#include "engine/mill/demand.h"
#include "engine/study/coverage.h"
#include "engine/study/model.h"
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

bool listed(const std::vector<std::string>& list, std::string_view word) {
    return std::ranges::find(list, word) != list.end();
}

/// "GJ", "t", "t_dry": a unit as part of an address.
std::string per_of(const Unit& unit) {
    std::string per = unit.text;
    std::ranges::replace(per, ' ', '_');
    return per;
}

/// Today or a scenario while it is built.
struct Stage {
    Assembly& assembly;
    std::string scenario;  ///< "" is today
    std::vector<Subject>& subjects;
    ValueChanges* changes = nullptr;
    std::vector<SwingSource> swings = {};
    std::size_t first_result = 0;
};

/// Builds a study's graph from its model: today, then each scenario into the same graph.
class StudyBuilder {
public:
    StudyBuilder(Study& study, StudyModel& model, const ScenarioChoice& choice, Problems& problems)
        : study_(study),
          model_(model),
          choice_(choice),
          problems_(problems),
          indicators_(listed(model.rules.indicators, "climate_land_management"),
                      listed(model.rules.indicators, "climate_removals"), currency_of(model)) {}

    void run() {
        add_own_indicators();
        Stage today{model_, {}, study_.subjects};
        build(today);
        fill_head();
        build_scenarios();
        settle_coverage();
        check_degrees();
        plan_solves();
    }

private:
    /// One pass of the build: mills, products, results.
    void build(Stage& stage) {
        Build build(study_.graph, problems_);
        build.changes = stage.changes;
        build.quality_spread = model_.tables.quality_spread(model_.data_quality_spread);
        const Assembly& rules = stage.assembly;
        const bool land_management = listed(model_.rules.indicators, "climate_land_management");
        FactorBook book(
            build, model_.tables, indicators_,
            {model_.tables.characterization(rules.characterization),
             model_.tables.scarcity(rules.scarcity), model_.tables.price_list(rules.prices),
             land_management, model_.stands_for});
        build_ = &build;
        book_ = &book;
        stage_ = &stage;
        if (stage.scenario.empty()) check_references();
        build_mills();
        build_products();
        problems_.throw_if_any();
        check_formulas(study_.graph, build.limits, problems_);
        if (stage.scenario.empty()) add_correlations();
        problems_.throw_if_any();
        add_results();
        add_function_results();
        add_line_results();
        add_period_results();
        problems_.throw_if_any();
        stage.assembly.used_factors = book.used();
        gwp_sets_ = {book.gwp_sets().begin(), book.gwp_sets().end()};
    }

    Graph& graph() { return study_.graph; }

    void add_own_indicators() {
        const std::size_t built_in = indicators_.count();
        for (const FactorTable& table : model_.tables.factors) {
            for (const OwnIndicator& own : table.indicators) {
                Indicator indicator{own.id, own.unit, IndicatorKind::carried, own.title, {},
                                    false,  true};
                const Indicator* known = indicators_.find(own.id);
                if (known == nullptr) indicators_.add(std::move(indicator));
                else if (known->unit != own.unit || indicators_.index(own.id) < built_in)
                    problems_.add(
                        own.place, "duplicate-id",
                        fmt::format("{} is an indicator in {} already", own.id, known->unit),
                        "choose another id, or the unit of the other table");
            }
        }
        study_.indicators.assign(indicators_.all().begin(), indicators_.all().end());
    }

    /// Ids the study itself names: grids, short ids, prices.
    void check_references() {
        const auto names = model_.tables.names();
        const auto need = [&](const std::string& id, Place place) {
            if (!id.empty() && book_->find(id, place) == nullptr)
                problems_.add(place, "unknown-factor", fmt::format("there is no factor {}", id),
                              did_you_mean(id, names));
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

    void build_mills() {
        Assembly& assembly = stage_->assembly;
        for (const Mill& mill : assembly.mills) {
            auto nodes = build_mill(*build_, *book_, model_.grids, mill);
            const auto swings = swings_of(mill);
            if (!swings.empty() && problems_.empty()) {
                const auto mixes = swing(*build_, today_of(mill), *nodes, swings);
                if (problems_.empty())
                    nodes = build_mill(*build_, *book_, model_.grids, mill, mixes);
            }
            assembly.mill_nodes.push_back(std::move(nodes));
        }
    }

    std::vector<Swing> swings_of(const Mill& mill) const {
        std::vector<Swing> swings;
        for (const SwingSource& one : stage_->swings) {
            if (one.mill == mill.id) swings.push_back({one.product, one.source, one.place});
        }
        return swings;
    }

    const MillNodes& today_of(const Mill& mill) const {
        return **std::ranges::find_if(
            model_.mill_nodes, [&](const auto& nodes) { return nodes->mill->id == mill.id; });
    }

    void build_products() {
        Assembly& assembly = stage_->assembly;
        for (const Product& product : assembly.products) {
            assembly.product_nodes.push_back(
                build_product(*build_, *book_, model_.grids, assembly.mill_nodes, product));
        }
    }

    // --- scenarios
    // -------------------------------------------------------------------------------
    void build_scenarios() {
        check_choice();
        for (const ScenarioModel& scenario : model_.scenarios) {
            if (!choice_.all && !listed(choice_.ids, scenario.id)) continue;
            const auto plan = plan_of(scenario, model_.scenarios, problems_);
            problems_.throw_if_any();
            add_scenario(scenario, plan);
        }
        name_scaled_mixes();
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
        assembly->mills = model_.mills;
        assembly->products = model_.products;
        ValueChanges changes = value_changes(plan);
        Stage stage{*assembly, model.id, scenario.subjects, &changes,
                    change_mills(assembly->mills, plan, problems_)};
        problems_.throw_if_any();
        build(stage);
        for (const PlannedChange& one : plan) {
            if (one.change->kind == Change::Kind::rule && one.change->rule == "allocation")
                scenario.allocation = words_of(*one.change);
        }
        for (const PlannedChange& one : plan)
            scenario.steps.push_back({words_of(*one.change) + was(*one.change, changes),
                                      one.change->reason, one.from->id, one.change->place});
        scenario.head = study_.head;
        fill_rules(scenario.head, *assembly);
        collect_findings(scenario);
        check_touched(model, changes, stage.first_result);
        problems_.throw_if_any();
    }

    void take_rules(const std::vector<PlannedChange>& plan, Assembly& assembly) {
        assembly.characterization = model_.characterization;
        assembly.scarcity = model_.scarcity;
        assembly.prices = model_.prices;
        assembly.electricity = model_.electricity;
        for (const PlannedChange& one : plan) {
            const Change& change = *one.change;
            if (change.kind != Change::Kind::rule || change.rule == "allocation") continue;
            if (change.rule == "electricity") set_electricity(change, assembly);
            if (change.rule == "characterization")
                set_table(change, model_.tables.characterizations, assembly.characterization);
            if (change.rule == "scarcity")
                set_table(change, model_.tables.scarcities, assembly.scarcity);
            if (change.rule == "prices") set_table(change, model_.tables.prices, assembly.prices);
        }
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
            if (change.amount && one.stated.address == change.amount->address && !one.was.empty())
                return ", was " + one.was;
        }
        return {};
    }

    /// A change that touches nothing is a mistake; one of a parent may have lost what it changed.
    void check_touched(const ScenarioModel& scenario, const ValueChanges& changes,
                       std::size_t first_result) {
        const std::string own = fmt::format("scenarios.{}.", scenario.id);
        const auto wanted = carried_by(first_result);
        for (const ValueChange& change : changes.all()) {
            if (!change.stated.address.starts_with(own)) continue;
            const auto typed = std::ranges::find_if(scenario.changes, [&](const Change& one) {
                return one.amount && one.amount->address == change.stated.address;
            });
            const NodeId node = graph().find(change.stated.address);
            if (!change.touched) {
                problems_.add(
                    typed->address_place, "unknown-address",
                    fmt::format("{} is no amount that {} uses", change.address, scenario.id),
                    address_like(change.address));
            } else if (change.stands && (node == no_node || !wanted[node])) {
                problems_.add(typed->address_place, "nothing-changed",
                              fmt::format("no result rests on {}", change.address),
                              "leave the change out, or change what results rest on");
            }
        }
    }

    /// Marks all nodes that results from a first one on rest on.
    std::vector<std::uint8_t> carried_by(std::size_t first_result) const {
        std::vector<NodeId> nodes;
        for (std::size_t i = first_result; i < study_.results.size(); ++i) {
            nodes.push_back(study_.results[i].market);
            nodes.push_back(study_.results[i].location);
        }
        return study_.graph.ancestors(nodes);
    }

    std::string address_like(std::string_view typed) {
        std::vector<std::string> known;
        for (const auto& [name, node] : graph().names()) {
            const std::string& address = graph().text_of(name);
            if (!address.starts_with("results")) known.push_back(address);
        }
        const std::string near = did_you_mean(typed, known);
        return near.empty() ? "the path of keys to it: MILL.PROCESS.uses.NAME, MILL.figures.NAME, "
                              "TABLE.FACTOR.climate.total, products.ID.grammage"
                            : near;
    }

    /// A mix whose demand changes and that names no swinging source is scaled as a whole.
    void name_scaled_mixes() {
        struct Levels {
            Scenario* scenario;
            const MillNodes *before, *now;
            std::vector<NodeId> before_levels, now_levels;
        };
        Build build(study_.graph, problems_);
        std::vector<Levels> all;
        for (Scenario& scenario : study_.scenarios) {
            for (const auto& now : scenario.assembly->mill_nodes) {
                const MillNodes& before = today_of(*now->mill);
                if (before.products.size() < 2) continue;
                all.push_back({&scenario, &before, now.get(), demand_levels(build, before),
                               demand_levels(build, *now)});
            }
        }
        if (all.empty()) return;
        plan_solves();
        const Evaluation at = evaluate(graph());
        for (const Levels& one : all) {
            for (std::size_t p = 0; p < one.now->products.size(); ++p) {
                const ProductNodes& product = one.now->products[p];
                const ProductNodes* old = one.before->product(product.id);
                if (old == nullptr || !is_mix(*one.now, product)) continue;
                const auto q = static_cast<std::size_t>(old - one.before->products.data());
                say_scaled(*one.scenario, *one.now, product, at.value[one.before_levels[q]],
                           at.value[one.now_levels[p]]);
            }
        }
    }

    static bool is_mix(const MillNodes& mill, const ProductNodes& product) {
        const ProcessNodes& process = mill.processes[product.process_index];
        return product.family != Family::other && process.products.size() == 1 &&
               std::ranges::count_if(process.uses, [&](const ResolvedUse& use) {
                   return use.family == product.family;
               }) > 1;
    }

    void say_scaled(Scenario& scenario, const MillNodes& mill, const ProductNodes& product,
                    double before, double now) {
        constexpr double least = 1e-9;  // of the demand: rounding of sums
        if (std::abs(now - before) <= least * std::abs(before)) return;
        const bool swings = std::ranges::any_of(model_.scenarios, [&](const ScenarioModel& one) {
            return one.id == scenario.id && swings_in(one, mill.mill->id, product.id);
        });
        if (swings) return;
        scenario.findings.push_back(
            {scenario.place,
             Severity::finding,
             "mix-scaled",
             fmt::format(
                 "{}: demand on {} of {} changes by {} %, and the mix was scaled as a whole",
                 scenario.id, product.id, mill.mill->id,
                 format_significant(100.0 * (now - before) / before, 3)),
             fmt::format("name the source that swings: meet_change_of: {}, with: ...", product.id),
             {}});
    }

    bool swings_in(const ScenarioModel& scenario, std::string_view mill,
                   std::string_view product) const {
        Problems ignored;
        for (const PlannedChange& one : plan_of(scenario, model_.scenarios, ignored)) {
            const Change& change = *one.change;
            if (change.kind == Change::Kind::meet_change_of && change.address == product &&
                (change.in.empty() || change.in.substr(0, change.in.find('.')) == mill))
                return true;
        }
        return false;
    }

    // --- results
    // ----------------------------------------------------------------------------------
    void add_results() {
        stage_->first_result = study_.results.size();
        for (const auto& mill : stage_->assembly.mill_nodes) {
            for (ProductNodes& product : mill->products) add_mill_product(*mill, product);
        }
        for (const auto& product : stage_->assembly.product_nodes) add_consumer_product(*product);
    }

    void add_mill_product(const MillNodes& mill, ProductNodes& product) {
        Subject subject;
        subject.id =
            model_.mills.size() > 1 ? fmt::format("{}.{}", mill.mill->id, product.id) : product.id;
        subject.title = fmt::format(
            "{}, {}", product.id,
            product.process->title.empty() ? product.process->id : product.process->title);
        subject.kind = Subject::Kind::mill_product;
        subject.place = product.made->place;
        subject.pers = {per_of(product.amount.unit)};
        if (product.carbon != no_node)
            product.lines.at(indicators_.index("biogenic_carbon")) = held(product, product.carbon);
        if (product.fossil_carbon != no_node)
            product.lines.at(indicators_.index("fossil_carbon")) =
                held(product, product.fossil_carbon);
        add_lines(subject, subject.pers[0], product.lines);
        stage_->subjects.push_back(std::move(subject));
    }

    /// Carbon held by one unit, as a burden of its own.
    Views held(const ProductNodes& product, NodeId carbon) {
        const Measure one = build_->constant(1.0, "", "one unit", product.made->place);
        const std::string stage = product.process->stage.empty() ? "other" : product.process->stage;
        const Tag tag{build_->text(stage),         build_->text(product.process->address()),
                      build_->text(product.id),    0,
                      build_->text("carbon held"), build_->text("")};
        const NodeId pair[] = {one.node, carbon};
        const NodeId node = graph().burdens(
            pair, std::span(&tag, 1), build_->text(per_text("kg C", product.amount.unit)),
            build_->origin(product.made->place, "carbon held by one unit"));
        return {node, node};
    }

    void add_consumer_product(const ConsumerNodes& nodes) {
        Subject subject;
        subject.id = nodes.product->id;
        subject.title = nodes.product->title;
        subject.kind = Subject::Kind::consumer_product;
        subject.place = nodes.product->place;
        subject.whole_count = nodes.whole_count;
        subject.exact_count = nodes.exact_count;
        for (const PerLines& per : nodes.pers) {
            subject.pers.push_back(per.per);
            add_lines(subject, per.per, per.lines);
        }
        stage_->subjects.push_back(std::move(subject));
    }

    void add_lines(const Subject& subject, const std::string& per, const Lines& lines) {
        std::vector<Views> made(indicators_.count(), Views{no_node, no_node});
        for (IndicatorId id = 0; id < indicators_.count(); ++id) {
            const Indicator& indicator = indicators_.at(id);
            made[id] = indicator.kind == IndicatorKind::derived ? derived(indicator, made, subject)
                                                                : lines.at(id);
            if (made[id][0] == no_node && made[id][1] == no_node && indicator.optional) continue;
            for (NodeId& node : made[id]) {
                if (node == no_node) node = nothing(indicator);
            }
            add_result(subject, per, id, made[id]);
        }
    }

    NodeId nothing(const Indicator& indicator) {
        return graph().constant(0.0, build_->text(indicator.unit),
                                build_->origin({}, "nothing brings any"));
    }

    /// Weighted sum of other lines; no_node when none of them has any.
    Views derived(const Indicator& indicator, const std::vector<Views>& made,
                  const Subject& subject) {
        Views views{no_node, no_node};
        for (std::size_t view = 0; view < view_count; ++view) {
            std::vector<NodeId> terms;
            for (const Indicator::Part& part : indicator.parts) {
                NodeId node = made[part.of][view];
                if (node == no_node) continue;
                if (part.numerator != part.denominator)
                    node = weighted(node, part, indicator, subject);
                terms.push_back(node);
            }
            if (!terms.empty()) {
                views[view] = graph().make(Operation::sum, terms, graph().unit(terms.front()),
                                           build_->origin(subject.place, indicator.title));
            }
        }
        return views;
    }

    /// "kg C/t" of a part becomes "kg CO2e/t" in the sum it goes into.
    std::string weighted_unit(NodeId node, const Indicator::Part& part,
                              const Indicator& indicator) {
        const std::string& typed = graph().text_of(graph().unit(node));
        const std::string& line = indicators_.at(part.of).unit;
        return typed.starts_with(line) ? indicator.unit + typed.substr(line.size())
                                       : indicator.unit;
    }

    NodeId weighted(NodeId node, const Indicator::Part& part, const Indicator& indicator,
                    const Subject& subject) {
        const Conversion weight{part.numerator, part.denominator,
                                build_->text(fmt::format("{:.0f}", part.numerator)),
                                build_->text(fmt::format("{:.0f}", part.denominator))};
        return graph().convert(
            node, weight, build_->text(weighted_unit(node, part, indicator)),
            build_->origin(subject.place,
                           fmt::format("{} in {}", indicators_.at(part.of).id, indicator.id)));
    }

    void add_result(const Subject& subject, const std::string& per, IndicatorId id,
                    const Views& views) {
        const Indicator& indicator = indicators_.at(id);
        const bool market = stage_->assembly.electricity == "market";
        const std::string& scenario = stage_->scenario;
        Result result;
        result.address = fmt::format("results{}{}.{}.{}.{}", scenario.empty() ? "" : "@", scenario,
                                     subject.id, per, indicator.id);
        result.scenario = scenario;
        result.of = subject.id;
        result.per = per;
        result.indicator = id;
        result.market = views[market_view];
        result.location = views[location_view];
        result.node = market ? result.market : result.location;
        result.unit = indicator.unit;
        graph().name(result.node, result.address);
        graph().name(result.market, result.address + ".market");
        graph().name(result.location, result.address + ".location");
        study_.results.push_back(std::move(result));
    }

    // --- correlated amounts
    // -------------------------------------------------------------------------------
    void add_correlations() {
        std::vector<TextId> taken;
        for (const CorrelatedGroup& group : model_.correlated) {
            std::vector<TextId> addresses;
            for (const CorrelatedGroup::Member& member : group.members) {
                const TextId address = drawn_address(member);
                if (address == 0) continue;
                if (std::ranges::find(taken, address) != taken.end())
                    problems_.add(member.place, "correlated-twice",
                                  fmt::format("{} is correlated already", member.address),
                                  "put all that go together into one group, each once");
                taken.push_back(address);
                addresses.push_back(address);
            }
            const bool whole = problems_.empty() && addresses.size() == group.members.size();
            if (whole && !graph().correlate(addresses, group.matrix))
                problems_.add(group.place, "not-positive-definite",
                              "no amounts can have these correlations together",
                              "weaker ones; two amounts that move as one are one figure that both "
                              "are calculated from");
        }
    }

    /// First address of an input with a spread; 0 where there is none (reported).
    TextId drawn_address(const CorrelatedGroup::Member& member) {
        const NodeId node = graph().find(member.address);
        const bool is_input = node != no_node && graph().operation(node) == Operation::input;
        const Input* input = is_input ? &graph().inputs()[graph().payload(node)] : nullptr;
        if (input != nullptr && input->spread.kind != SpreadKind::none)
            return input->addresses.front();
        if (node != no_node) {
            problems_.add(member.place, "correlated-without-spread",
                          fmt::format("{} has no spread of its own", member.address),
                          is_input ? "give it one, or leave it out"
                                   : "correlate the figures that it is calculated from");
            return 0;
        }
        std::vector<std::string> names;
        for (const Input& one : graph().inputs()) {
            if (one.spread.kind != SpreadKind::none)
                names.push_back(graph().text_of(one.addresses.front()));
        }
        problems_.add(member.place, "unknown-address",
                      fmt::format("nothing in this study has the address {}", member.address),
                      did_you_mean(member.address, names));
        return 0;
    }

    // --- per period
    // -------------------------------------------------------------------------------
    void add_period_results() {
        Subject all;
        all.id = "all";
        all.title = "all products of the study's output";
        all.kind = Subject::Kind::all;
        all.pers = {"period"};
        all.place = model_.place;
        std::vector<std::vector<Views>> parts(indicators_.count());
        std::vector<const Output*> sorted;
        sorted.reserve(model_.output.size());
        for (const Output& output : model_.output) sorted.push_back(&output);
        std::ranges::sort(sorted, {}, &Output::of);
        for (const Output* output : sorted) add_output(*output, parts);
        if (model_.output.empty()) return;
        for (IndicatorId id = 0; id < indicators_.count(); ++id) {
            if (parts[id].empty()) continue;
            Views views{};
            for (std::size_t view = 0; view < view_count; ++view) {
                std::vector<NodeId> terms;
                for (const Views& part : parts[id]) terms.push_back(part[view]);
                views[view] =
                    graph().make(Operation::sum, terms, build_->text(indicators_.at(id).unit),
                                 build_->origin(model_.place, "sum of the output of all products"));
            }
            add_result(all, "period", id, views);
        }
        stage_->subjects.push_back(std::move(all));
    }

    void add_output(const Output& output, std::vector<std::vector<Views>>& parts) {
        const auto flow = flow_of(output);
        if (!flow) return;
        const auto made = times_amount(*flow, "output of the period");
        for (const auto& [id, views] : made) {
            add_result(*flow->subject, "period", id, views);
            parts[id].push_back(views);
        }
        flow->subject->pers.push_back("period");
    }

    /// So much of a product, per a unit that it has results for.
    struct Flow {
        Subject* subject;
        std::string per;
        NodeId amount;
        Place place;
    };

    /// nullopt, reported, when the product or its unit is unknown.
    std::optional<Flow> flow_of(const Output& output) {
        const auto subject = std::ranges::find_if(
            stage_->subjects, [&](const Subject& s) { return s.id == output.of; });
        if (subject == stage_->subjects.end()) {
            std::vector<std::string> names;
            for (const Subject& one : stage_->subjects) names.push_back(one.id);
            problems_.add(output.place, "unknown-product",
                          fmt::format("no mill or product is called {}", output.of),
                          did_you_mean(output.of, names));
            return std::nullopt;
        }
        const std::string per = per_of(known_per(output));
        if (!listed(subject->pers, per)) {
            problems_.add(output.amount.place(), "unknown-per",
                          fmt::format("{} has no results per {}", output.of, output.per),
                          fmt::format("known: {}", fmt::join(subject->pers, ", ")));
            return std::nullopt;
        }
        const Measure amount = output_amount(output, per);
        if (!amount.known()) return std::nullopt;
        return Flow{&*subject, per, amount.node, output.place};
    }

    /// Each indicator of one unit of a flow, times the flow.
    std::vector<std::pair<IndicatorId, Views>> times_amount(const Flow& flow,
                                                            std::string_view what) {
        std::vector<std::pair<IndicatorId, Views>> made;
        for (std::size_t i = stage_->first_result; i < study_.results.size(); ++i) {
            const Result& unit = study_.results[i];
            if (unit.of != flow.subject->id || unit.per != flow.per) continue;
            Views views{};
            for (std::size_t view = 0; view < view_count; ++view) {
                const NodeId of_one = view == market_view ? unit.market : unit.location;
                views[view] = graph().make(
                    Operation::product, {of_one, flow.amount}, build_->text(unit.unit),
                    build_->origin(flow.place, fmt::format("{} × per {}", what, flow.per)));
            }
            made.emplace_back(unit.indicator, views);
        }
        return made;
    }

    // --- per function, per day
    // -------------------------------------------------------------------------------
    void add_function_results() {
        for (const Function& function : model_.functions) {
            for (const Output& output : function.flows) {
                const auto flow = flow_of(output);
                if (!flow) continue;
                if (listed(flow->subject->pers, function.id)) {
                    problems_.add(
                        function.place, "duplicate-id",
                        fmt::format("{} has results per {} already", output.of, function.id),
                        "choose another id");
                    continue;
                }
                for (const auto& [id, views] : times_amount(*flow, function.title))
                    add_result(*flow->subject, function.id, id, views);
                flow->subject->pers.push_back(function.id);
            }
        }
    }

    void add_line_results() {
        for (const Line& line : model_.lines) {
            if (line.gross && line.days) add_line(line);
        }
    }

    void add_line(const Line& line) {
        if (study_.subject(line.id, stage_->scenario) != nullptr) {
            problems_.add(line.place, "duplicate-id",
                          fmt::format("{} is a product already", line.id), "choose another id");
            return;
        }
        const auto made = std::ranges::find_if(stage_->subjects,
                                               [&](const Subject& s) { return s.id == line.of; });
        const ConsumerNodes* consumer = consumer_of(line.of);
        if (made == stage_->subjects.end() || (consumer == nullptr && !listed(made->pers, "t"))) {
            std::vector<std::string> names;
            for (const Subject& one : stage_->subjects) names.push_back(one.id);
            problems_.add(line.of_place, "unknown-product",
                          fmt::format("no sheet or product is called {}", line.of),
                          did_you_mean(line.of, names));
            return;
        }
        const Measure net = net_per_day(line);
        if (!net.known()) return;
        Subject subject;
        subject.id = line.id;
        subject.title = line.title.empty() ? "line that makes " + line.of : line.title;
        subject.kind = Subject::Kind::line;
        subject.place = line.place;
        subject.pers = {"day", "year"};
        const std::string per = consumer == nullptr ? "t" : consumer->piece_name;
        const Measure whole_days = build_->ratio(build_->input(*line.days), line.days->place());
        if (!whole_days.known()) return;
        const NodeId days = whole_days.node;
        NodeId pieces = net.node;
        add_count(subject, line, "t", net.node, days, "net tonnes");
        if (consumer != nullptr) {
            pieces = build_
                         ->divide(net, consumer->tissue_mass, "pieces = net tonnes ÷ tissue in one",
                                  line.place)
                         .node;
            add_count(subject, line, per, pieces, days, "pieces");
            add_levels(subject, line, *consumer, pieces, days);
        }
        Flow flow{&*made, per, pieces, line.place};
        for (const auto& [id, views] : times_amount(flow, "made in a day")) {
            add_result(subject, "day", id, views);
            Views year{};
            for (std::size_t view = 0; view < view_count; ++view)
                year[view] = graph().make(Operation::product, {views[view], days},
                                          build_->text(indicators_.at(id).unit),
                                          build_->origin(line.place, "per day × days of a year"));
            add_result(subject, "year", id, year);
        }
        add_equivalents(subject, line, days);
        stage_->subjects.push_back(std::move(subject));
    }

    const ConsumerNodes* consumer_of(const std::string& id) const {
        for (const auto& nodes : stage_->assembly.product_nodes) {
            if (nodes->product->id == id) return nodes.get();
        }
        return nullptr;
    }

    /// gross × time efficiency × (1 − broke) [t].
    Measure net_per_day(const Line& line) {
        const Measure gross = build_->input(*line.gross);
        const auto day = build_->in_unit(gross, known_unit("t/d"), line.gross->place());
        if (!day) {
            problems_.add(line.gross->place(), "wrong-unit",
                          fmt::format("the gross output of a line is mass per time, found {}",
                                      gross.unit.dimension.text()),
                          "for example 200 t/d");
            return {};
        }
        Measure net{day->node, known_unit("t")};
        if (line.time_efficiency) {
            const Measure share =
                build_->ratio(build_->input(*line.time_efficiency), line.time_efficiency->place());
            net.node = build_->multiply(net, share, "gross × time efficiency", line.place).node;
        }
        if (line.broke) {
            const Measure kept =
                build_->subtract(build_->constant(1.0, "", "1", line.place),
                                 build_->ratio(build_->input(*line.broke), line.broke->place()),
                                 "1 − broke", line.place);
            net.node = build_->multiply(net, kept, "net of broke", line.place).node;
        }
        return net;
    }

    /// One count of a line per day and per year, each a named node.
    void add_count(Subject& subject, const Line& line, const std::string& what, NodeId day,
                   NodeId days, std::string_view rule, const std::string& source = {}) {
        const NodeId year =
            graph().make(Operation::product, {day, days}, build_->text(what),
                         build_->origin(line.place, fmt::format("{} × days of a year", rule)));
        const std::string at = stage_->scenario.empty() ? "" : "@" + stage_->scenario;
        graph().name(day, fmt::format("results{}.{}.day.{}", at, line.id, what));
        graph().name(year, fmt::format("results{}.{}.year.{}", at, line.id, what));
        subject.counts.push_back({"day", what, day, source});
        subject.counts.push_back({"year", what, year, source});
    }

    /// Plain equivalents of what a line makes or of an indicator, by a ratio that has a source.
    void add_equivalents(Subject& subject, const Line& line, NodeId days) {
        for (const Equivalent& one : model_.equivalents) {
            const auto of = measured(subject, one.of);
            if (!of) continue;
            const Measure ratio = build_->input(one.ratio, {}, one.ratio.source.text());
            const Measure all = build_->multiply(*of, ratio, one.title, one.place);
            const auto plain = build_->in_unit(all, known_unit("piece"), one.place);
            const auto number = plain ? plain : build_->in_unit(all, plain_unit(), one.place);
            const auto metres = number ? number : build_->in_unit(all, known_unit("m"), one.place);
            if (!metres) {
                problems_.add(one.ratio.place(), "wrong-unit",
                              fmt::format("{} × {} is no number of pieces and no length",
                                          of->unit.text, ratio.unit.text),
                              fmt::format("for example 14 piece/{}", of->unit.text));
                continue;
            }
            add_count(subject, line, one.id, metres->node, days, one.title,
                      one.ratio.source.text());
        }
    }

    /// What a line has of an indicator or a count in a day; nullopt when it has none.
    std::optional<Measure> measured(const Subject& subject, const std::string& what) {
        for (const Subject::Count& count : subject.counts) {
            if (count.per == "day" && count.what == what)
                return Measure{count.node, known_unit(what == "t" ? "t" : "piece")};
        }
        for (std::size_t i = stage_->first_result; i < study_.results.size(); ++i) {
            const Result& result = study_.results[i];
            if (result.of != subject.id || result.per != "day" ||
                indicators_.at(result.indicator).id != what)
                continue;
            const auto unit = parse_unit(result.unit);
            if (unit.unit) return Measure{result.node, *unit.unit};
        }
        return std::nullopt;
    }

    /// Packs, cases: pieces ÷ how many each level holds.
    void add_levels(Subject& subject, const Line& line, const ConsumerNodes& consumer,
                    NodeId pieces, NodeId days) {
        NodeId inside = pieces;
        for (const PackingLevel& level : consumer.product->packed) {
            inside = graph().make(
                Operation::quotient, {inside, build_->input(level.holds).node},
                build_->text(level.name),
                build_->origin(level.place,
                               fmt::format("{}s = what they hold ÷ its number", level.name)));
            add_count(subject, line, level.name, inside, days, level.name);
        }
    }

    /// Tonnes for any mass, else the word that was typed.
    Unit known_per(const Output& output) const {
        const auto parsed = parse_unit(output.per);
        if (parsed.unit && parsed.unit->dimension == dimensions::mass) return known_unit("t");
        Unit unit;
        unit.text = output.per;
        return unit;
    }

    Measure output_amount(const Output& output, const std::string& per) {
        const Measure typed = build_->input(output.amount);
        if (per != "t" || typed.unit.dimension != dimensions::mass) return typed;
        return *build_->in_unit(typed, known_unit("t"), output.amount.place());
    }

    // --- at the end
    // -------------------------------------------------------------------------------
    void settle_coverage() {
        const auto reach = reach_of(graph());
        for (Result& result : study_.results) {
            const Indicator& indicator = indicators_.at(result.indicator);
            result.coverage = coverage_of(reach[result.node], indicator.kind);
            result.one_number =
                reach[result.node].one_number && indicator.kind == IndicatorKind::carried;
        }
    }

    void fill_head() {
        StudyHead& head = study_.head;
        head.id = model_.id;
        head.title = model_.title;
        head.owner = model_.owner;
        head.period = model_.period;
        head.boundary = model_.boundary;
        head.data_quality_spread = model_.data_quality_spread;
        fill_rules(head, model_);
        for (const Exemption& one : model_.exempted) {
            const std::string most =
                one.highest_plausible ? one.highest_plausible->scalar.text : "?";
            head.exempted.push_back(fmt::format("{}: {} (at most {})", one.what, one.why, most));
        }
        head.rules = {model_.rules.id, model_.rules.version, rules_text()};
        const auto collect = [&](const auto& nodes) {
            head.one_electricity_view =
                head.one_electricity_view || nodes->one_factor_for_both_views;
            for (const Problem& finding : nodes->findings) {
                const bool known = std::ranges::any_of(study_.findings, [&](const Problem& f) {
                    return f.code == finding.code && f.where == finding.where;
                });
                if (!known) study_.findings.push_back(finding);
            }
        };
        for (const auto& mill : model_.mill_nodes) collect(mill);
        for (const auto& product : model_.product_nodes) collect(product);
    }

    /// The rules of the stage that was built last.
    void fill_rules(StudyHead& head, const Assembly& assembly) const {
        head.characterization = assembly.characterization;
        head.scarcity = assembly.scarcity;
        head.prices = assembly.prices;
        head.headline =
            assembly.electricity == "market" ? ElectricityView::market : ElectricityView::location;
        head.gwp_sets.assign(gwp_sets_.begin(), gwp_sets_.end());
        std::stable_partition(head.gwp_sets.begin(), head.gwp_sets.end(),
                              [&](const std::string& set) { return set == head.characterization; });
    }

    /// What a scenario brings up that today does not.
    void collect_findings(Scenario& scenario) const {
        const auto collect = [&](const auto& nodes) {
            for (const Problem& finding : nodes->findings) {
                const auto same = [&](const Problem& f) {
                    return f.code == finding.code && f.where == finding.where;
                };
                if (std::ranges::none_of(study_.findings, same) &&
                    std::ranges::none_of(scenario.findings, same))
                    scenario.findings.push_back(finding);
            }
        };
        for (const auto& mill : scenario.assembly->mill_nodes) collect(mill);
        for (const auto& product : scenario.assembly->product_nodes) collect(product);
    }

    std::string rules_text() const {
        const RuleSet& rules = model_.rules;
        std::string line;
        const auto add = [&](std::string_view what, const std::string& value) {
            if (!value.empty())
                line += fmt::format("{}{}: {}", line.empty() ? "" : "; ", what, value);
        };
        add("declared unit", rules.declared_unit);
        add("boundary", rules.boundary);
        add("cut-off", rules.cut_off ? rules.cut_off->scalar.text : std::string{});
        add("allocation", fmt::format("{}", fmt::join(rules.allocation_order, ", ")));
        return line;
    }

    /// A result that is an amount must be linear in its burdens, or its break-out would not add up.
    void check_degrees() {
        for (const Result& result : study_.results) {
            for (const NodeId node : {result.market, result.location}) {
                const Degree degree = graph().degree(node);
                if (degree != Degree::one && degree != Degree::any)
                    throw std::logic_error(result.address + " is not linear in its burdens");
            }
        }
    }

    /// Finds a sound order of elimination for each loop at the values read.
    void plan_solves() {
        for (std::size_t i = planned_solves_; i < graph().solves().size(); ++i) {
            const Solve& system = graph().solves()[i];
            const auto coefficients = graph().arguments(system.node).first(system.entries.size());
            const Evaluation at = evaluate(graph(), {}, graph().ancestors(coefficients));
            std::vector<double> values;
            for (const NodeId node : coefficients) values.push_back(at.value[node]);
            std::vector<std::uint32_t> order;
            const SolveFailure failure = plan_order(system, values, order);
            if (failure.outcome != SolveOutcome::solved) {
                throw NoAnswer({graph().origin(system.node).place,
                                Severity::error,
                                "unsolvable-loop",
                                loop_message(graph(), system, values, failure),
                                "a loop must make more of its products than it uses of them",
                                {}});
            }
            graph().set_order(i, std::move(order));
        }
        planned_solves_ = graph().solves().size();
    }

    Study& study_;
    StudyModel& model_;
    const ScenarioChoice& choice_;
    Problems& problems_;
    Indicators indicators_;
    std::set<std::string> gwp_sets_;
    // of the stage that is built
    Build* build_ = nullptr;
    FactorBook* book_ = nullptr;
    Stage* stage_ = nullptr;
    std::size_t planned_solves_ = 0;
};

/// Values that must not be negative at the amounts read.
void check_requirements(const Study& study) {
    const Evaluation at = evaluate(study.graph);
    for (const Requirement& requirement : study.graph.requirements()) {
        const double value = at.value[requirement.node];
        if (value >= 0.0) continue;
        throw NoAnswer(
            {study.graph.origin(requirement.node).place,
             Severity::error,
             "negative-rest",
             fmt::format("{} would be negative: {} {}", study.graph.text_of(requirement.what),
                         format_significant(value, 6),
                         study.graph.text_of(study.graph.unit(requirement.node))),
             "the other sources of the mix, or what a scenario takes from it, come to more than "
             "there is",
             {}});
    }
}

}  // namespace

const Result* Study::result(std::string_view of, std::string_view per, std::string_view indicator,
                            std::string_view scenario) const {
    const auto found = std::ranges::find_if(results, [&](const Result& r) {
        return r.scenario == scenario && r.of == of && r.per == per &&
               indicators[r.indicator].id == indicator;
    });
    return found == results.end() ? nullptr : &*found;
}

const StudyHead& Study::head_of(std::string_view id) const {
    const Scenario* found = id.empty() ? nullptr : scenario(id);
    return found == nullptr ? head : found->head;
}

std::span<const Subject> Study::subjects_of(std::string_view id) const {
    const Scenario* found = id.empty() ? nullptr : scenario(id);
    return found == nullptr ? std::span<const Subject>(subjects)
                            : std::span<const Subject>(found->subjects);
}

const Subject* Study::subject(std::string_view of, std::string_view scenario) const {
    const auto all = subjects_of(scenario);
    const auto found = std::ranges::find_if(all, [&](const Subject& s) { return s.id == of; });
    return found == all.end() ? nullptr : &*found;
}

const Scenario* Study::scenario(std::string_view id) const {
    const auto found =
        std::ranges::find_if(scenarios, [&](const Scenario& s) { return s.id == id; });
    return found == scenarios.end() ? nullptr : &*found;
}

const Assembly& assembly_of(const Study& study, std::string_view scenario) {
    const Scenario* found = scenario.empty() ? nullptr : study.scenario(scenario);
    return found == nullptr ? static_cast<const Assembly&>(*study.model) : *found->assembly;
}

void load_study(const std::string& path, Study& study, const ScenarioChoice& choice) {
    const auto model = std::make_shared<StudyModel>();
    study.model = model;
    Problems problems;
    read_study(path, study.files, *model, problems);
    problems.throw_if_any();
    StudyBuilder(study, *model, choice, problems).run();
    check_requirements(study);
}

}  // namespace deckle
