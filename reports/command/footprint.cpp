#include "reports/footprint.h"

#include <algorithm>

#include "reports/command/run.h"
#include "reports/command/terminal.h"
#include "reports/command/verb_run.h"

namespace deckle::command {
namespace {

FootprintQuestion question_of(const Arguments& arguments) {
    FootprintQuestion question;
    question.products = arguments.all("--product");
    question.pers = arguments.all("--per");
    question.indicators = arguments.all("--indicator");
    question.process = arguments.one("--process");
    for (const auto& name : arguments.all("--by")) question.by.push_back(*breakout_by(name));
    const std::string view = arguments.one("--electricity");
    if (view == "market") question.view = ElectricityView::market;
    if (view == "location") question.view = ElectricityView::location;
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
    question = at_a_glance(study, std::move(question));
    return footprint_text(ask_footprint(study, at, std::move(question)), report_style(arguments));
}

}  // namespace

int run_footprint(const Arguments& arguments) {
    FootprintQuestion question = question_of(arguments);
    check_question(question);
    return with_study(arguments, [&](const Study& study, const Evaluation& at) {
        question = narrowed_to_process(study, std::move(question));
        write_report(arguments, study, report(arguments, study, at, std::move(question)));
        return exit_done;
    });
}

}  // namespace deckle::command
