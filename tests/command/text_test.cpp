// Texts of reports: what acts is made inert, cells follow RFC 4180, JSON follows RFC 8259, columns
// align.
#include <catch2/catch.hpp>
#include <limits>
#include <stdexcept>
#include <string>

#include "reports/csv.h"
#include "reports/inert.h"
#include "reports/json_text.h"
#include "reports/table.h"

using namespace deckle;

TEST_CASE("inert: plain text in any script stays as it is", "[reports]") {
    for (const std::string text :
         {"bath_3ply", "Füllstoff 5 % ± 1", "薄紙", "бумага", "−12 °C", ""}) {
        CHECK(inert(text) == text);
        CHECK(inert_lines(text) == text);
    }
}

TEST_CASE("inert: line ends and terminal escapes become visible", "[reports]") {
    CHECK(inert("a\nb\r\tc") == "a\\nb\\r\\tc");
    CHECK(inert("\x1b[31mred\x1b[0m") == "\\x1b[31mred\\x1b[0m");
    CHECK(inert(std::string("a\0b", 3)) == "a\\x00b");
    CHECK(inert("bell\x07 del\x7f") == "bell\\x07 del\\x7f");
}

TEST_CASE("inert: the control characters of ISO 6429 above 0x7F become visible", "[reports]") {
    CHECK(inert("\xC2\x9B"
                "31m") == "\\u009b31m");  // CSI in one character
    CHECK(inert("\xC2\x85") == "\\u0085");
}

TEST_CASE("inert: marks of direction (Unicode UAX 9) and separators of lines become visible",
          "[reports]") {
    CHECK(inert("a\u202Eb\u2066c\u200Fd\u061Ce") == "a\\u202eb\\u2066c\\u200fd\\u061ce");
    CHECK(inert("a\u2028b\u2029c") == "a\\u2028b\\u2029c");
    CHECK(inert("\uFEFFa\u200Bb") == "\\ufeffa\\u200bb");
    CHECK(inert("\U000E0041") == "\\u{e0041}");
}

TEST_CASE("inert: broken UTF-8 (RFC 3629) shows its bytes", "[reports]") {
    CHECK(inert("a\xFFz") == "a\\xffz");
    CHECK(inert("\xC0\xAF") == "\\xc0\\xaf");           // overlong
    CHECK(inert("\xED\xA0\x80") == "\\xed\\xa0\\x80");  // a surrogate
    CHECK(inert("\xE2\x82") == "\\xe2\\x82");           // cut short
    CHECK(inert("\xF4\x90\x80\x80") == "\\xf4\\x90\\x80\\x80");
}

TEST_CASE("inert_lines: line ends and tabs stay, the rest is as in one line", "[reports]") {
    CHECK(inert_lines("a\n\tb\r\x1b") == "a\n\tb\\r\\x1b");
}

TEST_CASE("shown_width: combining marks take no column, wide characters two (Unicode UAX 11)",
          "[reports]") {
    CHECK(shown_width("kg CO2e") == 7);
    CHECK(shown_width("±5 °C") == 5);
    CHECK(shown_width("e\u0301") == 1);
    CHECK(shown_width("薄紙") == 4);
    CHECK(shown_width("ﾃ") == 1);  // half-width form
}

TEST_CASE("cut_to: never breaks a character", "[reports]") {
    CHECK(cut_to("short", 5) == "short");
    CHECK(cut_to("longer", 5) == "long…");
    CHECK(cut_to("薄紙薄紙", 5) == "薄紙…");
    CHECK(cut_to("薄紙薄紙", 4) == "薄…");
}

TEST_CASE("wrap: breaks at spaces and keeps long words whole", "[reports]") {
    CHECK(wrap("one two three", 7) == std::vector<std::string>{"one two", "three"});
    CHECK(wrap("a incomprehensible b", 5) ==
          std::vector<std::string>{"a", "incomprehensible", "b"});
    CHECK(wrap("  ", 5).empty());
}

TEST_CASE("csv_text: quotes as RFC 4180, 2.5 to 2.7 wants", "[reports]") {
    CHECK(csv_text("plain") == "plain");
    CHECK(csv_text("a,b") == "\"a,b\"");
    CHECK(csv_text("say \"tissue\"") == "\"say \"\"tissue\"\"\"");
    CHECK(csv_text("two\nlines") == "two\\nlines");
    CHECK(csv_text("") == "");
}

TEST_CASE("csv_text: what a spreadsheet would run gets an apostrophe", "[reports]") {
    for (const std::string text : {"=cmd|' /C calc'!A0", "+1", "-1", "@SUM(1)"}) {
        CHECK(csv_text(text) == "'" + text);
    }
    CHECK(csv_text("\t=1") == "'\\t=1");
    CHECK(csv_text("=HYPERLINK(\"x\",\"y\")") == "\"'=HYPERLINK(\"\"x\"\",\"\"y\"\")\"");
    CHECK(csv_text("1-2") == "1-2");
}

TEST_CASE("csv_number: negative numbers stay numbers, absent ones are empty", "[reports]") {
    CHECK(csv_number(-0.1) == "-0.1");
    CHECK(csv_number(0.1 + 0.2) == "0.30000000000000004");
    CHECK(csv_number(std::nullopt) == "");
    CHECK_THROWS_AS(csv_number(std::numeric_limits<double>::quiet_NaN()), std::logic_error);
}

