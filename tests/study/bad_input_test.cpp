// Bad input: every problem that a study's files can cause is reported with its place, code, message
// and hint, alone, and by the right kind of error. The cases stand in tests/data/bad/*.cases.
#include <fmt/format.h>
#include <unistd.h>

#include <catch2/catch.hpp>
#include <filesystem>
#include <map>
#include <regex>
#include <set>
#include <sstream>

#include "engine/analysis/breakout.h"
#include "engine/analysis/trace.h"
#include "engine/study/study.h"
#include "tests/study/bad_cases.h"

namespace {

using namespace deckle;
using namespace deckle::testing;
namespace fs = std::filesystem;

const fs::path source = DECKLE_SOURCE_DIR;
const fs::path bad_folder = source / "tests" / "data" / "bad";

/// A folder of this test process alone, removed at the end.
class Scratch {
public:
    Scratch() { fs::create_directories(path); }
    ~Scratch() {
        std::error_code ignored;
        fs::remove_all(path, ignored);
    }
    Scratch(const Scratch&) = delete;
    Scratch& operator=(const Scratch&) = delete;
    const fs::path path =
        fs::temp_directory_path() / fmt::format("deckle_bad_input_{}", ::getpid());
};

struct Reported {
    std::string place;  ///< "mill.yaml:12:5", "" for none
    Problem problem;
};

/// How a load ended, and what it reported; a study that loads ends with its findings.
struct Ending {
    BadCase::Ends kind = BadCase::Ends::finding;
    std::vector<Reported> reported;
};

void ask_of(const Study& study, const std::string& ask) {
    std::istringstream words(ask);
    std::string verb, address;
    words >> verb >> address;
    const Evaluation at = evaluate(study.graph);
    if (verb == "trace") (void)trace(study, at, address, {});
    for (const Result& result : study.results) {
        if (verb != "break_out" || result.address != address) continue;
        (void)break_out(study, at, result, result.node, BreakoutBy::user);
    }
}

/// A text that names files of the folder, with their paths inside it.
std::string inside(const fs::path& folder, std::string text) {
    const std::string prefix = folder.string() + "/";
    for (std::size_t at; (at = text.find(prefix)) != std::string::npos;)
        text.erase(at, prefix.size());
    return text;
}

Ending end_of(const fs::path& folder, const std::string& ask) {
    Study study;
    Ending ending;
    const auto end = [&](BadCase::Ends kind, const std::vector<Problem>& problems) {
        ending.kind = kind;
        for (Problem problem : problems) {
            problem.message = inside(folder, problem.message);
            ending.reported.push_back({inside(folder, study.files.where(problem.where)), problem});
        }
    };
    try {
        load_study(folder.string(), study);
        if (!ask.empty()) ask_of(study, ask);
        std::vector<Problem> findings = study.findings;
        for (const Scenario& scenario : study.scenarios)
            findings.insert(findings.end(), scenario.findings.begin(), scenario.findings.end());
        end(BadCase::Ends::finding, findings);
    } catch (const InputError& error) {
        end(BadCase::Ends::input_error, error.problems);
    } catch (const NoAnswer& error) {
        end(BadCase::Ends::no_answer, {error.problem});
    }
    return ending;
}

std::string summary(const Ending& ending) {
    std::string text;
    for (const Reported& one : ending.reported) {
        text += fmt::format("\n  {} {}: {} / {}", one.place, one.problem.code, one.problem.message,
                            one.problem.hint);
    }
    return text;
}

void compare(const BadCase& bad, const Ending& ending) {
    INFO(bad.where << ": " << bad.name << summary(ending));
    CHECK(ending.kind == bad.ends);
    CHECK(ending.reported.size() == bad.problems.size());
    if (ending.reported.size() != bad.problems.size()) return;
    for (std::size_t i = 0; i < bad.problems.size(); ++i) {
        const Reported& found = ending.reported[i];
        const ExpectedProblem& expected = bad.problems[i];
        CHECK(found.place == expected.place);
        CHECK(found.problem.code == expected.code);
        CHECK_FALSE(expected.says.empty());
        for (const auto& part : expected.says)
            CHECK_THAT(found.problem.message, Catch::Contains(part));
        for (const auto& part : expected.hints)
            CHECK_THAT(found.problem.hint, Catch::Contains(part));
    }
}

/// Words with hyphens in the engine's sources that are no codes.
const std::set<std::string> no_codes{"world-eq", "cut-off", "s-1"};

/// Codes that no file of a study can cause, and why.
const std::map<std::string, std::string> unreachable{
    {"unreadable-file", "a file whose reading fails half-way: a faulty disk, or no permission"},
    {"bad-lanes", "an environment variable of the tests"},
    {"draw-outside-bounds", "the reader refuses such a spread first; tests/graph/lanes_test.cpp"},
    {"no-spread", "asked on the command line: tests/command/problem_codes_test.py"},
    {"no-variance", "asked on the command line: tests/command/problem_codes_test.py"},
    {"not-an-input", "asked on the command line: tests/command/problem_codes_test.py"},
    {"not-covered", "asked on the command line: tests/command/problem_codes_test.py"},
    {"not-settled", "asked on the command line: tests/command/problem_codes_test.py"},
    {"bad-index", "asked on the command line: tests/command/problem_codes_test.py"},
    {"bad-range", "asked on the command line: tests/command/problem_codes_test.py"},
    {"does-not-rest-on", "asked on the command line: tests/command/problem_codes_test.py"},
    {"no-equality", "asked on the command line: tests/command/problem_codes_test.py"},
    {"range-outside-bounds", "asked on the command line: tests/command/problem_codes_test.py"},
    {"reference-not-positive", "asked on the command line: tests/command/problem_codes_test.py"},
    {"same-input", "asked on the command line: tests/command/problem_codes_test.py"},
    {"same-result", "asked on the command line: tests/command/problem_codes_test.py"},
    {"spread-not-wanted", "asked on the command line: tests/command/problem_codes_test.py"},
    {"unknown-input", "asked on the command line: tests/command/problem_codes_test.py"},
    {"unknown-result", "asked on the command line: tests/command/problem_codes_test.py"},
    {"unlike-coverage", "asked on the command line: tests/command/problem_codes_test.py"},
    {"unlike-results", "asked on the command line: tests/command/problem_codes_test.py"},
    {"no-such-result", "asked on the command line: tests/command/problem_codes_test.py"},
    {"unknown-reference", "asked on the command line: tests/command/problem_codes_test.py"},
    {"unlike-function", "asked on the command line: tests/command/problem_codes_test.py"},
    {"unlike-rules", "asked on the command line: tests/command/problem_codes_test.py"},
    {"no-disclosure", "asked by disclose: tests/command/disclose_test.py"},
    {"undeclared-product", "asked by disclose: tests/command/disclose_test.py"},
    {"wrong-declared-unit", "asked by disclose: tests/command/disclose_test.py"},
    {"unknown-potentials", "asked by disclose: tests/command/disclose_test.py"},
    {"no-biogenic-carbon", "asked by disclose: tests/command/declared_test.py"},
    {"no-fossil-carbon", "asked by disclose: tests/command/disclose_test.py"},
    {"second-edition", "asked by disclose: tests/command/disclose_test.py"},
    {"not-added-up", "asked by disclose: tests/command/disclose_test.py"},
    {"change-above-limit", "a finding of difference: tests/command/difference_test.py"},
    {"part-above-limit", "a finding of difference: tests/command/difference_test.py"},
    {"parts-above-limit", "a finding of difference: tests/command/difference_test.py"},
    {"recalculation-due", "a finding of difference: tests/command/difference_test.py"},
    {"too-old", "a finding of difference: tests/command/difference_test.py"},
    {"outside-bounds", "asked by check --found: tests/command/sample_test.py"},
    {"property-expected", "files of others: tests/command/disclose_test.py"},
    {"property-form", "files of others: tests/command/disclose_test.py"},
    {"property-list", "files of others: tests/command/disclose_test.py"},
    {"property-sign", "files of others: tests/command/disclose_test.py"},
    {"property-type", "files of others: tests/command/disclose_test.py"},
    {"property-unknown", "files of others: tests/command/disclose_test.py"},
    {"property-word", "files of others: tests/command/disclose_test.py"},
    {"allocation-path", "a finding: tests/analysis/check_scenarios_test.cpp"},
    {"marginal-price-kept", "a finding: tests/analysis/check_scenarios_test.cpp"},
};

/// Every code in the sources of the engine; those of `check` have tests of their own.
std::set<std::string> codes_in_sources() {
    const std::regex word("\"([a-z]+[0-9]*(-[a-z0-9]+)+)\"");
    std::set<std::string> codes;
    for (const auto& entry : fs::recursive_directory_iterator(source / "engine")) {
        const std::string name = entry.path().filename().string();
        if (entry.path().extension() != ".cpp" || name.starts_with("check")) continue;
        const std::string text = read_whole(entry.path());
        for (std::sregex_iterator it(text.begin(), text.end(), word), end; it != end; ++it) {
            if (!no_codes.contains((*it)[1])) codes.insert((*it)[1]);
        }
    }
    return codes;
}

const std::vector<BadCase>& cases() {
    static const std::vector<BadCase> all = read_bad_cases(bad_folder);
    return all;
}

}  // namespace

TEST_CASE("the good study that the bad ones are made from loads without a finding",
          "[study][bad]") {
    const Ending ending = end_of(bad_folder / "good", {});
    INFO(summary(ending));
    CHECK(ending.kind == BadCase::Ends::finding);
    CHECK(ending.reported.empty());
}

TEST_CASE("each bad study is refused with place, code, message and hint", "[study][bad]") {
    const Scratch scratch;
    REQUIRE(cases().size() > 100);
    for (const BadCase& bad : cases()) {
        lay_out(bad, bad_folder / "good", scratch.path);
        compare(bad, end_of(scratch.path, bad.ask));
    }
}

TEST_CASE("every code of the engine has a bad study or a stated reason", "[study][bad]") {
    std::set<std::string> shown;
    for (const BadCase& bad : cases()) {
        for (const ExpectedProblem& problem : bad.problems) shown.insert(problem.code);
    }
    const std::set<std::string> known = codes_in_sources();
    CHECK(known.size() > 100);
    for (const std::string& code : known) {
        CAPTURE(code);
        CHECK(shown.contains(code) != unreachable.contains(code));
    }
    for (const std::string& code : shown) {
        CAPTURE(code);
        CHECK(known.contains(code));
    }
}
