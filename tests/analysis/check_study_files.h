// A small whole study in memory, written to a folder of its own and checked: the ground of the
// tests of `check`. It closes in every respect, so that a test changes one thing and sees one
// finding.
#pragma once

#include <filesystem>
#include <map>
#include <string>
#include <vector>

#include "engine/analysis/check.h"
#include "engine/study/study.h"

namespace deckle_test {

class StudyFiles {
public:
    /// The study that closes; its figures are derived in the source file.
    StudyFiles();

    /// Replaces a text that stands once in a file. Errors: the test fails when it does not.
    StudyFiles& change(const std::string& file, const std::string& from, const std::string& to);
    /// Puts a text after the line that begins with `line` (blanks before it do not count).
    StudyFiles& after(const std::string& file, const std::string& line, const std::string& text);
    StudyFiles& file(const std::string& name, const std::string& text);

    /// Writes, loads, evaluates and checks. The folder is gone when it returns.
    [[nodiscard]] deckle::CheckReport check() const;
    /// Problems of the limits that its rules set.
    [[nodiscard]] std::vector<deckle::Problem> refused_limits() const;
    /// Findings of a code.
    [[nodiscard]] std::vector<deckle::Finding> findings(const std::string& code) const;
    /// The one finding of a code; the test fails when there are none or several.
    [[nodiscard]] deckle::Finding only(const std::string& code) const;

private:
    void write(const std::filesystem::path& folder) const;

    std::map<std::string, std::string> files_;
};

/// A shipped study, loaded and checked.
[[nodiscard]] deckle::CheckReport check_shipped(const std::string& name);

/// The balance of `of` and `kind`, "as typed" or per something.
[[nodiscard]] const deckle::Balance& balance(const deckle::CheckReport& report,
                                             const std::string& of, const std::string& kind,
                                             const std::string& per = "as typed");

[[nodiscard]] bool has(const std::string& text, const std::string& part);

}  // namespace deckle_test
