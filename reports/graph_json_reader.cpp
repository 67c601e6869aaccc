#include <fmt/format.h>

#include <array>
#include <cmath>
#include <limits>
#include <stdexcept>

#include "engine/graph/spread.h"
#include "engine/text/problem.h"
#include "reports/graph_json.h"
#include "reports/json_text.h"

namespace deckle {
namespace {

[[noreturn]] void refuse(const std::string& where, const std::string& expected) {
    throw InputError({{{},
                       Severity::error,
                       "bad-graph",
                       fmt::format("this is no graph that can be read: at {}, {}",
                                   where.empty() ? "the top" : where, expected),
                       "write the graph again; the text was changed or cut",
                       {}}});
}

/// A value and where it stands, "inputs[3].value"; every reading says what it expects. The path is
/// put into words only when something is wrong.
class At {
public:
    explicit At(const Json& top) : value_(&top) {}

    [[nodiscard]] At operator[](const char* key) const {
        if (!value_->is_object()) fail("an object was expected");
        const auto found = value_->find(key);
        if (found == value_->end()) fail(fmt::format("the key '{}' was expected", key));
        return {*this, *found, {key, 0}};
    }
    [[nodiscard]] bool has(const char* key) const {
        return value_->is_object() && value_->contains(key);
    }
    [[nodiscard]] bool is_list() const { return value_->is_array(); }
    [[nodiscard]] bool is_null() const { return value_->is_null(); }

    [[nodiscard]] std::size_t size() const {
        if (!value_->is_array()) fail("a list was expected");
        return value_->size();
    }
    [[nodiscard]] At item(std::size_t index) const {
        if (index >= size()) fail(fmt::format("at least {} items were expected", index + 1));
        return {*this, (*value_)[index], {nullptr, index}};
    }
    /// A whole number below a limit.
    [[nodiscard]] std::uint32_t number(std::size_t limit) const {
        if (!value_->is_number_unsigned() || value_->get<std::uint64_t>() >= limit) {
            fail(fmt::format("a whole number below {} was expected", limit));
        }
        return value_->get<std::uint32_t>();
    }
    [[nodiscard]] double real() const {
        if (!value_->is_number()) fail("a number was expected");
        const auto number = value_->get<double>();
        if (!std::isfinite(number)) fail("a finite number was expected");
        return number;
    }
    [[nodiscard]] bool truth() const {
        if (!value_->is_boolean()) fail("true or false was expected");
        return value_->get<bool>();
    }
    [[nodiscard]] const std::string& text() const {
        if (!value_->is_string()) fail("a text was expected");
        return value_->get_ref<const std::string&>();
    }
    [[noreturn]] void fail(const std::string& expected) const {
        std::string where;
        for (std::size_t k = 0; k < depth_; ++k) {
            const auto [key, index] = path_[k];
            if (key == nullptr) where += fmt::format("[{}]", index);
            else where += fmt::format("{}{}", where.empty() ? "" : ".", key);
        }
        refuse(where, expected);
    }

private:
    struct Step {
        const char* key;  ///< or null and
        std::size_t index;
    };
    At(const At& outer, const Json& value, Step step)
        : value_(&value), path_(outer.path_), depth_(outer.depth_) {
        if (depth_ < path_.size()) path_[depth_++] = step;
    }

    const Json* value_;
    std::array<Step, 5> path_{};
    std::size_t depth_ = 0;
};

constexpr std::size_t most_nodes = std::size_t{1} << 31U;
constexpr std::size_t most_32 = std::size_t{1} << 32U;

bool fits(Arity arity, std::size_t count) {
    switch (arity) {
        case Arity::none: return count == 0;
        case Arity::one: return count == 1;
        case Arity::two: return count == 2;
        case Arity::many: return count >= 1;
        case Arity::pairs: return count >= 2 && count % 2 == 0;
        default: return true;
    }
}

SpreadKind spread_kind(const At& name) {
    for (const SpreadRow& row : all_spreads()) {
        if (row.kind != SpreadKind::none && name.text() == row.name) return row.kind;
    }
    name.fail("the name of a shape was expected");
}

class Reader {
public:
    explicit Reader(const Json& json) : top_(json) {}

    GraphFromJson read() {
        check_head();
        read_files();
        for (NodeId node = 0; node < size_; ++node) {
            if (node < graph().size()) check_part(node);  // made together with its solve
            else add_node(node);
        }
        if (graph().size() != size_) operation_.fail("the parts of the last solve are missing");
        check_all_used();
        read_marks();
        read_correlations();
        return std::move(result_);
    }

private:
    Graph& graph() { return result_.graph; }
    TextId text_at(const At& value) { return graph().text(value.text()); }

