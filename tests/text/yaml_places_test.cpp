// Where things stand in a YAML file, and that scalars stay text. Syntax by YAML 1.2.2 (2021), its
// chapters beside the checks; that a caret stands under the whole value is a rule of this project.
#include <catch2/catch.hpp>

#include "tests/text/yaml_text.h"

namespace {

using namespace deckle;
using deckle::test::YamlText;

/// The value of the key `a` of a text without faults.
const YamlValue& value_of(const YamlText& yaml, const char* key = "a") {
    REQUIRE(yaml.problems.empty());
    const YamlValue* value = yaml.root.find(key);
    REQUIRE(value != nullptr);
    return *value;
}

void check_place(const Place& found, const Place& expected) {
    CHECK(found.file == expected.file);
    CHECK(found.line == expected.line);
    CHECK(found.column == expected.column);
    CHECK(found.length == expected.length);
}

}  // namespace

TEST_CASE("yaml: a plain scalar ends before blanks and comments (YAML 1.2.2, 7.3.3 and 6.6)",
          "[text]") {
    const YamlText yaml("first: 1 kg\n  \na:   4.35 GJ LHV   # by the meter\n");
    CHECK(value_of(yaml).text == "4.35 GJ LHV");
    CHECK_FALSE(value_of(yaml).quoted);
    check_place(value_of(yaml).place, yaml.place_of("4.35 GJ LHV"));
}

TEST_CASE("yaml: words and digits stay as typed", "[text]") {
    for (const std::string typed : {"2.10", "no", "yes", "0x1F", "1e3", "2025-01-01", "010", ".nan",
                                    "52_000", "4.35 ± 0.20 GJ", "a-b", "x:y", "~x", "12:30:45"}) {
        const YamlText yaml("a: " + typed + "\n");
        CHECK(value_of(yaml).is_scalar());
        CHECK(value_of(yaml).text == typed);
    }
}

