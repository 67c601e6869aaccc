// Run by the build: writes the man page and the completion into the folder named.
#include <fmt/format.h>

#include <cstdlib>
#include <fstream>
#include <string>

#include "reports/command/manual.h"

namespace {

bool write(const std::string& path, const std::string& text) {
    std::ofstream file(path, std::ios::binary);
    file << text;
    file.close();
    return file.good();
}

}  // namespace

int main(int count, char** words) {
    if (count != 2) {
        fmt::print(stderr, "usage: write_manual FOLDER\n");
        return EXIT_FAILURE;
    }
    const std::string folder = words[1];
    const bool written = write(folder + "/deckle.1", deckle::command::man_page(DECKLE_VERSION)) &&
                         write(folder + "/deckle.bash", deckle::command::bash_completion());
    if (!written) fmt::print(stderr, "cannot write into {}\n", folder);
    return written ? EXIT_SUCCESS : EXIT_FAILURE;
}
