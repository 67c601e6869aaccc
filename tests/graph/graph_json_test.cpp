// The graph as JSON and back: same bits, same text, and errors instead of crashes for whatever was
// changed.
#include "reports/graph_json.h"

#include <algorithm>
#include <bit>
#include <catch2/catch.hpp>
#include <cstring>
#include <nlohmann/json.hpp>

#include "engine/graph/lanes.h"
#include "engine/text/problem.h"
#include "tests/graph/graph_maker.h"
#include "tests/sanitized.h"

using namespace deckle;
using Json = nlohmann::ordered_json;

namespace {

const std::vector<GraphFile> two_files = {{"mill.yaml", "ab12"}, {"factors/example.yaml", "cd34"}};

/// A graph with everything that a random one lacks.
test::RandomGraph furnished() {
    test::RandomGraph random = test::random_graph(31, 300);
    Graph& graph = random.maker.graph;
    const TextId unit = graph.text("kg CO2e");
    Input input;
    input.addresses = {graph.text("mill.boiler.uses.gas"),
                       graph.text("mill.boiler.uses.gas_again")};
    input.value = 0.1 + 0.2;
    input.typed = graph.text("0.3 GJ \"metered\"");
    input.bounds = {0.0, std::numeric_limits<double>::infinity()};
    input.counts_to = 12.0;
    input.source = graph.text("Guide to gas, A. Printer, 2024, table 3");
    input.note = graph.text("note");
    input.amount_is = graph.text("metered");
    const NodeId use =
        graph.add_input(input, graph.text("GJ"), {{2, 10, 5, 7}, graph.text("typed")});
    const NodeId factor = graph.constant(56.1, unit, {{1, 3, 1, 4}, graph.text("factor")});
    const Tag tag{graph.text("energy"),      graph.text("mill.boiler"), graph.text("gas"),
                  graph.text("example.gas"), graph.text("co2_fossil"),  graph.text("1")};
    const NodeId pairs[] = {use, factor, factor, random.results[0]};
    const Tag tags[] = {tag, Tag{}};
    random.results.push_back(graph.burdens(pairs, tags, unit, {{}, graph.text("sum of uses")}));
    graph.name(random.results.back(), "results.gas.GJ.climate");
    graph.name(random.results.back(), "results.gas.GJ.climate_again");
    const NodeId none = graph.constant(0.0, unit, {{}, graph.text("not covered")});
    graph.mark_not_covered({none, graph.text("example.resin"), graph.text("climate_fossil"), true});
    graph.require_not_negative({use, graph.text("mill.boiler.uses.gas")});
    graph.set_order(0, [&] {
        std::vector<std::uint32_t> order;
        for (std::uint32_t k = graph.solves()[0].size; k-- > 0;) order.push_back(k);
        return order;
    }());
    return random;
}

std::string message_of(const std::string& text) {
    try {
        (void)read_graph_json(text);
    } catch (const InputError& error) {
        CHECK(error.problems.front().code == "bad-graph");
        return error.problems.front().message;
    }
    return "";
}

}  // namespace

TEST_CASE("a graph read back evaluates to the same bits, scalar and in lanes",
          "[graph][property]") {
    for (std::uint64_t seed = 1; seed <= 6; ++seed) {
        const test::RandomGraph random = seed == 1 ? furnished() : test::random_graph(seed, 350);
        const GraphFromJson back = read_graph_json(graph_json(random.graph(), two_files));
        const Evaluation first = evaluate(random.graph()), second = evaluate(back.graph);
        REQUIRE(first.value.size() == second.value.size());
        REQUIRE(std::memcmp(first.value.data(), second.value.data(),
                            first.value.size() * sizeof(double)) == 0);
        const Block one =
            evaluate_block(LanePlan(random.graph(), first, {random.results}), {5, 0}, 0);
        const Block two = evaluate_block(LanePlan(back.graph, second, {random.results}), {5, 0}, 0);
        for (std::size_t k = 0; k < random.results.size(); ++k) {
            REQUIRE(std::memcmp(one.lanes(k).data(), two.lanes(k).data(),
                                block_draws * sizeof(double)) == 0);
        }
        const NodeId result = random.results[0];
        CHECK(derivatives(random.graph(), first, result) ==
              derivatives(back.graph, second, result));
    }
}

