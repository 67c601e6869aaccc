#include "reports/workbook.h"

#include "reports/command/run.h"
#include "reports/command/terminal.h"
#include "reports/command/verb_run.h"

namespace deckle::command {

int run_workbook(const Arguments& arguments) {
    FootprintQuestion question;
    question.scenarios = arguments.all("--scenario");
    question.products = arguments.all("--product");
    question.pers = arguments.all("--per");
    question.indicators = arguments.all("--indicator");
    question.view = asked_view(arguments);
    if (arguments.one("--output").empty()) {
        refuse_usage("a workbook is no text for a terminal", "say where to: -o study.xlsx");
    }
    const auto answer = [&](const Study& study, const Evaluation& at) {
        write_report(arguments, study, workbook(study, at, question, program_name()));
        return exit_done;
    };
    return with_study(arguments, answer, {.all = false, .ids = question.scenarios});
}

}  // namespace deckle::command
