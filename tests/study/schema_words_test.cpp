// The schema pages against the lists of the engine: numbers, units, kinds, reserved words, codes,
// addresses, results. The other side of each comparison is the engine's own table or its sources.
#include <catch2/catch.hpp>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <regex>
#include <set>
#include <sstream>

#include "engine/analysis/check.h"
#include "engine/formula/amount.h"
#include "engine/graph/evaluate.h"
#include "engine/quantity/unit_table.h"
#include "engine/tables/kind.h"
#include "engine/tables/stated.h"
#include "tests/study/schema/page.h"
#include "tests/study/schema/template_study.h"

namespace {

using namespace deckle;

const Page& factors_page() {
    static const Page page = read_page("factors/SCHEMA.md");
    return page;
}
const Page& inventories_page() {
    static const Page page = read_page("inventories/SCHEMA.md");
    return page;
}

/// The one table of a page with this head.
const PageTable& only_table(const Page& page, std::string_view head) {
    const auto found = page.tables(head);
    REQUIRE(found.size() == 1);
    REQUIRE_FALSE(found[0].table->rows.empty());
    return *found[0].table;
}

std::string code(const std::string& cell) {
    const auto spans = code_spans(cell);
    INFO(cell);
    REQUIRE(spans.size() == 1);
    return spans[0];
}

Quantity parsed(const std::string& text) {
    QuantityResult result = parse_quantity(text);
    INFO(text << ": " << result.error.message);
    REQUIRE(result.quantity);
    return *result.quantity;
}

/// Lowest and highest value of the 95 % interval, or of the whole range.
std::pair<double, double> interval(const Quantity& quantity) {
    const TypedSpread& spread = quantity.spread;
    const double half = spread.relative ? spread.half_width * quantity.value : spread.half_width;
    switch (spread.kind) {
        case SpreadKind::none: break;
        case SpreadKind::normal: return {quantity.value - half, quantity.value + half};
        case SpreadKind::lognormal:
            return {quantity.value / spread.factor, quantity.value * spread.factor};
        case SpreadKind::triangular:
        case SpreadKind::uniform: return {spread.low, spread.high};
        default: break;  // typed as a mapping: no row of this table
    }
    return {quantity.value, quantity.value};
}

std::string spread_word(SpreadKind kind) {
    switch (kind) {
        case SpreadKind::none: break;
        case SpreadKind::normal: return "normal";
        case SpreadKind::lognormal: return "lognormal";
        case SpreadKind::triangular: return "triangular";
        case SpreadKind::uniform: return "uniform";
        default: break;
    }
    return "exact";
}

Catch::Matchers::Floating::WithinRelMatcher near(double expected) {
    return Catch::Matchers::WithinRel(expected, 1e-12);
}

const char* measure_word(Measured measure) {
    switch (measure) {
        case Measured::number: return "a plain number";
        case Measured::mass: return "mass";
        case Measured::dry_mass: return "dry mass";
        case Measured::length: return "length";
        case Measured::area: return "area";
        case Measured::volume: return "volume";
        case Measured::time: return "time";
        case Measured::temperature: return "temperature";
        case Measured::energy: return "energy";
        case Measured::power: return "power";
        case Measured::pressure: return "pressure";
        case Measured::force: return "force";
        case Measured::gas_volume: return "gas volume";
        case Measured::piece: return "pieces";
        case Measured::amount: return "amount of substance";
        case Measured::current: return "current";
        case Measured::voltage: return "voltage";
        case Measured::luminous_intensity: return "luminous intensity";
    }
    return "";
}

std::string scope_word(ScopeRule rule) {
    switch (rule) {
        case ScopeRule::where_released: return "where released";
        case ScopeRule::bought_energy: return "2";
        case ScopeRule::upstream: break;
    }
    return "3";
}

std::string family_word(Family family) {
    switch (family) {
        case Family::fuel: return "fuel";
        case Family::electricity: return "electricity";
        case Family::heat: return "heat";
        case Family::fibre: return "fibre";
        case Family::other: break;
    }
    return "other";
}

/// Hyphenated words between quotes in the sources of the rooms that read: the codes, and these few.
const std::set<std::string> no_codes{"1e-6", "1e-9", "world-eq", "cut-off"};

void add_codes(const std::string& source, std::set<std::string>& codes) {
    static const std::regex literal("\"([a-z0-9]+(?:-[a-z0-9]+)+)\"");
    std::istringstream lines(source_text(source));
    for (std::string line; std::getline(lines, line);) {
        line = line.substr(0, line.find("//"));
        for (auto at = std::sregex_iterator(line.begin(), line.end(), literal);
             at != std::sregex_iterator(); ++at)
            codes.insert((*at)[1]);
    }
}

/// What loading a study can report: of the rooms that read and build, and of the first evaluation.
std::set<std::string> codes_in_sources() {
    std::set<std::string> codes;
    for (const char* room : {"text", "quantity", "formula", "tables", "mill", "product", "study"}) {
        const std::string folder = std::string("engine/") + room;
        for (const auto& entry :
             std::filesystem::directory_iterator(std::string(DECKLE_SOURCE_DIR) + "/" + folder)) {
            if (entry.path().extension() == ".cpp")
                add_codes(folder + "/" + entry.path().filename().string(), codes);
        }
    }
    add_codes("engine/graph/evaluate.cpp", codes);
    return codes;
}

FileSet with_files(FileSet files, const Page& page) {
    for (const Section& section : page.sections) {
        const auto file_of = [](const Example& example) {
            return example.text.starts_with("# file: ")
                       ? example.text.substr(8, example.text.find('\n') - 8)
                       : std::string();
        };
        if (std::ranges::any_of(section.examples, [&](const Example& example) {
                return file_of(example) == "study.yaml";
            }))
            continue;
        for (const Example& example : section.examples) {
            if (const std::string name = file_of(example); !name.empty())
                files = with_file(files, name, example.text);
        }
    }
    return files;
}

void check_addresses(const Page& page, const FileSet& files) {
    const Outcome outcome = load(files);
    INFO(outcome.text);
    REQUIRE(outcome.loaded());
    for (const TableRow& row : only_table(page, "address").rows) {
        INFO(page.where(row.line) << ": " << row.cells[0]);
        CHECK(outcome.study->graph.find(code(row.cells[0])) != no_node);
    }
}

double climate_of(const Outcome& outcome, const char* product, bool market) {
    INFO(outcome.text);
    REQUIRE(outcome.loaded());
    const Result* result = outcome.study->result(product, "MWh", "climate");
    REQUIRE(result != nullptr);
    return evaluate(outcome.study->graph).value[market ? result->market : result->location];
}

}  // namespace

