#include "reports/footprint.h"

#include <algorithm>

#include "reports/command/run.h"
#include "reports/command/terminal.h"
#include "reports/command/verb_run.h"

namespace deckle::command {
namespace {

FootprintQuestion footprint_question(const Arguments& arguments) {
    FootprintQuestion question;
    question.scenarios = arguments.all("--scenario");
    if (question.scenarios.empty()) question.scenarios = {"today"};
    question.products = arguments.all("--product");
    question.pers = arguments.all("--per");
    question.indicators = arguments.all("--indicator");
    question.process = arguments.one("--process");
    for (const auto& name : arguments.all("--by")) question.by.push_back(*breakout_by(name));
    question.view = asked_view(arguments);
    return question;
}

void check_question(const FootprintQuestion& question) {
    const bool by_user = std::ranges::find(question.by, BreakoutBy::user) != question.by.end();
    if (!question.process.empty() && (!question.products.empty() || !question.pers.empty())) {
        refuse_usage("--process asks for what it makes, per its own unit",
                     "leave --product and --per out");
    }
    if (!question.process.empty() && !by_user) {
        refuse_usage("--process asks what a process buys, but --by user was not typed",
                     "add --by user");
    }
}

std::string report(const Arguments& arguments, const Study& study, const Evaluation& at,
                   FootprintQuestion question) {
    const std::string form = arguments.one("--format");
    if (form == "json") {
        return footprint_json(ask_footprint(study, at, std::move(question)), program_name());
    }
    if (form == "csv") return footprint_csv(ask_footprint(study, at, std::move(question)));
    std::string text;
    const std::vector<std::string> scenarios = question.scenarios;
    for (const std::string& scenario : scenarios) {  // one report after the other
        question.scenarios = {scenario};
        const Footprint found = ask_footprint(study, at, at_a_glance(study, question));
        text += (text.empty() ? "" : "\n") + footprint_text(found, report_style(arguments));
    }
    return text;
}

}  // namespace

int run_footprint(const Arguments& arguments) {
    FootprintQuestion question = footprint_question(arguments);
    check_question(question);
    const auto answer = [&](const Study& study, const Evaluation& at) {
        question = narrowed_to_process(study, std::move(question));
        write_report(arguments, study, report(arguments, study, at, std::move(question)));
        return exit_done;
    };
    return with_study(arguments, answer, {.all = false, .ids = question.scenarios});
}

}  // namespace deckle::command
