#include "engine/graph/lanes_plan.h"

#include <algorithm>
#include <bit>
#include <limits>
#include <numeric>
#include <stdexcept>
#include <unordered_map>

#include "engine/graph/random.h"

namespace deckle {
namespace {

LaneTable::Plain plain_of(const LaneTable& table, Operation operation) {
    switch (operation) {
        case Operation::sum: return table.sum;
        case Operation::product: return table.product;
        case Operation::quotient: return table.quotient;
        case Operation::sum_of_products: return table.sum_of_products;
        case Operation::negate: return table.negate;
        case Operation::power: return table.power;
        case Operation::square_root: return table.square_root;
        case Operation::exponential: return table.exponential;
        case Operation::logarithm: return table.logarithm;
        case Operation::minimum: return table.minimum;
        case Operation::maximum: return table.maximum;
        case Operation::whole: return table.whole;
        case Operation::steam_h: return table.steam_h;
        case Operation::steam_s: return table.steam_s;
        case Operation::liquid_h: return table.liquid_h;
        case Operation::vapour_h: return table.vapour_h;
        case Operation::liquid_s: return table.liquid_s;
        case Operation::vapour_s: return table.vapour_s;
        case Operation::boiling_t: return table.boiling_t;
        case Operation::convert: return table.convert;
        default: throw std::logic_error("an operation without lanes");
    }
}

LaneTable::Draw draw_of(const LaneTable& table, SpreadKind kind) {
    switch (kind) {
        case SpreadKind::normal:
        case SpreadKind::student_t: return table.normal;
        case SpreadKind::lognormal: return table.lognormal;
        case SpreadKind::triangular: return table.triangular;
        case SpreadKind::arcsine: return table.arcsine;
        case SpreadKind::curvilinear_trapezoid: return table.trapezoid;
        case SpreadKind::truncated_normal: return table.truncated;
        default: return table.uniform;
    }
}

/// Open bounds as the ends of the doubles: the lanes then refuse infinity and not-a-number with
/// them.
Bounds finite(Bounds bounds) {
    constexpr double most = std::numeric_limits<double>::max();
    return {std::max(bounds.low, -most), std::min(bounds.high, most)};
}

/// Writes the steps with a value number in the place of each buffer, then shares buffers out.
class Planner {
public:
    Planner(const Graph& graph, const Evaluation& base, const LaneRequest& request,
            const LaneTable& table)
        : graph_(graph), base_(base), request_(request) {
        plan_.graph = &graph;
        plan_.base = &base;
        plan_.table = &table;
        plan_.given_nodes.assign(request.given.begin(), request.given.end());
    }

    LaneSteps make() {
        if (request_.varying.empty()) own_varying_ = varying_nodes(graph_);
        for (std::uint32_t k = 0; k < request_.given.size(); ++k) {
            slot_[request_.given[k]] = {Slot::Kind::given, k};
        }
        for (const NodeId node : needed_nodes()) add_node(node);
        for (const Requirement& requirement : graph_.requirements()) add_check(requirement);
        for (const NodeId node : request_.wanted) add_wanted(node);
        share_buffers();
        return std::move(plan_);
    }

private:
    std::vector<NodeId> needed_nodes();
    [[nodiscard]] bool varies(NodeId node) const {
        return (request_.varying.empty() ? own_varying_ : request_.varying)[node] != 0;
    }
    void add_node(NodeId node);
    void add_draw(const Input& input);
    void add_solve(NodeId node);
    void add_check(const Requirement& requirement);
    void add_wanted(NodeId node);
    void share_buffers();

    std::uint32_t new_value() { return values_++; }
    Slot constant(double value);
    Slot slot(NodeId node);
    Slot sigma(const Input& input);
    Slot parameter(const Input& input, std::size_t k);
    Slot normals_of(TextId address);
    Slot mixed_normals(CorrelationPlace place);
    Step& add_step(Step::Kind kind, std::initializer_list<Slot> arguments);
    Slot add_plain(Operation operation, std::initializer_list<Slot> arguments);

