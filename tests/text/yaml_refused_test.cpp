// What YAML allows and Deckle does not read, and what is no YAML: one clear problem each, with its
// place, never a guess. Features by YAML 1.2.2 (2021); the merge key by its draft of 2005.
#include <fmt/format.h>
#include <catch2/catch.hpp>

#include <chrono>

#include "tests/text/yaml_text.h"

namespace {

using namespace deckle;
using deckle::test::YamlText;

}  // namespace

TEST_CASE("yaml: anchors, aliases, merge keys, tags and second documents are refused", "[text]") {
    struct Row {
        const char *text, *marked, *says;
    };
    const Row row = GENERATE(
        Row{"a: &x 1 kg\nb: 2 kg\n", "1 kg", "anchors are not read"},                  // 3.2.2.2
        Row{"a: &x {c: 1 kg}\n", nullptr, "anchors are not read"},                     // 6.9.2
        Row{"a: *x\n", "*x", "aliases are not read"},                                  // 7.1
        Row{"a: {<<: {c: 1 kg}}\n", "<<", "merge keys are not read"},                  // the draft
        Row{"a: !!str 1 kg\n", nullptr, "the tag tag:yaml.org,2002:str is not read"},  // 6.9.1
        Row{"a: !mine 1 kg\n", nullptr, "the tag !mine is not read"},
        Row{"a: 1 kg\n---\nb: 2 kg\n", nullptr, "a second document starts here"},  // 9.2
        Row{"%YAML 1.2\n---\na: 1 kg\n...\n---\nb: 1\n", nullptr, "a second document starts here"},
        Row{"? {c: 1}\n: 2\n", nullptr, "a key must be a word, not a mapping"},  // 8.2.2
        Row{"? [c]\n: 2\n", nullptr, "a key must be a word, not a list"});
    CAPTURE(row.text);
    const YamlText yaml(row.text);
    REQUIRE_FALSE(yaml.problems.empty());
    const Problem& first = yaml.problems[0];
    CHECK(first.code == "yaml-feature");
    CHECK(first.message == row.says);
    CHECK_FALSE(first.hint.empty());
    CHECK(first.where.known());
    if (row.marked != nullptr) {
        CHECK(first.where.line == yaml.place_of(row.marked).line);
        CHECK(first.where.column <= yaml.place_of(row.marked).column);
    }
}

TEST_CASE("yaml: each anchor and alias of a bomb is refused, and nothing grows", "[text]") {
    // ten aliases of ten aliases …: ten billion values if they were read
    std::string text = "a: &a [x]\n";
    for (char level = 'b'; level <= 'k'; ++level) {
        text += fmt::format("{}: &{} [", level, level);
        for (int i = 0; i < 10; ++i) text += fmt::format("*{}, ", static_cast<char>(level - 1));
        text += "x]\n";
    }
    const YamlText yaml(text);
    CHECK(yaml.problems.size() == 11 + 10 * 10);
    for (const Problem& problem : yaml.problems) CHECK(problem.code == "yaml-feature");
}

