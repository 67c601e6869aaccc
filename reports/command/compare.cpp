#include "engine/analysis/compare.h"

#include "reports/command/run.h"
#include "reports/command/verb_run.h"
#include "reports/compare_report.h"

namespace deckle::command {
namespace {

ComparisonQuestion comparison_question(const Arguments& arguments) {
    ComparisonQuestion question;
    question.scenarios = arguments.all("--scenario");
    question.products = arguments.all("--product");
    question.indicators = arguments.all("--indicator");
    question.equal = arguments.one("--equal");
    question.references = arguments.all("--reference");
    question.other_rules = arguments.has("--other-rules");
    question.view = asked_view(arguments);
    return question;
}

/// Those asked for, and those of references.
std::vector<std::string> scenarios_of(const ComparisonQuestion& question) {
    std::vector<std::string> ids = question.scenarios;
    for (const std::string& reference : question.references) {
        if (const std::size_t sign = reference.find('@'); sign != std::string::npos)
            ids.push_back(reference.substr(sign + 1));
    }
    return ids;
}

std::string report(const Arguments& arguments, const Compared& found) {
    const std::string form = arguments.one("--format");
    if (form == "json") return compare_json(found, program_name());
    if (form == "csv") return compare_csv(found);
    return compare_text(found, report_style(arguments));
}

}  // namespace

int run_compare(const Arguments& arguments) {
    const ComparisonQuestion question = comparison_question(arguments);
    const auto answer = [&](const Study& study, const Evaluation& at) {
        write_report(arguments, study, report(arguments, compare(study, at, question)));
        return exit_done;
    };
    return with_study(arguments, answer, {.all = false, .ids = scenarios_of(question)});
}

}  // namespace deckle::command
