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

/// Where the results of a study, as CSV, hold the words of a kind; 0 where they do not.
int column_of(ValueKind kind) {
    switch (kind) {
        case ValueKind::address: return 1;
        case ValueKind::product: return 2;
        case ValueKind::per: return 3;
        case ValueKind::indicator: return 4;
        default: return 0;
    }
}

/// What follows an option: its choices, a file, words of the study, or nothing that could be known.
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
    if (const int column = column_of(row.kind); column != 0) {
        return fmt::format("                {}) _deckle_known {} \"$word\"; return ;;\n", pattern,
                           column);
    }
    return fmt::format("                {}) return ;;\n", pattern);
}

std::string verb_case(const VerbRow& verb) {
    std::string values;
    std::vector<std::string> names;
    bool has_address = false;
    for (const auto& rows : {verb.options, common_options()}) {
        for (const OptionRow& row : rows) {
            has_address = has_address || (row.is_place() && row.kind == ValueKind::address);
            if (row.is_place()) continue;
            for (const auto& word : words_of(row)) names.push_back(word);
            if (row.kind != ValueKind::none) values += value_case(row);
        }
    }
    std::string text = fmt::format("        {})\n", verb.name);
    if (!values.empty())
        text += fmt::format("            case $before in\n{}            esac\n", values);
    if (has_address) text += "            address=3\n";
    return text + fmt::format("            options='{}' ;;\n", fmt::join(names, " "));
}

constexpr std::string_view opening = R"(# Completion of deckle for bash, written by the build.
_deckle_files() {
    compopt -o filenames 2>/dev/null
    mapfile -t COMPREPLY < <(compgen -f -- "$1")
}

# _deckle_known COLUMN WORD: what the study that was typed holds in this column of its results.
_deckle_known() {
    local study=${COMP_WORDS[2]} known
    [[ -e $study ]] || return
    known=$("${COMP_WORDS[0]}" footprint "$study" --format csv 2>/dev/null | tail -n +2 | cut -d, -f "$1" | sort -u)
    mapfile -t COMPREPLY < <(compgen -W "$known" -- "$2")
}

_deckle() {
    local word=${COMP_WORDS[COMP_CWORD]} before=${COMP_WORDS[COMP_CWORD - 1]} options= address=
    COMPREPLY=()
    [[ $word == = ]] && word=
    [[ $before == = && COMP_CWORD -ge 3 ]] && before=${COMP_WORDS[COMP_CWORD - 2]}
)";

constexpr std::string_view closing_script = R"(    if [[ $word == -* ]]; then
        COMPREPLY=($(compgen -W "$options" -- "$word"))
    elif [[ -n $address && $COMP_CWORD -eq $address ]]; then
        _deckle_known 1 "$word"
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
    return text + std::string(closing_script);
}

}  // namespace deckle::command
