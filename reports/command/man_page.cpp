#include <fmt/format.h>

#include "reports/command/help.h"
#include "reports/command/manual.h"
#include "reports/command/verbs.h"
#include "reports/inert.h"

namespace deckle::command {
namespace {

/// Text that the man macros take as it is: backslashes and hyphens escaped, no leading control.
std::string troff(std::string_view text) {
    std::string result;
    for (const char c : text) {
        if (c == '\\') result += "\\e";
        else if (c == '-') result += "\\-";
        else result += c;
    }
    if (result.starts_with(".") || result.starts_with("'")) result.insert(0, "\\&");
    return result;
}

/// A paragraph in lines of less than 80 characters.
std::string filled(std::string_view text) {
    constexpr std::size_t longest = 72;  // before hyphens are escaped
    std::string result;
    for (const std::string& line : wrap(text, longest)) result += troff(line) + '\n';
    return result;
}

/// A tagged paragraph: `.TP`, tag, text.
std::string tagged(std::string_view tag, std::string_view text) {
    return fmt::format(".TP\n.B {}\n{}", troff(tag), filled(text));
}

std::string verb_section(const VerbRow& verb) {
    std::string text =
        fmt::format(".SS {}\n.B {}\n.PP\n{}", troff(verb.name), troff(usage_of(verb)),
                    filled(fmt::format("Shows {}. {}", verb.purpose, verb.more)));
    for (const OptionRow& row : verb.options) text += tagged(option_head(row), option_help(row));
    text += fmt::format(".PP\n{}.PP\n.RS 4\n.nf\n{}\n.fi\n.RE\n",
                        filled(fmt::format("Example, which {}:", verb.example.does)),
                        troff(verb.example.line));
    std::string statuses;
    for (const int status : verb.exits) {
        statuses +=
            fmt::format("{}{} {}", statuses.empty() ? "" : "; ", status, meaning_of_exit(status));
    }
    return text + ".PP\n" + filled(fmt::format("Exit status: {}.", statuses));
}

std::string persons_section() {
    std::string text = ".SH WHO DOES WHAT\n";
    for (const PersonRow& person : persons()) {
        text += fmt::format(".SS {}, who {}\n", troff(person.who), troff(person.wants));
        for (const TaskRow& task : person.tasks) {
            text += tagged(fmt::format("deckle {}", task.line), task.does);
        }
    }
    return text;
}

constexpr std::string_view closing_page =
    ".SH ENVIRONMENT\n"
    ".TP\n.B NO_COLOR\nWhen set to anything, no colour is used on a terminal.\n"
    ".SH FILES\n"
    "A study is a folder with a study.yaml that names its mills, products and\n"
    "factor tables. The schema pages that are installed beside the demonstration\n"
    "describe every key.\n"
    ".SH NOTES\n"
    "The demonstration's mills are invented. Figures made under different rules\n"
    "must not be compared, and a figure is not verified unless its verifier is\n"
    "named.\n";

}  // namespace

std::string man_page(const std::string& version) {
    std::string text =
        fmt::format(".TH DECKLE 1 \"\" \"deckle {}\" \"User Commands\"\n.SH NAME\ndeckle \\- {}\n",
                    troff(version), troff(program_purpose));
    text += ".SH SYNOPSIS\n";
    for (const VerbRow& verb : verbs()) text += fmt::format(".B {}\n.br\n", troff(usage_of(verb)));
    text += ".B deckle \\-\\-help\n.br\n.B deckle \\-\\-version\n";
    text += persons_section() + ".SH VERBS\n";
    for (const VerbRow& verb : verbs()) text += verb_section(verb);
    text += ".SS options of every verb\n";
    for (const OptionRow& row : common_options())
        text += tagged(option_head(row), option_help(row));
    text += ".SH EXIT STATUS\n";
    for (const ExitRow& row : exits()) text += tagged(std::to_string(row.status), row.meaning);
    return text + std::string(closing_page);
}

}  // namespace deckle::command
