// What the graph keeps while it is built: how many burdens a node multiplies, and one id a name.
#include "engine/graph/graph.h"

#include <catch2/catch.hpp>
#include <stdexcept>

#include "engine/graph/evaluate.h"
#include "engine/text/problem.h"

using namespace deckle;
using Catch::Matchers::Contains;

namespace {

/// An amount, a burden of degree one, and what is made of them.
struct Amounts {
    Graph graph;
    TextId unit = graph.text("kg");
    NodeId amount = input("amount", 3.0), other = input("other", 5.0);
    NodeId burden = burdens(amount, other);

    NodeId input(const char* address, double value) {
        Input made;
        made.addresses = {graph.text(address)};
        made.value = value;
        return graph.add_input(made, unit, {});
    }
    NodeId burdens(NodeId use, NodeId factor) {
        const NodeId pair[] = {use, factor};
        const Tag tag[] = {{graph.text("papermaking"), 0, 0, 0, 0, 0}};
        return graph.burdens(pair, tag, unit, {});
    }
    NodeId make(Operation operation, std::initializer_list<NodeId> of) {
        return graph.make(operation, of, unit, {});
    }
    [[nodiscard]] Degree of(NodeId node) const { return graph.degree(node); }
};

}  // namespace

TEST_CASE("the degree of a node counts the burdens that it multiplies (Euler: f of degree one)",
          "[graph]") {
    Amounts a;
    CHECK(a.of(a.amount) == Degree::zero);
    CHECK(a.of(a.burden) == Degree::one);
    const NodeId nothing = a.graph.constant(0.0, a.unit, {});
    CHECK(a.of(nothing) == Degree::any);

    // what stays linear in the burdens
    const NodeId more = a.burdens(a.other, a.amount);
    CHECK(a.of(a.make(Operation::sum, {a.burden, more})) == Degree::one);
    CHECK(a.of(a.make(Operation::sum, {a.burden, nothing})) == Degree::one);
    CHECK(a.of(a.make(Operation::negate, {a.burden})) == Degree::one);
    CHECK(a.of(a.make(Operation::product, {a.burden, a.amount})) == Degree::one);
    CHECK(a.of(a.make(Operation::quotient, {a.burden, a.amount})) == Degree::one);
    CHECK(a.of(a.make(Operation::sum_of_products, {a.burden, a.amount, more, a.other})) ==
          Degree::one);

    // what does not, and what holds no burden at all
    CHECK(a.of(a.make(Operation::sum, {a.burden, a.amount})) == Degree::mixed);
    CHECK(a.of(a.make(Operation::product, {a.burden, more})) == Degree::mixed);
    CHECK(a.of(a.make(Operation::quotient, {a.amount, a.burden})) == Degree::mixed);
    CHECK(a.of(a.make(Operation::quotient, {a.burden, more})) == Degree::mixed);
    CHECK(a.of(a.make(Operation::minimum, {a.burden, a.amount})) == Degree::mixed);
    CHECK(a.of(a.make(Operation::product, {a.amount, a.other})) == Degree::zero);
    CHECK(a.of(a.make(Operation::minimum, {a.amount, a.other})) == Degree::zero);
}

TEST_CASE("what a loop gives has the degree of its right side, with coefficients of none",
          "[graph]") {
    const auto part = [](Amounts& a, NodeId coefficient, NodeId right_side) {
        const Solve::Entry entry[] = {{0, 0}};
        const TextId name[] = {a.graph.text("loop")};
        const NodeId coefficients[] = {coefficient}, sides[] = {right_side};
        return a.graph.solve(1, entry, coefficients, 1, sides, name, {&a.unit, 1}, {}).parts.at(0);
    };
    Amounts a;
    CHECK(a.of(part(a, a.amount, a.burden)) == Degree::one);
    CHECK(a.of(part(a, a.burden, a.burden)) == Degree::mixed);
}

TEST_CASE("two names of one 64-bit id are refused (two texts that FNV-1a gives one number)",
          "[graph]") {
    const std::string one = "8yn0iYCKYHlIj4-BwPqk", two = "GReLUrM4wMqfg9yzV3KQ";
    REQUIRE(stable_id(one) == stable_id(two));
    Amounts a;
    a.graph.name(a.amount, one);
    a.graph.name(a.amount, one);  // again, the same: nothing new
    CHECK_THROWS_WITH(a.graph.name(a.other, two), Contains(one) && Contains(two));
    CHECK_THROWS_WITH(a.graph.name(a.other, one), Contains("two nodes"));
}

TEST_CASE("a value that is not finite is told by its own name, else by the figure it is a step of",
          "[graph]") {
    for (const bool has_name : {true, false}) {
        Amounts a;
        const NodeId none =
            a.make(Operation::sum, {a.amount, a.make(Operation::negate, {a.amount})});
        const NodeId ratio = a.make(Operation::quotient, {a.other, none});
        if (has_name) a.graph.name(ratio, "mill.ratio");
        (void)a.make(Operation::product, {a.other, a.other});
        a.graph.name(a.make(Operation::product, {ratio, a.other}), "results.sheet.t.fibre");
        try {
            (void)evaluate(a.graph);
            FAIL("a division by zero has a value");
        } catch (const NoAnswer& failure) {
            CHECK_THAT(failure.problem.message,
                       Catch::StartsWith(has_name ? "mill.ratio has no"
                                                  : "a step of results.sheet.t.fibre has no"));
        }
    }
}
