#include "engine/analysis/sensitivity.h"

#include <thread>

#include "reports/command/run.h"
#include "reports/command/terminal.h"
#include "reports/command/verb_run.h"
#include "reports/sensitivity_report.h"

namespace deckle::command {
namespace {

constexpr int usual_largest = 20;

SensitivityQuestion sensitivity_question(const Arguments& arguments) {
    SensitivityQuestion question;
    question.result = arguments.one("RESULT");
    if (arguments.has("--rank")) question.rank = *sensitivity_rank(arguments.one("--rank"));
    const bool text = !arguments.has("--format") || arguments.one("--format") == "text";
    question.largest =
        static_cast<std::size_t>(arguments.number("--largest", text ? usual_largest : 0));
    if (arguments.has("--step")) {
        question.step = asked_value(arguments.one("--step"), Unit{}, "--step");
        if (!(question.step > 0.0 && question.step <= 1.0))
            refuse_usage("--step is a share above 0, at most 100 %", "for example --step '5 %'");
    }
    return question;
}

SobolQuestion sobol_question(const Arguments& arguments) {
    SobolQuestion question;
    question.rows = static_cast<std::uint64_t>(arguments.number("--sobol", 0));
    question.seed = static_cast<std::uint64_t>(arguments.number("--seed", 1));
    question.threads = std::thread::hardware_concurrency();
    return question;
}

void check_sensitivity_usage(const Arguments& arguments) {
    if (!arguments.has("--sobol")) {
        if (arguments.has("--seed"))
            refuse_usage("--seed chooses draws, but none are asked for", "add --sobol N");
        return;
    }
    const auto rows = static_cast<std::uint64_t>(arguments.number("--sobol", 0));
    if (rows < least_sobol_rows)
        refuse_usage("--sobol needs 64 rows at least", "4096 rows give errors of a few hundredths");
}

std::string written(const Arguments& arguments, const SensitivityReport& report,
                    const Study& study) {
    const std::string form = arguments.one("--format");
    if (form == "json") return sensitivity_json(report, study, program_name());
    if (form == "csv") return sensitivity_csv(report, study);
    return sensitivity_text(report, study, report_style(arguments));
}

}  // namespace

int run_sensitivity(const Arguments& arguments) {
    check_sensitivity_usage(arguments);
    const SensitivityQuestion question = sensitivity_question(arguments);
    const auto answer = [&](const Study& study, const Evaluation& at) {
        SensitivityReport report;
        report.typed = question.result;
        report.found = sensitivity(study, at, question);
        if (arguments.has("--sobol")) {
            const Progress progress("drawing");
            report.sobol =
                sobol_indices(study.graph, at, report.found.asked.node, sobol_question(arguments));
        }
        write_report(arguments, study, written(arguments, report, study));
        return exit_done;
    };
    return with_study(arguments, answer, scenarios_in({arguments.one("RESULT")}));
}

}  // namespace deckle::command