TEST_CASE("writing what was read gives the same text, so nothing was lost", "[graph][property]") {
    const test::RandomGraph random = furnished();
    const std::string text = graph_json(random.graph(), two_files);
    const GraphFromJson back = read_graph_json(text);
    CHECK(back.files == two_files);
    CHECK(graph_json(back.graph, back.files) == text);
}

TEST_CASE("origins, tags, names, marks and spreads come back", "[graph]") {
    const test::RandomGraph random = furnished();
    const GraphFromJson back = read_graph_json(graph_json(random.graph(), two_files));
    const Graph& graph = back.graph;
    const NodeId sum = graph.find("results.gas.GJ.climate");
    REQUIRE(sum == random.results.back());
    CHECK(graph.find("results.gas.GJ.climate_again") == sum);
    CHECK(graph.text_of(graph.unit(sum)) == "kg CO2e");
    REQUIRE(graph.tags(sum).size() == 2);
    CHECK(graph.text_of(graph.tags(sum)[0].gas) == "co2_fossil");
    CHECK_FALSE(graph.tags(sum)[1].is_burden());
    CHECK(graph.degree(sum) == random.graph().degree(sum));
    const NodeId use = graph.arguments(sum)[0];
    CHECK(graph.origin(use).place == Place{2, 10, 5, 7});
    const Input& input = graph.inputs()[graph.payload(use)];
    CHECK(input.value == 0.1 + 0.2);
    CHECK(graph.text_of(input.typed) == "0.3 GJ \"metered\"");
    CHECK(graph.text_of(input.addresses[1]) == "mill.boiler.uses.gas_again");
    CHECK(input.bounds.low == 0.0);
    CHECK(std::isinf(input.bounds.high));
    CHECK(input.counts_to == 12.0);
    CHECK(graph.text_of(input.source) == "Guide to gas, A. Printer, 2024, table 3");
    REQUIRE(graph.not_covered().size() == 1);
    CHECK(graph.text_of(graph.not_covered()[0].subject) == "example.resin");
    CHECK(graph.requirements().size() == 1);
    CHECK(graph.solves()[0].order == random.graph().solves()[0].order);
}

TEST_CASE("64-bit ids are not written, numbers are shortest round trip", "[graph]") {
    test::Maker maker;
    (void)maker.input("a", 0.1);
    const std::string text = graph_json(maker.graph, {});
    CHECK_THAT(text, Catch::Contains("\"value\": 0.1,"));
    CHECK_THAT(text, !Catch::Contains(std::to_string(stable_id("a"))));
}

