// What stands beside a comparison: sizes of pieces that are equal in one of them, the mean of
// several references, and what production lines make, with title and unit.
#include <algorithm>
#include <catch2/catch.hpp>

#include "tests/analysis/compare_study.h"

namespace {

using namespace deckle;
using namespace deckle::test;
using Catch::Matchers::WithinRel;

/// A kitchen towel of 60 sheets, 120 mm thick.
std::string rolled(const std::string& id, const std::string& length, const std::string& width) {
    return "  " + id +
           ": {title: Towel, from: sheet, plies: 1, grammage: 40 g/m2, sheet: {length: " + length +
           ", width: " + width +
           "}, roll: {diameter: 120 mm, count: 60}, core: {outside: 40 mm}}\n";
}

double size(const Compared& all, std::size_t row, const std::string& what) {
    const auto& sizes = all.rows.at(row).sizes;
    const auto found = std::ranges::find(sizes, what, &ComparedRow::Size::what);
    REQUIRE(found != sizes.end());
    return found->value;
}

MemoryStudy with_lines(const std::string& equivalents) {
    return of_mill(
        "products: [products.yaml]\nline:\n"
        "  one: {of: a, gross: 100 t/d, days: 300}\n"
        "  two: {of: a, gross: 120 t/d, days: 366}\n" +
            equivalents,
        {{"products.yaml", "products:\n" + rolled("a", "240 mm", "225 mm")}});
}

const ComparedRow::Count& count(const Compared& all, std::size_t row, const std::string& what) {
    const auto& counts = all.rows.at(row).counts;
    const auto found = std::ranges::find(counts, what, &ComparedRow::Count::what);
    REQUIRE(found != counts.end());
    return *found;
}

}  // namespace

TEST_CASE("rolls of one diameter are told apart by their width, and by what they hold",
          "[analysis][compare]") {
    const MemoryStudy study =
        with_products(rolled("a", "240 mm", "225 mm") + rolled("b", "240 mm", "250 mm"));
    const Compared all = compare(study.study, study.at, at_equal("roll_diameter", {"a", "b"}));
    CHECK_THAT(size(all, 0, "roll diameter"), WithinRel(120.0, 1e-12));
    CHECK_THAT(size(all, 1, "width"), WithinRel(250.0, 1e-12));
    CHECK_THAT(size(all, 1, "sheets"), WithinRel(60.0, 1e-12));
    CHECK_THAT(size(all, 1, "area"), WithinRel(60.0 * 0.24 * 0.25, 1e-12));           // 3.6 m2
    CHECK_THAT(size(all, 1, "tissue"), WithinRel(60.0 * 0.24 * 0.25 * 40.0, 1e-12));  // 144 g
    CHECK(all.unlike_sizes == std::vector<std::string>{"width", "area"});
    const Compared counted = compare(study.study, study.at, at_equal("sheet_count", {"a", "b"}));
    CHECK(counted.unlike_sizes == std::vector<std::string>{"width", "area"});
    const Compared by_mass = compare(study.study, study.at, at_equal("mass", {"a", "b"}));
    CHECK(by_mass.rows[0].sizes.empty());
    CHECK(by_mass.unlike_sizes.empty());
}

TEST_CASE("as many sheets of another length are told apart", "[analysis][compare]") {
    const MemoryStudy study =
        with_products(rolled("a", "240 mm", "225 mm") + rolled("b", "120 mm", "225 mm"));
    const Compared all = compare(study.study, study.at, at_equal("sheet_count", {"a", "b"}));
    CHECK(all.unlike_sizes == std::vector<std::string>{"sheet length", "area"});
}

TEST_CASE("the mean of several references is a row of its own and counts 100",
          "[analysis][compare]") {
    const MemoryStudy study =
        with_products(rolled("a", "240 mm", "225 mm") + rolled("b", "240 mm", "250 mm") +
                      rolled("c", "240 mm", "275 mm"));
    // per roll, all goes with the area: 225, 250 and 275 of a mean of 250
    ComparisonQuestion question = at_equal("sheet_count", {"a", "b", "c"}, {"climate"});
    question.references = {"a", "b", "c"};
    const Compared all = compare(study.study, study.at, question);
    CHECK_THAT(*figure(all, 0, "climate").index, WithinRel(90.0, 1e-9));
    CHECK_THAT(*figure(all, 2, "climate").index, WithinRel(110.0, 1e-9));
    REQUIRE(all.mean);
    CHECK_THAT(all.mean->figures.at(0).value, WithinRel(figure(all, 1, "climate").value, 1e-9));
    CHECK_THAT(*all.mean->figures.at(0).index, WithinRel(100.0, 1e-12));
    // one reference is a row already, and need not be among the products asked for
    question.products = {"a"};
    question.references = {"b"};
    const Compared beside = compare(study.study, study.at, question);
    CHECK_FALSE(beside.mean);
    REQUIRE(beside.rows.size() == 2);
    CHECK(beside.rows[1].of == "b");
    CHECK(beside.rows[1].is_reference);
    CHECK_THAT(*figure(beside, 0, "climate").index, WithinRel(90.0, 1e-9));
    question.references = {"nobody"};
    CHECK(code_of(study, question) == "unknown-reference");
}

TEST_CASE("an equivalent has its title, and a length the unit of its ratio",
          "[analysis][compare]") {
    const MemoryStudy study = with_lines(
        "equivalents:\n"
        "  road: {title: way by car, of: climate, amount: 6 km/kg CO2e, source: by hand}\n"
        "  trees: {title: trees, of: fibre, amount: 14 piece/t, source: by hand}\n"
        "  cars: {title: cars, of: t, amount: 0.05 1/t, source: by hand}\n");
    const Compared all = compare(study.study, study.at, at_equal("day", {"one", "two"}));
    const ComparedRow::Count& road = count(all, 0, "road");
    CHECK(road.title == "way by car");
    CHECK(road.unit == "km");
    CHECK_THAT(road.value, WithinRel(6.0 * figure(all, 0, "climate").value, 1e-12));
    CHECK(count(all, 0, "trees").unit == "piece");
    CHECK_THAT(count(all, 0, "trees").value,
               WithinRel(14.0 * figure(all, 0, "fibre").value / 1000.0, 1e-12));
    CHECK(count(all, 0, "cars").unit.empty());
    CHECK_THAT(count(all, 0, "cars").value, WithinRel(5.0, 1e-12));
    CHECK(count(all, 0, "t").unit == "t");
    CHECK(count(all, 0, "roll").unit == "roll");
    const NodeId year = study.study.graph.find("results.one.year.road");
    REQUIRE(year != no_node);
    CHECK(study.study.graph.text_of(study.study.graph.unit(year)) == "km");
}
