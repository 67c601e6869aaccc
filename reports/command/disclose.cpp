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
        arguments.has("--folder"))
        refuse_usage("--check tells what is wrong with files, as text or JSON",
                     "leave --product, --folder and other formats out");
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

std::string written(const std::string& form, const Study& study,
                    const std::vector<DeclaredFigures>& figures,
                    const std::vector<Declaration>& all) {
    if (form != "html" && form != "markdown") return declarations_json(all);
    std::vector<DisclosureReport> reports;
    for (const DeclaredFigures& one : figures)
        reports.push_back(disclosure_report(study, one, program_name()));
    return form == "html" ? disclosure_html(reports) : disclosure_markdown(reports);
}

/// One file a product, by its id.
void write_folder(const Arguments& arguments, const Study& study,
                  const std::vector<DeclaredFigures>& figures,
                  const std::vector<Declaration>& all) {
    const std::string form = arguments.one("--format");
    const std::string_view end = form == "html" ? "html" : form == "markdown" ? "md" : "json";
    Texts files;
    for (std::size_t i = 0; i < all.size(); ++i)
        files.emplace(fmt::format("{}.{}", all[i].of, end),
                      written(form, study, {figures[i]}, {all[i]}));
    write_new_folder(arguments.one("--folder"), files);
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
    return with_study(arguments, [&](const Study& study, const Evaluation& at) {
        const auto figures = declared_figures(study, at, arguments.all("--product"));
        const auto all = declarations(study, figures);
        if (arguments.has("--folder")) write_folder(arguments, study, figures, all);
        else
            write_report(arguments, study, written(arguments.one("--format"), study, figures, all));
        say_findings(all, study.files);
        return exit_done;
    });
}

}  // namespace deckle::command
