#include "reports/study_paths.h"

#include <filesystem>

namespace deckle {
namespace {

namespace fs = std::filesystem;

fs::path whole_path(const Files& files, std::uint32_t file) {
    return fs::absolute(files.at(file).path).lexically_normal();
}

/// The deepest folder that holds every file of a study, whether or not paths were typed absolute.
fs::path folder_of_all(const Files& files) {
    fs::path common;
    for (std::uint32_t file = 1; file <= files.count(); ++file) {
        const fs::path folder = whole_path(files, file).parent_path();
        if (file == 1) common = folder;
        fs::path shared;
        for (auto a = common.begin(), b = folder.begin();
             a != common.end() && b != folder.end() && *a == *b; ++a, ++b)
            shared /= *a;
        common = shared;
    }
    return common;
}

}  // namespace

std::vector<std::string> paths_within_study(const Files& files) {
    const fs::path folder = folder_of_all(files);
    std::vector<std::string> paths;
    for (std::uint32_t file = 1; file <= files.count(); ++file)
        paths.push_back(whole_path(files, file).lexically_relative(folder).generic_string());
    return paths;
}

Files named_within_study(const Files& files) {
    const std::vector<std::string> paths = paths_within_study(files);
    Files named;
    for (std::uint32_t file = 1; file <= files.count(); ++file)
        named.add(paths[file - 1], files.at(file).text);
    return named;
}

}  // namespace deckle
