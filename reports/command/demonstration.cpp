#include <fmt/format.h>

#include <filesystem>
#include <optional>

#include "engine/text/problem.h"
#include "reports/command/output.h"
#include "reports/command/run.h"
#include "reports/command/verb_run.h"

namespace deckle::command {
namespace {

namespace fs = std::filesystem;

constexpr std::string_view demonstration = "inventories/demonstration";

bool holds_study(const fs::path& folder) {
    std::error_code error;
    return fs::is_regular_file(folder / demonstration / "study.yaml", error);
}

/// Where the installed program has its shared files, else the link that a build folder has.
std::optional<fs::path> shared_folder() {
    std::error_code error;
    const fs::path program = fs::read_symlink("/proc/self/exe", error).parent_path();
    for (const std::string_view place : {DECKLE_SHARED, DECKLE_SOURCE_LINK}) {
        if (holds_study(program / place)) return fs::canonical(program / place);
    }
    return std::nullopt;
}

}  // namespace

int run_demonstration(const Arguments&) {
    return guarded({}, [] {
        const auto folder = shared_folder();
        if (!folder) {
            throw InputError({Problem{{},
                                      Severity::error,
                                      "no-demonstration",
                                      "the demonstration was not installed with this program",
                                      "install deckle with its share folder",
                                      {}}});
        }
        write_output("-", (*folder / demonstration).string() + "\n", {});
        return exit_done;
    });
}

}  // namespace deckle::command
