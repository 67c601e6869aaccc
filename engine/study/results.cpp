#include "engine/study/results.h"

#include <fmt/format.h>

#include <algorithm>

namespace deckle {
namespace {

/// "kg C/t" of a part becomes "kg CO2e/t" in the sum it goes into.
std::string weighted_unit(Stage& stage, NodeId node, const Indicator::Part& part,
                          const Indicator& indicator) {
    const std::string& typed = stage.graph().text_of(stage.graph().unit(node));
    const std::string& line = stage.indicators.at(part.of).unit;
    return typed.starts_with(line) ? indicator.unit + typed.substr(line.size()) : indicator.unit;
}

NodeId weighted(Stage& stage, NodeId node, const Indicator::Part& part, const Indicator& indicator,
                const Subject& subject) {
    const Conversion weight{part.numerator, part.denominator,
                            stage.build.text(fmt::format("{:.0f}", part.numerator)),
                            stage.build.text(fmt::format("{:.0f}", part.denominator))};
    return stage.graph().convert(
        node, weight, stage.build.text(weighted_unit(stage, node, part, indicator)),
        stage.build.origin(subject.place,
                           fmt::format("{} in {}", stage.indicators.at(part.of).id, indicator.id)));
}

/// Weighted sum of other lines; no_node when none of them has any.
Views derived_line(Stage& stage, const Indicator& indicator, const std::vector<Views>& made,
                   const Subject& subject) {
    Views views{no_node, no_node};
    for (std::size_t view = 0; view < view_count; ++view) {
        std::vector<NodeId> terms;
        for (const Indicator::Part& part : indicator.parts) {
            NodeId node = made[part.of][view];
            if (node == no_node) continue;
            if (part.numerator != part.denominator)
                node = weighted(stage, node, part, indicator, subject);
            terms.push_back(node);
        }
        if (!terms.empty()) {
            views[view] =
                stage.graph().make(Operation::sum, terms, stage.graph().unit(terms.front()),
                                   stage.build.origin(subject.place, indicator.title));
        }
    }
    return views;
}

NodeId no_burden(Stage& stage, const Indicator& indicator) {
    return stage.graph().constant(0.0, stage.build.text(indicator.unit),
                                  stage.build.origin({}, "nothing brings any"));
}

void add_lines(Stage& stage, const Subject& subject, const std::string& per, const Lines& lines) {
    std::vector<Views> made(stage.indicators.count(), Views{no_node, no_node});
    for (IndicatorId id = 0; id < stage.indicators.count(); ++id) {
        const Indicator& indicator = stage.indicators.at(id);
        made[id] = indicator.kind == IndicatorKind::derived
                       ? derived_line(stage, indicator, made, subject)
                       : lines.at(id);
        if (made[id][0] == no_node && made[id][1] == no_node && indicator.optional) continue;
        for (NodeId& node : made[id]) {
            if (node == no_node) node = no_burden(stage, indicator);
        }
        add_result(stage, subject, per, id, made[id], subject.place);
    }
}

/// Carbon held by one unit, as a burden of its own.
Views carbon_held(Stage& stage, const ProductNodes& product, NodeId carbon) {
    const Measure one = stage.build.constant(1.0, "", "one unit", product.made->place);
    const std::string& of = product.process->stage;
    const Tag tag{stage.build.text(of.empty() ? "other" : of),
                  stage.build.text(product.process->address()),
                  stage.build.text(product.id),
                  0,
                  stage.build.text("carbon held"),
                  stage.build.text("")};
    const NodeId pair[] = {one.node, carbon};
    const NodeId node = stage.graph().burdens(
        pair, std::span(&tag, 1), stage.build.text(per_text("kg C", product.amount.unit)),
        stage.build.origin(product.made->place, "carbon held by one unit"));
    return {node, node};
}

void add_mill_product(Stage& stage, const MillNodes& mill, ProductNodes& product) {
    Subject subject;
    subject.id =
        stage.model.mills.size() > 1 ? fmt::format("{}.{}", mill.mill->id, product.id) : product.id;
    subject.title =
        fmt::format("{}, {}", product.id,
                    product.process->title.empty() ? product.process->id : product.process->title);
    subject.kind = Subject::Kind::mill_product;
    subject.place = product.made->place;
    subject.pers = {per_of(product.amount.unit)};
    if (product.carbon != no_node)
        product.lines.at(stage.indicators.index("biogenic_carbon")) =
            carbon_held(stage, product, product.carbon);
    if (product.fossil_carbon != no_node)
        product.lines.at(stage.indicators.index("fossil_carbon")) =
            carbon_held(stage, product, product.fossil_carbon);
    add_lines(stage, subject, subject.pers[0], product.lines);
    stage.subjects.push_back(std::move(subject));
}

void add_consumer_product(Stage& stage, const ConsumerNodes& nodes) {
    Subject subject;
    subject.id = nodes.product->id;
    subject.title = nodes.product->title;
    subject.kind = Subject::Kind::consumer_product;
    subject.place = nodes.product->place;
    subject.whole_count = nodes.whole_count;
    subject.exact_count = nodes.exact_count;
    for (const PerLines& per : nodes.pers) {
        subject.pers.push_back(per.per);
        add_lines(stage, subject, per.per, per.lines);
    }
    stage.subjects.push_back(std::move(subject));
}

}  // namespace

void add_product_results(Stage& stage) {
    for (const auto& mill : stage.assembly.mill_nodes) {
        for (ProductNodes& product : mill->products) add_mill_product(stage, *mill, product);
    }
    for (const auto& product : stage.assembly.product_nodes) add_consumer_product(stage, *product);
}

std::string name_result(Stage& stage, NodeId node, const ResultName& name, Place place) {
    const std::string address =
        fmt::format("results{}{}.{}.{}.{}", stage.scenario.empty() ? "" : "@", stage.scenario,
                    name.of, name.per, name.what);
    const NodeId twin = stage.graph().find(address);
    if (twin == no_node || twin == node) {
        stage.graph().name(node, address);
        return address;
    }
    const auto same_cause = [&](const Problem& one) {
        return one.code == "duplicate-id" && one.where == place;
    };
    if (std::ranges::none_of(stage.problems.all(), same_cause))
        stage.problems.add(place, "duplicate-id", fmt::format("{} would be two results", address),
                           "ids of functions, packing levels, equivalents and indicators stand in "
                           "it: give one another id",
                           {stage.graph().origin(twin).place});
    return {};
}

void add_result(Stage& stage, const Subject& subject, const std::string& per, IndicatorId id,
                const Views& views, Place place) {
    const Indicator& indicator = stage.indicators.at(id);
    const bool market = stage.assembly.electricity == "market";
    Result result;
    result.scenario = stage.scenario;
    result.of = subject.id;
    result.per = per;
    result.indicator = id;
    result.market = views[market_view];
    result.location = views[location_view];
    result.node = market ? result.market : result.location;
    result.unit = indicator.unit;
    result.address = name_result(stage, result.node, {subject.id, per, indicator.id}, place);
    if (result.address.empty()) return;
    stage.graph().name(result.market, result.address + ".market");
    stage.graph().name(result.location, result.address + ".location");
    stage.study.add(std::move(result));
}

namespace {

/// Of the parts of an address.
std::uint64_t hash_of(std::string_view of, std::string_view per, std::string_view indicator,
                      std::string_view scenario) {
    std::uint64_t hash = 0;
    for (const std::string_view part : {of, per, indicator, scenario})
        hash = (hash ^ std::hash<std::string_view>()(part)) * 0x9E3779B97F4A7C15ULL;
    return hash;
}

}  // namespace

void Study::index_subjects(std::string_view scenario) {
    const auto all = subjects_of(scenario);
    for (std::uint32_t i = 0; i < all.size(); ++i)
        subject_index.add(hash_of(all[i].id, {}, {}, scenario), i);
}

const Subject* Study::subject(std::string_view of, std::string_view scenario) const {
    const auto all = subjects_of(scenario);
    const std::uint32_t found = subject_index.find(
        hash_of(of, {}, {}, scenario),
        [&](std::uint32_t one) { return one < all.size() && all[one].id == of; });
    return found == HashIndex::nothing ? nullptr : &all[found];
}

void Study::add(Result result) {
    result_index.add(
        hash_of(result.of, result.per, indicators[result.indicator].id, result.scenario),
        static_cast<std::uint32_t>(results.size()));
    results.push_back(std::move(result));
}

const Result* Study::result(std::string_view of, std::string_view per, std::string_view indicator,
                            std::string_view scenario) const {
    const std::uint32_t found =
        result_index.find(hash_of(of, per, indicator, scenario), [&](std::uint32_t one) {
            const Result& r = results[one];
            return r.of == of && r.per == per && indicators[r.indicator].id == indicator &&
                   r.scenario == scenario;
        });
    return found == HashIndex::nothing ? nullptr : &results[found];
}

}  // namespace deckle
