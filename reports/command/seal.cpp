// deckle seal, verify and keys: what an auditor is handed, and what he does with it.
#include "reports/seal/seal.h"

#include <fmt/format.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <optional>
#include <thread>

#include "reports/command/output.h"
#include "reports/command/run.h"
#include "reports/command/terminal.h"
#include "reports/command/verb_run.h"
#include "reports/inert.h"
#include "reports/seal/keys.h"
#include "reports/seal/verify.h"

namespace deckle::command {
namespace {

constexpr int most_seal_threads = 1024;

unsigned seal_threads(const Arguments& arguments) {
    const auto processors = static_cast<int>(std::max(1U, std::thread::hardware_concurrency()));
    return static_cast<unsigned>(
        std::min(arguments.number("--threads", processors), most_seal_threads));
}

std::uint64_t sealed_draws(const Arguments& arguments) {
    const auto draws = static_cast<std::uint64_t>(arguments.number("--draws", 0));
    if (arguments.has("--draws") && (draws < 2 || draws > most_sealed_draws))
        refuse_usage("--draws is out of range", fmt::format("from 2 to {}", most_sealed_draws));
    return draws;
}

/// A secret key that others can read is none.
std::string secret_key(const std::string& path) {
    Files files;
    std::string text = files.at(files.read(path)).text;
    if (!is_secret_key(text)) return text;  // refused where it should sign
    struct stat state {};
    constexpr mode_t others = 077;
    if (::stat(path.c_str(), &state) == 0 && S_ISREG(state.st_mode) &&
        (state.st_mode & others) != 0) {
        throw InputError(
            {Problem{{},
                     Severity::error,
                     "loose-key",
                     fmt::format("others than its owner can read {}", inert(path)),
                     fmt::format("chmod 600 {}, and new keys if it lay open for long", inert(path)),
                     {}}});
    }
    return text;
}

std::optional<std::string> trusted_key(const Arguments& arguments) {
    const std::string path = arguments.one("--key");
    if (path.empty()) return std::nullopt;
    Files files;
    return open_key_in(files.at(files.read(path)).text, path);
}

}  // namespace

int run_seal(const Arguments& arguments) {
    SealedQuestion question{program_name(), {}, sealed_draws(arguments), seal_threads(arguments)};
    const auto answer = [&](const Study& study, const Evaluation& /*at*/) {
        const std::string key = arguments.one("--key");
        const std::string secret = key.empty() ? std::string() : secret_key(key);
        Seal seal = [&] {
            const Progress progress("sealing");
            return make_seal(study, std::move(question));
        }();
        if (!key.empty()) sign_seal(seal, secret, key);
        std::string target = arguments.one("--output");
        if (target.empty()) target = study.head.id + ".seal";
        write_new_output(target, seal_bytes(seal), Readers::as_usual);
        if (target == "-") return exit_done;
        write_output("-",
                     fmt::format("{}: {} files, {} results{}\ndigest {}\n", inert(target),
                                 seal.inputs.size(), study.results.size(),
                                 seal.signature ? ", signed" : "", seal.digest()),
                     {});
        return exit_done;
    };
    return with_study(arguments, answer, {.all = true});
}

int run_verify(const Arguments& arguments) {
    return guarded({}, [&] {
        const std::string path = arguments.one("SEAL");
        const auto key = trusted_key(arguments);
        const Seal seal = open_seal(bytes_of_seal(path));
        const SealVerification found = [&] {
            const Progress progress("verifying");
            return verify_seal(seal, key, seal_threads(arguments));
        }();
        const bool json = arguments.one("--format") == "json";
        const std::string target = arguments.one("--output");
        write_output(target.empty() ? "-" : target,
                     json ? verification_json(found, program_name())
                          : verification_text(found, path, program_name(), report_style(arguments)),
                     {});
        return found.findings.empty() ? exit_done : exit_above_limit;
    });
}

int run_keys(const Arguments& arguments) {
    return guarded({}, [&] {
        const std::string name = arguments.one("NAME");
        const std::string secret = name + ".secret", open = name + ".public";
        const KeyTexts keys = new_keys();
        write_new_output(open, keys.open, Readers::as_usual);
        try {
            write_new_output(secret, keys.secret, Readers::owner_alone);
        } catch (const InputError&) {
            ::unlink(open.c_str());  // one without the other is of no use
            throw;
        }
        write_output("-",
                     fmt::format("{}: keep it to yourself, it signs\n{}: give it to whoever "
                                 "verifies\n",
                                 inert(secret), inert(open)),
                     {});
        return exit_done;
    });
}

}  // namespace deckle::command
