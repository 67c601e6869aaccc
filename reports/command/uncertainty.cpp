#include "reports/uncertainty.h"

#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <optional>
#include <thread>

#include "reports/command/output.h"
#include "reports/command/run.h"
#include "reports/command/terminal.h"
#include "reports/command/verb_run.h"
#include "reports/inert.h"

namespace deckle::command {
namespace {

constexpr std::uint64_t fewest_draws = 2;
constexpr std::uint64_t largest_draws = 1'000'000'000;
constexpr std::uint64_t largest_seed =
    (std::uint64_t{1} << 53U) - 1;  ///< JSON readers keep no more
constexpr std::uint64_t most_shards = 1'000'000;
constexpr std::uint64_t most_threads = 1024;

std::optional<std::uint64_t> whole(std::string_view text) {
    std::uint64_t number = 0;
    const auto read = std::from_chars(text.data(), text.data() + text.size(), number);
    if (read.ec != std::errc() || read.ptr != text.data() + text.size()) return std::nullopt;
    return number;
}

/// A whole number between two limits; `otherwise` when the option was not typed.
std::uint64_t number_of(const Arguments& arguments, const char* option, std::uint64_t least,
                        std::uint64_t most, std::uint64_t otherwise) {
    const std::string typed = arguments.one(option);
    if (typed.empty()) return otherwise;
    const auto number = whole(typed);
    if (!number || *number < least || *number > most) {
        refuse_usage(fmt::format("{} takes a whole number from {} to {}, but `{}` was typed",
                                 option, least, most, inert(typed)),
                     "");
    }
    return *number;
}

void set_draws(const Arguments& arguments, UncertaintyQuestion& draws) {
    const bool adaptive = arguments.one("--draws") == "adaptive";
    if (arguments.has("--digits") && !adaptive)
        refuse_usage("--digits says when an adaptive run ends", "add --draws adaptive");
    if (adaptive)
        draws.adaptive_digits = static_cast<int>(number_of(arguments, "--digits", 1, 3, 2));
    else draws.draws = number_of(arguments, "--draws", fewest_draws, largest_draws, draws.draws);
}

/// "3/10"
Shard shard_of(const std::string& typed) {
    if (typed.empty()) return {};
    const auto stroke = typed.find('/');
    const auto part = whole(std::string_view(typed).substr(0, stroke));
    const auto of = stroke == std::string::npos ? std::nullopt
                                                : whole(std::string_view(typed).substr(stroke + 1));
    if (!part || !of || *part < 1 || *part > *of || *of < 2 || *of > most_shards) {
        refuse_usage(fmt::format("--shard takes i/n, but `{}` was typed", inert(typed)),
                     "the third of ten: --shard 3/10");
    }
    return {static_cast<std::uint32_t>(*part), static_cast<std::uint32_t>(*of)};
}

UncertaintyAsked asked_by(const Arguments& arguments) {
    UncertaintyAsked asked;
    asked.products = arguments.all("--product");
    asked.pers = arguments.all("--per");
    asked.indicators = arguments.all("--indicator");
    asked.scenarios = arguments.all("--scenario");
    asked.against = arguments.one("--against");
    asked.shard = shard_of(arguments.one("--shard"));
    UncertaintyQuestion& draws = asked.draws;
    set_draws(arguments, draws);
    draws.seed = number_of(arguments, "--seed", 0, largest_seed, draws.seed);
    const unsigned processors = std::max(1U, std::thread::hardware_concurrency());
    draws.threads =
        static_cast<unsigned>(number_of(arguments, "--threads", 1, most_threads, processors));
    if (arguments.one("--interval") == "shortest") draws.interval = IntervalKind::shortest;
    if (draws.interval == IntervalKind::shortest && draws.adaptive_digits != 0)
        refuse_usage(
            "--draws adaptive ends when both ends of the interval are settled, and those of a "
            "shortest one are not judged",
            "a number of draws, or --interval symmetric");
    draws.unpaired = arguments.has("--unpaired");
    if (draws.unpaired && asked.against.empty())
        refuse_usage("--unpaired sets a comparison beside the paired one", "add --against OF");
    return asked;
}

std::string uncertainty_report(const Arguments& arguments, const UncertaintyReport& report) {
    const std::string form = arguments.one("--format");
    if (form == "json") return uncertainty_json(report, program_name());
    if (form == "csv") return uncertainty_csv(report);
    return uncertainty_text(report, report_style(arguments));
}

}  // namespace

int run_uncertainty(const Arguments& arguments) {
    const UncertaintyAsked asked = asked_by(arguments);
    const auto answer = [&](const Study& study, const Evaluation& at) {
        const auto report = [&] {
            const Progress progress("drawing");
            return ask_uncertainty(study, at, asked);
        }();
        write_report(arguments, study, uncertainty_report(arguments, report));
        return exit_done;
    };
    // what --against names may be a scenario
    const bool all = !asked.against.empty() || !asked.scenarios.empty();
    return with_study(arguments, answer, {.all = all});
}

int run_merge(const Arguments& arguments) {
    Files files;
    return guarded(files, [&] {
        for (const std::string& path : arguments.all("FILE")) (void)files.read(path);
        if (files.count() != arguments.all("FILE").size())
            refuse_usage("a file was named twice", "name each shard once");
        const UncertaintyReport report = merged_shards(files, program_name());
        const std::string target = arguments.one("--output");
        write_output(target.empty() ? "-" : target, uncertainty_report(arguments, report), files);
        return exit_done;
    });
}

}  // namespace deckle::command
