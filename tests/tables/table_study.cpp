#include "tests/tables/table_study.h"

#include <fmt/format.h>

#include "engine/analysis/breakout.h"

namespace deckle::test {
namespace {

std::string study_text(const Book& book) {
    std::string files;
    for (const char* set : {"climate_ar4", "climate_ar5", "climate_ar6"})
        files += fmt::format("{}/factors/{}.yaml, ", DECKLE_SOURCE_DIR, set);
    for (const std::string& table : book.shipped)
        files += fmt::format("{}/factors/{}.yaml, ", DECKLE_SOURCE_DIR, table);
    return fmt::format(
        "study: questions\ntitle: Questions\ncharacterization: {}\n{}{}"
        "factors: [{}own.yaml]\nmills: [mill.yaml]\n",
        book.characterization, book.scarcity.empty() ? "" : "scarcity: " + book.scarcity + "\n",
        book.more, files);
}

std::string own_text(const Book& book) {
    return "table: own\ntitle: Factors of a test\nsource: {title: Cited beside each test, year: "
           "2026}\nfactors:\n  not_used: {title: X, kind: other, per: 1 kg}\n" +
           book.own;
}

std::string mill_text(const Questions& questions) {
    std::string text = "mill: m\ntitle: M\nprocesses:\n";
    for (const auto& [name, used] : questions)
        text += fmt::format("  p_{}: {{stage: energy, makes: {{{}: 1 piece}}, uses: {{{}}}}}\n",
                            name, name, used);
    return text;
}

MemoryStudy::Texts files_of(const Book& book, const Questions& questions) {
    MemoryStudy::Texts files{{"study.yaml", study_text(book)},
                             {"own.yaml", own_text(book)},
                             {"mill.yaml", mill_text(questions)}};
    files.insert(files.end(), book.beside.begin(), book.beside.end());
    return files;
}

}  // namespace

Answers::Answers(const Book& book, const Questions& questions)
    : MemoryStudy(files_of(book, questions)) {}

double Answers::of_gas(const std::string& name, const std::string& gas) const {
    const Result* climate = study.result(name, "piece", "climate");
    REQUIRE(climate != nullptr);
    for (const Contribution& row :
         break_out(study, at, *climate, climate->node, BreakoutBy::gas).rows) {
        if (row.name == gas) return row.value;
    }
    FAIL("no " << gas << " in " << name);
    return 0.0;
}

Coverage Answers::coverage(const std::string& name, const std::string& indicator) const {
    const Result* found = study.result(name, "piece", indicator);
    INFO(name << " " << indicator);
    REQUIRE(found != nullptr);
    return found->coverage;
}

std::vector<std::string> problems_of(const Book& book, const Questions& questions) {
    std::vector<std::string> codes;
    try {
        (void)Answers(book, questions);
    } catch (const InputError& error) {
        for (const Problem& problem : error.problems) codes.push_back(problem.code);
    }
    return codes;
}

}  // namespace deckle::test
