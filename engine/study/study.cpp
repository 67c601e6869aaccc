#include "engine/study/study.h"

#include <fmt/format.h>

#include <algorithm>
#include <set>

#include "engine/graph/solve.h"
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

/// Builds a study's graph from its model: mills, products, then every result with its address.
class StudyBuilder {
public:
    StudyBuilder(Study& study, StudyModel& model, Problems& problems)
        : study_(study),
          model_(model),
          problems_(problems),
          build_(study.graph, problems),
          indicators_(listed(model.rules.indicators, "climate_land_management"),
                      listed(model.rules.indicators, "climate_removals"), currency_of(model)) {}

    void run() {
        add_own_indicators();
        TableChoice choice{
            model_.tables.characterization(model_.characterization),
            model_.tables.scarcity(model_.scarcity), model_.tables.price_list(model_.prices),
            listed(model_.rules.indicators, "climate_land_management"), model_.stands_for};
        build_.quality_spread = model_.tables.quality_spread(model_.data_quality_spread);
        FactorBook book(build_, model_.tables, indicators_, choice);
        book_ = &book;
        check_references();
        build_mills();
        build_products();
        problems_.throw_if_any();
        check_formulas(study_.graph, build_.limits, problems_);
        add_correlations();
        problems_.throw_if_any();
        add_results();
        add_period_results();
        problems_.throw_if_any();
        settle_coverage();
        fill_head();
        model_.used_factors = book.used();
        check_degrees();
        plan_solves();
    }

private:
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
        }
    }

    void build_mills() {
        for (const Mill& mill : model_.mills)
            model_.mill_nodes.push_back(build_mill(build_, *book_, model_.grids, mill));
    }

    void build_products() {
        for (const Product& product : model_.products) {
            model_.product_nodes.push_back(
                build_product(build_, *book_, model_.grids, model_.mill_nodes, product));
        }
    }

    // --- results
    // ----------------------------------------------------------------------------------
    void add_results() {
        for (const auto& mill : model_.mill_nodes) {
            for (ProductNodes& product : mill->products) add_mill_product(*mill, product);
        }
        for (const auto& product : model_.product_nodes) add_consumer_product(*product);
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
        Lines lines = product.lines;
        if (product.carbon != no_node)
            lines.at(indicators_.index("biogenic_carbon")) = held(product);
        add_lines(subject, subject.pers[0], lines);
        study_.subjects.push_back(std::move(subject));
    }

    /// Carbon held by one unit, as a burden of its own.
    Views held(const ProductNodes& product) {
        const Measure one = build_.constant(1.0, "", "one unit", product.made->place);
        const std::string stage = product.process->stage.empty() ? "other" : product.process->stage;
        const Tag tag{build_.text(stage),         build_.text(product.process->address()),
                      build_.text(product.id),    0,
                      build_.text("carbon held"), build_.text("")};
        const NodeId pair[] = {one.node, product.carbon};
        const NodeId node = graph().burdens(
            pair, std::span(&tag, 1), build_.text(per_text("kg C", product.amount.unit)),
            build_.origin(product.made->place, "carbon held by one unit"));
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
        study_.subjects.push_back(std::move(subject));
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
        return graph().constant(0.0, build_.text(indicator.unit),
                                build_.origin({}, "nothing brings any"));
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
                                           build_.origin(subject.place, indicator.title));
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
                                build_.text(fmt::format("{:.0f}", part.numerator)),
                                build_.text(fmt::format("{:.0f}", part.denominator))};
        return graph().convert(
            node, weight, build_.text(weighted_unit(node, part, indicator)),
            build_.origin(subject.place,
                          fmt::format("{} in {}", indicators_.at(part.of).id, indicator.id)));
    }

    void add_result(const Subject& subject, const std::string& per, IndicatorId id,
                    const Views& views) {
        const Indicator& indicator = indicators_.at(id);
        const bool market = model_.electricity == "market";
        Result result;
        result.address = fmt::format("results.{}.{}.{}", subject.id, per, indicator.id);
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
                    graph().make(Operation::sum, terms, build_.text(indicators_.at(id).unit),
                                 build_.origin(model_.place, "sum of the output of all products"));
            }
            add_result(all, "period", id, views);
        }
        study_.subjects.push_back(std::move(all));
    }

    void add_output(const Output& output, std::vector<std::vector<Views>>& parts) {
        const auto subject = std::ranges::find_if(
            study_.subjects, [&](const Subject& s) { return s.id == output.of; });
        if (subject == study_.subjects.end()) {
            std::vector<std::string> names;
            for (const Subject& one : study_.subjects) names.push_back(one.id);
            problems_.add(output.place, "unknown-product",
                          fmt::format("no mill or product is called {}", output.of),
                          did_you_mean(output.of, names));
            return;
        }
        const std::string per = per_of(known_per(output));
        if (!listed(subject->pers, per)) {
            problems_.add(output.amount.place(), "unknown-per",
                          fmt::format("{} has no results per {}", output.of, output.per),
                          fmt::format("known: {}", fmt::join(subject->pers, ", ")));
            return;
        }
        const Measure amount = output_amount(output, per);
        if (!amount.known()) return;
        const std::size_t count = study_.results.size();
        for (std::size_t i = 0; i < count; ++i) {
            const Result unit = study_.results[i];
            if (unit.of != output.of || unit.per != per) continue;
            Views views{};
            for (std::size_t view = 0; view < view_count; ++view) {
                const NodeId of_one = view == market_view ? unit.market : unit.location;
                views[view] = graph().make(
                    Operation::product, {of_one, amount.node}, build_.text(unit.unit),
                    build_.origin(output.place, fmt::format("output of the period × per {}", per)));
            }
            add_result(*subject, "period", unit.indicator, views);
            parts[unit.indicator].push_back(views);
        }
        subject->pers.push_back("period");
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
        const Measure typed = build_.input(output.amount);
        if (per != "t" || typed.unit.dimension != dimensions::mass) return typed;
        return *build_.in_unit(typed, known_unit("t"), output.amount.place());
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
        head.characterization = model_.characterization;
        head.scarcity = model_.scarcity;
        head.prices = model_.prices;
        head.data_quality_spread = model_.data_quality_spread;
        head.headline =
            model_.electricity == "market" ? ElectricityView::market : ElectricityView::location;
        for (const Exemption& one : model_.exempted) {
            const std::string most =
                one.highest_plausible ? one.highest_plausible->scalar.text : "?";
            head.exempted.push_back(fmt::format("{}: {} (at most {})", one.what, one.why, most));
        }
        head.rules = {model_.rules.id, model_.rules.version, rules_text()};
        for (const std::string& set : book_->gwp_sets()) head.gwp_sets.push_back(set);
        std::stable_partition(head.gwp_sets.begin(), head.gwp_sets.end(),
                              [&](const std::string& set) { return set == head.characterization; });
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
        for (std::size_t i = 0; i < graph().solves().size(); ++i) {
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
    }

    Study& study_;
    StudyModel& model_;
    Problems& problems_;
    Build build_;
    Indicators indicators_;
    FactorBook* book_ = nullptr;
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
             fmt::format("the rest {} is negative: {} {}", study.graph.text_of(requirement.what),
                         format_significant(value, 6),
                         study.graph.text_of(study.graph.unit(requirement.node))),
             "the other uses of this mix already make more than is needed",
             {}});
    }
}

}  // namespace

const Result* Study::result(std::string_view of, std::string_view per,
                            std::string_view indicator) const {
    const auto found = std::ranges::find_if(results, [&](const Result& r) {
        return r.of == of && r.per == per && indicators[r.indicator].id == indicator;
    });
    return found == results.end() ? nullptr : &*found;
}

const Subject* Study::subject(std::string_view of) const {
    const auto found = std::ranges::find_if(subjects, [&](const Subject& s) { return s.id == of; });
    return found == subjects.end() ? nullptr : &*found;
}

void load_study(const std::string& path, Study& study) {
    const auto model = std::make_shared<StudyModel>();
    study.model = model;
    Problems problems;
    read_study(path, study.files, *model, problems);
    problems.throw_if_any();
    StudyBuilder(study, *model, problems).run();
    check_requirements(study);
}

}  // namespace deckle
