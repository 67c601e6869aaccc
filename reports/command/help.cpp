#include "reports/command/help.h"

#include <fmt/format.h>

#include <algorithm>

#include "reports/inert.h"

namespace deckle::command {
namespace {

/// A command on as many lines as it needs, each but the last ended by a backslash.
std::string continued(std::string_view line) {
    constexpr std::size_t most = 90;
    std::string text;
    while (line.size() > most) {
        const std::size_t at = line.rfind(" --", most);
        if (at == std::string_view::npos || at == 0) break;
        text += std::string(line.substr(0, at)) + " \\\n     ";
        line.remove_prefix(at);
    }
    return text + std::string(line);
}

constexpr std::size_t indent = 2;
constexpr std::size_t widest_head = 26;

/// A head and its text in two columns; a long head keeps a line to itself.
std::string entry(std::string_view head, std::string_view text, std::size_t head_width,
                  const Style& style) {
    const std::size_t margin = indent + head_width + 2;
    const auto lines = wrap(text, std::max<std::size_t>(style.width - margin, 20));
    std::string result = std::string(indent, ' ') + std::string(head);
    std::size_t column = indent + head.size();
    for (const std::string& line : lines) {
        if (column + 2 > margin) {
            result += '\n';
            column = 0;
        }
        result += std::string(margin - column, ' ') + line;
        column = style.width;
    }
    return result + '\n';
}

std::string options_text(const VerbRow& verb, std::string_view group, std::size_t head_width,
                         const Style& style) {
    std::string text;
    for (const auto& rows : {verb.options, common_options()}) {
        for (const OptionRow& row : rows) {
            if (row.group == group) {
                text += entry(option_head(row), option_help(row), head_width, style);
            }
        }
    }
    return "\n" + style.bold(group) + "\n" + text;
}

std::size_t head_width_of(const VerbRow& verb) {
    std::size_t width = 0;
    for (const auto& rows : {verb.options, common_options()}) {
        for (const OptionRow& row : rows) width = std::max(width, option_head(row).size());
    }
    return std::min(width, widest_head);
}

std::string exits_text(const VerbRow& verb, const Style& style) {
    std::string text = "\n" + style.bold("Exit status") + "\n";
    for (const int status : verb.exits) {
        text += entry(std::to_string(status), meaning_of_exit(status), 2, style);
    }
    return text;
}

std::string persons_text(const Style& style) {
    std::string text;
    for (const PersonRow& person : persons()) {
        text += fmt::format("\n{}, who {}\n", style.bold(person.who), person.wants);
        for (const TaskRow& task : person.tasks) text += entry(task.line, task.does, 43, style);
    }
    return text;
}

}  // namespace

std::string option_head(const OptionRow& row) {
    std::string head(row.name);
    if (!row.letter.empty()) head = fmt::format("{}, {}", row.letter, head);
    if (!row.argument.empty()) head += fmt::format(" {}", row.argument);
    return head;
}

std::string option_help(const OptionRow& row) {
    std::string text(row.help);
    if (!row.choices.empty()) text += fmt::format("; one of {}", fmt::join(row.choices, ", "));
    if (row.repeatable) text += "; may be typed several times";
    if (!row.standard.empty()) text += fmt::format(" (default: {})", row.standard);
    return text;
}

std::string usage_of(const VerbRow& verb) {
    std::string usage = fmt::format("deckle {}", verb.name);
    for (const OptionRow& row : verb.options) {
        if (!row.is_place()) continue;
        const std::string place = fmt::format("{}{}", row.name, row.repeatable ? "..." : "");
        usage += row.may_be_missing ? fmt::format(" [{}]", place) : " " + place;
    }
    return usage + " [options]";
}

std::vector<std::string_view> groups_of(const VerbRow& verb) {
    std::vector<std::string_view> groups;
    for (const auto& rows : {verb.options, common_options()}) {
        for (const OptionRow& row : rows) {
            if (std::ranges::find(groups, row.group) == groups.end()) groups.push_back(row.group);
        }
    }
    return groups;
}

std::string program_help(const Style& style) {
    std::string text = fmt::format("{}: {}\n\n{} deckle VERB [options]\n", style.bold("deckle"),
                                   program_purpose, style.bold("usage:"));
    text += persons_text(style);
    text += "\n" + style.bold("All verbs") + "\n";
    for (const VerbRow& verb : verbs()) text += entry(verb.name, verb.purpose, 13, style);
    text += "\n" + style.bold("Other") + "\n";
    text += entry("VERB --help", "options, a worked example and exit status of a verb", 13, style);
    text += entry("--version", "version of deckle", 13, style);
    return text + "\nThe manual: man deckle\n";
}

std::string verb_help(const VerbRow& verb, const Style& style) {
    std::string text =
        fmt::format("{}: {}\n\n{} {}\n\n", style.bold(fmt::format("deckle {}", verb.name)),
                    verb.purpose, style.bold("usage:"), usage_of(verb));
    for (const std::string& line : wrap(verb.more, style.width)) text += line + '\n';
    const std::size_t width = head_width_of(verb);
    for (const auto group : groups_of(verb)) text += options_text(verb, group, width, style);
    text += fmt::format("\n{}\n  {}\n", style.bold("Example"), continued(verb.example.line));
    text += entry("", verb.example.does, 2, style);
    return text + exits_text(verb, style) + "\nThe manual: man deckle\n";
}

}  // namespace deckle::command
