// The table of codes, the known traps, and the order of findings.
#include "engine/analysis/check.h"

#include <algorithm>
#include <catch2/catch.hpp>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <set>
#include <sstream>

#include "check_study_files.h"
#include "engine/analysis/check_parts.h"
#include "engine/analysis/check_traps.h"

namespace {

using namespace deckle;
using namespace deckle_test;

bool is_code(std::string_view code) {
    return std::ranges::any_of(check_codes(),
                               [&](const CheckCode& one) { return one.code == code; });
}

std::string tests_of_check() {
    std::string text;
    for (const auto& file :
         std::filesystem::directory_iterator(DECKLE_SOURCE_DIR "/tests/analysis")) {
        if (!file.path().filename().string().starts_with("check_")) continue;
        std::ifstream in(file.path());
        text.append(std::istreambuf_iterator<char>(in), {});
    }
    return text;
}

}  // namespace

TEST_CASE("every code of check has a meaning, one name, and a study here that gives it",
          "[analysis][check]") {
    const std::string tests = tests_of_check();
    std::set<std::string_view> seen;
    for (const CheckCode& one : check_codes()) {
        CAPTURE(one.code);
        CHECK(seen.insert(one.code).second);
        CHECK(std::ranges::all_of(one.code,
                                  [](char c) { return c == '-' || (c >= 'a' && c <= 'z'); }));
        CHECK(one.meaning.size() > 15);
        CHECK(has(tests, "only(\"" + std::string(one.code) + "\")"));
    }
}

TEST_CASE("each known trap of published factors has a rule or a reason why not",
          "[analysis][check]") {
    int last = 0;
    std::ostringstream table;
    for (const Trap& trap : known_traps()) {
        CAPTURE(trap.number, trap.what);
        CHECK(trap.number >= last);
        last = trap.number;
        CHECK_FALSE(trap.what.empty());
        CHECK(trap.code.empty() != trap.reason.empty());
        if (!trap.code.empty()) CHECK(is_code(trap.code));
        else CHECK(trap.reason.size() > 40);
        table << trap.number << "  " << trap.what << ": "
              << (trap.code.empty() ? trap.reason : trap.code) << '\n';
    }
    CHECK(last == 24);
    CHECK(known_traps().size() == 23);  // none bears 9 or 10, two bear 3
    WARN(table.str());
}

TEST_CASE(
    "findings: above their limit first, then the worst kinds, each by place, the same every time",
    "[analysis][check]") {
    StudyFiles study;
    study.change("mill.yaml", "8.80 m3", "9.80 m3")
        .change("mill.yaml", "amount: 1.1 GJ LHV", "amount: 0.9 GJ LHV")
        .change("mill.yaml", "grid: {amount: 120 kWh, amount_is: metered}", "grid: 120 kWh")
        .after("study.yaml", "electricity: location",
               "rules: {id: own, version: \"1\", limits: {amount_unstated: 1 %, balance_water: 50 "
               "%}}");
    const CheckReport first = study.check();
    std::vector<std::string> codes;
    for (const Finding& finding : first.findings) codes.push_back(finding.code);
    CHECK(codes ==
          std::vector<std::string>{"amount-unstated", "energy-above-input", "range-boiler"});
    CHECK(first.findings[0].above_limit());
    const CheckReport second = study.check();
    REQUIRE(second.findings.size() == first.findings.size());
    for (std::size_t i = 0; i < first.findings.size(); ++i)
        CHECK(first.findings[i].message == second.findings[i].message);
}

TEST_CASE("findings never change a figure", "[analysis][check]") {
    Study study;
    load_study(DECKLE_SOURCE_DIR "/inventories/worked_example", study);
    const Evaluation at = evaluate(study.graph);
    const Evaluation before = at;
    const std::size_t nodes = study.graph.size();
    (void)check_study(study, at);
    CHECK(study.graph.size() == nodes);
    CHECK(at.value == before.value);
}

TEST_CASE("periods are read as years (by hand)", "[analysis][check]") {
    using checking::years_of;
    CHECK(years_of("2025-01-01 .. 2025-12-31")->from == 2025.0);
    CHECK(years_of("2025-01-01 .. 2025-12-31")->to == Approx(2026.0).epsilon(1e-12));
    CHECK(years_of("2019 .. 2021")->to == 2022.0);
    CHECK(years_of("2024-07 .. 2025-06")->from == Approx(2024.0 + 182.0 / 366.0));
    CHECK(years_of("2024-07 .. 2025-06")->to == Approx(2025.0 + 181.0 / 365.0));
    CHECK_FALSE(years_of("average of 2018 and 2020"));
    CHECK_FALSE(years_of("last year"));
    CHECK_FALSE(years_of(""));
    CHECK_FALSE(years_of("20251"));
}
