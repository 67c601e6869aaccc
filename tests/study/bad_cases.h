// What is wrong with a study, as a table of cases: each changes a small good study in one place and
// says which problems must be reported, where, and in which words. The format, a line each:
//
//   a sentence that names the case          unindented
//       in      mill.yaml                   the file that the next lines change
//       find    text / put text             put may be empty; \n \t \\ \xNN are read in all texts
//       times   300 text / then text        added to what is put or written
//       write   text                        the whole file; `append` adds, `bytes N` makes N
//       spaces, folder                              `folder` puts a folder in its place, `remove`
//       nothing ask     trace ADDRESS               what is asked of the loaded study; also
//       break_out ADDRESS error   mill.yaml:12:5 unknown-key  `-` without a place; no_answer and
//       finding likewise says    part of the message         of the problem above; repeatable hint
//       part of the hint
#pragma once

#include <filesystem>
#include <string>
#include <vector>

namespace deckle::testing {

struct FileChange {
    enum class Kind { replace, append, write, bytes, folder, remove };
    Kind kind = Kind::replace;
    std::string file, find, put;
};

struct ExpectedProblem {
    std::string place, code;  ///< "mill.yaml:12:5", "" for none
    std::vector<std::string> says, hints;
};

struct BadCase {
    enum class Ends { input_error, no_answer, finding };
    std::string name, where;  ///< where it stands: "mill.cases:12"
    std::vector<FileChange> changes;
    std::string ask;
    Ends ends = Ends::input_error;
    std::vector<ExpectedProblem> problems;
};

/// All cases of the *.cases files of a folder, in the order of their names.
/// Errors: runtime_error that names the line.
[[nodiscard]] std::vector<BadCase> read_bad_cases(const std::filesystem::path& folder);

/// A copy of the good study at `to`, changed as the case says. Errors: runtime_error when a text to
/// find is not there exactly once.
void lay_out(const BadCase& bad, const std::filesystem::path& good,
             const std::filesystem::path& to);

[[nodiscard]] std::string read_whole(const std::filesystem::path& file);

}  // namespace deckle::testing
