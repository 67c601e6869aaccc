// Footprints of consumer products per roll, sheet, pack, case, tonne and square metre. Every
// expectation is arithmetic on the round figures of product_study.h; that whole sheets count, that
// each level is shared equally by what it holds, and that a tonne is a tonne of tissue with its
// core and packaging, are definitions of this project.
#include <catch2/catch.hpp>

#include <cmath>
#include <numbers>

#include "tests/product/product_study.h"

namespace {

using namespace deckle;
using namespace deckle::test;

// 200 sheets of 0.120 m × 0.096 m, 2 × 16.5 g/m2: 76.032 g of tissue on 2.304 m2
const std::string bath = R"(products:
  bath:
    from: soft_sheet
    plies: 2
    grammage: 16.5 g/m2
    sheet: {length: 120 mm, width: 96 mm}
    roll: {diameter: 110 mm, count: 200}
    core: {outside: 42 mm, board: core_board, mass: 4.0 g, counts_as: product}
    glue: {glue: 0.10 g dry}
    packed:
      pack: {rolls: 8, uses: {film: 20 g}}
      case: {packs: 5, uses: {case_board: 300 g, film: 8 g}}
      pallet: {cases: 24, uses: {pallet_trip: 1 piece, film: 240 g}}
)";
constexpr double area = 200 * 0.120 * 0.096;
constexpr double tissue = area * 2 * 16.5e-3;  // kg
constexpr double rolls_a_case = 8 * 5, rolls_a_pallet = 8 * 5 * 24;
constexpr double packing = 0.020 * film / 8 + (0.300 * board + 0.008 * film) / rolls_a_case +
                           (1 * pallet + 0.240 * film) / rolls_a_pallet;
constexpr double roll = tissue * soft + 0.0040 * board + 0.10e-3 * glue + packing;

std::string changed(std::string text, const std::string& from, const std::string& to) {
    REQUIRE(text.find(from) != std::string::npos);
    return text.replace(text.find(from), from.size(), to);
}

}  // namespace

TEST_CASE("packing: a roll carries its tissue, core, glue and its share of every level",
          "[product]") {
    const MemoryStudy study = product_study(bath);
    CHECK_THAT(study.value("products.bath.tissue_mass"), equals(tissue / 1000));
    CHECK_THAT(study.result("bath", "roll", "climate"), equals(roll));
    CHECK_THAT(study.result("bath", "pack", "climate"), equals(8 * roll));
    CHECK_THAT(study.result("bath", "case", "climate"), equals(rolls_a_case * roll));
    CHECK_THAT(study.result("bath", "pallet", "climate"), equals(rolls_a_pallet * roll));
    CHECK_THAT(study.result("bath", "sheet", "climate"), equals(roll / 200));
    CHECK_THAT(study.result("bath", "m2", "climate"), equals(roll / area));
    // a tonne of tissue makes 1000 / 0.076032 rolls, with their cores and packaging
    CHECK_THAT(study.result("bath", "t", "climate"), equals(roll * 1000 / tissue));
    CHECK_THAT(study.result("bath", "t", "fibre"), equals(900.0));  // 0.9 t of a tonne of pulp
    CHECK_THAT(study.result("bath", "roll", "fibre"), equals(0.9 * tissue));
}

TEST_CASE("packing: the gate is the last level written", "[product]") {
    const std::string head = bath.substr(0, bath.find("    packed:"));
    const MemoryStudy bare = product_study(head);
    CHECK_THAT(bare.result("bath", "roll", "climate"), equals(roll - packing));
    CHECK(bare.study.result("bath", "pack", "climate") == nullptr);
    const MemoryStudy packs =
        product_study(head + "    packed: {pack: {rolls: 8, uses: {film: 20 g}}}\n");
    CHECK_THAT(packs.result("bath", "roll", "climate"), equals(roll - packing + 0.020 * film / 8));
    CHECK_THAT(packs.result("bath", "pack", "climate"),
               equals(8 * (roll - packing) + 0.020 * film));
    CHECK(packs.study.result("bath", "case", "climate") == nullptr);
}

