// `like`: what is inherited is the same input, with one address in each product and one draw; a key
// of the heir's own replaces the whole key.
#include <catch2/catch.hpp>

#include <algorithm>

#include "tests/product/product_study.h"

namespace {

using namespace deckle;
using namespace deckle::test;

const std::string parent = R"(products:
  bath:
    from: soft_sheet
    plies: 3
    grammage: 15.2 g/m2 ± 2 % of value
    dryness: 95 %
    sheet: {length: 125 mm, width: 98 mm}
    roll: {diameter: 114 mm, wound_thickness: 0.38 mm}
    core: {outside: 42 mm, board: core_board, mass: 4.4 g}
    glue: {glue: {amount: 0.2 g, dryness: 40 %, freight: [{by: lorry, distance: 80 km}]}}
    uses: {film: 0.5 g}
    packed:
      pack: {rolls: 8, uses: {film: {amount: 15 g, freight: [{by: lorry, distance: 90 km}]}}}
    outbound: [{by: lorry, distance: 300 km}]
    properties: {caliper: {value: 0.45 mm, method: ISO 12625-3}}
)";

bool has_address(const MemoryStudy& study, NodeId node, const std::string& address) {
    for (const Input& input : study.study.graph.inputs()) {
        if (input.node != node) continue;
        return std::ranges::any_of(input.addresses, [&](TextId text) {
            return study.study.graph.text_of(text) == address;
        });
    }
    return false;
}

}  // namespace

TEST_CASE("like: every inherited input is one node with an address in both products", "[product]") {
    const MemoryStudy study =
        product_study(parent + "  long: {like: bath}\n  longer: {like: long}\n");
    for (const std::string path :
         {"plies", "grammage", "grammage.spread", "dryness", "sheet.length", "sheet.width",
          "roll.diameter", "roll.wound_thickness", "core.outside", "core.mass", "glue.glue",
          "glue.glue.dryness", "glue.glue.freight.1.distance", "uses.film", "packed.pack.rolls",
          "packed.pack.uses.film", "packed.pack.uses.film.freight.1.distance",
          "outbound.1.distance", "properties.caliper"}) {
        CAPTURE(path);
        const Graph& graph = study.study.graph;
        const NodeId node = graph.find("products.bath." + path);
        REQUIRE(node != no_node);
        CHECK(graph.find("products.long." + path) == node);
        CHECK(graph.find("products.longer." + path) == node);
        if (path.ends_with("spread")) continue;  // no draw of its own
        CHECK(has_address(study, node, "products.bath." + path));
        CHECK(has_address(study, node, "products.longer." + path));
    }
    for (const Result& result : study.study.results) {
        if (result.of != "bath") continue;
        CAPTURE(result.address);
        CHECK(study.result("longer", result.per, study.study.indicators[result.indicator].id) ==
              study.at.value[result.node]);
    }
}

TEST_CASE("like: a change of the inherited input changes both products alike", "[product]") {
    const MemoryStudy study = product_study(parent + "  long: {like: bath, plies: 2}\n");
    const NodeId grammage = study.study.graph.find("products.long.grammage");
    const Evaluation heavier = evaluate(study.study.graph, {{{grammage, 15.2 * 1.5}}});
    for (const char* of : {"bath", "long"}) {
        const Result& roll = *study.study.result(of, "roll", "fibre");
        CHECK_THAT(heavier.value[roll.node], equals(1.5 * study.at.value[roll.node]));
    }
    // and one of its own does not
    const NodeId plies = study.study.graph.find("products.long.plies");
    CHECK(plies != study.study.graph.find("products.bath.plies"));
}

TEST_CASE("like: a key of the heir's own replaces the whole key", "[product]") {
    const MemoryStudy study = product_study(
        parent + "  bare: {like: bath, core: {outside: 42 mm}, packed: {bag: {rolls: 2}}}\n");
    // no board, no pack, so neither core nor film of 15 g; glue and the film of 0.5 g stay
    const double difference = 0.0044 * board + 0.015 * (film + 90 * lorry / 1000) / 8;
    CHECK_THAT(study.result("bath", "roll", "climate") - study.result("bare", "roll", "climate"),
               Catch::Matchers::WithinRel(difference, 1e-12));
    CHECK(study.study.result("bare", "pack", "climate") == nullptr);
    CHECK(study.study.result("bare", "bag", "climate") != nullptr);
    CHECK(study.study.graph.find("products.bare.core.mass") == no_node);
}

TEST_CASE("like: circles, unknown products and long chains are errors", "[product]") {
    using Codes = std::vector<std::string>;
    CHECK(product_problems(parent + "  a: {like: b}\n  b: {like: a}\n").at(0) == "circular-like");
    CHECK(product_problems(parent + "  a: {like: a}\n").at(0) == "circular-like");
    CHECK(product_problems(parent + "  a: {like: bth}\n") == Codes{"unknown-product"});
    CHECK(product_problems("products:\n  z: {like: bath}\n" + parent.substr(10)).empty());
}
