// deckle factors: what a study can use. Reads its files and builds nothing, so that it answers
// while a mill still names a factor that there is not.
#include "engine/study/model.h"
#include "reports/command/run.h"
#include "reports/command/verb_run.h"
#include "reports/factor_list.h"

namespace deckle::command {
namespace {

std::string report(const Arguments& arguments, const FactorList& list) {
    const std::string form = arguments.one("--format");
    if (form == "json") return factor_list_json(list, program_name());
    if (form == "csv") return factor_list_csv(list);
    return factor_list_text(list, report_style(arguments));
}

}  // namespace

int run_factors(const Arguments& arguments) {
    Study study;
    return guarded(study.files, [&] {
        const auto model = std::make_shared<StudyModel>();
        study.model = model;
        Problems problems;
        read_study(arguments.one("STUDY"), study.files, *model, problems);
        problems.throw_if_any();
        const FactorList list =
            list_factors(*model, study.files, {arguments.all("WORD"), arguments.all("--kind")});
        write_report(arguments, study, report(arguments, list));
        return exit_done;
    });
}

}  // namespace deckle::command
