#include <fmt/format.h>

#include <algorithm>

#include "reports/declaration.h"
#include "reports/inert.h"
#include "reports/json_parts.h"

namespace deckle {
namespace {

Place place_of_byte(const Files& files, std::uint32_t file, std::size_t byte) {
    const Files::File& one = files.at(file);
    const auto after = std::ranges::upper_bound(one.line_starts, byte);
    const auto line = static_cast<std::size_t>(after - one.line_starts.begin());
    const std::size_t start = line == 0 ? 0 : one.line_starts[line - 1];
    return {file, static_cast<std::uint32_t>(std::max<std::size_t>(line, 1)),
            static_cast<std::uint32_t>(byte - start + 1), 1};
}

/// Where there is nothing to check, no error found would read as a pass.
void refuse_nothing(const Json& inside, std::uint32_t file) {
    if ((inside.is_object() || inside.is_array()) && !inside.empty()) return;
    throw InputError({{{file, 1, 1, 1},
                       Severity::error,
                       "no-footprint",
                       "there is no product footprint in this file",
                       "one object; several as a list, alone or under \"data\"",
                       {}}});
}

/// JSON and nothing looser: the reader behind it takes YAML too.
void refuse_no_json(const Files& files, std::uint32_t file) {
    try {
        const Json read = Json::parse(files.at(file).text);
        const auto data = read.is_object() ? read.find("data") : read.end();
        const bool wrapped = read.is_object() && data != read.end() && !read.contains("pcf");
        refuse_nothing(wrapped ? *data : read, file);
    } catch (const Json::parse_error& error) {
        const std::size_t byte = error.byte == 0 ? 0 : error.byte - 1;
        throw InputError(
            {{place_of_byte(files, file, std::min(byte, files.at(file).text.size())),
              Severity::error,
              "json-syntax",
              "this cannot be read as JSON",
              "texts in double quotes, a comma between two properties and none behind the last",
              {}}});
    }
}

std::string count_of(std::size_t count, std::string_view thing) {
    return fmt::format("{} {}{}", count, thing, count == 1 ? "" : "s");
}

std::string problems_of(const DeclarationCheck& check, Severity severity, const Files& files,
                        std::size_t& count) {
    std::string text;
    for (const Problem& problem : check.problems) {
        if (problem.severity != severity) continue;
        Problem shown = problem;
        shown.message = inert(shown.message);
        shown.hint = inert(shown.hint);
        text += inert_lines(problem_text(shown, files));
        ++count;
    }
    return text;
}

}  // namespace

bool DeclarationCheck::has_errors() const {
    return std::ranges::any_of(
        problems, [](const Problem& problem) { return problem.severity == Severity::error; });
}

DeclarationCheck check_declarations(const Files& files) {
    DeclarationCheck check;
    Problems problems;
    std::vector<YamlValue> roots;
    for (std::uint32_t file = 1; file <= files.count(); ++file) {
        refuse_no_json(files, file);
        roots.push_back(read_yaml(files, file, problems, YamlRoot::map_or_list));
    }
    problems.throw_if_any();
    std::vector<Declared> all;
    for (const YamlValue& root : roots) {
        for (Declared& one : declared_in(root)) all.push_back(std::move(one));
    }
    for (const Declared& one : all) {
        ++check.footprints;
        for (Problem& problem : check_declared(one)) check.problems.push_back(std::move(problem));
    }
    for (Problem& problem : check_history(all)) check.problems.push_back(std::move(problem));
    return check;
}

std::string declaration_check_text(const DeclarationCheck& check, const Files& files) {
    std::size_t errors = 0, findings = 0;
    const std::string wrong = problems_of(check, Severity::error, files, errors),
                      doubtful = problems_of(check, Severity::finding, files, findings);
    std::string text;
    if (errors > 0) text += "Errors: a customer's system may refuse it\n" + wrong + "\n";
    if (findings > 0) text += "Findings: a careful reader would ask\n" + doubtful + "\n";
    return text + fmt::format("{} read: {}, {}\n", count_of(check.footprints, "footprint"),
                              count_of(errors, "error"), count_of(findings, "finding"));
}

std::string declaration_check_json(const DeclarationCheck& check, const Files& files,
                                   std::string_view program) {
    Json root = report_head("deckle-disclosure-check", program);
    root["footprints"] = check.footprints;
    root["problems"] = Json::array();
    for (const Problem& problem : check.problems)
        root["problems"].push_back(problem_json(problem, files));
    return json_text(root);
}

}  // namespace deckle
