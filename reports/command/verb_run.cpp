#include "reports/command/verb_run.h"

#include <fmt/format.h>
#include <spdlog/sinks/stdout_sinks.h>
#include <spdlog/spdlog.h>
#include <unistd.h>

#include <algorithm>
#include <exception>
#include <new>

#include "engine/analysis/asked.h"
#include "reports/command/output.h"
#include "reports/command/terminal.h"
#include "reports/inert.h"

namespace deckle::command {
namespace {

/// Messages name what was typed in files: every one on a line of its own and without effect.
Problem made_inert(Problem problem) {
    problem.message = inert(problem.message);
    problem.hint = inert(problem.hint);
    return problem;
}

void say(std::string_view text) {
    const Style style = style_of_stream(STDERR_FILENO);
    std::string shown = inert_lines(text);
    if (style.colour) {
        constexpr std::string_view word = "error:";
        for (std::size_t at = 0; (at = shown.find(word, at)) != std::string::npos;) {
            const bool starts = at == 0 || shown[at - 1] == '\n' || shown[at - 1] == ' ';
            const std::string marked = starts ? style.alarm(word) : std::string(word);
            shown.replace(at, word.size(), marked);
            at += marked.size();
        }
    }
    fmt::print(stderr, "{}", shown);
}

/// Output that cannot be written is told alone: by then everything was computed.
int say_input_error(const InputError& error, const Files& files) {
    std::vector<Problem> problems;
    std::ranges::transform(error.problems, std::back_inserter(problems), made_inert);
    const bool computed = problems.size() == 1 && (problems.front().code == cannot_write ||
                                                   problems.front().code == file_exists);
    say(computed ? problem_text(problems.front(), files) : problems_text(problems, files));
    return exit_bad_input;
}

int say_no_answer(const NoAnswer& error, const Files& files) {
    say(problem_text(made_inert(error.problem), files));
    return exit_no_answer;
}

int say_defect(std::string_view what) {
    say(
        fmt::format("error: deckle itself is at fault: {} [defect]\n"
                    "    hint: please report this, with the study if you may\n",
                    inert(what)));
    return exit_defect;
}

/// Log messages for the curious, on standard error; without --verbose there are none.
std::shared_ptr<spdlog::logger> logger(const Arguments& arguments) {
    auto log = std::make_shared<spdlog::logger>("deckle",
                                                std::make_shared<spdlog::sinks::stderr_sink_mt>());
    log->set_pattern("deckle: %v (after %o ms)");
    log->set_level(arguments.has("--verbose") ? spdlog::level::info : spdlog::level::off);
    return log;
}

}  // namespace

std::string program_name() { return "deckle " DECKLE_VERSION; }

int guarded(const Files& files, const std::function<int()>& work) {
    try {
        return work();
    } catch (const InputError& error) {
        return say_input_error(error, files);
    } catch (const NoAnswer& error) {
        return say_no_answer(error, files);
    } catch (const std::bad_alloc&) {
        return say_no_answer(
            NoAnswer({{},
                      Severity::error,
                      "out-of-memory",
                      "the computer has no more memory for this",
                      "fewer scenarios, products or draws at a time; or a smaller study",
                      {}}),
            files);
    } catch (const std::exception& error) {
        return say_defect(error.what());
    }
}

int with_study(const Arguments& arguments,
               const std::function<int(const Study&, const Evaluation&)>& work,
               const ScenarioChoice& scenarios) {
    Study study;
    return guarded(study.files, [&] {
        const auto log = logger(arguments);
        Evaluation at;
        {
            const Progress progress("reading " + arguments.one("STUDY"));
            log->info("reading {}", inert(arguments.one("STUDY")));
            load_study(arguments.one("STUDY"), study, scenarios);
            log->info("{} files make {} numbers and {} results", study.files.count(),
                      study.graph.size(), study.results.size());
            at = evaluate(study.graph);
            log->info("evaluated");
        }
        const int status = work(study, at);
        log->info("written");
        return status;
    });
}

ScenarioChoice scenarios_in(const std::vector<std::string>& addresses) {
    ScenarioChoice choice{.all = false};
    for (const std::string& address : addresses) {
        for (const std::string_view head : {"results@", "scenarios."}) {
            if (!address.starts_with(head)) continue;
            const std::string rest = address.substr(head.size());
            choice.ids.push_back(rest.substr(0, rest.find('.')));
        }
    }
    return choice;
}

std::optional<double> asked_share(const Arguments& arguments, const char* option) {
    if (!arguments.has(option)) return std::nullopt;
    const double share = asked_value(arguments.one(option), Unit{}, option);
    if (share > 0.0 && share <= 1.0) return share;
    refuse_usage(fmt::format("{} is a share above 0, at most 100 %", option),
                 fmt::format("for example {} '5 %'", option));
}

std::optional<ElectricityView> asked_view(const Arguments& arguments) {
    const std::string typed = arguments.one("--electricity");
    if (typed.empty()) return std::nullopt;
    return typed == "market" ? ElectricityView::market : ElectricityView::location;
}

Style report_style(const Arguments& arguments) {
    const std::string target = arguments.one("--output");
    return target.empty() || target == "-" ? style_of_stream(STDOUT_FILENO) : Style{};
}

void write_report(const Arguments& arguments, const Study& study, const std::string& text) {
    const std::string target = arguments.one("--output");
    write_output(target.empty() ? "-" : target, text, study.files);
}

}  // namespace deckle::command
