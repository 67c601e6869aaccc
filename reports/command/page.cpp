#include <fmt/format.h>
#include <unistd.h>

#include <algorithm>
#include <charconv>
#include <thread>

#include "reports/command/run.h"
#include "reports/command/terminal.h"
#include "reports/command/verb_run.h"
#include "reports/inert.h"
#include "reports/page_report.h"
#include "reports/seal/seal.h"

namespace deckle::command {
namespace {

constexpr std::uint64_t most_page_draws = 1'000'000;  ///< all of them are held at once

std::uint64_t page_draws(const std::string& typed, std::uint64_t usual) {
    if (typed.empty()) return usual;
    if (typed == "none") return 0;
    std::uint64_t draws = 0;
    const auto read = std::from_chars(typed.data(), typed.data() + typed.size(), draws);
    const bool whole = read.ec == std::errc() && read.ptr == typed.data() + typed.size();
    if (!whole || draws < 2 || draws > most_page_draws) {
        refuse_usage(
            fmt::format("--draws takes a whole number or none, but `{}` was typed", inert(typed)),
            fmt::format("from 2 to {}", most_page_draws));
    }
    return draws;
}

PageQuestion page_question(const Arguments& arguments) {
    PageQuestion question;
    question.program = program_name();
    question.draws = page_draws(arguments.one("--draws"), question.draws);
    question.seed = static_cast<std::uint64_t>(arguments.number("--seed", 1));
    question.threads = std::max(1U, std::thread::hardware_concurrency());
    return question;
}

}  // namespace

int run_page(const Arguments& arguments) {
    PageQuestion question = page_question(arguments);
    const std::string target = arguments.one("--output");
    if (target.empty() && isatty(STDOUT_FILENO) != 0)
        refuse_usage("a page is no text for a terminal", "say where to: -o page.html");
    Study study;
    return guarded(study.files, [&] {
        const std::string page = [&] {
            const Progress progress("writing the page");
            question.seal = load_study_or_seal(arguments.one("STUDY"), study, {.all = true});
            return page_html(study, evaluate(study.graph), question);
        }();
        write_report(arguments, study, page);
        return exit_done;
    });
}

}  // namespace deckle::command
