// The texts a study was read from, kept so that any Place can be shown with its line.
// Files reads from disk and refuses what cannot be text of ours; it does not parse.
#pragma once

#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "engine/text/place.h"

namespace deckle {

class Files {
public:
    /// Texts by the path that read() is asked for.
    using Held = std::map<std::string, std::string, std::less<>>;

    struct File {
        std::string path;  ///< as typed by the user, or relative to the study
        std::string text;  ///< without byte order mark
        std::vector<std::size_t> line_starts;
        bool had_mark = false;  ///< a byte order mark stood before the text

        bool refused = false;  ///< it is no text: kept to show the line, never read
    };

    /// Index of a file read from disk [from 1]. The same path is read once.
    /// Errors: InputError missing-file, not-a-file, file-too-large (above 64 MB), not-utf8,
    /// binary-file (these two where the byte stands), unreadable-file; `asked_from` is the place
    /// that named the file.
    std::uint32_t read(const std::string& path, Place asked_from = {});

    /// From now on read() takes these texts and never looks at the disk; what is not among them is
    /// a missing file.
    void read_only_from(Held held) { held_ = std::move(held); }
    [[nodiscard]] bool held() const noexcept { return held_.has_value(); }

    /// The bytes that a file has on disk, with its byte order mark.
    [[nodiscard]] std::string bytes_of(std::uint32_t file) const;

    /// Index of a text held in memory [from 1]. Errors: InputError not-utf8, binary-file.
    std::uint32_t add(std::string path, std::string text, Place asked_from = {});

    [[nodiscard]] const File& at(std::uint32_t file) const { return files_.at(file - 1); }
    [[nodiscard]] std::size_t count() const noexcept { return files_.size(); }

    /// The line a place stands on, without its line end; empty when unknown.
    [[nodiscard]] std::string_view line(Place place) const;

    /// "path:line:column", or "path" or "" as far as known.
    [[nodiscard]] std::string where(Place place) const;

private:
    [[noreturn]] void refuse_byte(File file, std::size_t offset, bool control, Place asked_from);

    [[nodiscard]] std::string held_text(const std::string& path, Place asked_from) const;

    std::vector<File> files_;
    std::optional<Held> held_;
};

}  // namespace deckle
