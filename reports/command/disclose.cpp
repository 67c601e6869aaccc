#include <fmt/format.h>

#include "engine/analysis/declared.h"
#include "reports/command/output.h"
#include "reports/command/run.h"
#include "reports/command/verb_run.h"
#include "reports/declaration.h"
#include "reports/disclosure_report.h"
#include "reports/inert.h"

namespace deckle::command {
namespace {

int check_files(const Arguments& arguments) {
    const std::string form = arguments.one("--format");
    if (form == "html" || form == "markdown" || arguments.has("--product") ||
        arguments.has("--folder") || arguments.has("--scenario"))
        refuse_usage("--check tells what is wrong with files, as text or JSON",
                     "leave --product, --scenario, --folder and other formats out");
    Files files;
    return guarded(files, [&] {
        for (const std::string& path : arguments.all("STUDY")) (void)files.read(path);
        const DeclarationCheck check = check_declarations(files);
        const std::string target = arguments.one("--output");
        write_output(target.empty() ? "-" : target,
                     form == "json" ? declaration_check_json(check, files, program_name())
                                    : declaration_check_text(check, files),
                     files);
        return check.has_errors() ? exit_above_limit : exit_done;
    });
}

/// Findings stand apart from the file that a customer gets.
void say_findings(const std::vector<Declaration>& all, const Files& files) {
    for (const Declaration& one : all) {
        for (Problem finding : one.findings) {
            finding.message = inert(finding.message);
            finding.hint = inert(finding.hint);
            fmt::print(stderr, "{}", inert_lines(problem_text(finding, files)));
        }
    }
}

bool is_report(const std::string& form) { return form == "html" || form == "markdown"; }

std::string report_of(const std::string& form, const Study& study,
                      const std::vector<DeclaredFigures>& figures) {
    std::vector<DisclosureReport> reports;
    for (const DeclaredFigures& one : figures)
        reports.push_back(disclosure_report(study, one, program_name()));
    return form == "html" ? disclosure_html(reports) : disclosure_markdown(reports);
}

/// Products in one form or the other: reports, or the files of `all`, which a scenario has not.
std::string written(const Arguments& arguments, const Study& study,
                    const std::vector<DeclaredFigures>& figures,
                    const std::vector<Declaration>& all) {
    const std::string form = arguments.one("--format");
    return is_report(form) ? report_of(form, study, figures) : declarations_json(all);
}

/// One file a product, by its id.
void write_folder(const Arguments& arguments, const Study& study,
                  const std::vector<DeclaredFigures>& figures,
                  const std::vector<Declaration>& all) {
    const std::string form = arguments.one("--format");
    const std::string_view end = form == "html" ? "html" : form == "markdown" ? "md" : "json";
    Texts files;
    for (std::size_t i = 0; i < figures.size(); ++i) {
        std::vector<Declaration> one;
        if (!all.empty()) one.push_back(all[i]);
        files.emplace(fmt::format("{}.{}", figures[i].product->of, end),
                      written(arguments, study, {figures[i]}, one));
    }
    write_new_folder(arguments.one("--folder"), files);
}

/// "" is what was made.
std::string asked_scenario(const Arguments& arguments) {
    const std::string asked = arguments.one("--scenario");
    if (asked.empty() || asked == "today") return {};
    if (!is_report(arguments.one("--format")))
        refuse_usage("customers' systems take footprints of what was made, and a scenario was not",
                     "--format html or markdown: a report that says so");
    return asked;
}

}  // namespace

int run_disclose(const Arguments& arguments) {
    if (arguments.has("--check")) return check_files(arguments);
    if (arguments.all("STUDY").size() > 1)
        refuse_usage("several files are checked, one study is disclosed",
                     "--check for files of footprints");
    if (arguments.has("--folder") && arguments.has("--output"))
        refuse_usage("--folder has a file for each product, --output one for all",
                     "leave one of them out");
    const std::string scenario = asked_scenario(arguments);
    const auto answer = [&](const Study& study, const Evaluation& at) {
        const auto figures = declared_figures(study, at, arguments.all("--product"), scenario);
        std::vector<Declaration> all;
        if (scenario.empty()) all = declarations(study, figures);
        if (arguments.has("--folder")) write_folder(arguments, study, figures, all);
        else write_report(arguments, study, written(arguments, study, figures, all));
        say_findings(all, study.files);
        return exit_done;
    };
    ScenarioChoice choice{.all = false};
    if (!scenario.empty()) choice.ids.push_back(scenario);
    return with_study(arguments, answer, choice);
}

}  // namespace deckle::command