TEST_CASE(
    "packing: a core counts as product or as packaging by its mass and carbon; the "
    "burden of a roll is the same",
    "[product]") {
    const double in_tissue = tissue * soft_carbon, in_core = 0.0040 * board_carbon;
    const double in_packing = 0.300 * board_carbon / rolls_a_case;  // film and pallet hold none
    const MemoryStudy product = product_study(bath);
    CHECK_THAT(product.result("bath", "roll", "biogenic_carbon"), equals(in_tissue + in_core));
    CHECK_THAT(product.result("bath", "roll", "packaging_biogenic_carbon"), equals(in_packing));
    CHECK_THAT(product.result("bath", "roll", "climate_with_uptake"),
               Catch::Matchers::WithinAbs(roll - (in_tissue + in_core) * 44 / 12, 1e-16));
    CHECK_THAT(product.result("bath", "t_with_core", "climate"),
               equals(roll * 1000 / (tissue + 0.0040)));
    CHECK_THAT(product.result("bath", "t", "climate"), equals(roll * 1000 / tissue));
    for (const std::string counts : {", counts_as: packaging", ""}) {
        const MemoryStudy packaging = product_study(changed(bath, ", counts_as: product", counts));
        CHECK_THAT(packaging.result("bath", "roll", "biogenic_carbon"), equals(in_tissue));
        CHECK_THAT(packaging.result("bath", "roll", "packaging_biogenic_carbon"),
                   equals(in_packing + in_core));
        CHECK_THAT(packaging.result("bath", "roll", "climate"), equals(roll));
        CHECK(packaging.study.result("bath", "t_with_core", "climate") == nullptr);
        CHECK_THAT(packaging.result("bath", "t", "climate"), equals(roll * 1000 / tissue));
    }
}

TEST_CASE("packing: whole sheets count, the unrounded count has results of its own", "[product]") {
    // π (110² − 42²) / (4 · 0.36 · 120) = 187.91 sheets
    const double count = std::numbers::pi * (110.0 * 110.0 - 42.0 * 42.0) / (4 * 0.36 * 120);
    const MemoryStudy study =
        product_study(changed(bath, "count: 200", "wound_thickness: 0.36 mm"));
    const auto one = [](double sheets) {
        return sheets * 0.120 * 0.096 * 33e-3 * soft + 0.0040 * board + 0.10e-3 * glue + packing;
    };
    CHECK(study.value("products.bath.sheets_whole") == 187.0);
    CHECK_THAT(study.value("products.bath.sheets_unrounded"), equals(count));
    CHECK_THAT(study.result("bath", "roll", "climate"), equals(one(187)));
    CHECK_THAT(study.result("bath", "sheet", "climate"), equals(one(187) / 187));
    CHECK_THAT(study.result("bath", "pack", "climate"), equals(8 * one(187)));
    CHECK_THAT(study.result("bath", "roll_unrounded", "climate"), equals(one(count)));
    CHECK_THAT(study.result("bath", "sheet_unrounded", "climate"), equals(one(count) / count));
    CHECK_THAT(study.result("bath", "case_unrounded", "climate"), equals(40 * one(count)));
    CHECK_THAT(study.result("bath", "t_unrounded", "climate"),
               equals(one(count) / (count * 0.120 * 0.096 * 33e-6)));
    // a typed count is not rounded, so there is one result only
    CHECK(product_study(bath).study.result("bath", "roll_unrounded", "climate") == nullptr);
}