TEST_CASE("schema pages: numbers are read as the page says", "[schema]") {
    const PageTable& table = only_table(factors_page(), "typed");
    for (const TableRow& row : table.rows) {
        INFO(factors_page().where(row.line) << ": " << row.cells[0]);
        const Quantity quantity = parsed(code(row.cells[0]));
        CHECK(spread_word(quantity.spread.kind) == row.cells[1]);
        const Quantity told = parsed(code(row.cells[2]));
        const auto [low, high] = interval(quantity);
        const auto [told_low, told_high] = interval(told);
        CHECK(quantity.unit.dimension == told.unit.dimension);
        CHECK(quantity.unit.text == told.unit.text);
        CHECK_THAT(low, near(told_low));
        CHECK_THAT(high, near(told_high));
        const Outcome outcome =
            load(with_fragment(template_study(), "amount", "amount: " + code(row.cells[0])));
        INFO(outcome.text);
        CHECK(outcome.loaded());
    }
    CHECK(table.rows.size() >= 18);
}

TEST_CASE("schema pages: numbers are refused as the page says, and its forms are right",
          "[schema]") {
    const PageTable& table = only_table(factors_page(), "refused");
    for (const TableRow& row : table.rows) {
        INFO(factors_page().where(row.line) << ": " << row.cells[0]);
        const QuantityResult result = parse_quantity(code(row.cells[0]));
        CHECK_FALSE(result.quantity);
        CHECK(result.error.code == row.cells[1]);
        const Outcome outcome =
            load(with_fragment(template_study(), "factor", "density: " + code(row.cells[0])));
        INFO(outcome.text);
        CHECK(outcome.has(row.cells[1]));
        CHECK(parse_quantity(code(row.cells[2])).quantity.has_value());
    }
    CHECK(table.rows.size() >= 30);
}

TEST_CASE("schema pages: formulas are read and refused as the page says", "[schema]") {
    const auto figures = [](const std::string& formula) {
        return load(with_fragment(
            template_study(), "mill",
            "figures: {press_dryness: 42 %, reel_dryness: 95 %, tried: \"" + formula + "\"}"));
    };
    for (const TableRow& row : only_table(inventories_page(), "formula").rows) {
        const Outcome outcome = figures(code(row.cells[0]));
        INFO(inventories_page().where(row.line) << ": " << row.cells[0] << "\n" << outcome.text);
        CHECK(parse_amount(code(row.cells[0])).kind == Amount::Kind::formula);
        CHECK(outcome.loaded());
    }
    for (const TableRow& row : only_table(inventories_page(), "refused formula").rows) {
        const Outcome outcome = figures(code(row.cells[0]));
        INFO(inventories_page().where(row.line) << ": " << row.cells[0] << "\n" << outcome.text);
        CHECK(outcome.has(row.cells[1]));
        CHECK(figures(code(row.cells[2])).loaded());
    }
}