    const Graph& graph_;
    const Evaluation& base_;
    const LaneRequest& request_;
    LaneSteps plan_;
    std::vector<std::uint8_t> own_varying_;
    std::unordered_map<NodeId, Slot> slot_;  ///< of each node with lanes
    std::unordered_map<std::uint64_t, std::uint32_t> constants_;
    std::unordered_map<TextId, Slot> normals_;  ///< of each correlated input, by its address
    std::uint32_t values_ = 0;
};

/// The varying nodes that the wanted ones rest on, in the order of the graph; a given one ends the
/// search.
std::vector<NodeId> Planner::needed_nodes() {
    std::vector<NodeId> found, open;
    const auto need = [&](NodeId node) {
        if (node == no_node || !varies(node)) return;
        const bool is_new = slot_.try_emplace(node).second;
        if (!is_new) return;
        found.push_back(node);
        open.push_back(node);
    };
    const auto close = [&] {
        while (!open.empty()) {
            const NodeId node = open.back();
            open.pop_back();
            for (const NodeId argument : graph_.arguments(node)) need(argument);
            if (graph_.operation(node) != Operation::input) continue;
            for (const NodeId parameter : graph_.inputs()[graph_.payload(node)].spread.parameters) {
                need(parameter);
            }
        }
    };
    for (const NodeId node : request_.wanted) need(node);
    close();
    // a requirement stands beside what it watches, its first term: nothing wanted rests on it
    for (const Requirement& requirement : graph_.requirements()) {
        const auto terms = graph_.arguments(requirement.node);
        const auto watched = terms.empty() ? slot_.end() : slot_.find(terms[0]);
        if (watched != slot_.end() && watched->second.kind != Slot::Kind::given)
            need(requirement.node);
        close();
    }
    std::ranges::sort(found);
    return found;
}

Slot Planner::constant(double value) {
    const auto next = static_cast<std::uint32_t>(constants_.size());
    const auto [found, is_new] = constants_.try_emplace(std::bit_cast<std::uint64_t>(value), next);
    if (is_new) plan_.constants.insert(plan_.constants.end(), 8, value);
    return {Slot::Kind::constant, found->second};
}

Slot Planner::slot(NodeId node) {
    const auto found = slot_.find(node);
    return found != slot_.end() ? found->second : constant(base_.value[node]);
}

Step& Planner::add_step(Step::Kind kind, std::initializer_list<Slot> arguments) {
    Step step;
    step.kind = kind;
    step.first = static_cast<std::uint32_t>(plan_.arguments.size());
    step.count = static_cast<std::uint32_t>(arguments.size());
    plan_.arguments.insert(plan_.arguments.end(), arguments);
    return plan_.steps.emplace_back(step);
}

Slot Planner::add_plain(Operation operation, std::initializer_list<Slot> arguments) {
    Step& step = add_step(Step::Kind::plain, arguments);
    step.operation = operation;
    step.plain = plain_of(*plan_.table, operation);
    step.out = new_value();
    return {Slot::Kind::buffer, step.out};
}

// One branch for each kind of operation.
void Planner::add_node(NodeId node) {
    const Operation operation = graph_.operation(node);
    if (operation == Operation::input) return add_draw(graph_.inputs()[graph_.payload(node)]);
    if (operation == Operation::solve) return add_solve(node);
    if (operation == Operation::part) return;  // its slot was made with the solve
    slot_[node] = add_plain(operation, {});
    Step& step = plan_.steps.back();
    for (const NodeId argument : graph_.arguments(node)) plan_.arguments.push_back(slot(argument));
    step.count = static_cast<std::uint32_t>(graph_.arguments(node).size());
    plan_.most_operands = std::max<std::size_t>(plan_.most_operands, step.count);
    if (operation == Operation::convert) {
        const Conversion& conversion = graph_.conversions()[graph_.payload(node)];
        step.parameters = {conversion.p, conversion.q};
    }
    if (operation == Operation::power) {
        const NodeId exponent = graph_.arguments(node)[1];
        step.parameters = {base_.value[exponent], 0.0};
        if (slot_.contains(exponent)) step.kind = Step::Kind::one_by_one;
    }
}

/// In the order of draws.cpp: ln k, or the half-width (times the value), divided by 1.96.
Slot Planner::sigma(const Input& input) {
    const Slot parameter = slot(input.spread.parameters[0]);
    const bool lognormal = input.spread.kind == SpreadKind::lognormal;
    if (parameter.kind == Slot::Kind::constant) {
        const double number = base_.value[input.spread.parameters[0]];
        const double scaled =
            lognormal ? logarithm<ScalarMath>(number)
                      : (input.spread.relative ? number * base_.value[input.node] : number);
        return constant(scaled / random::half_width_95);
    }
    Slot scaled = parameter;
    if (lognormal) scaled = add_plain(Operation::logarithm, {parameter});
    else if (input.spread.relative)
        scaled = add_plain(Operation::product, {parameter, constant(base_.value[input.node])});
    return add_plain(Operation::quotient, {scaled, constant(random::half_width_95)});
}

/// Parameter k of a spread: the spread's sigma in place of a half-width or factor, an end of the
/// doubles for an open end.
Slot Planner::parameter(const Input& input, std::size_t k) {
    const SpreadRow& row = row_of(input.spread.kind);
    if (k == 0 && (row.parameters[0] == "half_width" || row.parameters[0] == "factor"))
        return sigma(input);
    if (k >= row.count) return constant(0.0);
    if (input.spread.parameters[k] != no_node) return slot(input.spread.parameters[k]);
    constexpr double most = std::numeric_limits<double>::max();
    return constant(k == 1 ? -most : most);
}

Slot Planner::normals_of(TextId address) {
    const auto known = normals_.find(address);
    if (known != normals_.end()) return known->second;
    Step& step = add_step(Step::Kind::normals, {});
    step.index = static_cast<std::uint32_t>(plan_.ids.size());
    step.out = new_value();
    plan_.ids.push_back(stable_id(graph_.text_of(address)));
    return normals_[address] = {Slot::Kind::buffer, step.out};
}

/// In the order of draws.cpp: a row of the factor times the normals of the group.
Slot Planner::mixed_normals(CorrelationPlace place) {
    const Correlation& group = graph_.correlations()[place.group];
    const std::size_t start = std::size_t{place.row} * (place.row + 1) / 2;
    std::vector<Slot> terms;
    for (std::size_t k = 0; k <= place.row; ++k) {
        terms.push_back(constant(group.factor[start + k]));
        terms.push_back(normals_of(group.addresses[k]));
    }
    const Slot mixed = add_plain(Operation::sum_of_products, {});
    Step& step = plan_.steps.back();
    plan_.arguments.insert(plan_.arguments.end(), terms.begin(), terms.end());
    step.count = static_cast<std::uint32_t>(terms.size());
    plan_.most_operands = std::max<std::size_t>(plan_.most_operands, step.count);
    return mixed;
}

void Planner::add_draw(const Input& input) {
    const TextId address = input.addresses.front();
    const CorrelationPlace place = graph_.correlation_of(address);
    const Slot value = constant(base_.value[input.node]);
    const Slot a = parameter(input, 0), b = parameter(input, 1), c = parameter(input, 2);
    const Slot mixed = place.known() ? mixed_normals(place) : value;
    Step& step = add_step(Step::Kind::draw, {value, a, b, c, mixed});
    step.index = static_cast<std::uint32_t>(plan_.drawn.size());
    step.out = new_value();
    slot_[input.node] = {Slot::Kind::buffer, step.out};
    const SpreadKind kind = input.spread.kind;
    plan_.drawn.push_back({draw_of(*plan_.table, kind), row_of(kind).numbers, place.known(),
                           stable_id(graph_.text_of(address)), finite(input.bounds)});
}

/// Lays the loop out as elimination.h wants it.
Loop loop_of(const Solve& system) {
    Loop loop;
    loop.system = &system;
    if (system.size > largest_dense_solve) return loop;
    std::vector<std::uint32_t> order = system.order;
    if (order.size() != system.size) {
        order.resize(system.size);
        std::iota(order.begin(), order.end(), 0U);
    }
    loop.place.resize(system.size);
    loop.rows.resize(system.size);
    loop_shape(system, order, loop.place, loop.rows);
    for (const auto& entry : system.entries) {
        loop.cells.push_back(loop.place[entry.row] * system.size + loop.place[entry.column]);
    }
    loop.shape = {
        system.size,       system.right_sides, static_cast<std::uint32_t>(system.entries.size()),
        loop.cells.data(), loop.place.data(),  loop.rows.data()};
    return loop;
}

void Planner::add_solve(NodeId node) {
    Loop loop = loop_of(graph_.solves()[graph_.payload(node)]);
    const std::size_t unknowns = std::size_t{loop.system->size} * loop.system->right_sides;
    loop.outs.assign(unknowns, no_index);
    for (std::size_t k = 0; k < unknowns; ++k) {  // the parts follow their solve
        const auto part = slot_.find(static_cast<NodeId>(node + 1 + k));
        if (part == slot_.end() || part->second.kind == Slot::Kind::given) continue;
        loop.outs[k] = new_value();
        part->second = {Slot::Kind::buffer, loop.outs[k]};
    }
    Step& step = add_step(Step::Kind::solve, {});
    step.index = static_cast<std::uint32_t>(plan_.loops.size());
    for (const NodeId argument : graph_.arguments(node)) plan_.arguments.push_back(slot(argument));
    step.count = static_cast<std::uint32_t>(graph_.arguments(node).size());
    plan_.most_operands = std::max<std::size_t>(plan_.most_operands, step.count);
    const std::size_t rows = loop.shape.size;
    plan_.scratch = std::max(plan_.scratch, rows * (rows + loop.shape.sides) * 8);
    plan_.loops.push_back(std::move(loop));
}

void Planner::add_check(const Requirement& requirement) {
    const auto found = slot_.find(requirement.node);
    if (found == slot_.end()) return;
    plan_.requirements.push_back(requirement);
    (void)add_step(Step::Kind::check, {found->second});
}

void Planner::add_wanted(NodeId node) {
    plan_.wanted_nodes.push_back(node);
    if (const auto found = slot_.find(node); found != slot_.end()) {
        plan_.wanted.push_back(found->second);
        return;
    }
    const std::uint32_t value = new_value();
    plan_.wanted.push_back({Slot::Kind::buffer, value});
    plan_.filled.emplace_back(value, base_.value[node]);
}

/// Buffers handed back after the last step that reads them.
class BufferPool {
public:
    std::uint32_t take() {
        if (free_.empty()) return count_++;
        const std::uint32_t buffer = free_.back();
        free_.pop_back();
        return buffer;
    }
    void give_back(std::uint32_t buffer) { free_.push_back(buffer); }
    [[nodiscard]] std::size_t count() const noexcept { return count_; }

private:
    std::vector<std::uint32_t> free_;
    std::uint32_t count_ = 0;
};

void Planner::share_buffers() {
    constexpr std::size_t never = ~std::size_t{0};
    std::vector<std::size_t> last_use(values_, 0);
    for (std::size_t s = 0; s < plan_.steps.size(); ++s) {
        const Step& step = plan_.steps[s];
        for (std::uint32_t k = 0; k < step.count; ++k) {
            const Slot& argument = plan_.arguments[step.first + k];
            if (argument.kind == Slot::Kind::buffer) last_use[argument.index] = s;
        }
    }
    for (const Slot& slot : plan_.wanted) {
        if (slot.kind == Slot::Kind::buffer) last_use[slot.index] = never;
    }
    BufferPool pool;
    std::vector<std::uint32_t> buffer_of(values_, no_index);
    const auto place = [&](std::uint32_t& value) {
        buffer_of[value] = pool.take();
        value = buffer_of[value];
    };
    for (auto& [value, number] : plan_.filled) place(value);
    for (std::size_t s = 0; s < plan_.steps.size(); ++s) {
        Step& step = plan_.steps[s];
        const auto release = [&] {
            for (std::uint32_t k = 0; k < step.count; ++k) {
                Slot& argument = plan_.arguments[step.first + k];
                if (argument.kind != Slot::Kind::buffer) continue;
                const std::uint32_t value = argument.index;
                argument.index = buffer_of[value];
                if (last_use[value] != s) continue;
                last_use[value] = never;  // an argument may stand twice
                pool.give_back(argument.index);
            }
        };
        const bool in_place = step.kind == Step::Kind::plain;  // reads a lane before it writes it
        if (in_place) release();
        if (step.out != no_index) place(step.out);
        if (step.kind == Step::Kind::solve) {
            for (std::uint32_t& out : plan_.loops[step.index].outs) {
                if (out != no_index) place(out);
            }
        }
        if (!in_place) release();
    }
    for (Slot& slot : plan_.wanted) {
        if (slot.kind == Slot::Kind::buffer && buffer_of[slot.index] != no_index)
            slot.index = buffer_of[slot.index];
    }
    plan_.buffers = pool.count();
}

}  // namespace

std::vector<std::uint8_t> varying_nodes(const Graph& graph) {
    std::vector<std::uint8_t> varying(graph.size(), 0);
    for (NodeId node = 0; node < graph.size(); ++node) {
        if (graph.operation(node) == Operation::input) {
            varying[node] = graph.inputs()[graph.payload(node)].spread.kind != SpreadKind::none;
        }
        for (const NodeId argument : graph.arguments(node)) varying[node] |= varying[argument];
    }
    return varying;
}

LaneSteps LaneSteps::make(const Graph& graph, const Evaluation& base, const LaneRequest& request,
                          const LaneTable& table) {
    return Planner(graph, base, request, table).make();
}

}  // namespace deckle
