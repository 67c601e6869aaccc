// deckle demonstration: where the shipped study lies, and a copy of it to start one's own from.
#include <algorithm>
#include <array>
#include <filesystem>

#include "engine/text/files.h"
#include "engine/text/problem.h"
#include "reports/command/output.h"
#include "reports/command/run.h"
#include "reports/command/verb_run.h"

namespace deckle::command {
namespace {

namespace fs = std::filesystem;

constexpr std::string_view demonstration = "inventories/demonstration";

/// What a study needs beside it, as it lies there: paths of files lead from one to the other.
constexpr std::array<std::string_view, 2> shipped_folders{"factors", "inventories"};
constexpr std::array<std::string_view, 3> shipped_ends{".yaml", ".csv", ".md"};

/// From the program's folder: where an install puts the files, the link that a build folder has,
/// and the tree whose build/PRESET the program lies in.
constexpr std::array<std::string_view, 3> places{DECKLE_SHARED, DECKLE_SOURCE_LINK, "../.."};

bool holds_study(const fs::path& folder) {
    std::error_code error;
    return fs::is_regular_file(folder / demonstration / "study.yaml", error);
}

fs::path shared_folder() {
    std::error_code error;
    const fs::path program = fs::read_symlink("/proc/self/exe", error).parent_path();
    for (const std::string_view place : places) {
        if (holds_study(program / place)) return fs::canonical(program / place);
    }
    throw InputError({Problem{{},
                              Severity::error,
                              "no-demonstration",
                              "the demonstration was not installed with this program",
                              "install deckle with its share folder",
                              {}}});
}

/// The files of a shipped study and its factor tables, by their paths.
Texts shipped_texts(const fs::path& shared) {
    Texts texts;
    Files files;
    for (const std::string_view folder : shipped_folders) {
        for (const auto& entry : fs::recursive_directory_iterator(shared / folder)) {
            const std::string end = entry.path().extension().string();
            const bool shipped = std::ranges::find(shipped_ends, end) != shipped_ends.end();
            if (!entry.is_regular_file() || !shipped) continue;
            texts.emplace(entry.path().lexically_relative(shared).string(),
                          files.bytes_of(files.read(entry.path().string())));
        }
    }
    return texts;
}

}  // namespace

int run_demonstration(const Arguments& arguments) {
    return guarded({}, [&] {
        fs::path folder = shared_folder();
        if (arguments.has("--copy-to")) {
            const std::string target = arguments.one("--copy-to");
            write_new_folder(target, shipped_texts(folder));
            folder = target;
        }
        write_output("-", (folder / demonstration).string() + "\n", {});
        return exit_done;
    });
}

}  // namespace deckle::command