TEST_CASE("text that is no graph is refused with the place and what was expected", "[graph]") {
    CHECK_THAT(message_of(""), Catch::Contains("parse error"));
    CHECK_THAT(message_of("{"), Catch::Contains("parse error"));
    CHECK_THAT(message_of("[1, 2]"), Catch::Contains("an object was expected"));
    CHECK_THAT(message_of("{}"), Catch::Contains("the key 'operation' was expected"));
    CHECK_THAT(message_of(std::string(200'000, '[')), Catch::Contains("parse error"));
    const Json sound = Json::parse(graph_json(furnished().graph(), two_files));
    const auto changed = [&](auto change) {
        Json json = sound;
        change(json);
        return message_of(json.dump());
    };
    CHECK_THAT(changed([](Json& j) { j["format"] = "other"; }),
               Catch::Contains("at format, \"deckle-graph\" was expected"));
    CHECK_THAT(changed([](Json& j) { j["version"] = 2; }),
               Catch::Contains("at version, version 1"));
    CHECK_THAT(changed([](Json& j) { j["operations"][3] = "add"; }),
               Catch::Contains("at operations[3], 'product' was expected"));
    CHECK_THAT(changed([](Json& j) { j["operation"][0] = 200; }),
               Catch::Contains("at operation[0], a whole number below"));
    CHECK_THAT(changed([](Json& j) { j["operation"].erase(5); }),
               Catch::Contains("items were expected"));
    CHECK_THAT(changed([](Json& j) { j["arguments"][0] = 4'000'000'000U; }),
               Catch::Contains("at arguments[0], a whole number below"));
    CHECK_THAT(changed([](Json& j) { j["inputs"][0]["value"] = "x"; }),
               Catch::Contains("at inputs[0].value, a number was expected"));
    CHECK_THAT(changed([](Json& j) { j["inputs"].erase(3); }),
               Catch::Contains("at inputs[3].n, node"));
    CHECK_THAT(changed([](Json& j) { j["names"][1] = j["names"][0]; }),
               Catch::Contains("at names[1], each address once"));
    CHECK_THAT(changed([](Json& j) { j["solves"][0]["order"][0] = j["solves"][0]["order"][1]; }),
               Catch::Contains("at solves[0].order[1], each unknown once"));
    CHECK_THAT(changed([](Json& j) {
                   j["constants"].push_back({1, 2.0});
               }),
               Catch::Contains("at constants["));
    CHECK_THAT(changed([](Json& j) { j["origin"][0][0] = 9; }),
               Catch::Contains("at origin[0][0], a whole number below 3"));
}

namespace {

/// Some value inside the object, found by walking down at random.
Json& some_value(Json& json, test::Numbers& numbers) {
    Json* at = &json;
    while (at->is_structured() && !at->empty() && (at == &json || numbers.below(8) != 0)) {
        auto inner = at->begin();
        std::advance(inner, static_cast<std::ptrdiff_t>(numbers.below(at->size())));
        at = &*inner;
    }
    return *at;
}

}  // namespace

TEST_CASE("a graph with a value changed at random is refused or is a graph, never a crash",
          "[graph][property]") {
    test::Numbers numbers(99);
    const Json sound = Json::parse(graph_json(test::random_graph(3, 60).graph(), two_files));
    const Json others[] = {Json(),
                           Json(0),
                           Json(1),
                           Json(-1),
                           Json(17),
                           Json(4'294'967'295U),
                           Json(1e300),
                           Json(0.5),
                           Json("x"),
                           Json::array(),
                           Json::object(),
                           Json(true),
                           Json::array({1, 2, 3})};
    int refused = 0;
    const auto rounds = static_cast<int>(500 / std::min<std::size_t>(test::one_in, 5));
    for (int round = 0; round < rounds; ++round) {
        Json json = sound;
        some_value(json, numbers) = others[numbers.below(std::size(others))];
        try {
            const GraphFromJson back = read_graph_json(json.dump());
            (void)evaluate(back.graph);
        } catch (const InputError&) {
            ++refused;
        } catch (const NoAnswer&) {  // a sound graph of other numbers
        }
    }
    CHECK(refused > 3 * rounds / 10);
}

TEST_CASE("a graph cut or garbled at random is refused or is a graph, never a crash",
          "[graph][property]") {
    test::Numbers numbers(7);
    const std::string sound = graph_json(test::random_graph(4, 60).graph(), {});
    for (int round = 0; round < 300; ++round) {
        std::string text =
            sound.substr(0, round % 3 == 0 ? numbers.below(sound.size()) : sound.size());
        for (std::size_t k = numbers.below(4); k > 0 && !text.empty(); --k) {
            text[numbers.below(text.size())] = static_cast<char>(numbers.below(256));
        }
        try {
            (void)evaluate(read_graph_json(text).graph);
        } catch (const InputError&) {
        } catch (const NoAnswer&) {}
    }
}
