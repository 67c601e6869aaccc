#include "tests/study/schema/template_study.h"

#include <algorithm>
#include <filesystem>
#include <sstream>
#include <stdexcept>

#include "tests/study/schema/page.h"

namespace fs = std::filesystem;

namespace {

std::vector<std::string> lines_of(std::string_view text) {
    std::vector<std::string> lines;
    std::istringstream stream{std::string(text)};
    for (std::string line; std::getline(stream, line);) lines.push_back(line);
    return lines;
}

std::size_t indent_of(const std::string& line) {
    const std::size_t indent = line.find_first_not_of(' ');
    return indent == std::string::npos ? line.size() : indent;
}

std::string indented(const std::string& text, std::size_t indent) {
    std::string result;
    for (const std::string& line : lines_of(text))
        result += (line.empty() ? "" : std::string(indent, ' ')) + line + "\n";
    return result;
}

/// A place between two marks of a file.
struct Mark {
    std::string file;
    std::size_t first, last;  ///< lines between the marks
    std::size_t indent;
    std::vector<std::string> names;
    bool exclusive;
};

/// "#< factor/fibre factor/dryness" or "#<! climate"; a name of two words is written with _.
Mark read_mark(const std::string& file, std::size_t line, const std::string& text) {
    const bool exclusive = text.find("#<!") != std::string::npos;
    Mark mark{file, line + 1, line + 1, indent_of(text), {}, exclusive};
    std::istringstream words(text.substr(mark.indent + (exclusive ? 3 : 2)));
    for (std::string word; words >> word;) mark.names.push_back(word);
    return mark;
}

std::vector<Mark> marks_of(const FileSet& files) {
    std::vector<Mark> marks;
    for (const auto& [name, text] : files) {
        const auto lines = lines_of(text);
        std::vector<std::size_t> open;
        for (std::size_t i = 0; i < lines.size(); ++i) {
            const std::string_view line = std::string_view(lines[i]).substr(indent_of(lines[i]));
            if (line.starts_with("#<")) {
                open.push_back(marks.size());
                marks.push_back(read_mark(name, i, lines[i]));
            } else if (line.starts_with("#>")) {
                if (open.empty())
                    throw std::runtime_error(name + ": a mark ends that does not begin");
                marks[open.back()].last = i;
                open.pop_back();
            }
        }
        if (!open.empty()) throw std::runtime_error(name + ": a mark does not end");
    }
    return marks;
}

/// The mark for examples of one of `keys` alone, else that of the mapping, else nullptr.
const Mark* find_mark(const std::vector<Mark>& marks, const std::string& mapping,
                      const std::vector<std::string>& keys) {
    const auto named = [&](std::string name) {
        std::ranges::replace(name, ' ', '_');
        const auto found = std::ranges::find_if(marks, [&](const Mark& mark) {
            return std::ranges::find(mark.names, name) != mark.names.end();
        });
        return found == marks.end() ? nullptr : &*found;
    };
    for (const std::string& key : keys) {
        if (const Mark* mark = named(mapping + "/" + key)) return mark;
    }
    return named(mapping);
}

/// The study names a further file in the list of its kind.
void name_in_study(std::string& study, std::string_view key, const std::string& file) {
    const std::size_t list = study.find("\n" + std::string(key) + ": [");
    if (list == std::string::npos)
        throw std::runtime_error("the template names no " + std::string(key));
    study.insert(study.find(']', list), ", " + file);
}

}  // namespace

bool Outcome::has(std::string_view code) const {
    return std::ranges::any_of(
        problems, [&](const deckle::Problem& problem) { return problem.code == code; });
}

Outcome load(const FileSet& files, const deckle::ScenarioChoice& scenarios) {
    Outcome outcome;
    outcome.study = std::make_shared<deckle::Study>();
    outcome.study->files.read_only_from({files.begin(), files.end()});
    try {
        deckle::load_study("study.yaml", *outcome.study, scenarios);
    } catch (const deckle::InputError& error) {
        outcome.problems = error.problems;
    } catch (const deckle::NoAnswer& error) {
        outcome.problems = {error.problem};
    }
    if (!outcome.loaded())
        outcome.text = deckle::problems_text(outcome.problems, outcome.study->files);
    return outcome;
}

std::vector<Piece> pieces_of(std::string_view text, std::size_t indent) {
    std::vector<Piece> pieces;
    for (const std::string& line : lines_of(text)) {
        const bool key = line.size() > indent && indent_of(line) == indent && line[indent] != '#' &&
                         line[indent] != '-';
        if (key) pieces.push_back({line.substr(indent, line.find(':', indent) - indent), {}});
        if (!pieces.empty()) pieces.back().lines += line + "\n";
    }
    return pieces;
}

FileSet template_study() {
    FileSet files;
    for (const auto& entry :
         fs::directory_iterator(fs::path(DECKLE_SOURCE_DIR) / "tests/study/schema/template")) {
        const std::string name = entry.path().filename().string();
        files[name] = source_text("tests/study/schema/template/" + name);
    }
    return files;
}

bool marks(const FileSet& files, std::string_view mapping) {
    return find_mark(marks_of(files), std::string(mapping), {}) != nullptr;
}

FileSet with_fragment(const FileSet& files, const std::string& mapping,
                      const std::string& fragment) {
    const auto wanted = pieces_of(fragment, 0);
    std::vector<std::string> keys;
    for (const Piece& piece : wanted) keys.push_back(piece.key);
    const auto all = marks_of(files);
    const Mark* mark = find_mark(all, mapping, keys);
    if (mark == nullptr)
        throw std::runtime_error("the template study has no place for the mapping " + mapping);
    const auto lines = lines_of(files.at(mark->file));
    std::string before, between, after;
    for (std::size_t i = 0; i < lines.size(); ++i)
        (i < mark->first ? before : i < mark->last ? between : after) += lines[i] + "\n";
    std::string inside;
    for (const Piece& piece : pieces_of(between, mark->indent)) {
        if (!mark->exclusive && std::ranges::find(keys, piece.key) == keys.end())
            inside += piece.lines;
    }
    for (const Piece& piece : wanted) inside += indented(piece.lines, mark->indent);
    FileSet changed = files;
    changed[mark->file] = before + inside + after;
    return changed;
}

FileSet with_file(const FileSet& files, const std::string& name, const std::string& text) {
    FileSet more = files;
    more[name] = text;
    const auto pieces = pieces_of(text, 0);
    const std::string head = pieces.empty() || name.ends_with(".csv") ? "products" : pieces[0].key;
    const bool table = head == "table" || head == "characterization" || head == "scarcity" ||
                       head == "prices" || head == "data_quality_spread";
    if (!table && head != "mill" && head != "products" && head != "scenarios")
        throw std::runtime_error(name + " begins with no head key");
    name_in_study(more["study.yaml"], table ? "factors" : head == "mill" ? "mills" : head, name);
    return more;
}
