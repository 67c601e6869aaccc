// Files in one ustar archive (POSIX.1-1988, in POSIX.1-2017 under pax), by libarchive. The same
// files give the same bytes: no times, no owners, no folders, no padding beyond the two blocks of
// the end. Reading takes nothing else: whatever else an archive may say is refused.
#pragma once

#include <span>
#include <string>
#include <string_view>
#include <vector>

namespace deckle {

struct ArchiveFile {
    std::string path;  ///< relative, parts between single strokes: "inputs/study.yaml"
    std::string bytes;
    friend bool operator==(const ArchiveFile&, const ArchiveFile&) = default;
};

/// Errors: InputError path-too-long (ustar holds 100 bytes of name after 155 of folders).
[[nodiscard]] std::string write_archive(std::span<const ArchiveFile> files);

/// Errors: InputError not-a-seal (another kind of file, cut off, damaged), unsafe-path (absolute,
/// with `..`, empty parts or control characters), unsafe-entry (a link, a folder, a device),
/// duplicate-entry, too-large (entries, one entry, all of them), trailing-data, other-layout (bytes
/// that write_archive would not have written).
[[nodiscard]] std::vector<ArchiveFile> read_archive(std::string_view bytes);

/// Whether a file starts as an archive of this kind does.
[[nodiscard]] bool looks_like_archive(std::string_view start) noexcept;

inline constexpr std::size_t archive_block = 512;  ///< bytes
inline constexpr std::size_t most_archive_bytes =
    std::size_t{512} * 1024 * 1024;  ///< of a whole archive
inline constexpr std::size_t most_entry_bytes = std::size_t{256} * 1024 * 1024;
inline constexpr std::size_t most_entries = 4096;

}  // namespace deckle
