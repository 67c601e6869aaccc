// Problems in print: place, message, code, the line, a caret under the whole value, the hint.
#include <fmt/format.h>
#include <catch2/catch.hpp>

#include <algorithm>

#include "engine/text/problem.h"

namespace {

using namespace deckle;

Problem problem(Place where, std::string hint = {}) {
    return {where, Severity::error, "wrong-unit", "a mass was expected", std::move(hint), {}};
}

}  // namespace

TEST_CASE("problem: the line with a caret under the whole value, then the hint", "[text]") {
    Files files;
    files.add("mill.yaml", "uses:\n  pulp: 4.35 GJ\n");
    CHECK(problem_text(problem({1, 2, 9, 7}, "for example 1 t"), files) ==
          "mill.yaml:2:9: error: a mass was expected [wrong-unit]\n"
          "      pulp: 4.35 GJ\n"
          "            ^^^^^^^\n"
          "    hint: for example 1 t\n");
    CHECK(problem_text(problem({}), files) == "error: a mass was expected [wrong-unit]\n");
}

TEST_CASE("problem: the caret stands right behind tabs and characters of several bytes", "[text]") {
    Files files;
    files.add("x.yaml", "ü薄: {a:\t4 ± 1 GJ}\n");
    // ü is two bytes, 薄 three, ± two: the value begins in byte 12 and has 9 bytes, 8 characters
    CHECK(problem_text(problem({1, 1, 12, 9}), files) ==
          "x.yaml:1:12: error: a mass was expected [wrong-unit]\n"
          "    ü薄: {a:\t4 ± 1 GJ}\n"
          "           \t^^^^^^^^\n");
}

TEST_CASE("problem: a very long line is cut around the value, between characters", "[text]") {
    Files files;
    std::string line;
    for (int i = 0; i < 1000; ++i) line += "ü";
    files.add("x.yaml", line + "4.35 GJ" + line + "\n");
    const std::string text = problem_text(problem({1, 1, 2001, 7}), files);
    CHECK(text.size() < 700);
    const std::size_t value = text.find("4.35 GJ"), caret = text.find("^^^^^^^");
    REQUIRE(value != std::string::npos);
    REQUIRE(caret != std::string::npos);
    CHECK(text.find("^^^^^^^^") == std::string::npos);
    const auto column = [&](std::size_t at) {  // in characters
        const std::size_t start = text.rfind('\n', at) + 1;
        return std::count_if(text.begin() + static_cast<std::ptrdiff_t>(start),
                             text.begin() + static_cast<std::ptrdiff_t>(at), [](char c) {
                                 return (static_cast<unsigned char>(c) & 0xC0U) != 0x80U;
                             });
    };
    CHECK(column(value) == column(caret));
}

TEST_CASE("problem: places beyond the line and lines beyond the file do no harm", "[text]") {
    Files files;
    files.add("x.yaml", "a: 1\n");
    for (const Place place : {Place{1, 1, 100, 50}, Place{1, 1, 5, 1}, Place{1, 9, 1, 1},
                              Place{1, 1, 0, 0}, Place{1, 2, 1, 1}}) {
        const std::string text = problem_text(problem(place), files);
        CHECK(text.starts_with(files.where(place) + ": error: a mass was expected [wrong-unit]\n"));
        CHECK(text.ends_with('\n'));
    }
}

TEST_CASE("problem: all together, sorted by place, each once, fifty shown", "[text]") {
    Files files;
    std::string text;
    for (int i = 0; i < 60; ++i) text += "a\n";
    files.add("x.yaml", text);
    Problems problems;
    CHECK_NOTHROW(problems.throw_if_any());
    for (std::uint32_t line = 60; line > 0; --line) {
        for (int twice = 0; twice < 2; ++twice)
            problems.add({1, line, 1, 1}, "wrong-unit", fmt::format("fault {}", line));
    }
    try {
        problems.throw_if_any();
        FAIL("nothing was thrown");
    } catch (const InputError& error) {
        REQUIRE(error.problems.size() == 60);
        CHECK(error.problems.front().message == "fault 1");
        CHECK(error.problems.back().message == "fault 60");
        const std::string printed = problems_text(error.problems, files);
        CHECK(printed.find("fault 50 ") != std::string::npos);
        CHECK(printed.find("fault 51 ") == std::string::npos);
        CHECK(printed.ends_with("... and 10 more\n60 errors, nothing computed\n"));
    }
    CHECK(problems_text({problem({})}, files).ends_with("1 error, nothing computed\n"));
}
