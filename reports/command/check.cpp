#include "engine/analysis/check.h"

#include <algorithm>

#include "engine/analysis/spot_check.h"
#include "reports/check_report.h"
#include "reports/command/run.h"
#include "reports/command/verb_run.h"
#include "reports/spot_check_report.h"

namespace deckle::command {
namespace {

std::string report(const Arguments& arguments, const Study& study, const CheckReport& found) {
    const std::string form = arguments.one("--format");
    if (form == "json") return check_json(found, study, program_name());
    if (form == "csv") return check_csv(found, study);
    return check_text(found, study, report_style(arguments));
}

std::string deviation_report(const Arguments& arguments, const Study& study,
                             const std::vector<Deviations>& found) {
    const std::string form = arguments.one("--format");
    if (form == "json") return deviations_json(found, study, program_name());
    if (form == "csv") return deviations_csv(found);
    return deviations_text(found, report_style(arguments));
}

std::vector<FoundValue> found_values(Files& files, const std::string& path) {
    Problems problems;
    auto found = read_found(files, files.read(path), problems);
    problems.throw_if_any();
    return found;
}

/// Bad rows stand in the file of what was found, all else in the study's.
int guarded_rows(const Files& files, const std::function<void()>& work) {
    try {
        work();
        return exit_done;
    } catch (const InputError& error) {
        return guarded(files, [&]() -> int { throw error; });
    }
}

/// Where nobody asks for another: 5 % of a result, which verifiers often take.
constexpr double usual_limit = 0.05;

/// What a verifier found, put into the graph.
int check_found(const Arguments& arguments) {
    Files files;
    return guarded(files, [&] {
        const double limit = asked_share(arguments, "--limit").value_or(usual_limit);
        const auto found = found_values(files, arguments.one("--found"));
        std::vector<std::string> addresses;
        for (const FoundValue& one : found) addresses.push_back(one.result);
        const auto answer = [&](const Study& study, const Evaluation& at) {
            std::vector<Deviations> all;
            const int read =
                guarded_rows(files, [&] { all = deviations(study, at, found, limit); });
            if (read != exit_done) return read;
            write_report(arguments, study, deviation_report(arguments, study, all));
            const bool above = std::ranges::any_of(all, &Deviations::above_limit);
            return above ? exit_above_limit : exit_done;
        };
        return with_study(arguments, answer, scenarios_in(addresses));
    });
}

}  // namespace

int run_check(const Arguments& arguments) {
    if (arguments.has("--found")) return check_found(arguments);
    if (arguments.has("--limit"))
        refuse_usage("--limit is of deviations, but none were typed",
                     "add --found FILE; limits of findings stand in the study's rules");
    const auto answer = [&](const Study& study, const Evaluation& at) {
        require_limits(study);
        const CheckReport found = check_study(study, at);
        write_report(arguments, study, report(arguments, study, found));
        return found.above_limit() ? exit_above_limit : exit_done;
    };
    return with_study(arguments, answer, {.all = true});
}

}  // namespace deckle::command
