// Where a report goes: standard output, a file that is written whole or not at all (a temporary
// file beside it, then renamed over it), or a folder of files, likewise.
#pragma once

#include <map>
#include <string>
#include <string_view>
#include <vector>

#include "engine/text/files.h"

namespace deckle::command {

/// Code of the problem that an output cannot be written.
inline constexpr std::string_view cannot_write = "cannot-write";
/// Code of the problem that a file stands where a new one should.
inline constexpr std::string_view file_exists = "file-exists";

/// Writes everything or fails; `-` is standard output. A device or a pipe is written as it is.
/// `inputs` are never overwritten.
/// Errors: InputError cannot-write: a folder, no such folder, no permission, a full disk, a reader
/// that went away, a file of the study.
void write_output(const std::string& target, std::string_view text, const Files& inputs);

/// Who may read a file that is new.
enum class Readers { as_usual, owner_alone };

/// The same for a file that must not exist yet: evidence and keys are never written over.
/// Errors: InputError cannot-write, file-exists.
void write_new_output(const std::string& target, std::string_view text, Readers readers);

/// Texts of files by their paths in a folder.
using Texts = std::map<std::string, std::string>;

/// The same for a folder of files: all of them, or no folder.
/// Errors: InputError cannot-write, file-exists (an empty folder too).
void write_new_folder(const std::string& target, const Texts& texts);

/// Keeps a stream that the caller closed from being taken by the next file opened, and makes a
/// reader that goes away an error instead of a signal.
void secure_standard_streams();

}  // namespace deckle::command
