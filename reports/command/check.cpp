#include "engine/analysis/check.h"

#include "reports/check_report.h"
#include "reports/command/run.h"
#include "reports/command/verb_run.h"

namespace deckle::command {
namespace {

std::string report(const Arguments& arguments, const Study& study, const CheckReport& found) {
    const std::string form = arguments.one("--format");
    if (form == "json") return check_json(found, study, program_name());
    if (form == "csv") return check_csv(found, study);
    return check_text(found, study, report_style(arguments));
}

}  // namespace

int run_check(const Arguments& arguments) {
    const auto answer = [&](const Study& study, const Evaluation& at) {
        const CheckReport found = check_study(study, at);
        write_report(arguments, study, report(arguments, study, found));
        return found.above_limit() ? exit_above_limit : exit_done;
    };
    return with_study(arguments, answer, {.all = true});
}

}  // namespace deckle::command