    void check_head();
    void read_files();
    void add_node(NodeId node);
    void check_part(NodeId node);
    void add_input(NodeId node);
    void add_constant(NodeId node);
    void add_convert(NodeId node);
    void add_solve(NodeId node);
    void add_burdens(NodeId node);
    void add_plain(NodeId node);
    void check_all_used();
    void read_marks();
    void read_correlations();
    Spread spread_of(const At& spread, NodeId node);
    void expect_new(NodeId made, NodeId node);
    /// The next record of a list whose first item (or "n") is `node`.
    At next(const char* list, std::size_t& used, NodeId node, const char* key = nullptr);

    [[nodiscard]] Operation operation(NodeId node) {
        return static_cast<Operation>(operation_.item(node).number(operation_count));
    }
    std::vector<NodeId> arguments(NodeId node);
    TextId unit(NodeId node) {
        return text_at(unit_list_.item(unit_.item(node).number(unit_list_.size())));
    }
    Origin origin(NodeId node);

    At top_;
    At operation_ = top_["operation"], start_ = top_["start"], count_ = top_["count"],
       unit_ = top_["unit"], origin_ = top_["origin"], arguments_ = top_["arguments"],
       unit_list_ = top_["units"], rule_list_ = top_["rules"], source_list_ = top_["sources"],
       burden_list_ = top_["burdens"], tag_list_ = top_["tags"];
    GraphFromJson result_;
    std::size_t size_ = 0;
    std::size_t inputs_ = 0, constants_ = 0, converts_ = 0, solves_ = 0, burdens_ = 0;
};

void Reader::check_head() {
    if (top_["format"].text() != "deckle-graph")
        top_["format"].fail("\"deckle-graph\" was expected");
    if (top_["version"].number(most_32) != 1) top_["version"].fail("version 1 was expected");
    const At names = top_["operations"];
    for (std::size_t k = 0; k < operation_count; ++k) {
        if (names.item(k).text() != all_operations()[k].name) {
            names.item(k).fail(fmt::format("'{}' was expected", all_operations()[k].name));
        }
    }
    if (names.size() != operation_count) names.fail("an unknown operation stands there");
    size_ = operation_.size();
    if (size_ >= most_nodes) operation_.fail("that many nodes were not expected");
    for (const char* list : {"start", "count", "unit", "origin"}) {
        if (top_[list].size() != size_)
            top_[list].fail(fmt::format("{} items were expected", size_));
    }
}

void Reader::read_files() {
    const At files = top_["files"];
    for (std::size_t k = 0; k < files.size(); ++k) {
        result_.files.push_back({files.item(k)["path"].text(), files.item(k)["sha256"].text()});
    }
}

std::vector<NodeId> Reader::arguments(NodeId node) {
    const std::size_t start = start_.item(node).number(arguments_.size() + 1);
    const std::size_t count = count_.item(node).number(arguments_.size() - start + 1);
    std::vector<NodeId> nodes;
    for (std::size_t k = start; k < start + count; ++k) {
        const At argument = arguments_.item(k);
        nodes.push_back(argument.number(node));
        const bool of_solve = graph().operation(nodes.back()) == Operation::solve;
        if (of_solve && operation(node) != Operation::part)
            argument.fail("only a part may use a solve");
    }
    return nodes;
}

Origin Reader::origin(NodeId node) {
    const At list = origin_.item(node);
    const auto number = [&](std::size_t k) { return list.item(k).number(most_32); };
    const std::uint32_t file = list.item(0).number(result_.files.size() + 1);
    return {{file, number(1), number(2), number(3)},
            text_at(rule_list_.item(list.item(4).number(rule_list_.size())))};
}

At Reader::next(const char* list, std::size_t& used, NodeId node, const char* key) {
    const At all = top_[list];
    if (used >= all.size()) all.fail(fmt::format("one for node {} was expected", node));
    At record = all.item(used++);
    const At number = key == nullptr ? record.item(0) : record[key];
    if (number.number(most_32) != node) number.fail(fmt::format("node {} was expected", node));
    return record;
}

void Reader::expect_new(NodeId made, NodeId node) {
    if (made != node) {
        operation_.item(node).fail(
            fmt::format("a node that is not node {} again was expected", made));
    }
}

void Reader::add_node(NodeId node) {
    switch (operation(node)) {
        case Operation::input: return add_input(node);
        case Operation::constant: return add_constant(node);
        case Operation::convert: return add_convert(node);
        case Operation::solve: return add_solve(node);
        case Operation::part: operation_.item(node).fail("a part behind its solve was expected");
        default: break;
    }
    const bool tagged = burdens_ < burden_list_.size() &&
                        burden_list_.item(burdens_).item(0).number(most_32) == node;
    if (tagged) add_burdens(node);
    else add_plain(node);
}

void Reader::check_part(NodeId node) {
    const auto given = arguments(node);
    if (operation(node) != Operation::part || given.size() != 1 ||
        given[0] != graph().arguments(node)[0] || unit(node) != graph().unit(node)) {
        operation_.item(node).fail("a part of the solve before it was expected");
    }
}

Spread Reader::spread_of(const At& spread, NodeId node) {
    Spread made;
    made.kind = spread_kind(spread["kind"]);
    made.relative = spread["relative"].truth();
    const At parameters = spread["parameters"];
    const SpreadRow& row = row_of(made.kind);
    if (parameters.size() != row.count) parameters.fail("the nodes of the spread were expected");
    for (std::size_t k = 0; k < row.count; ++k) {
        if (parameters.item(k).is_null() && k >= row.open) continue;
        made.parameters[k] = parameters.item(k).number(node);
        if (graph().operation(made.parameters[k]) == Operation::solve)
            parameters.fail("no solve was expected");
    }
    return made;
}

void Reader::add_input(NodeId node) {
    const At record = next("inputs", inputs_, node, "n");
    Input input;
    const At address = record["address"];
    const std::size_t addresses = address.is_list() ? address.size() : 1;
    for (std::size_t k = 0; k < addresses; ++k) {
        input.addresses.push_back(text_at(address.is_list() ? address.item(k) : address));
    }
    if (addresses == 0) address.fail("an address was expected");
    input.value = record["value"].real();
    input.typed = text_at(record["typed"]);
    if (record.has("spread")) input.spread = spread_of(record["spread"], node);
    constexpr double open = std::numeric_limits<double>::infinity();
    const At low = record["bounds"].item(0), high = record["bounds"].item(1);
    input.bounds = {low.is_null() ? -open : low.real(), high.is_null() ? open : high.real()};
    if (record.has("counts_to")) input.counts_to = record["counts_to"].real();
    input.source = text_at(source_list_.item(record["source"].number(source_list_.size())));
    input.note = text_at(record["note"]);
    input.amount_is = text_at(record["amount_is"]);
    expect_new(graph().add_input(std::move(input), unit(node), origin(node)), node);
}

void Reader::add_constant(NodeId node) {
    const double value = next("constants", constants_, node).item(1).real();
    expect_new(graph().constant(value, unit(node), origin(node)), node);
}

void Reader::add_convert(NodeId node) {
    const At record = next("converts", converts_, node);
    const auto nodes = arguments(node);
    if (nodes.size() != 1) count_.item(node).fail("one argument was expected");
    const Conversion conversion{record.item(1).real(), record.item(2).real(),
                                text_at(record.item(3)), text_at(record.item(4))};
    expect_new(graph().convert(nodes[0], conversion, unit(node), origin(node)), node);
}

void Reader::add_plain(NodeId node) {
    const auto nodes = arguments(node);
    const OperationRow& row = row_of(operation(node));
    if (!fits(row.arity, nodes.size())) {
        count_.item(node).fail(
            fmt::format("another number of arguments of '{}' was expected", row.name));
    }
    expect_new(
        graph().make(operation(node), std::span<const NodeId>(nodes), unit(node), origin(node)),
        node);
}

void Reader::add_burdens(NodeId node) {
    const At record = next("burdens", burdens_, node);
    const auto nodes = arguments(node);
    const At terms = record.item(1);
    if (operation(node) != Operation::sum_of_products || terms.size() == 0 ||
        nodes.size() != 2 * terms.size()) {
        terms.fail("a tag for each term of a sum of products was expected");
    }
    std::vector<Tag> made;
    for (std::size_t k = 0; k < terms.size(); ++k) {
        const At tag = tag_list_.item(terms.item(k).number(tag_list_.size()));
        made.push_back({text_at(tag.item(0)), text_at(tag.item(1)), text_at(tag.item(2)),
                        text_at(tag.item(3)), text_at(tag.item(4)), text_at(tag.item(5))});
    }
    expect_new(graph().burdens(nodes, made, unit(node), origin(node)), node);
}

void Reader::add_solve(NodeId node) {
    const At record = next("solves", solves_, node, "n");
    const auto nodes = arguments(node);
    const At entry_list = record["entries"], unknown_list = record["unknowns"],
             order_list = record["order"];
    const std::size_t entries = entry_list.size();
    const std::uint32_t size = record["size"].number(size_ + 1);
    const std::uint32_t sides = record["right_sides"].number(size_ + 1);
    const std::size_t parts = std::size_t{size} * sides;
    if (parts == 0 || nodes.size() != entries + parts || unknown_list.size() != size ||
        node + parts >= size_) {
        record["size"].fail("a solve with all its arguments and parts was expected");
    }
    std::vector<Solve::Entry> places;
    for (std::size_t k = 0; k < entries; ++k) {
        places.push_back(
            {entry_list.item(k).item(0).number(size), entry_list.item(k).item(1).number(size)});
    }
    std::vector<TextId> unknowns, units;
    for (std::size_t k = 0; k < size; ++k) unknowns.push_back(text_at(unknown_list.item(k)));
    for (std::size_t k = 1; k <= parts; ++k) units.push_back(unit(static_cast<NodeId>(node + k)));
    const std::span<const NodeId> all(nodes);
    const Solution solution = graph().solve(size, places, all.first(entries), sides,
                                            all.subspan(entries), unknowns, units, origin(node));
    expect_new(solution.node, node);

    std::vector<std::uint32_t> order;
    std::vector<std::uint8_t> seen(size, 0);
    for (std::size_t k = 0; k < order_list.size(); ++k) {
        order.push_back(order_list.item(k).number(size));
        if (seen[order.back()]++ != 0) order_list.item(k).fail("each unknown once was expected");
    }
    if (!order.empty() && order.size() != size) order_list.fail("each unknown once was expected");
    graph().set_order(graph().solves().size() - 1, std::move(order));
}

void Reader::check_all_used() {
    const std::pair<const char*, std::size_t> lists[] = {{"inputs", inputs_},
                                                         {"constants", constants_},
                                                         {"converts", converts_},
                                                         {"solves", solves_},
                                                         {"burdens", burdens_}};
    for (const auto& [list, used] : lists) {
        if (used != top_[list].size())
            top_[list].item(used).fail("a node of that kind, in order, was expected");
    }
}

void Reader::read_marks() {
    const At marks = top_["not_covered"], rests = top_["not_negative"], names = top_["names"];
    for (std::size_t k = 0; k < marks.size(); ++k) {
        const At mark = marks.item(k);
        graph().mark_not_covered({mark.item(0).number(size_), text_at(mark.item(1)),
                                  text_at(mark.item(2)), mark.item(3).truth()});
    }
    for (std::size_t k = 0; k < rests.size(); ++k) {
        graph().require_not_negative(
            {rests.item(k).item(0).number(size_), text_at(rests.item(k).item(1))});
    }
    for (std::size_t k = 0; k < names.size(); ++k) {
        const At name = names.item(k);
        const NodeId node = name.item(1).number(size_);
        const NodeId known = graph().find(name.item(0).text());
        if (known != no_node) name.fail("each address once was expected");
        graph().name(node, name.item(0).text());
    }
}

/// The draws of inputs that go together, by their first addresses.
void Reader::read_correlations() {
    const At groups = top_["correlated"];
    for (std::size_t g = 0; g < groups.size(); ++g) {
        const At addresses = groups.item(g)["addresses"], packed = groups.item(g)["coefficients"];
        const std::size_t size = addresses.size();
        if (size == 0 || packed.size() != size * (size + 1) / 2)
            packed.fail("the lower triangle of the addresses was expected");
        std::vector<TextId> texts;
        std::vector<double> matrix(size * size);
        for (std::size_t row = 0, k = 0; row < size; ++row) {
            texts.push_back(text_at(addresses.item(row)));
            for (std::size_t column = 0; column <= row; ++column, ++k)
                matrix[row * size + column] = matrix[column * size + row] = packed.item(k).real();
        }
        if (!graph().correlate(texts, matrix)) packed.fail("a positive definite one was expected");
    }
}

}  // namespace

GraphFromJson read_graph_json(std::string_view text) {
    try {
        const Json json = Json::parse(text);
        return Reader(json).read();
    } catch (const nlohmann::json::exception& failure) {
        refuse("", failure.what());
    } catch (const std::logic_error& failure) {
        refuse("", failure.what());
    }
}

}  // namespace deckle
