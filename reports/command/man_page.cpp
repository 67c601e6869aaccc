#include <fmt/format.h>

#include "reports/command/help.h"
#include "reports/command/manual.h"
#include "reports/command/verbs.h"

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

/// A tagged paragraph: `.TP`, tag, text.
std::string tagged(std::string_view tag, std::string_view text) {
    return fmt::format(".TP\n.B {}\n{}\n", troff(tag), troff(text));
}

std::string verb_section(const VerbRow& verb) {
    std::string text = fmt::format(".SS {}\n.B {}\n.PP\nShows {}. {}\n", troff(verb.name),
                                   troff(usage_of(verb)), troff(verb.purpose), troff(verb.more));
    for (const OptionRow& row : verb.options) text += tagged(option_head(row), option_help(row));
    text += fmt::format(".PP\nExample, which {}:\n.PP\n.RS 4\n.nf\n{}\n.fi\n.RE\n",
                        troff(verb.example.does), troff(verb.example.line));
    std::string statuses;
    for (const int status : verb.exits) {
        statuses += fmt::format("{}{}", statuses.empty() ? "" : ", ", status);
    }
    return text + fmt::format(".PP\nExit status: {}.\n", statuses);
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

constexpr std::string_view closing =
    ".SH ENVIRONMENT\n"
    ".TP\n.B NO_COLOR\nWhen set to anything, no colour is used on a terminal.\n"
    ".SH FILES\n"
    "A study is a folder with a study.yaml that names its mills, products and factor tables.\n"
    "The schema pages that are installed beside the demonstration describe every key.\n"
    ".SH NOTES\n"
    "The demonstration's mills are invented. Figures made under different rules must not be\n"
    "compared, and a figure is not verified unless its verifier is named.\n";

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
    return text + std::string(closing);
}

}  // namespace deckle::command
