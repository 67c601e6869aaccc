#include <fmt/format.h>

#include <vector>

#include "reports/command/manual.h"
#include "reports/command/verbs.h"

namespace deckle::command {
namespace {

std::vector<std::string> words_of(const OptionRow& row) {
    std::vector<std::string> words{std::string(row.name)};
    if (!row.letter.empty()) words.emplace_back(row.letter);
    return words;
}

std::string verb_names() {
    std::vector<std::string_view> names;
    for (const VerbRow& verb : verbs()) names.push_back(verb.name);
    return fmt::format("{}", fmt::join(names, " "));
}

/// What follows an option: its choices, a file, or nothing that could be known here.
std::string value_case(const OptionRow& row) {
    const std::string pattern = fmt::format("{}", fmt::join(words_of(row), "|"));
    if (!row.choices.empty()) {
        return fmt::format(
            "                {}) COMPREPLY=($(compgen -W '{}' -- \"$word\")); return ;;\n", pattern,
            fmt::join(row.choices, " "));
    }
    if (row.kind == ValueKind::file) {
        return fmt::format("                {}) _deckle_files \"$word\"; return ;;\n", pattern);
    }
    return fmt::format("                {}) return ;;\n", pattern);
}

std::string verb_case(const VerbRow& verb) {
    std::string values;
    std::vector<std::string> names;
    for (const auto& rows : {verb.options, common_options()}) {
        for (const OptionRow& row : rows) {
            if (row.is_place()) continue;
            for (const auto& word : words_of(row)) names.push_back(word);
            if (row.kind != ValueKind::none) values += value_case(row);
        }
    }
    std::string text = fmt::format("        {})\n", verb.name);
    if (!values.empty())
        text += fmt::format("            case $before in\n{}            esac\n", values);
    return text + fmt::format("            options='{}' ;;\n", fmt::join(names, " "));
}

constexpr std::string_view opening = R"(# Completion of deckle for bash, written by the build.
_deckle_files() {
    compopt -o filenames 2>/dev/null
    mapfile -t COMPREPLY < <(compgen -f -- "$1")
}

_deckle() {
    local word=${COMP_WORDS[COMP_CWORD]} before=${COMP_WORDS[COMP_CWORD - 1]} options=
    COMPREPLY=()
    [[ $word == = ]] && word=
    [[ $before == = && COMP_CWORD -ge 3 ]] && before=${COMP_WORDS[COMP_CWORD - 2]}
)";

constexpr std::string_view closing = R"(    if [[ $word == -* ]]; then
        COMPREPLY=($(compgen -W "$options" -- "$word"))
    else
        _deckle_files "$word"
    fi
}

complete -F _deckle deckle
)";

}  // namespace

std::string bash_completion() {
    std::string text(opening);
    text += fmt::format(
        "    if ((COMP_CWORD == 1)); then\n"
        "        COMPREPLY=($(compgen -W '{} --help --version' -- \"$word\"))\n"
        "        return\n    fi\n",
        verb_names());
    text += "    case ${COMP_WORDS[1]} in\n";
    for (const VerbRow& verb : verbs()) text += verb_case(verb);
    text += "        *) return ;;\n    esac\n";
    return text + std::string(closing);
}

}  // namespace deckle::command
