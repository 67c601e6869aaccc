// The deckle command: finds the verb, reads its arguments, runs it.
#include <fmt/format.h>
#include <unistd.h>

#include <array>
#include <string>
#include <vector>

#include "engine/text/nearest.h"
#include "reports/command/arguments.h"
#include "reports/command/help.h"
#include "reports/command/output.h"
#include "reports/command/run.h"
#include "reports/command/terminal.h"
#include "reports/command/verb_run.h"
#include "reports/command/verbs.h"
#include "reports/inert.h"

namespace deckle::command {
namespace {

struct Runner {
    std::string_view verb;
    int (*run)(const Arguments&);
};

constexpr auto runners = std::to_array<Runner>({{"footprint", run_footprint},
                                                {"trace", run_trace},
                                                {"check", run_check},
                                                {"compare", run_compare},
                                                {"factors", run_factors},
                                                {"uncertainty", run_uncertainty},
                                                {"merge", run_merge},
                                                {"sensitivity", run_sensitivity},
                                                {"breakeven", run_breakeven},
                                                {"seal", run_seal},
                                                {"verify", run_verify},
                                                {"keys", run_keys},
                                                {"difference", run_difference},
                                                {"sample", run_sample},
                                                {"workbook", run_workbook},
                                                {"disclose", run_disclose},
                                                {"page", run_page},
                                                {"demonstration", run_demonstration}});

int print(const std::string& text) {
    write_output("-", text, {});
    return exit_done;
}

[[noreturn]] void refuse_verb(const std::string& typed) {
    std::vector<std::string> known;
    for (const VerbRow& verb : verbs()) known.emplace_back(verb.name);
    const std::string near = did_you_mean(typed, known);
    refuse_usage(fmt::format("deckle has no verb `{}`", inert(typed)),
                 near.empty() ? fmt::format("it has {}", fmt::join(known, ", ")) : near);
}

int run_verb(const VerbRow& verb, const std::vector<std::string>& typed) {
    const Arguments arguments = read_arguments(verb, typed);
    if (arguments.has("--help")) return print(verb_help(verb, style_of_stream(STDOUT_FILENO)));
    for (const Runner& runner : runners) {
        if (runner.verb == verb.name) return runner.run(arguments);
    }
    throw std::logic_error(fmt::format("nothing runs the verb {}", verb.name));
}

int run(const std::vector<std::string>& words) {
    if (words.empty()) refuse_usage("deckle needs a verb", "see deckle --help");
    const std::string& first = words.front();
    if (first == "--help" || first == "-h")
        return print(program_help(style_of_stream(STDOUT_FILENO)));
    if (first == "--version") return print(program_name() + "\n");
    const VerbRow* verb = find_verb(first);
    if (verb == nullptr) refuse_verb(first);
    return run_verb(*verb, {words.begin() + 1, words.end()});
}

}  // namespace
}  // namespace deckle::command

int main(int count, char** words) {
    using namespace deckle;
    command::secure_standard_streams();
    const std::vector<std::string> typed(words + (count > 0 ? 1 : 0), words + count);
    return command::guarded(Files(), [&] { return command::run(typed); });
}