TEST_CASE("yaml: the caret covers quotes and all between them (YAML 1.2.2, 7.3.1 and 7.3.2)",
          "[text]") {
    struct Row {
        std::string typed, text;
    };
    const Row row = GENERATE(
        Row{R"("4.35 GJ")", "4.35 GJ"}, Row{R"('4.35 GJ')", "4.35 GJ"},
        Row{R"("one: two # three")", "one: two # three"}, Row{R"('it''s dry')", "it's dry"},
        Row{R"("say \"dry\" here")", R"(say "dry" here)"}, Row{R"("ends in \\")", R"(ends in \)"},
        Row{R"('ends in \')", R"(ends in \)"}, Row{R"("")", ""}, Row{R"('''')", "'"},
        Row{R"('"')", "\""}, Row{R"("'")", "'"}, Row{R"("\u00fc")", "ü"});
    CAPTURE(row.typed);
    const YamlText yaml("a: " + row.typed + "   # comment with ' and \"\nb: 1\n");
    CHECK(value_of(yaml).text == row.text);
    CHECK(value_of(yaml).quoted);
    check_place(value_of(yaml).place, yaml.place_of(row.typed));
    const YamlText flow("first: 1\nof: {a: " + row.typed + ", b: 1}\n");
    check_place(value_of(flow, "of").find("a")->place, flow.place_of(row.typed));
}

TEST_CASE("yaml: a scalar of several lines is marked where it begins (YAML 1.2.2, 8.1)", "[text]") {
    struct Row {
        std::string typed, text, marked;
    };
    const Row row = GENERATE(
        Row{"|\n  one\n  two\n", "one\ntwo\n", "|"}, Row{">-\n  one\n  two\n", "one two", ">-"},
        Row{"one\n  two\n", "one two", "one"}, Row{"\"one\n  two\"\n", "one two", "\"one"},
        Row{"'one\n  two'\n", "one two", "'one"}, Row{"|2 # kept\n  one\n", "one\n", "|2"});
    CAPTURE(row.typed);
    const YamlText yaml("first: 1 kg\na: " + row.typed + "b: 5 kg\n");
    CHECK(value_of(yaml).text == row.text);
    CHECK(value_of(yaml).quoted);
    CHECK(value_of(yaml).place.line == 2);
    CHECK(value_of(yaml).place.column == 4);
    CHECK(value_of(yaml).place.length == row.marked.size());
    check_place(value_of(yaml, "b").place, yaml.place_of("5 kg"));
}

TEST_CASE("yaml: columns are counted in bytes, behind characters of several bytes too", "[text]") {
    const YamlText yaml("of: {title: Füllstoff 薄紙, a: 4.35 GJ ± 5 %}\n");
    const YamlValue& a = *value_of(yaml, "of").find("a");
    check_place(a.place, yaml.place_of("4.35 GJ ± 5 %"));
    CHECK(yaml.files.line(a.place).substr(a.place.column - 1, a.place.length) == "4.35 GJ ± 5 %");
}

TEST_CASE("yaml: keys, lists and nested mappings keep their places", "[text]") {
    const YamlText yaml("makes:\n  - {sheet: 1 t}\n  - broke\nuses:\n    steam: 2 GJ\n");
    const YamlValue& makes = value_of(yaml, "makes");
    REQUIRE(makes.is_list());
    REQUIRE(makes.items.size() == 2);
    check_place(makes.items[0].entries.at(0).place, yaml.place_of("sheet"));
    check_place(makes.items[0].find("sheet")->place, yaml.place_of("1 t"));
    check_place(makes.items[1].place, yaml.place_of("broke"));
    const YamlEntry& steam = value_of(yaml, "uses").entries.at(0);
    check_place(steam.place, yaml.place_of("steam"));
    check_place(steam.value.place, yaml.place_of("2 GJ"));
    CHECK(value_of(yaml, "uses").place.line == 5);
}

TEST_CASE("yaml: line ends of CR LF end lines and stand in no value (YAML 1.2.2, 5.4)", "[text]") {
    const YamlText yaml("first: 1 kg\r\na: 4.35 GJ\r\nof:\r\n  b: |\r\n    one\r\n    two\r\n");
    CHECK(value_of(yaml, "first").text == "1 kg");
    CHECK(value_of(yaml).text == "4.35 GJ");
    check_place(value_of(yaml).place, yaml.place_of("4.35 GJ"));
    CHECK(value_of(yaml, "of").find("b")->text == "one\ntwo\n");
    CHECK(yaml.files.line(value_of(yaml).place) == "a: 4.35 GJ");
}

TEST_CASE("yaml: a byte order mark moves no column (YAML 1.2.2, 5.2)", "[text]") {
    const YamlText yaml(
        "\xEF\xBB\xBF"
        "a: 4.35 GJ\n");
    check_place(yaml.root.entries.at(0).place, {1, 1, 1, 1});
    check_place(value_of(yaml).place, {1, 1, 4, 7});
}

TEST_CASE("yaml: tabs may part, and never indent (YAML 1.2.2, 6.1 and 6.2)", "[text]") {
    const YamlText parted("a:\t4.35 GJ\t# comment\n");
    CHECK(value_of(parted).text == "4.35 GJ");
    check_place(value_of(parted).place, parted.place_of("4.35 GJ"));
    const YamlText indented("of:\n\ta: 1 kg\n");
    REQUIRE(indented.problems.size() == 1);
    CHECK(indented.problems[0].code == "yaml-syntax");
    CHECK(indented.problems[0].where.line == 2);
}

TEST_CASE("yaml: a place inside a value only where its text stands as it is", "[text]") {
    const YamlText plain("a: 4.35 GJ ± 5 %\n");
    check_place(place_inside(value_of(plain), 5, 2), plain.place_of("GJ"));
    check_place(place_inside(value_of(plain), 5, 0), {1, 1, 9, 1});
    const YamlText quoted("a: \"4.35 \\u0047J\"\n");
    check_place(place_inside(value_of(quoted), 5, 2), quoted.place_of("\"4.35 \\u0047J\""));
    const YamlText folded("a: >-\n  4.35\n  GJ\n");
    check_place(place_inside(value_of(folded), 5, 2), folded.place_of(">-"));
}
