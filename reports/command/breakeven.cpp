#include "engine/analysis/breakeven.h"

#include <fmt/format.h>

#include "reports/breakeven_report.h"
#include "reports/command/run.h"
#include "reports/command/verb_run.h"

namespace deckle::command {
namespace {

/// The n-th of what was typed, or "".
std::string nth(const std::vector<std::string>& typed, std::size_t n) {
    return n < typed.size() ? typed[n] : std::string();
}

void check_breakeven_usage(const Arguments& arguments) {
    const std::size_t inputs = arguments.all("--input").size();
    if (inputs == 0) {
        refuse_usage("breakeven needs --input ADDRESS: the input whose value is looked for",
                     "deckle sensitivity lists the inputs that a result rests on");
    }
    if (inputs > 2) refuse_usage("--input can be typed twice at most", "");
    for (const char* end : {"--from", "--to"}) {
        const std::size_t typed = arguments.all(end).size();
        if (typed != 0 && typed != inputs) {
            refuse_usage(fmt::format("{} was typed {} times for {} inputs", end, typed, inputs),
                         "type it once for every --input, in their order, or not at all");
        }
    }
    const bool index = arguments.has("--index");
    if (index != arguments.has("--against")) {
        refuse_usage("--index and --against belong together",
                     "for example --index 93 --against results.bath_2ply.t.climate");
    }
    if (index == arguments.has("--equal-to")) {
        refuse_usage(index ? "--equal-to and --index exclude each other"
                           : "breakeven needs --equal-to, or --index with --against",
                     "--equal-to takes another result or a value such as '900 kg CO2e'");
    }
}

BreakevenQuestion breakeven_question(const Arguments& arguments) {
    BreakevenQuestion question;
    question.result = arguments.one("RESULT");
    question.equal_to = arguments.one("--equal-to");
    question.index = arguments.one("--index");
    question.against = arguments.all("--against");
    const auto inputs = arguments.all("--input");
    for (std::size_t n = 0; n < inputs.size(); ++n) {
        question.along.push_back(
            {inputs[n], nth(arguments.all("--from"), n), nth(arguments.all("--to"), n)});
    }
    return question;
}

std::string written(const Arguments& arguments, const Breakeven& found, const Study& study) {
    const std::string form = arguments.one("--format");
    if (form == "json") return breakeven_json(found, study, program_name());
    if (form == "csv") return breakeven_csv(found);
    return breakeven_text(found, study, report_style(arguments));
}

}  // namespace

int run_breakeven(const Arguments& arguments) {
    check_breakeven_usage(arguments);
    const BreakevenQuestion question = breakeven_question(arguments);
    std::vector<std::string> addresses = arguments.all("--input");
    for (const std::string_view name : {"RESULT", "--equal-to"})
        addresses.push_back(arguments.one(name));
    for (const std::string& reference : arguments.all("--against")) addresses.push_back(reference);
    const auto answer = [&](const Study& study, const Evaluation& at) {
        const Breakeven found = breakeven(study, at, question);
        write_report(arguments, study, written(arguments, found, study));
        return exit_done;
    };
    return with_study(arguments, answer, scenarios_in(addresses));
}

}  // namespace deckle::command
