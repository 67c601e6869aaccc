// Hints with the nearest names. Distances: insertions, deletions and substitutions (Levenshtein
// 1966) and swaps of neighbours (Damerau 1964), each counting one.
#include <catch2/catch.hpp>

#include <string>
#include <vector>

#include "engine/text/nearest.h"

namespace {

using namespace deckle;
using Names = std::vector<std::string>;

}  // namespace

TEST_CASE("nearest: textbook distances up to two, and none beyond", "[text]") {
    // flaw, lawn: 2; book, back: 2 (both in common use as examples of Levenshtein's distance)
    CHECK(nearest_names("flaw", Names{"lawn"}) == Names{"lawn"});
    CHECK(nearest_names("book", Names{"back"}) == Names{"back"});
    // kitten, sitting: 3; Sunday, Saturday: 3
    CHECK(nearest_names("kitten", Names{"sitting"}).empty());
    CHECK(nearest_names("sunday", Names{"saturday"}).empty());
}

TEST_CASE("nearest: every single fault of typing is found (Damerau 1964: 80 % of all)", "[text]") {
    const std::string name = "natural_gas";
    Names faults;
    for (std::size_t i = 0; i < name.size(); ++i) {
        faults.push_back(name.substr(0, i) + name.substr(i + 1));        // one lost
        faults.push_back(name.substr(0, i) + "x" + name.substr(i + 1));  // one wrong
        faults.push_back(name.substr(0, i) + "x" + name.substr(i));      // one too many
        if (i + 1 == name.size() || name[i] == name[i + 1]) continue;
        std::string swapped = name;
        std::swap(swapped[i], swapped[i + 1]);
        faults.push_back(swapped);
    }
    for (const std::string& typed : faults) {
        CAPTURE(typed);
        // "electricity" is far; "natural_gaz_b" is two or three away and never comes first
        CHECK(nearest_names(typed, Names{"electricity", "natural_gaz_b", name}).at(0) == name);
    }
}

TEST_CASE("nearest: the nearest first, equal ones by the alphabet, three at most, each once",
          "[text]") {
    CHECK(nearest_names("film", Names{"fiim_2", "foam", "film_", "firm"}) ==
          Names{"film_", "firm", "foam"});  // distances 1, 1, 2; fiim_2 is 3
    CHECK(nearest_names("abcd", Names{"abcf", "abce", "abcg", "abch"}) ==
          Names{"abce", "abcf", "abcg"});
    CHECK(nearest_names("abcd", Names{"abce", "abce"}) == Names{"abce"});
}

TEST_CASE("nearest: names that contain what was typed, or are in it, come last", "[text]") {
    CHECK(nearest_names("pulp", Names{"bleached_pulp_supplier_x", "pulps"}) ==
          Names{"pulps", "bleached_pulp_supplier_x"});
    CHECK(nearest_names("bleached_pulp", Names{"pulp"}) == Names{"pulp"});
    CHECK(nearest_names("gas", Names{"natural_gas_supply"}).empty());  // too short to tell
}

TEST_CASE("nearest: short names, long names and none", "[text]") {
    CHECK(nearest_names("a", Names{"b"}) == Names{"b"});
    CHECK(nearest_names("a", Names{"bc"}).empty());  // nothing of it is left
    const std::string longest(4000, 'a');
    CHECK(nearest_names(longest + "b", Names{longest + "c"}).empty());  // not compared
    CHECK(did_you_mean("x", {}).empty());
    CHECK(did_you_mean("pulq", Names{"pulp"}) == "did you mean pulp?");
    CHECK(did_you_mean("abcd", Names{"abcf", "abce"}) == "did you mean abce or abcf?");
    CHECK(did_you_mean("abcd", Names{"abcf", "abce", "abcg"}) ==
          "did you mean abce, abcf or abcg?");
}
