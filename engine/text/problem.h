// What is wrong with an input, said once and in one shape: place, message, stable code, hint.
// Readers collect Problems and throw InputError once; NoAnswer is for valid input without a result.
#pragma once

#include <cstdint>
#include <span>
#include <stdexcept>
#include <string>
#include <vector>

#include "engine/text/files.h"
#include "engine/text/place.h"

namespace deckle {

enum class Severity : std::uint8_t { finding, error };

struct Problem {
    Place where;
    Severity severity = Severity::error;
    std::string code;     ///< never renamed: tests and readers of the output rely on it
    std::string message;  ///< the fault in the words of the mill
    std::string hint;     ///< the next step, where there is one
    std::vector<Place> related;
};

/// The user's files or options are wrong: exit status 2.
class InputError : public std::runtime_error {
public:
    explicit InputError(std::vector<Problem> problems);
    std::vector<Problem> problems;
};

/// The input is valid but has no answer (a loop that needs more of itself than it makes, a negative
/// rest): exit status 3. Carries one problem.
class NoAnswer : public std::runtime_error {
public:
    explicit NoAnswer(Problem problem);
    Problem problem;
};

/// Collects the problems of one load, so that all of them are reported together.
class Problems {
public:
    void add(Place where, std::string code, std::string message, std::string hint = {},
             std::vector<Place> related = {});
    void add(const InputError& error);
    [[nodiscard]] bool empty() const noexcept { return all_.empty(); }
    [[nodiscard]] std::size_t count() const noexcept { return all_.size(); }
    [[nodiscard]] std::span<const Problem> all() const noexcept { return all_; }
    /// Throws InputError with everything collected, sorted by place; does nothing when empty.
    void throw_if_any();

private:
    std::vector<Problem> all_;
};

/// The printed form: `file:line:col: error: message [code]`, the source line with a caret under the
/// whole value, then `hint: ...`. Ends with a line end.
[[nodiscard]] std::string problem_text(const Problem& problem, const Files& files);

/// All problems, at most fifty, then "and N more"; last line: "N errors, nothing computed".
[[nodiscard]] std::string problems_text(const std::vector<Problem>& problems, const Files& files);

}  // namespace deckle
