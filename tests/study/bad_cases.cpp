#include "tests/study/bad_cases.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <fstream>
#include <stdexcept>
#include <string_view>

namespace deckle::testing {
namespace {

namespace fs = std::filesystem;

std::string unescaped(std::string_view text) {
    std::string plain;
    for (std::size_t i = 0; i < text.size(); ++i) {
        if (text[i] != '\\' || i + 1 == text.size()) {
            plain += text[i];
            continue;
        }
        const char c = text[++i];
        if (c == 'n') plain += '\n';
        else if (c == 'r') plain += '\r';
        else if (c == 't') plain += '\t';
        else if (c == 's') plain += ' ';
        else if (c == 'x') {
            plain += static_cast<char>(std::stoi(std::string(text.substr(i + 1, 2)), nullptr, 16));
            i += 2;
        } else plain += c;
    }
    return plain;
}

/// "3 ab" is "ababab".
std::string repeated(const std::string& text) {
    const std::size_t space = text.find(' ');
    std::string all;
    for (int left = std::stoi(text.substr(0, space)); left > 0; --left)
        all += text.substr(space + 1);
    return all;
}

class CaseReader {
public:
    CaseReader(std::vector<BadCase>& cases, const fs::path& file)
        : cases_(cases), file_(file.filename().string()) {}

    void read(std::istream& stream) {
        std::string line;
        while (std::getline(stream, line)) {
            ++number_;
            if (line.empty() || line.starts_with('#')) continue;
            if (!line.starts_with(' ')) begin(line);
            else take(line);
        }
    }

private:
    void begin(const std::string& name) {
        cases_.emplace_back();
        cases_.back().name = name;
        cases_.back().where = fmt::format("{}:{}", file_, number_);
        change_file_.clear();
    }

    void take(std::string_view line) {
        line.remove_prefix(line.find_first_not_of(' '));
        const std::size_t end = std::min(line.find(' '), line.size());
        const std::string_view word = line.substr(0, end);
        line.remove_prefix(std::min(line.find_first_not_of(' ', end), line.size()));
        const std::string text = unescaped(line);
        if (cases_.empty()) fail("a case begins with its name");
        if (!take_change(word, text) && !take_expected(word, text)) {
            fail(fmt::format("what is {}?", word));
        }
    }

    bool take_change(std::string_view word, const std::string& text) {
        using Kind = FileChange::Kind;
        constexpr std::array<std::pair<std::string_view, Kind>, 6> kinds{
            {{"find", Kind::replace},
             {"append", Kind::append},
             {"write", Kind::write},
             {"bytes", Kind::bytes},
             {"folder", Kind::folder},
             {"remove", Kind::remove}}};
        auto& changes = cases_.back().changes;
        if (word == "in") {
            change_file_ = text;
            return true;
        }
        if (word == "put") {
            if (changes.empty() || changes.back().kind != Kind::replace) fail("put follows find");
            changes.back().put = text;
            return true;
        }
        if (word == "times" || word == "then") {
            if (changes.empty()) fail("a change comes first");
            changes.back().put += word == "then" ? text : repeated(text);
            return true;
        }
        const auto* const kind = std::find_if(kinds.begin(), kinds.end(),
                                              [&](const auto& k) { return k.first == word; });
        if (kind == kinds.end()) return false;
        if (change_file_.empty()) fail("`in FILE` stands before a change");
        FileChange change{kind->second, change_file_, {}, {}};
        (kind->second == Kind::replace ? change.find : change.put) = text;
        changes.push_back(std::move(change));
        return true;
    }

    bool take_expected(std::string_view word, const std::string& text) {
        BadCase& bad = cases_.back();
        if (word == "ask") {
            bad.ask = text;
        } else if (word == "error" || word == "no_answer" || word == "finding") {
            bad.ends = word == "error"       ? BadCase::Ends::input_error
                       : word == "no_answer" ? BadCase::Ends::no_answer
                                             : BadCase::Ends::finding;
            const std::size_t space = text.find(' ');
            if (space == std::string::npos) fail("a place and a code");
            const std::string place = text.substr(0, space);
            bad.problems.push_back({place == "-" ? "" : place, text.substr(space + 1), {}, {}});
        } else if (word == "says" || word == "hint") {
            if (bad.problems.empty()) fail("the problem comes first");
            auto& problem = bad.problems.back();
            (word == "says" ? problem.says : problem.hints).push_back(text);
        } else {
            return false;
        }
        return true;
    }

    [[noreturn]] void fail(std::string_view why) const {
        throw std::runtime_error(fmt::format("{}:{}: {}", file_, number_, why));
    }

    std::vector<BadCase>& cases_;
    std::string file_, change_file_;
    int number_ = 0;
};

void write_whole(const fs::path& file, std::string_view text) {
    std::ofstream(file, std::ios::binary)
        .write(text.data(), static_cast<std::streamsize>(text.size()));
}

std::string replaced(const BadCase& bad, const FileChange& change, std::string text) {
    const std::size_t at = text.find(change.find);
    if (change.find.empty() || at == std::string::npos ||
        text.find(change.find, at + 1) != std::string::npos) {
        throw std::runtime_error(fmt::format("{}: \"{}\" does not stand exactly once in {}",
                                             bad.where, change.find, change.file));
    }
    return text.replace(at, change.find.size(), change.put);
}

void apply(const BadCase& bad, const FileChange& change, const fs::path& folder) {
    const fs::path file = folder / change.file;
    switch (change.kind) {
        case FileChange::Kind::replace:
            return write_whole(file, replaced(bad, change, read_whole(file)));
        case FileChange::Kind::append: return write_whole(file, read_whole(file) + change.put);
        case FileChange::Kind::write: return write_whole(file, change.put);
        case FileChange::Kind::bytes:
            return write_whole(file, std::string(std::stoul(change.put), ' '));
        case FileChange::Kind::folder:
            fs::remove(file);
            fs::create_directory(file);
            return;
        case FileChange::Kind::remove: fs::remove(file); return;
    }
}

}  // namespace

std::string read_whole(const fs::path& file) {
    std::ifstream stream(file, std::ios::binary);
    if (!stream) throw std::runtime_error("cannot read " + file.string());
    return {std::istreambuf_iterator<char>(stream), std::istreambuf_iterator<char>()};
}

std::vector<BadCase> read_bad_cases(const fs::path& folder) {
    std::vector<fs::path> files;
    for (const auto& entry : fs::directory_iterator(folder)) {
        if (entry.path().extension() == ".cases") files.push_back(entry.path());
    }
    std::sort(files.begin(), files.end());
    std::vector<BadCase> cases;
    for (const fs::path& file : files) {
        std::ifstream stream(file);
        CaseReader(cases, file).read(stream);
    }
    return cases;
}

void lay_out(const BadCase& bad, const fs::path& good, const fs::path& to) {
    fs::remove_all(to);
    fs::create_directories(to);
    for (const auto& entry : fs::directory_iterator(good)) {
        write_whole(to / entry.path().filename(), read_whole(entry.path()));
    }
    for (const FileChange& change : bad.changes) apply(bad, change, to);
}

}  // namespace deckle::testing
