// Products in CSV (RFC 4180) are those of YAML, to the last bit.
#include <catch2/catch.hpp>

#include "tests/product/product_study.h"

namespace {

using namespace deckle;
using namespace deckle::test;

const std::string yaml = R"(products:
  bath:
    title: 'Bathroom tissue, 2 plies, "soft"'
    from: soft_sheet
    plies: 2
    grammage: 15.4 g/m2
    dryness: 94 %
    sheet: {length: 120 mm, width: 96 mm}
    roll: {diameter: 98 mm, wound_thickness: 0.300 mm}
    core: {outside: 38 mm, board: core_board, mass: 3.4 g, counts_as: product}
    glue: {glue: 0.05 g dry}
    packed:
      pack: {rolls: 10, uses: {film: 14.5 g}}
      case: {packs: 6, uses: {case_board: 280 g}}
  towel:
    title: Kitchen towel
    from: strong_sheet
    plies: 2
    grammage: 20.0 g/m2
    sheet: {length: 220 mm, width: 220 mm}
    roll: {wound_thickness: 0.450 mm, count: 50}
    core: {outside: 38 mm, board: core_board, mass: 8.2 g}
    packed:
      pack: {rolls: 4, uses: {film: 13.0 g}}
)";
const std::string head =
    "id,title,from,plies,grammage (g/m2),dryness (%),sheet.length (mm),sheet.width (mm),"
    "roll.diameter (mm),roll.wound_thickness (mm),roll.count,core.outside (mm),core.board,"
    "core.mass (g),core.counts_as,glue.glue (g dry),packed.pack.rolls,packed.pack.uses.film (g),"
    "packed.case.packs,packed.case.uses.case_board (g)\n";
const std::string rows =
    "bath,\"Bathroom tissue, 2 plies, \"\"soft\"\"\",soft_sheet,2,15.4,94,120,96,98,0.300,,38,"
    "core_board,3.4,product,0.05,10,14.5,6,280\n"
    "towel,Kitchen towel,strong_sheet,2,20.0,,220,220,,0.450,50,38,core_board,8.2,,,4,13.0,,\n";

void check_same(const std::string& csv) {
    const MemoryStudy left = product_study(yaml);
    const MemoryStudy right = product_study(csv, "products.csv");
    REQUIRE(left.study.results.size() == right.study.results.size());
    for (std::size_t i = 0; i < left.study.results.size(); ++i) {
        CAPTURE(left.study.results[i].address);
        CHECK(left.study.results[i].address == right.study.results[i].address);
        CHECK(left.at.value[left.study.results[i].node] ==
              right.at.value[right.study.results[i].node]);
    }
    CHECK(left.study.subject("bath")->title == right.study.subject("bath")->title);
    for (const char* address :
         {"products.bath.grammage", "products.bath.glue.glue", "products.towel.roll.count",
          "products.towel.packed.pack.uses.film"})
        CHECK(left.value(address) == right.value(address));
}

std::string replaced(std::string text, const std::string& from, const std::string& to) {
    for (std::size_t at = 0; (at = text.find(from, at)) != std::string::npos; at += to.size())
        text.replace(at, from.size(), to);
    return text;
}

}  // namespace

TEST_CASE("csv: the same results as YAML, bit for bit", "[product]") {
    check_same(head + rows);
    check_same(replaced(head + rows, "\n", "\r\n"));                // RFC 4180, 2.1
    check_same((head + rows).substr(0, (head + rows).size() - 1));  // 2.2: no last line end
    check_same("\xEF\xBB\xBF" + head + rows);
    check_same(head + replaced(rows, "Kitchen towel", "\"Kitchen towel\""));  // 2.5
    check_same(head + replaced(rows, ",220,220,", ", 220 ,220,"));  // blanks around a value
    check_same(head + "\n" + rows + "\n\n");
}

TEST_CASE("csv: a quoted cell keeps commas, quotes and line ends (RFC 4180, 2.6 and 2.7)",
          "[product]") {
    const MemoryStudy study = product_study(
        head + replaced(rows, "Kitchen towel", "\"a, \"\"b\"\"\nc\""), "products.csv");
    CHECK(study.study.subject("towel")->title == "a, \"b\"\nc");
}

TEST_CASE("csv: a unit in a cell goes with a head that has none", "[product]") {
    check_same(replaced(head, "roll.wound_thickness (mm)", "roll.wound_thickness") +
               replaced(replaced(rows, "0.300", "300 um"), "0.450", "0.45 mm"));
}

TEST_CASE("csv: what is wrong is said at its cell", "[product]") {
    using Codes = std::vector<std::string>;
    const auto problems = [](const std::string& csv) {
        return product_problems(csv, "products.csv");
    };
    CHECK(problems("") == Codes{"empty-file"});
    CHECK(problems(replaced(head, "id,", "name,") + rows) == Codes{"csv-head"});
    CHECK(problems(replaced(head, "(mm)", "(mm") + rows).at(0) == "csv-head");
    CHECK(problems(head + "bath,x\n").at(0) == "csv-columns");
    CHECK(problems(head + rows + rows) == Codes{"duplicate-key", "duplicate-key"});
    CHECK(problems(head + replaced(rows, "\"\"soft\"\"\"", "\"\"soft\"\"\" x")).at(0) ==
          "csv-quote");
    CHECK(problems(head + replaced(rows, "15.4", "15,4")).at(0) == "csv-columns");
    CHECK(problems(head + replaced(rows, "15.4", "\"15,4\"")) == Codes{"number-with-comma"});
    CHECK(problems(replaced(head, "core.counts_as", "core.count_as") + rows) ==
          Codes{"unknown-key"});
}
