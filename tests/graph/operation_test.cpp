// The table of operations: no face is missing, values and slopes are right, patterns fill as
// written.
#include "engine/graph/operation.h"

#include <catch2/catch.hpp>
#include <cmath>
#include <set>

#include "tests/graph/graph_maker.h"

using namespace deckle;
using Catch::WithinRel;

namespace {

/// Arguments that an operation accepts, away from steps.
std::vector<double> some_arguments(Operation operation, test::Numbers& numbers) {
    const auto one = [&] { return numbers.between(0.2, 3.0); };
    switch (operation) {
        case Operation::steam_h:
        case Operation::steam_s:
            return {numbers.between(0.1, 2.0), numbers.below(2) == 0
                                                   ? numbers.between(280.0, 360.0)
                                                   : numbers.between(500.0, 1000.0)};
        default: break;
    }
    switch (row_of(operation).arity) {
        case Arity::one: return {one()};
        case Arity::two: return {one(), numbers.between(-2.0, 2.0)};
        default: return {one(), one(), one(), one()};
    }
}

bool is_plain(Operation operation) {
    return row_of(operation).arity != Arity::none && row_of(operation).arity != Arity::special;
}

}  // namespace

TEST_CASE("every operation has all its faces, under its own name and in its own row", "[graph]") {
    std::set<std::string_view> names;
    CHECK(all_operations().size() == operation_count);
    for (std::size_t k = 0; k < operation_count; ++k) {
        const OperationRow& row = all_operations()[k];
        INFO(row.name);
        CHECK(static_cast<std::size_t>(row.operation) == k);
        CHECK(&row_of(row.operation) == &row);
        CHECK(names.insert(row.name).second);
        CHECK_FALSE(row.words.empty());
        CHECK_FALSE(row.workbook.empty());
        CHECK_FALSE(row.browser.empty());
        CHECK(row.workbook.size() < 8000);  // a workbook cell holds 8,192 characters
    }
}

TEST_CASE("slopes of every operation agree with differences of its values", "[graph][property]") {
    test::Numbers numbers(7);
    for (const OperationRow& row : all_operations()) {
        if (!is_plain(row.operation) || row.operation == Operation::whole) continue;
        for (int round = 0; round < 50; ++round) {
            const auto arguments = some_arguments(row.operation, numbers);
            std::vector<double> slope(arguments.size(), 0.0);
            add_slopes(row.operation, arguments, value_of(row.operation, arguments), 1.0, slope);
            for (std::size_t k = 0; k < arguments.size(); ++k) {
                auto up = arguments, down = arguments;
                const double step = 1e-5 * arguments[k];
                up[k] += step;
                down[k] -= step;
                const double difference =
                    (value_of(row.operation, up) - value_of(row.operation, down)) / (2.0 * step);
                const double scale = std::fabs(value_of(row.operation, arguments) / arguments[k]);
                INFO(row.name << " argument " << k);
                REQUIRE(std::fabs(slope[k] - difference) <= 1e-7 * (std::fabs(difference) + scale));
            }
        }
    }
}

TEST_CASE("slopes are added to what is there, times what comes from above", "[graph]") {
    std::vector<double> slope = {10.0, 20.0};
    const std::vector<double> arguments = {3.0, 4.0};
    add_slopes(Operation::product, arguments, 12.0, 2.0, slope);
    CHECK(slope == std::vector<double>{10.0 + 2.0 * 4.0, 20.0 + 2.0 * 3.0});
}

TEST_CASE("values of the plain operations (by hand)", "[graph]") {
    const auto value = [](Operation operation, std::vector<double> a) {
        return value_of(operation, a);
    };
    CHECK(value(Operation::sum, {1.0, 2.0, 4.0}) == 7.0);
    CHECK(value(Operation::sum, {5.0}) == 5.0);
    CHECK(value(Operation::product, {2.0, 3.0, 4.0}) == 24.0);
    CHECK(value(Operation::quotient, {1.0, 8.0}) == 0.125);
    CHECK(value(Operation::sum_of_products, {2.0, 3.0, 4.0, 5.0}) == 26.0);
    CHECK(value(Operation::negate, {2.5}) == -2.5);
    CHECK(value(Operation::power, {2.0, 10.0}) == 1024.0);
    CHECK(value(Operation::power, {2.0, -1.0}) == 0.5);
    CHECK_THAT(value(Operation::power, {2.0, 0.5}), WithinRel(1.4142135623730951, 1e-15));
    CHECK(value(Operation::square_root, {2.25}) == 1.5);
    CHECK_THAT(value(Operation::exponential, {1.0}), WithinRel(2.718281828459045, 1e-15));
    CHECK_THAT(value(Operation::logarithm, {10.0}), WithinRel(2.302585092994046, 1e-15));
    CHECK(value(Operation::minimum, {3.0, 1.0, 2.0}) == 1.0);
    CHECK(value(Operation::maximum, {3.0, 1.0, 4.0}) == 4.0);
}

TEST_CASE("whole numbers that rounding missed by a hair are kept (by hand)", "[graph]") {
    const auto whole = [](double x) { return value_of(Operation::whole, std::vector<double>{x}); };
    CHECK(whole(419.9999999) == 420.0);  // within 1e-9 of it
    CHECK(whole(419.999999) == 419.0);
    CHECK(whole(420.0) == 420.0);
    CHECK(whole(0.3) == 0.0);
    CHECK(whole(-0.5) == -1.0);
}

TEST_CASE("smallest and largest pass the slope on to the argument taken", "[graph]") {
    std::vector<double> slope(3, 0.0);
    const std::vector<double> arguments = {3.0, 1.0, 2.0};
    add_slopes(Operation::minimum, arguments, 1.0, 5.0, slope);
    CHECK(slope == std::vector<double>{0.0, 5.0, 0.0});
    add_slopes(Operation::maximum, arguments, 3.0, 7.0, slope);
    CHECK(slope == std::vector<double>{7.0, 5.0, 0.0});
}

TEST_CASE("patterns are filled with texts of arguments", "[graph]") {
    const std::vector<std::string> texts = {"A1", "B2", "C3", "D4"};
    CHECK(fill("{*+}", texts) == "A1+B2+C3+D4");
    CHECK(fill("{**}", texts) == "A1*B2*C3*D4");
    CHECK(fill("{**+}", texts) == "A1*B2+C3*D4");
    CHECK(fill("MIN({*,})", texts) == "MIN(A1,B2,C3,D4)");
    CHECK(fill("{0}/{1}", texts) == "A1/B2");
    CHECK(fill("{0}*{p}/{q}", texts) == "A1*B2/C3");
    CHECK(fill("INDEX({0},{row},{column})", texts) == "INDEX(A1,{row},{column})");
    CHECK(fill("no braces", {}) == "no braces");
}
