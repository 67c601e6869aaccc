#include "engine/analysis/difference.h"

#include "reports/command/run.h"
#include "reports/command/terminal.h"
#include "reports/command/verb_run.h"
#include "reports/difference_report.h"
#include "reports/seal/seal.h"

namespace deckle::command {
namespace {

std::string difference_written(const Arguments& arguments, const DifferenceReport& report) {
    const std::string form = arguments.one("--format");
    if (form == "json") return difference_json(report, program_name());
    if (form == "csv") return difference_csv(report);
    return difference_text(report, report_style(arguments));
}

DifferenceQuestion difference_question(const Arguments& arguments) {
    DifferenceQuestion question;
    question.results = arguments.all("--result");
    question.limit = asked_share(arguments, "--limit");
    return question;
}

int answer_difference(const Arguments& arguments, const EvaluatedStudy& was,
                      const EvaluatedStudy& now) {
    const Difference found = [&] {
        const Progress progress("walking both graphs");
        return difference(was, now, difference_question(arguments));
    }();
    const DifferenceReport report{&found, &was.study->head, &now.study->head, arguments.one("OLD"),
                                  arguments.one("NEW")};
    write_report(arguments, *now.study, difference_written(arguments, report));
    return found.has_findings() ? exit_above_limit : exit_done;
}

}  // namespace

int run_difference(const Arguments& arguments) {
    Study was, now;
    const ScenarioChoice choice = scenarios_in(arguments.all("--result"));
    return guarded(was.files, [&] {
        load_study_or_seal(arguments.one("OLD"), was, choice);
        const Evaluation at_was = evaluate(was.graph);
        return guarded(now.files, [&] {
            load_study_or_seal(arguments.one("NEW"), now, choice);
            const Evaluation at_now = evaluate(now.graph);
            return answer_difference(arguments, {&was, &at_was}, {&now, &at_now});
        });
    });
}

}  // namespace deckle::command
