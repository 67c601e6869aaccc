// The one table of what a person can type: verbs, options, arguments, defaults, examples, exit
// statuses. The command line, every --help, the man page and the completion are made from it.
#pragma once

#include <span>
#include <string_view>

namespace deckle::command {

/// Of product, per, indicator and address the study knows the words that fit.
enum class ValueKind {
    none,
    text,
    study,
    address,
    product,
    per,
    indicator,
    file,
    choice,
    whole_number
};

struct OptionRow {
    std::string_view name = {};      ///< "--by"; of a place in the line its word: "STUDY"
    std::string_view letter = {};    ///< "-o", or ""
    std::string_view argument = {};  ///< word for the value in help: "FILE"; "" for a flag
    ValueKind kind = ValueKind::none;
    std::string_view group = {};     ///< heading in the help
    std::string_view help = {};      ///< with the unit where the value has one
    std::string_view standard = {};  ///< the default in words, "" when there is none
    std::span<const std::string_view> choices = {};
    bool repeatable = false;
    bool may_be_missing = false;  ///< of a place

    [[nodiscard]] constexpr bool is_place() const { return !name.starts_with("-"); }
};

struct ExampleRow {
    std::string_view line;  ///< as typed
    std::string_view does;
};

struct VerbRow {
    std::string_view name;
    std::string_view purpose;            ///< one sentence without full stop
    std::string_view more;               ///< a paragraph
    std::span<const OptionRow> options;  ///< places first
    ExampleRow example;
    std::span<const int> exits;
};

struct ExitRow {
    int status;
    std::string_view meaning;
};

/// What a person uses a verb for; the help of the command is sorted by person.
struct TaskRow {
    std::string_view line;  ///< "footprint STUDY --by user"
    std::string_view does;
};

struct PersonRow {
    std::string_view who;
    std::string_view wants;
    std::span<const TaskRow> tasks;
};

inline constexpr std::string_view program_purpose =
    "carbon and water footprints of tissue, each figure traced to its source";

[[nodiscard]] std::span<const VerbRow> verbs() noexcept;
[[nodiscard]] std::span<const PersonRow> persons() noexcept;
[[nodiscard]] std::span<const ExitRow> exits() noexcept;
/// Options that every verb takes.
[[nodiscard]] std::span<const OptionRow> common_options() noexcept;

/// The row of a verb, or nullptr.
[[nodiscard]] const VerbRow* find_verb(std::string_view name) noexcept;
[[nodiscard]] std::string_view meaning_of_exit(int status) noexcept;

}  // namespace deckle::command