TEST_CASE("json_text: strings are escaped as RFC 8259, 7 wants, and what acts besides",
          "[reports]") {
    const auto text = [](const std::string& value) { return json_text(Json(value)); };
    CHECK(text("a\"b\\c") == "\"a\\\"b\\\\c\"\n");
    CHECK(text("\x1b\n\u202E") == "\"\\u001b\\n\\u202e\"\n");
    CHECK(text("\U000E0041") == "\"\\udb40\\udc41\"\n");  // RFC 8259: a surrogate pair
    CHECK(text("\xFF") == "\"\\ufffd\"\n");
    CHECK(text("m³") == "\"m³\"\n");
    for (const std::string value : {"a\"b\\c/\t\r\b\f", "\u2028x", "薄紙", "\x01\x7f\xC2\x9B"}) {
        CHECK(Json::parse(text(value)).get<std::string>() == value);
    }
}

TEST_CASE("json_text: numbers are the shortest that read back, and never what JSON lacks",
          "[reports]") {
    CHECK(json_text(Json(0.1)) == "0.1\n");
    CHECK(json_text(Json(5e-324)) == "5e-324\n");
    CHECK(json_text(Json(9007199254740993U)) == "9007199254740993\n");
    CHECK_THROWS_AS(json_text(Json(std::numeric_limits<double>::infinity())), std::logic_error);
}

TEST_CASE("json_text: a record without inner records takes a line", "[reports]") {
    const Json value = {
        {"rows", Json::array({{{"n", 1}, {"of", {1, 2}}}, {{"n", 2}, {"of", Json::array()}}})},
        {"none", Json::object()}};
    CHECK(json_text(value) ==
          "{\n  \"rows\": [\n    {\"n\": 1, \"of\": [1, 2]},\n    {\"n\": 2, \"of\": []}\n  ],\n"
          "  \"none\": {}\n}\n");
    CHECK(Json::parse(json_text(value)) == value);
}

namespace {

Table table_of(std::vector<std::vector<std::string>> rows) {
    Table table;
    table.columns = {{{"product"}, Table::Align::text}, {{"climate", "kg"}}, {{"water", "m3"}}};
    table.rows = std::move(rows);
    return table;
}

}  // namespace

TEST_CASE("table_text: numbers stand under each other at the decimal point", "[reports]") {
    CHECK(table_text(
              table_of({{"a", "1250", "0.00123"}, {"bcd", "≥0.130", "52.6"}, {"e", "-5.10", ""}}),
              {}) ==
          "          climate     water\n"
          "product        kg        m3\n"
          "a        1250       0.00123\n"
          "bcd        ≥0.130  52.6\n"
          "e          -5.10\n");
}

TEST_CASE("table_text: columns that do not fit follow under the same names", "[reports]") {
    CHECK(table_text(table_of({{"a", "1", "2"}}), {.width = 18, .colour = false}) ==
          "         climate\nproduct       kg\na              1\n"
          "\n"
          "         water\nproduct     m3\na            2\n");
}

TEST_CASE("table_text: a name too long for its column has a line of its own", "[reports]") {
    const std::string name(50, 'x');
    const auto text = table_text(table_of({{name, "1", "2"}, {"y", "3", "4"}}), {});
    CHECK(text.find('\n' + name + '\n') != std::string::npos);
}

TEST_CASE("table_text: a text too long for its column goes on below, and nothing is cut",
          "[reports]") {
    Table table;
    table.columns = {{{"input"}, Table::Align::text}, {{"kg"}}, {{"typed"}, Table::Align::text}};
    table.rows = {{"a", "1.5", "one two three four five six seven eight nine ten eleven"},
                  {"b", "2", std::string(60, 'x')}};
    CHECK(table_text(table, {}) ==
          "input   kg  typed\n"
          "a      1.5  one two three four five six seven eight nine\n"
          "            ten eleven\n"
          "b      2    " +
              std::string(44, 'x') + "\n            " + std::string(16, 'x') + "\n");
}

TEST_CASE("broken: lines of a width, words longer than it go on", "[reports]") {
    using Lines = std::vector<std::string>;
    CHECK(broken("ab cd efghij", 4) == Lines{"ab", "cd", "efgh", "ij"});
    CHECK(broken("", 4).empty());
    CHECK(broken("\u6c34\u6c34\u6c34", 4) == Lines{"\u6c34\u6c34", "\u6c34"});  // two columns each
    CHECK(broken("\u6c34", 1) == Lines{"\u6c34"});
}

TEST_CASE("table_text: emphasis only when asked", "[reports]") {
    const auto table = table_of({{"a", "1", "2"}, {}, {"total", "1", "2"}});
    CHECK(table_text(table, {}).find('\x1b') == std::string::npos);
    CHECK(table_text(table, {.width = 80, .colour = true}).find("\x1b[1m") != std::string::npos);
}

TEST_CASE("table_text: a row with a cell too few is a fault of ours", "[reports]") {
    CHECK_THROWS_AS(table_text(table_of({{"a", "1"}}), {}), std::logic_error);
}