TEST_CASE("yaml: 32 levels are read, 33 are not", "[text]") {
    const auto nested = [](std::size_t levels) {
        std::string text = "a: ";  // a level of its own
        for (std::size_t i = 1; i < levels; ++i) text += "[";
        text += "1";
        for (std::size_t i = 1; i < levels; ++i) text += "]";
        return text + "\n";
    };
    CHECK(YamlText(nested(32)).problems.empty());
    const YamlText deeper(nested(33));
    REQUIRE(deeper.problems.size() == 1);
    CHECK(deeper.problems[0].code == "too-deep");
    CHECK(deeper.problems[0].where == Place{1, 1, 35, 1});  // "a: " and 31 brackets before it
    const YamlText bomb("a: " + std::string(100'000, '['));
    REQUIRE(bomb.problems.size() == 1);
    CHECK(bomb.problems[0].code == "too-deep");
    const YamlText maps("a: " + std::string(50'000, '{'));
    REQUIRE(maps.problems.size() == 1);
    CHECK(maps.problems[0].code == "too-deep");
}

TEST_CASE("yaml: a key that stands twice names both places, in short and long mappings", "[text]") {
    const YamlText few("a: 1\nb: 2\na: 3\n");
    REQUIRE(few.problems.size() == 1);
    CHECK(few.problems[0].code == "duplicate-key");
    CHECK(few.problems[0].where == Place{1, 3, 1, 1});
    REQUIRE(few.problems[0].related.size() == 1);
    CHECK(few.problems[0].related[0] == Place{1, 1, 1, 1});
    std::string text;
    for (int i = 0; i < 1000; ++i) text += fmt::format("key_{}: {}\n", i, i);
    const YamlText many(text + "key_3: 1\nkey_999: 2\n");
    REQUIRE(many.problems.size() == 2);
    CHECK(many.problems[0].where.line == 1001);
    CHECK(many.problems[0].related.at(0).line == 4);
    CHECK(many.problems[1].related.at(0).line == 1000);
    CHECK(YamlText("a: {c: 1}\nb: {c: 1}\n").problems.empty());
}

TEST_CASE("yaml: nothing is not a value, and a file holds a mapping", "[text]") {
    const YamlText nothing("a:\nb: ~\nc: null\nd: \"\"\n");
    CHECK(nothing.problems.empty());  // which keys may be empty, their reader says
    CHECK(nothing.root.find("a")->kind == YamlValue::Kind::nothing);
    CHECK(nothing.root.find("b")->kind == YamlValue::Kind::nothing);
    CHECK(nothing.root.find("c")->kind == YamlValue::Kind::nothing);
    CHECK(nothing.root.find("d")->is_scalar());
    for (const char* text : {"", "\n\n", "# a comment\n", "---\n", "~\n"}) {
        CAPTURE(text);
        const YamlText yaml(text);
        REQUIRE(yaml.problems.size() == 1);
        CHECK(yaml.problems[0].code == "empty-file");
    }
    for (const char* text : {"- a\n- b\n", "only words\n"}) {
        CAPTURE(text);
        const YamlText yaml(text);
        REQUIRE(yaml.problems.size() == 1);
        CHECK(yaml.problems[0].code == "not-a-mapping");
        CHECK(yaml.root.kind == YamlValue::Kind::nothing);
    }
}

TEST_CASE("yaml: what is no YAML is one problem a file, at its place", "[text]") {
    struct Row {
        const char *text, *marked, *says;
    };
    const Row row =
        GENERATE(Row{"a: 1\nb: {c: 1\nd: 2\n", "{", "this { has no }"},  // 7.4.2
                 Row{"a: 1\nb: [1, 2\n", "[", "this [ has no ]"},        // 7.4.1
                 Row{"a: 1\nb: [1, 2\nc: 3\nd: 4\n", "[", "this [ has no ]"},
                 Row{"a: one: two\n", ": two", "a value with ': ' in it"},                  // 7.3.3
                 Row{"a: 1\nb: \"open\n\nc: 1\n", "\"open", "a quoted text does not end"},  // 7.3.1
                 Row{"a: 1\nb: 'it''s\nc: 1\n", "'it", "a quoted text does not end"},       // 7.3.2
                 Row{"a: 1\nb: @x\n", "@", "no value begins with this character"});         // 5.3
    CAPTURE(row.text);
    const YamlText yaml(row.text);
    REQUIRE(yaml.problems.size() == 1);
    CHECK(yaml.problems[0].code == "yaml-syntax");
    CHECK(yaml.problems[0].message.starts_with(row.says));
    CHECK(yaml.problems[0].where.line == yaml.place_of(row.marked).line);
    CHECK(yaml.problems[0].where.column == yaml.place_of(row.marked).column);
    CHECK_FALSE(yaml.problems[0].hint.empty());
}

TEST_CASE(
    "yaml: keys that do not line up and brackets that close nothing are problems (YAML 1.2.2, 8.2)",
    "[text]") {
    for (const char* text :
         {"a: 1\n b: 2\n", "a:\n  b: 1\n c: 2\n", "a: 1\nb: }\n", "a: 1\nb: ]\n", "a: 1\n- b\n",
          "a: [1, 2]]\n", "a: [1, {c: 2]\n", "a: \"\\q\"\n", "a: \"x\" y\n", "a: 'open"}) {
        CAPTURE(text);
        const YamlText yaml(text);
        REQUIRE(yaml.problems.size() == 1);
        CHECK(yaml.problems[0].code == "yaml-syntax");
    }
}
