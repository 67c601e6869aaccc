// Which keys a mapping may have, and what is said when it has others.
#include <catch2/catch.hpp>

#include <array>

#include "engine/text/keys.h"
#include "tests/text/yaml_text.h"

namespace {

using namespace deckle;
using deckle::test::YamlText;

constexpr std::array keys{Key{"amount", Need::required}, Key{"dryness"}, Key{"note"}};
const KeyTable table{"use", keys};

std::vector<Problem> checked(const YamlText& yaml) {
    REQUIRE(yaml.problems.empty());
    Problems problems;
    const YamlEntry& use = yaml.root.entries.at(0);
    const bool mapping = check_keys(use.value, table, use.place, problems);
    CHECK(mapping == use.value.is_map());
    return test::reported(problems);
}

}  // namespace

TEST_CASE("keys: a mapping with what is needed and nothing else has no problem", "[text]") {
    CHECK(checked(YamlText("gas: {amount: 1 kg}\n")).empty());
    CHECK(checked(YamlText("gas: {note: x, amount: 1 kg, dryness: 90 %}\n")).empty());
}

TEST_CASE("keys: an unknown key is marked, with the nearest right one or all", "[text]") {
    const YamlText near("gas: {amount: 1 kg, drynes: 90 %}\n");
    const auto one = checked(near);
    REQUIRE(one.size() == 1);
    CHECK(one[0].code == "unknown-key");
    CHECK(one[0].where == near.place_of("drynes"));
    CHECK(one[0].hint == "did you mean dryness?");
    const auto far = checked(YamlText("gas: {amount: 1 kg, colour: red}\n"));
    REQUIRE(far.size() == 1);
    CHECK(far[0].hint == "known here: amount, dryness, note");
}

TEST_CASE("keys: a missing key is said at the key above, an empty one at itself", "[text]") {
    const YamlText missing("gas: {dryness: 90 %}\n");
    const auto lacks = checked(missing);
    REQUIRE(lacks.size() == 1);
    CHECK(lacks[0].code == "missing-key");
    CHECK(lacks[0].where == missing.place_of("gas"));
    const YamlText empty("gas:\n  amount:\n  dryness: ~\n");
    const auto both = checked(empty);  // an amount that stands empty is not missing besides
    REQUIRE(both.size() == 2);
    CHECK(both[0].code == "empty-value");
    CHECK(both[0].where == empty.place_of("amount"));
    CHECK(both[1].where == empty.place_of("dryness"));
}

TEST_CASE("keys: what is no mapping, and a note that is no line of text", "[text]") {
    for (const char* text : {"gas: [1 kg]\n", "gas: 1 kg\n", "gas:\n"}) {
        CAPTURE(text);
        const auto problems = checked(YamlText(text));
        REQUIRE(problems.size() == 1);
        CHECK(problems[0].code == "not-a-mapping");
        CHECK(problems[0].where.known());
    }
    const auto note = checked(YamlText("gas: {amount: 1 kg, note: [a, b]}\n"));
    REQUIRE(note.size() == 1);
    CHECK(note[0].code == "not-text");
}

TEST_CASE("keys: what was refused in a mapping hides no second problem", "[text]") {
    const YamlText yaml("gas: {<<: {amount: 1 kg}, dryness: 90 %}\n");
    CHECK(yaml.problems.size() == 1);
    Problems problems;
    check_keys(yaml.root.entries.at(0).value, table, {1, 1, 1, 1}, problems);
    CHECK(problems.empty());  // the amount may stand in what was refused
}

TEST_CASE("keys: a file says by its head what it is", "[text]") {
    Problems problems;
    CHECK(check_head(YamlText("mill: m\n").root, "mill", "mill", problems));
    CHECK_FALSE(check_head(YamlText("study: s\n").root, "mill", "mill", problems));
    const auto found = test::reported(problems);
    REQUIRE(found.size() == 1);
    CHECK(found[0].code == "unknown-document");
}
