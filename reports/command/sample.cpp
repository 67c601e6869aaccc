#include "engine/analysis/spot_check.h"
#include "reports/command/run.h"
#include "reports/command/verb_run.h"
#include "reports/spot_check_report.h"

namespace deckle::command {
namespace {

SpotQuestion spot_question(const Arguments& arguments) {
    SpotQuestion question;
    question.result = arguments.one("RESULT");
    question.share = asked_share(arguments, "--share").value_or(question.share);
    question.random =
        static_cast<std::size_t>(arguments.number("--random", static_cast<int>(question.random)));
    question.seed = static_cast<std::uint64_t>(arguments.number("--seed", 1));
    return question;
}

std::string spots_written(const Arguments& arguments, const SpotCheck& check, const Study& study) {
    const std::string form = arguments.one("--format");
    if (form == "json") return spot_check_json(check, study, program_name());
    if (form == "csv") return spot_check_csv(check, study);
    return spot_check_text(check, study, report_style(arguments));
}

}  // namespace

int run_sample(const Arguments& arguments) {
    const auto answer = [&](const Study& study, const Evaluation& at) {
        const SpotCheck check = spot_check(study, at, spot_question(arguments));
        write_report(arguments, study, spots_written(arguments, check, study));
        return exit_done;
    };
    return with_study(arguments, answer, scenarios_in({arguments.one("RESULT")}));
}

}  // namespace deckle::command
