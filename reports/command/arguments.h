// What was typed after a verb, checked against its row of the table. Says what is wrong in one
// shape with all other problems; knows nothing of studies.
#pragma once

#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "reports/command/verbs.h"

namespace deckle::command {

class Arguments {
public:
    /// By the names of the table: "STUDY", "--by".
    std::map<std::string, std::vector<std::string>, std::less<>> values;

    [[nodiscard]] bool has(std::string_view name) const;
    /// All values of a repeatable option.
    [[nodiscard]] std::vector<std::string> all(std::string_view name) const;
    /// The value of an option, or "".
    [[nodiscard]] std::string one(std::string_view name) const;
    /// Of an option that takes a whole number; `otherwise` when it was not typed.
    [[nodiscard]] int number(std::string_view name, int otherwise) const;
};

/// Errors: InputError usage, with the nearest option or choice.
[[nodiscard]] Arguments read_arguments(const VerbRow& verb, const std::vector<std::string>& typed);

/// An InputError without a place, code `usage`.
[[noreturn]] void refuse_usage(std::string message, std::string hint);

}  // namespace deckle::command
