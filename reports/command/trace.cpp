#include "engine/analysis/trace.h"

#include "reports/command/run.h"
#include "reports/command/verb_run.h"
#include "reports/trace_report.h"

namespace deckle::command {
int run_trace(const Arguments& arguments) {
    const bool json = arguments.one("--format") == "json";
    TraceOptions options{.depth = arguments.number("--depth", 0),
                         .largest = arguments.number("--largest", 0)};
    const bool glance = !json && options.depth == 0 && options.largest == 0;
    if (glance) options = trace_at_a_glance;
    const auto answer = [&](const Study& study, const Evaluation& at) {
        const Trace found = trace(study, at, arguments.one("ADDRESS"), options);
        write_report(arguments, study,
                     json ? trace_json(found, study, program_name())
                          : trace_text(found, study, at, report_style(arguments)) +
                                (glance ? glance_note(found, report_style(arguments)) : ""));
        return exit_done;
    };
    return with_study(arguments, answer, scenarios_in({arguments.one("ADDRESS")}));
}

}  // namespace deckle::command
