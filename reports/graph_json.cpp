#include "reports/graph_json.h"

#include <cmath>
#include <stdexcept>
#include <unordered_map>

#include "engine/graph/spread.h"
#include "reports/json_text.h"

namespace deckle {
namespace {

/// Texts in the order of their first use; the empty one is number 0.
class Texts {
public:
    explicit Texts(const Graph& graph) : graph_(graph), list_(Json::array({""})) { number_[0] = 0; }

    std::size_t number(TextId text) {
        const auto [found, is_new] = number_.try_emplace(text, list_.size());
        if (is_new) list_.push_back(graph_.text_of(text));
        return found->second;
    }
    [[nodiscard]] const Json& list() const noexcept { return list_; }

private:
    const Graph& graph_;
    std::unordered_map<TextId, std::size_t> number_;
    Json list_;
};

Json bound(double value) { return std::isfinite(value) ? Json(value) : Json(nullptr); }

class GraphWriter {
public:
    GraphWriter(const Graph& graph, std::span<const GraphFile> files, GraphNames names)
        : graph_(graph),
          file_list_(files),
          wanted_names_(names),
          units_(graph),
          rules_(graph),
          sources_(graph) {}

    Json write() {
        for (NodeId node = 0; node < graph_.size(); ++node) add_node(node);
        for (const Input& input : graph_.inputs()) inputs_.push_back(input_json(input));
        Json json;
        json["format"] = "deckle-graph";
        json["version"] = 1;
        for (const OperationRow& row : all_operations()) json["operations"].push_back(row.name);
        json["units"] = units_.list();
        json["rules"] = rules_.list();
        json["sources"] = sources_.list();
        json["files"] = files();
        json["operation"] = std::move(operation_);
        json["start"] = std::move(start_);
        json["count"] = std::move(count_);
        json["arguments"] = std::move(arguments_);
        json["unit"] = std::move(unit_);
        json["origin"] = std::move(origin_);
        json["constants"] = std::move(constants_);
        json["inputs"] = std::move(inputs_);
        json["converts"] = std::move(converts_);
        json["solves"] = std::move(solves_);
        json["tags"] = std::move(tags_);
        json["burdens"] = std::move(burdens_);
        json["not_covered"] = not_covered();
        json["not_negative"] = not_negative();
        json["correlated"] = correlated();
        json["names"] = names();
        return json;
    }

private:
    void add_node(NodeId node);
    void add_burdens(NodeId node);
    Json input_json(const Input& input);
    Json solve_json(const Solve& system) const;
    [[nodiscard]] Json files() const;
    [[nodiscard]] Json not_covered() const;
    [[nodiscard]] Json not_negative() const;
    [[nodiscard]] Json correlated() const;
    [[nodiscard]] Json names() const;
    [[nodiscard]] const std::string& text(TextId id) const { return graph_.text_of(id); }

