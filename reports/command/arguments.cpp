#include "reports/command/arguments.h"

#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <algorithm>
#include <charconv>

#include "engine/text/nearest.h"
#include "engine/text/problem.h"
#include "reports/inert.h"

namespace deckle::command {
namespace {

constexpr int largest_number = 1'000'000;

std::string help_hint(const VerbRow& verb) {
    return fmt::format("see deckle {} --help", verb.name);
}

std::vector<std::string> option_names(const VerbRow& verb) {
    std::vector<std::string> names;
    for (const auto& rows : {verb.options, common_options()}) {
        for (const OptionRow& row : rows) {
            if (!row.is_place()) names.emplace_back(row.name);
        }
    }
    return names;
}

std::string spelling(const OptionRow& row) {
    if (row.is_place() || row.letter.empty()) return std::string(row.name);
    return fmt::format("{},{}", row.letter, row.name);
}

void declare(CLI::App& app, const OptionRow& row, Arguments& into) {
    auto& values = into.values[std::string(row.name)];
    if (row.kind == ValueKind::none) {
        app.add_flag_callback(spelling(row), [&values] { values.emplace_back(); });
        return;
    }
    CLI::Option* option = app.add_option(spelling(row), values);
    if (row.is_place() && row.repeatable) option->expected(-1);
    else option->expected(1)->allow_extra_args(false);
    option->multi_option_policy(CLI::MultiOptionPolicy::TakeAll);
}

/// Names the first thing that no row of the table takes.
void refuse_extras(const VerbRow& verb, const std::vector<std::string>& extras) {
    if (extras.empty()) return;
    const std::string& first = extras.front();
    if (!first.starts_with("-")) {
        refuse_usage(
            fmt::format("{} takes nothing more, but `{}` was typed", verb.name, inert(first)),
            help_hint(verb));
    }
    const std::string name = first.substr(0, first.find('='));
    const std::string near = did_you_mean(name, option_names(verb));
    refuse_usage(fmt::format("{} has no option {}", verb.name, inert(name)),
                 near.empty() ? help_hint(verb) : near);
}

/// The parser's complaint starts with the option: "--by: 1 required TEXT missing".
[[noreturn]] void refuse_missing_value(const VerbRow& verb, std::string_view complaint) {
    const std::string_view name = complaint.substr(0, complaint.find(':'));
    const auto row = std::ranges::find(verb.options, name, &OptionRow::name);
    if (row == verb.options.end()) refuse_usage(inert(complaint), help_hint(verb));
    refuse_usage(fmt::format("{} needs {} after it: {}", row->name, row->argument, row->help),
                 help_hint(verb));
}

void check_choice(const OptionRow& row, const std::string& typed) {
    if (std::ranges::find(row.choices, typed) != row.choices.end()) return;
    const std::vector<std::string> known(row.choices.begin(), row.choices.end());
    const std::string near = did_you_mean(typed, known);
    refuse_usage(fmt::format("{} does not take `{}`", row.name, inert(typed)),
                 near.empty() ? fmt::format("it takes {}", fmt::join(known, ", ")) : near);
}

std::optional<int> whole_number(const std::string& typed) {
    int number = 0;
    const auto end = typed.data() + typed.size();
    const auto read = std::from_chars(typed.data(), end, number);
    if (read.ec != std::errc() || read.ptr != end) return std::nullopt;
    return number >= 1 && number <= largest_number ? std::optional(number) : std::nullopt;
}

void check_value(const OptionRow& row, const std::string& typed) {
    if (typed.empty() && row.kind != ValueKind::none) {
        refuse_usage(fmt::format("{} is empty", row.name), "");
    }
    if (row.kind == ValueKind::choice) check_choice(row, typed);
    if (row.kind == ValueKind::whole_number && !whole_number(typed)) {
        refuse_usage(fmt::format("{} takes a whole number from 1 to {}, but `{}` was typed",
                                 row.name, largest_number, inert(typed)),
                     "");
    }
}

void check_values(const VerbRow& verb, const Arguments& arguments) {
    for (const OptionRow& row : verb.options) {
        const auto typed = arguments.all(row.name);
        if (row.is_place() && typed.empty() && !row.may_be_missing) {
            refuse_usage(fmt::format("{} needs {}: {}", verb.name, row.name, row.help),
                         help_hint(verb));
        }
        if (!row.repeatable && typed.size() > 1) {
            refuse_usage(fmt::format("{} was typed twice", row.name), help_hint(verb));
        }
        for (const auto& value : typed) check_value(row, value);
    }
}

}  // namespace

bool Arguments::has(std::string_view name) const { return !all(name).empty(); }

std::vector<std::string> Arguments::all(std::string_view name) const {
    const auto found = values.find(name);
    return found == values.end() ? std::vector<std::string>() : found->second;
}

std::string Arguments::one(std::string_view name) const {
    const auto typed = all(name);
    return typed.empty() ? std::string() : typed.front();
}

int Arguments::number(std::string_view name, int otherwise) const {
    return whole_number(one(name)).value_or(otherwise);
}

Arguments read_arguments(const VerbRow& verb, const std::vector<std::string>& typed) {
    Arguments arguments;
    CLI::App app;
    app.set_help_flag();
    app.allow_extras();
    for (const auto& rows : {verb.options, common_options()}) {
        for (const OptionRow& row : rows) declare(app, row, arguments);
    }
    std::vector<std::string> reversed(typed.rbegin(), typed.rend());
    try {
        app.parse(std::move(reversed));
    } catch (const CLI::ArgumentMismatch& error) {
        refuse_missing_value(verb, error.what());
    } catch (const CLI::ParseError& error) {
        refuse_usage(inert(error.what()), help_hint(verb));
    }
    if (arguments.has("--help")) return arguments;
    std::vector<std::string> extras = app.remaining();
    std::erase(extras, "--");  // the end of options, which the parser keeps
    refuse_extras(verb, extras);
    check_values(verb, arguments);
    return arguments;
}

void refuse_usage(std::string message, std::string hint) {
    throw InputError(
        {Problem{{}, Severity::error, "usage", std::move(message), std::move(hint), {}}});
}

}  // namespace deckle::command