TEST_CASE("schema pages: the units are those of the unit table, in its order", "[schema]") {
    const PageTable& table = only_table(factors_page(), "unit");
    const auto units = unit_table();
    REQUIRE(table.rows.size() == units.size());
    for (std::size_t i = 0; i < units.size(); ++i) {
        INFO(factors_page().where(table.rows[i].line));
        CHECK(code(table.rows[i].cells[0]) == units[i].symbol);
        CHECK(table.rows[i].cells[1] == measure_word(units[i].measure));
        CHECK(table.rows[i].cells[2] == units[i].definition);
    }
    for (const TableRow& row : only_table(factors_page(), "composed").rows) {
        INFO(factors_page().where(row.line));
        const UnitResult result = parse_unit(code(row.cells[0]));
        REQUIRE(result.unit);
        CHECK(result.unit->text == code(row.cells[1]));
        CHECK(result.unit->dimension.text() == row.cells[2]);
    }
}

TEST_CASE("schema pages: the kinds decide what the page says", "[schema]") {
    const PageTable& table = only_table(factors_page(), "kind");
    const auto kinds = all_kinds();
    REQUIRE(table.rows.size() == kinds.size());
    const auto expected = [](bool is) { return std::string(is ? "expected" : "–"); };
    for (std::size_t i = 0; i < kinds.size(); ++i) {
        const KindRow& kind = kinds[i];
        const auto& cells = table.rows[i].cells;
        INFO(factors_page().where(table.rows[i].line));
        CHECK(code(cells[0]) == kind.name);
        CHECK_FALSE(cells[1].empty());
        CHECK(cells[2] == (kind.stage.empty() ? "of the process" : kind.stage));
        CHECK(cells[3] == scope_word(kind.scope));
        CHECK(cells[4] == expected(kind.water));
        CHECK(cells[5] == expected(kind.fibre));
        CHECK(cells[6] == expected(kind.energy));
        CHECK(cells[7] == expected(kind.holds_carbon));
        CHECK(cells[8] == family_word(kind.family));
    }
}

TEST_CASE("schema pages: what the kinds of a mill's products are counted in", "[schema]") {
    const PageTable& table = only_table(inventories_page(), "product");
    const auto kinds = all_product_kinds();
    REQUIRE(table.rows.size() == kinds.size());
    for (std::size_t i = 0; i < kinds.size(); ++i) {
        INFO(inventories_page().where(table.rows[i].line));
        CHECK(code(table.rows[i].cells[0]) == kinds[i].name);
        CHECK(table.rows[i].cells[1] == kinds[i].counted_in);
    }
}

TEST_CASE("schema pages: ids that are refused, and reserved words", "[schema]") {
    const Section* ids = factors_page().section("Ids");
    const Section* reserved = factors_page().section("Reserved words");
    REQUIRE(ids != nullptr);
    REQUIRE(reserved != nullptr);
    const auto refused = [](const std::string& id) {
        Problems problems;
        try {
            check_id(id, {}, "a thing", problems);
            problems.throw_if_any();
        } catch (const InputError& error) {
            return error.problems[0].code;
        }
        return std::string("good");
    };
    const auto bad = code_spans(ids->text.substr(ids->text.find("Refused:")));
    CHECK(bad.size() == 4);
    for (const std::string& id : bad) CHECK(refused(id) == "bad-id");

    const std::string source = source_text("engine/tables/stated.cpp");
    const std::size_t begin = source.find("reserved{");
    REQUIRE(begin != std::string::npos);
    const std::string list = source.substr(begin, source.find('}', begin) - begin);
    std::set<std::string> known;
    const std::regex word("\"([a-z]+)\"");
    for (auto at = std::sregex_iterator(list.begin(), list.end(), word);
         at != std::sregex_iterator(); ++at)
        known.insert((*at)[1]);
    const auto written = code_spans(reserved->text);
    CHECK(std::set<std::string>(written.begin(), written.end()) == known);
    CHECK(known.size() >= 17);
    for (const std::string& id : written) CHECK(refused(id) == "reserved-id");
}

TEST_CASE("schema pages: every code of the readers stands on one page, and none more", "[schema]") {
    std::set<std::string> written;
    for (const Page* page : {&factors_page(), &inventories_page()}) {
        for (const TableRow& row : only_table(*page, "code").rows) {
            INFO(page->where(row.line));
            CHECK(written.insert(code(row.cells[0])).second);
            CHECK_FALSE(row.cells[1].empty());
            CHECK_FALSE(row.cells[2].empty());
        }
    }
    std::set<std::string> reported = codes_in_sources();
    for (const std::string& other : no_codes) {
        INFO(other << " stands in no source any more");
        CHECK(reported.erase(other) == 1);
    }
    for (const CheckCode& finding : check_codes())
        reported.erase(std::string(finding.code));  // the table below
    CHECK(written == reported);
    CHECK(reported.size() > 100);
}