    const Graph& graph_;
    std::span<const GraphFile> file_list_;
    GraphNames wanted_names_;
    Texts units_, rules_, sources_;
    Json operation_ = Json::array(), start_ = Json::array(), count_ = Json::array(),
         arguments_ = Json::array(), unit_ = Json::array(), origin_ = Json::array(),
         constants_ = Json::array(), inputs_ = Json::array(), converts_ = Json::array(),
         solves_ = Json::array(), tags_ = Json::array(), burdens_ = Json::array();
    std::unordered_map<std::string, std::size_t> tag_number_;
};

void GraphWriter::add_node(NodeId node) {
    const Operation operation = graph_.operation(node);
    const std::uint32_t payload = graph_.payload(node);
    operation_.push_back(static_cast<std::size_t>(operation));
    start_.push_back(arguments_.size());
    count_.push_back(graph_.arguments(node).size());
    for (const NodeId argument : graph_.arguments(node)) arguments_.push_back(argument);
    unit_.push_back(units_.number(graph_.unit(node)));
    const auto [place, rule] = graph_.origin(node);
    if (place.file > file_list_.size())
        throw std::logic_error("a graph read from more files than given");
    origin_.push_back({place.file, place.line, place.column, place.length, rules_.number(rule)});
    if (operation == Operation::constant) constants_.push_back({node, graph_.constants()[payload]});
    if (operation == Operation::solve) solves_.push_back(solve_json(graph_.solves()[payload]));
    if (operation == Operation::convert) {
        const Conversion& c = graph_.conversions()[payload];
        converts_.push_back({node, c.p, c.q, text(c.p_text), text(c.q_text)});
    }
    if (!graph_.tags(node).empty()) add_burdens(node);
}

void GraphWriter::add_burdens(NodeId node) {
    Json terms = Json::array();
    for (const Tag& tag : graph_.tags(node)) {
        Json texts = Json::array();
        for (const TextId id : {tag.stage, tag.process, tag.use, tag.factor, tag.gas, tag.scope}) {
            texts.push_back(text(id));
        }
        const auto [found, is_new] = tag_number_.try_emplace(texts.dump(), tags_.size());
        if (is_new) tags_.push_back(std::move(texts));
        terms.push_back(found->second);
    }
    burdens_.push_back({node, std::move(terms)});
}

Json GraphWriter::input_json(const Input& input) {
    Json json;
    json["n"] = input.node;
    Json addresses = Json::array();
    for (const TextId address : input.addresses) addresses.push_back(text(address));
    json["address"] = addresses.size() == 1 ? Json(addresses[0]) : addresses;
    json["value"] = input.value;
    json["typed"] = text(input.typed);
    if (input.spread.kind != SpreadKind::none) {
        Json parameters = Json::array();
        for (const NodeId parameter : input.spread.parameters) {
            if (parameters.size() == row_of(input.spread.kind).count) break;
            parameters.push_back(parameter == no_node ? Json(nullptr) : Json(parameter));
        }
        json["spread"] = {{"kind", row_of(input.spread.kind).name},
                          {"relative", input.spread.relative},
                          {"parameters", std::move(parameters)}};
    }
    json["bounds"] = {bound(input.bounds.low), bound(input.bounds.high)};
    if (input.counts_to > 0.0) json["counts_to"] = input.counts_to;
    json["source"] = sources_.number(input.source);
    json["note"] = text(input.note);
    json["amount_is"] = text(input.amount_is);
    return json;
}

Json GraphWriter::solve_json(const Solve& system) const {
    Json entries = Json::array(), unknowns = Json::array();
    for (const auto& entry : system.entries) entries.push_back({entry.row, entry.column});
    for (const TextId unknown : system.unknowns) unknowns.push_back(text(unknown));
    return {{"n", system.node},
            {"size", system.size},
            {"right_sides", system.right_sides},
            {"entries", std::move(entries)},
            {"order", system.order},
            {"unknowns", std::move(unknowns)}};
}

Json GraphWriter::files() const {
    Json list = Json::array();
    for (const GraphFile& file : file_list_)
        list.push_back({{"path", file.path}, {"sha256", file.sha256}});
    return list;
}

Json GraphWriter::not_covered() const {
    Json list = Json::array();
    for (const NotCovered& mark : graph_.not_covered()) {
        list.push_back({mark.node, text(mark.subject), text(mark.indicator), mark.line_only});
    }
    return list;
}

Json GraphWriter::not_negative() const {
    Json list = Json::array();
    for (const Requirement& requirement : graph_.requirements()) {
        list.push_back({requirement.node, text(requirement.what)});
    }
    return list;
}

Json GraphWriter::correlated() const {
    Json groups = Json::array();
    for (const Correlation& group : graph_.correlations()) {
        Json addresses = Json::array();
        for (const TextId address : group.addresses) addresses.push_back(text(address));
        groups.push_back(
            {{"addresses", std::move(addresses)}, {"coefficients", group.coefficients}});
    }
    return groups;
}

Json GraphWriter::names() const {
    Json list = Json::array();
    for (const auto& [address, node] : graph_.names()) {
        const bool of_result =
            text(address).starts_with("results.") || text(address).starts_with("results@");
        if (wanted_names_ == GraphNames::without_results && of_result) continue;
        list.push_back({text(address), node});
    }
    return list;
}

}  // namespace

std::string graph_json(const Graph& graph, std::span<const GraphFile> files, GraphNames names) {
    return json_text(GraphWriter(graph, files, names).write());
}

}  // namespace deckle
