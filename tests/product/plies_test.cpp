// What a roll is made of: plies of one sheet or of several, their stretch, and tissue whose
// grammage is stated at another dryness than its sheet's. Expectations are arithmetic on the
// figures of product_study.h; dry mass carries over from one dryness to another.
#include <fmt/format.h>
#include <catch2/catch.hpp>

#include "tests/product/product_study.h"

namespace {

using namespace deckle;
using namespace deckle::test;

constexpr double roll_area = 150 * 0.125 * 0.100;  // m2 of the rolls below

std::string roll_of(const std::string& keys) {
    return fmt::format(
        "products:\n  x: {{{}, sheet: {{length: 125 mm, width: 100 mm}}, roll: {{diameter: 115 mm, "
        "count: 150}}, core: {{outside: 40 mm}}}}\n",
        keys);
}

}  // namespace

TEST_CASE("plies: grammage is that of one finished ply", "[product]") {
    for (const int plies : {1, 2, 3, 4}) {
        const MemoryStudy study = product_study(
            roll_of(fmt::format("from: plain_sheet, plies: {}, grammage: 15 g/m2", plies)));
        CHECK_THAT(study.result("x", "roll", "climate"), equals(roll_area * plies * 15e-3 * plain));
        CHECK_THAT(study.result("x", "t", "climate"), equals(1000 * plain));
    }
}

TEST_CASE("plies: of different sheets, each with its grammage and its burden", "[product]") {
    const MemoryStudy study = product_study(
        roll_of("plies: [{from: soft_sheet, grammage: 16 g/m2, stretch: 8 %}, {from: strong_sheet, "
                "grammage: 21 g/m2}, {from: soft_sheet, grammage: 14 g/m2}]"));
    const double burden = roll_area * ((16e-3 + 14e-3) * soft + 21e-3 * strong);
    const double mass = roll_area * (16e-3 + 21e-3 + 14e-3);
    CHECK_THAT(study.value("products.x.tissue_mass"), equals(mass / 1000));
    CHECK_THAT(study.result("x", "roll", "climate"), equals(burden));
    CHECK_THAT(study.result("x", "t", "climate"), equals(burden / mass * 1000));
    // strong_sheet states no carbon: what the two others hold is the least it can be
    CHECK_THAT(study.result("x", "roll", "biogenic_carbon"),
               equals(roll_area * (16e-3 + 14e-3) * soft_carbon));
    CHECK(study.study.result("x", "roll", "biogenic_carbon")->coverage == Coverage::at_least);
}

TEST_CASE(
    "plies: stretched by 8 % in converting, a ply of 16 g/m2 had 17.28 at the reel, and the "
    "mass stays",
    "[product]") {
    const MemoryStudy study =
        product_study(roll_of("plies: [{from: soft_sheet, grammage: 16 g/m2, stretch: 8 %}]"));
    CHECK_THAT(study.value("products.x.plies.1.reel_grammage"), equals(16 * 1.08));
    CHECK_THAT(study.result("x", "roll", "climate"), equals(roll_area * 16e-3 * soft));
}

TEST_CASE("plies: a ply without its own sheet comes from the product's", "[product]") {
    const MemoryStudy study = product_study(
        roll_of("from: strong_sheet, plies: [{from: soft_sheet, grammage: 16 g/m2}, {from: "
                "strong_sheet, grammage: 16 g/m2}]"));
    CHECK_THAT(study.result("x", "roll", "climate"), equals(roll_area * 16e-3 * (soft + strong)));
}

TEST_CASE("plies: tissue at another dryness than its sheet's is as much dry mass", "[product]") {
    // soft_sheet is 95 % dry: 0.028125 kg of tissue at 93 % is 0.93 / 0.95 of that in sheet
    const double mass = roll_area * 15e-3;
    const MemoryStudy drier =
        product_study(roll_of("from: soft_sheet, plies: 1, grammage: 15 g/m2, dryness: 93 %"));
    CHECK_THAT(drier.value("products.x.tissue_mass"), equals(mass / 1000));
    CHECK_THAT(drier.result("x", "roll", "climate"), equals(mass * 0.93 / 0.95 * soft));
    CHECK_THAT(drier.result("x", "t", "climate"), equals(1000 * 0.93 / 0.95 * soft));
    CHECK_THAT(drier.result("x", "roll", "biogenic_carbon"),
               equals(mass * 0.93 / 0.95 * soft_carbon));
    const MemoryStudy equal =
        product_study(roll_of("from: soft_sheet, plies: 1, grammage: 15 g/m2, dryness: 95 %"));
    CHECK_THAT(equal.result("x", "roll", "climate"), equals(mass * soft));
    // two sheets of different dryness in one roll
    const MemoryStudy both = product_study(
        roll_of("plies: [{from: soft_sheet, grammage: 15 g/m2}, {from: strong_sheet, grammage: 15 "
                "g/m2}], dryness: 94 %"));
    CHECK_THAT(both.result("x", "roll", "climate"),
               equals(mass * (0.94 / 0.95 * soft + 0.94 / 0.90 * strong)));
}

TEST_CASE("plies: a dryness that the sheet does not have leads nowhere", "[product]") {
    CHECK(product_problems(
              roll_of("from: plain_sheet, plies: 1, grammage: 15 g/m2, dryness: 93 %")) ==
          std::vector<std::string>{"missing-key"});
}