TEST_CASE("packing: an unperforated roll counts its wound length, and has no result per sheet",
          "[product]") {
    const MemoryStudy study = product_study(
        "products:\n  towel: {from: soft_sheet, plies: 1, grammage: 38 g/m2, sheet: {width: 200 "
        "mm}, roll: {diameter: 190 mm, wound_thickness: 0.25 mm}, core: {outside: 50 mm}}\n");
    const double length = std::numbers::pi * (0.190 * 0.190 - 0.050 * 0.050) / (4 * 0.25e-3);
    CHECK_THAT(study.value("products.towel.wound_length"), equals(length));
    CHECK_THAT(study.result("towel", "roll", "climate"), equals(length * 0.200 * 38e-3 * soft));
    CHECK_THAT(study.result("towel", "t", "climate"), equals(1000 * soft));
    CHECK_THAT(study.result("towel", "m2", "climate"), equals(38e-3 * soft));
    CHECK(study.study.result("towel", "sheet", "climate") == nullptr);
    CHECK(study.study.result("towel", "roll_unrounded", "climate") == nullptr);
}

TEST_CASE("packing: folded goods count sheets in a bundle", "[product]") {
    // 100 sheets of 0.21 m × 0.20 m, 2 × 14.2 g/m2: 4.2 m2, 119.28 g; a box of 31 g around each
    const MemoryStudy study = product_study(R"(products:
  facial:
    form: folded
    from: soft_sheet
    plies: 2
    grammage: 14.2 g/m2
    sheet: {length: 210 mm, width: 200 mm}
    folded: {sheets: 100}
    uses: {case_board: 31 g}
    packed:
      pack: {bundles: 3, uses: {film: 6 g}}
      case: {packs: 10, uses: {case_board: 290 g}}
)");
    const double mass = 100 * 0.210 * 0.200 * 2 * 14.2e-3;
    const double bundle = mass * soft + 0.031 * board + 0.006 * film / 3 + 0.290 * board / 30;
    CHECK_THAT(study.result("facial", "bundle", "climate"), equals(bundle));
    CHECK_THAT(study.result("facial", "sheet", "climate"), equals(bundle / 100));
    CHECK_THAT(study.result("facial", "pack", "climate"), equals(3 * bundle));
    CHECK_THAT(study.result("facial", "case", "climate"), equals(30 * bundle));
    CHECK_THAT(study.result("facial", "t", "climate"), equals(bundle / mass * 1000));
    CHECK_THAT(study.result("facial", "bundle", "packaging_biogenic_carbon"),
               equals((0.031 + 0.290 / 30) * board_carbon));
    CHECK(study.study.result("facial", "roll", "climate") == nullptr);
}

TEST_CASE("packing: freight of packaging moves its mass, freight to the customer stands beside",
          "[product]") {
    const std::string used =
        "case_board: {amount: 300 g, freight: [{by: lorry, distance: 100 km}]}";
    const MemoryStudy study = product_study(
        changed(bath, "case_board: 300 g", used) +
        "    outbound: [{by: lorry, distance: 250 km}, {by: lorry, distance: 50 km}]\n");
    const double inbound = 0.300e-3 * 100 * lorry / rolls_a_case;
    CHECK_THAT(study.result("bath", "roll", "climate"), equals(roll + inbound));
    // tissue, core, dry glue, and a roll's share of film and board
    const double mass =
        tissue + 0.0040 + 0.10e-3 + 0.020 / 8 + 0.308 / rolls_a_case + 0.240 / rolls_a_pallet;
    CHECK_THAT(study.result("bath", "roll_outbound", "climate"), equals(mass / 1000 * 300 * lorry));
    CHECK_THAT(study.result("bath", "t_outbound", "climate"), equals(mass / tissue * 300 * lorry));
    // a pallet counted in pieces has no mass: the freight is at least this, and says so
    CHECK(study.study.result("bath", "roll_outbound", "climate")->coverage == Coverage::at_least);
    CHECK(study.study.result("bath", "roll", "climate")->coverage == Coverage::complete);
    const std::string weighed = changed(bath, "pallet_trip: 1 piece, ", "");
    const MemoryStudy whole =
        product_study(weighed + "    outbound: [{by: lorry, distance: 300 km}]\n");
    CHECK(whole.study.result("bath", "roll_outbound", "climate")->coverage == Coverage::complete);
    CHECK_THAT(whole.result("bath", "roll_outbound", "climate"), equals(mass / 1000 * 300 * lorry));
}