TEST_CASE("schema pages: findings of check, and limits that they can meet", "[schema]") {
    const auto met = [](const std::string& limit) {
        const Outcome outcome =
            load(with_fragment(template_study(), "rules", "limits: {" + limit + "}"));
        INFO(outcome.text);
        REQUIRE(outcome.loaded());
        try {
            require_limits(*outcome.study);
        } catch (const InputError&) {
            return false;
        }
        return true;
    };
    std::map<std::string, std::string> written, known;
    for (const TableRow& row : only_table(inventories_page(), "finding").rows) {
        const std::string finding = code(row.cells[0]);
        CHECK(written.emplace(finding, row.cells[2]).second);
        std::string key = finding;
        std::ranges::replace(key, '-', '_');
        const bool limited = row.cells[1] != "–";
        INFO(inventories_page().where(row.line));
        if (limited) CHECK(code(row.cells[1]).starts_with(key + ": "));
        CHECK(met(limited ? code(row.cells[1]) : key + ": 1 %") == limited);
    }
    for (const CheckCode& finding : check_codes()) known.emplace(finding.code, finding.meaning);
    for (const auto& [finding, meaning] : known) {
        INFO("the row of this finding: | `" << finding << "` | | " << meaning << " |");
        CHECK(written[finding] == meaning);
    }
    CHECK(written.size() == known.size());
}

TEST_CASE("schema pages: the addresses of their examples lead to figures", "[schema]") {
    const FileSet mills = with_files(template_study(), inventories_page());
    check_addresses(inventories_page(), mills);

    FileSet factors = with_files(template_study(), factors_page());
    factors =
        with_file(factors, "user.yaml",
                  "mill: user_of_supplier_a\ntitle: A user of the factors of the page\nprocesses:\n"
                  "  p: {makes: {heat_made: {amount: 1 GJ, kind: heat}}, uses: "
                  "{supplier_a.pipeline_gas: 1 GJ LHV, grid_power: 1 kWh}}\n");
    check_addresses(
        factors_page(),
        with_fragment(factors, "study",
                      "characterization: own_gases\nscarcity: own_scarcity\nprices: own_prices\n"));
}

TEST_CASE("schema pages: results of a consumer product are per what the page lists", "[schema]") {
    const Outcome outcome = load(with_files(template_study(), inventories_page()));
    REQUIRE(outcome.loaded());
    const Subject* roll = outcome.study->subject("bath_roll");
    REQUIRE(roll != nullptr);
    std::vector<std::string> written;
    for (const TableRow& row : only_table(inventories_page(), "per").rows)
        written.push_back(code(row.cells[0]));
    CHECK(written == roll->pers);
}

TEST_CASE("schema pages: allocation methods are those that a process may name", "[schema]") {
    std::set<std::string> written;
    for (const TableRow& row : only_table(inventories_page(), "method").rows) {
        for (const std::string& method : code_spans(row.cells[0])) written.insert(method);
    }
    CHECK(written == std::set<std::string>{"mass", "energy", "exergy", "price", "value_ratio",
                                           "reference_efficiencies"});
}

TEST_CASE("schema pages: each supply of electricity counts as its row says", "[schema]") {
    // The template's factors: 300 g/kWh used, 200 location, 400 residual; kg/MWh are the same
    // numbers.
    const std::map<std::string, double> meaning{{"the factor used", 300.0},
                                                {"location factor of the grid", 200.0},
                                                {"residual factor of the grid", 400.0}};
    for (const TableRow& row : only_table(inventories_page(), "supply").rows) {
        INFO(inventories_page().where(row.line));
        const Outcome outcome =
            load(with_fragment(template_study(), "use", "supply: " + code(row.cells[0])));
        CHECK_THAT(climate_of(outcome, "template_mill.power_bought", true),
                   near(meaning.at(row.cells[1])));
        CHECK_THAT(climate_of(outcome, "template_mill.power_bought", false),
                   near(meaning.at(row.cells[2])));
    }
    const auto added_in_market_view = [](const char* sold) {
        const Outcome outcome =
            load(with_fragment(template_study(), "own", std::string("certificates_sold: ") + sold));
        return climate_of(outcome, "template_mill.power_made", true) -
               climate_of(outcome, "template_mill.power_made", false);
    };
    CHECK(added_in_market_view("no") == 0.0);
    CHECK_THAT(added_in_market_view("yes"), near(400.0));
}

TEST_CASE("schema pages: they speak of the version that is built", "[schema]") {
    const std::regex version("Deckle (\\d+\\.\\d+)");
    for (const char* name : {"factors/SCHEMA.md", "inventories/SCHEMA.md"}) {
        const std::string text = source_text(name);
        std::smatch match;
        REQUIRE(std::regex_search(text, match, version));
        CHECK(match[1] == DECKLE_VERSION);
    }
}
