#include "tests/graph/graph_maker.h"

#include <cmath>
#include <stdexcept>

namespace deckle::test {
namespace {

class Net {
public:
    Net(std::uint64_t seed, Steps steps) : numbers_(seed), steps_(steps) {}

    RandomGraph make(std::size_t size) {
        add_inputs();
        while (maker().graph.size() < size) add_any();
        for (std::size_t k = 0; k < 12; ++k)
            made_.results.push_back(nodes_[nodes_.size() - 1 - 3 * k]);
        return std::move(made_);
    }

private:
    struct Known {
        double value;
        bool positive;  ///< and stays so when its inputs move a little
    };

    Maker& maker() { return made_.maker; }
    NodeId any() { return nodes_[numbers_.below(nodes_.size())]; }
    NodeId positive();
    void keep(NodeId node, double value, bool is_positive);
    void add_inputs();
    void correlate(const std::vector<std::string>& inputs, double coefficient);
    void add_steam();
    void add_loop();
    void add_plain(Operation operation);
    void add_convert();
    void add_any();

    RandomGraph made_;
    Numbers numbers_;
    Steps steps_;
    std::vector<NodeId> nodes_;
    std::vector<Known> known_;  ///< one a node of nodes_
    std::vector<NodeId> pressures_, hot_, cold_;
};

NodeId Net::positive() {
    for (;;) {
        const std::size_t k = numbers_.below(nodes_.size());
        if (known_[k].positive) return nodes_[k];
    }
}

void Net::keep(NodeId node, double value, bool is_positive) {
    nodes_.push_back(node);
    known_.push_back({value, is_positive});
}

void Net::add_inputs() {
    const auto name = [&](const char* word, int i) {
        return "mill." + std::string(word) + "." + std::to_string(i);
    };
    const NodeId k = maker().spread("mill.figures.k", 1.05, SpreadKind::normal, {0.001});
    const NodeId degrees =
        maker().spread("mill.figures.degrees", 8.0, SpreadKind::uniform, {4.0, 12.0});
    const NodeId scale = maker().input("mill.figures.scale", 0.002);
    for (int i = 0; i < 6; ++i) {
        const double value = numbers_.between(0.5, 4.0);
        keep(maker().input(name("exact", i), value), value, true);
        keep(maker().spread(name("normal", i), value, SpreadKind::normal, {0.02 * value}), value,
             true);
        keep(maker().spread(name("relative", i), value, SpreadKind::normal, {0.03}, true), value,
             true);
        keep(maker().spread(name("lognormal", i), value, SpreadKind::lognormal, {1.04}), value,
             true);
        keep(maker().spread_by(name("lognormal_k", i), value, SpreadKind::lognormal, {k}), value,
             true);
        keep(maker().spread(name("triangular", i), value, SpreadKind::triangular,
                            {0.97 * value, 1.02 * value}),
             value, true);
        keep(maker().spread(name("uniform", i), value, SpreadKind::uniform,
                            {0.98 * value, 1.02 * value}),
             value, true);
        keep(maker().spread(name("arcsine", i), value, SpreadKind::arcsine,
                            {0.97 * value, 1.03 * value}),
             value, true);
        keep(maker().spread(name("trapezoid", i), value, SpreadKind::curvilinear_trapezoid,
                            {0.98 * value, 1.02 * value, (0.001 + 0.003 * i) * value}),
             value, true);
        keep(maker().spread(name("student", i), value, SpreadKind::student_t,
                            {0.002 * value, 4.0 + 7.5 * i}),
             value, true);
        keep(maker().spread_by(name("student_of_degrees", i), value, SpreadKind::student_t,
                               {scale, degrees}),
             value, true);
        keep(maker().spread(name("truncated", i), value, SpreadKind::truncated_normal,
                            {0.05 * value, 0.98 * value, (1.001 + 0.01 * i) * value}),
             value, true);
    }
    correlate({"lognormal.0", "normal.0", "student.0", "truncated.0", "uniform.0"}, 0.6);
    correlate({"trapezoid.1", "arcsine.1", "relative.1"}, -0.4);
    for (int i = 0; i < 3; ++i) {
        const double p = numbers_.between(0.2, 1.5);
        pressures_.push_back(maker().spread(name("pressure", i), p, SpreadKind::lognormal, {1.01}));
        hot_.push_back(maker().spread(name("hot", i), numbers_.between(500.0, 900.0),
                                      SpreadKind::normal, {1.0}));
        cold_.push_back(maker().spread(name("cold", i), numbers_.between(280.0, 380.0),
                                       SpreadKind::normal, {1.0}));
    }
}

/// Every two of them alike.
void Net::correlate(const std::vector<std::string>& inputs, double coefficient) {
    std::vector<TextId> addresses;
    std::vector<double> matrix(inputs.size() * inputs.size(), coefficient);
    for (std::size_t k = 0; k < inputs.size(); ++k) {
        addresses.push_back(maker().graph.text("mill." + inputs[k]));
        matrix[k * (inputs.size() + 1)] = 1.0;
    }
    if (!maker().graph.correlate(addresses, matrix)) throw std::logic_error("not definite");
}

/// A steam property brought to the size of the other nodes.
void Net::add_steam() {
    constexpr Operation of_state[] = {Operation::steam_h, Operation::steam_s};
    constexpr Operation of_pressure[] = {Operation::liquid_h, Operation::vapour_h,
                                         Operation::liquid_s, Operation::vapour_s,
                                         Operation::boiling_t};
    const NodeId p = pressures_[numbers_.below(3)];
    NodeId node;
    if (numbers_.below(2) == 0) {
        const NodeId t =
            numbers_.below(2) == 0 ? hot_[numbers_.below(3)] : cold_[numbers_.below(3)];
        node = maker().make(of_state[numbers_.below(2)], {p, t});
    } else {
        node = maker().make(of_pressure[numbers_.below(5)], {p});
    }
    const double value = evaluate(maker().graph).value[node];
    const NodeId smaller = maker().make(Operation::quotient, {node, maker().number(value / 2.0)});
    keep(smaller, 2.0, true);
}

/// Each product takes at most 0.9 of all others together.
void Net::add_loop() {
    const auto size = static_cast<std::uint32_t>(2 + numbers_.below(8));
    const auto sides = static_cast<std::uint32_t>(1 + numbers_.below(3));
    std::vector<Solve::Entry> entries;
    std::vector<NodeId> coefficients, right_sides;
    for (std::uint32_t row = 0; row < size; ++row) {
        for (std::uint32_t column = 0; column < size; ++column) {
            if (numbers_.below(3) == 0) continue;
            const NodeId a = positive();
            const NodeId share = maker().make(Operation::quotient,
                                              {a, maker().make(Operation::sum, {a, positive()})});
            const NodeId scale = maker().number(0.9 / size);
            entries.push_back({row, column});
            coefficients.push_back(maker().make(Operation::product, {share, scale}));
        }
    }
    for (std::uint32_t k = 0; k < size * sides; ++k) right_sides.push_back(positive());
    const Solution solution = maker().solve(size, entries, coefficients, sides, right_sides);
    const Evaluation values = evaluate(maker().graph);
    for (const NodeId part : solution.parts) {
        if (std::fabs(values.value[part]) < 1e3) keep(part, values.value[part], true);
    }
}

void Net::add_convert() {
    const NodeId node = maker().graph.convert(positive(), {3.6, 7.0, 0, 0}, 0, {});
    keep(node, evaluate(maker().graph).value[node], true);
}

void Net::add_plain(Operation operation) {
    const OperationRow& row = row_of(operation);
    std::vector<NodeId> arguments;
    std::size_t count = row.arity == Arity::one ? 1 : 2;
    if (row.arity == Arity::many) count = 1 + numbers_.below(4);
    if (row.arity == Arity::pairs) count = 2 * (1 + numbers_.below(3));
    const bool needs_positive = operation == Operation::square_root ||
                                operation == Operation::logarithm || operation == Operation::power;
    bool all_positive = operation != Operation::negate && operation != Operation::logarithm &&
                        operation != Operation::whole;
    std::vector<double> values;
    for (std::size_t k = 0; k < count; ++k) {
        const bool divisor = operation == Operation::quotient && k == 1;
        arguments.push_back(needs_positive || divisor ? positive() : any());
        for (std::size_t n = 0; n < nodes_.size(); ++n) {
            if (nodes_[n] != arguments.back()) continue;
            values.push_back(known_[n].value);
            all_positive = all_positive && known_[n].positive;
            break;
        }
    }
    if (operation == Operation::power) {
        constexpr double exponents[] = {2.0, 3.0, -1.0, -2.0, 0.5, 0.7, -0.3, 0.0, 1.0};
        values[1] = exponents[numbers_.below(9)];
        arguments[1] = maker().number(values[1]);
    }
    const double value = value_of(operation, values);
    if (!(std::fabs(value) > 1e-3 && std::fabs(value) < 1e3)) return;
    keep(maker().make(operation, arguments), value,
         all_positive || operation == Operation::exponential);
}

void Net::add_any() {
    constexpr Operation plain[] = {
        Operation::sum,     Operation::product, Operation::quotient,    Operation::sum_of_products,
        Operation::negate,  Operation::power,   Operation::square_root, Operation::exponential,
        Operation::minimum, Operation::maximum, Operation::whole,       Operation::logarithm};
    switch (numbers_.below(24)) {
        case 0: return add_loop();
        case 1:
        case 2: return add_steam();
        case 3: return add_convert();
        default: break;
    }
    const Operation operation = plain[numbers_.below(12)];
    if (steps_ == Steps::without && row_of(operation).stepped) return;
    add_plain(operation);
}

}  // namespace

RandomGraph random_graph(std::uint64_t seed, std::size_t size, Steps steps) {
    return Net(seed, steps).make(size);
}

RandomGraph random_loop(std::uint64_t seed, std::uint32_t size, std::uint32_t sides,
                        std::uint32_t per_row) {
    RandomGraph made;
    Maker& maker = made.maker;
    Numbers numbers(seed);
    std::vector<Solve::Entry> entries;
    std::vector<NodeId> coefficients, right_sides;
    for (std::uint32_t row = 0; row < size; ++row) {
        for (std::uint32_t k = 0; k < per_row; ++k) {
            const std::string address = "loop." + std::to_string(row) + "." + std::to_string(k);
            entries.push_back({row, static_cast<std::uint32_t>(numbers.below(size))});
            coefficients.push_back(maker.spread(address, numbers.between(0.1, 0.8) / per_row,
                                                SpreadKind::lognormal, {1.02}));
        }
    }
    for (std::uint32_t k = 0; k < size * sides; ++k) {
        right_sides.push_back(maker.spread("direct." + std::to_string(k), numbers.between(0.0, 2.0),
                                           SpreadKind::lognormal, {1.1}));
    }
    made.results = maker.solve(size, entries, coefficients, sides, right_sides).parts;
    return made;
}

}  // namespace deckle::test
