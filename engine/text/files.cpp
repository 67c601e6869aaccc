#include "engine/text/files.h"

#include <fmt/format.h>

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <optional>
#include <system_error>

#include "engine/text/problem.h"

namespace deckle {
namespace {

constexpr std::string_view byte_order_mark = "\xEF\xBB\xBF";
constexpr std::uintmax_t largest_file_bytes = std::uintmax_t{64} * 1024 * 1024;

struct BadByte {
    std::size_t offset;
    bool control;  ///< a control character, else a broken UTF-8 sequence
};

/// Bytes of the UTF-8 sequence at `i`; 0 if it is broken (overlong and surrogates included).
std::size_t sequence_length(std::string_view text, std::size_t i) {
    const auto byte = [&](std::size_t k) { return static_cast<unsigned char>(text[k]); };
    const unsigned first = byte(i);
    std::size_t length = 0;
    if (first < 0x80) return 1;
    if (first >= 0xC2 && first <= 0xDF) length = 2;
    else if (first >= 0xE0 && first <= 0xEF) length = 3;
    else if (first >= 0xF0 && first <= 0xF4) length = 4;
    if (length == 0 || i + length > text.size()) return 0;
    for (std::size_t k = 1; k < length; ++k) {
        if ((byte(i + k) & 0xC0U) != 0x80U) return 0;
    }
    const unsigned second = byte(i + 1);
    const bool overlong = (first == 0xE0 && second < 0xA0) || (first == 0xF0 && second < 0x90);
    const bool outside = (first == 0xED && second > 0x9F) || (first == 0xF4 && second > 0x8F);
    return overlong || outside ? 0 : length;
}

std::optional<BadByte> first_bad_byte(std::string_view text) {
    for (std::size_t i = 0; i < text.size();) {
        const auto c = static_cast<unsigned char>(text[i]);
        if ((c < 0x20 && c != '\n' && c != '\r' && c != '\t') || c == 0x7F) return BadByte{i, true};
        const std::size_t length = sequence_length(text, i);
        if (length == 0) return BadByte{i, false};
        i += length;
    }
    return std::nullopt;
}

/// The text with a ? for every byte from `offset` on that is none of a text.
std::string shown_text(std::string text, std::size_t offset) {
    while (const auto bad = first_bad_byte(std::string_view(text).substr(offset))) {
        offset += bad->offset;
        text[offset++] = '?';
    }
    return text;
}

std::vector<std::size_t> line_starts(std::string_view text) {
    std::vector<std::size_t> starts{0};
    for (std::size_t i = 0; i < text.size(); ++i) {
        if (text[i] == '\n') starts.push_back(i + 1);
    }
    return starts;
}

[[noreturn]] void refuse(Place from, std::string code, std::string message, std::string hint,
                         std::vector<Place> also = {}) {
    throw InputError({Problem{from, Severity::error, std::move(code), std::move(message),
                              std::move(hint), std::move(also)}});
}

std::string slurp(const std::string& path, Place from) {
    namespace fs = std::filesystem;
    std::error_code error;
    const auto status = fs::status(path, error);
    if (!fs::status_known(status)) {
        refuse(from, "unreadable-file", fmt::format("{} cannot be read: {}", path, error.message()),
               "a folder on its way may be closed to you, or a link may lead back to itself");
    }
    if (!fs::exists(status)) {
        refuse(from, "missing-file", fmt::format("there is no file {}", path),
               from.known() ? "paths are relative to the study's folder"
                            : "a path is relative to the folder you are in");
    }
    if (!fs::is_regular_file(status)) {
        refuse(from, "not-a-file", fmt::format("{} is not a file", path),
               fs::is_directory(status) ? "this is a folder; name a file in it" : "");
    }
    if (const auto size = fs::file_size(path, error); !error && size > largest_file_bytes) {
        refuse(from, "file-too-large",
               fmt::format("{} has {} MB; a file may have up to 64 MB", path, size / 1000000),
               "split the table into several files");
    }
    std::ifstream stream(path, std::ios::binary);
    std::string text((std::istreambuf_iterator<char>(stream)), std::istreambuf_iterator<char>());
    if (!stream.good() && !stream.eof()) {
        refuse(from, "unreadable-file", fmt::format("{} cannot be read", path), "");
    }
    return text;
}

}  // namespace

std::uint32_t Files::read(const std::string& path, Place asked_from) {
    const auto same = std::find_if(files_.begin(), files_.end(), [&](const File& file) {
        return file.path == path && !file.refused;
    });
    if (same != files_.end()) return static_cast<std::uint32_t>(same - files_.begin() + 1);
    return add(path, held_ ? held_text(path, asked_from) : slurp(path, asked_from), asked_from);
}

std::string Files::held_text(const std::string& path, Place asked_from) const {
    const auto found = held_->find(path);
    if (found != held_->end()) return found->second;
    refuse(asked_from, "missing-file", fmt::format("the seal holds no file {}", path),
           "a seal holds what a study names by paths relative to its folder");
}

std::string Files::bytes_of(std::uint32_t file) const {
    return (at(file).had_mark ? std::string(byte_order_mark) : std::string()) + at(file).text;
}

std::uint32_t Files::add(std::string path, std::string text, Place asked_from) {
    const bool marked = text.starts_with(byte_order_mark);
    if (marked) text.erase(0, byte_order_mark.size());
    const auto bad = first_bad_byte(text);
    File file{std::move(path), std::move(text), {}, marked};
    file.line_starts = line_starts(file.text);
    if (bad) refuse_byte(std::move(file), bad->offset, bad->control, asked_from);
    files_.push_back(std::move(file));
    return static_cast<std::uint32_t>(files_.size());
}

void Files::refuse_byte(File file, std::size_t offset, bool control, Place asked_from) {
    const auto after = std::upper_bound(file.line_starts.begin(), file.line_starts.end(), offset);
    const auto line = static_cast<std::uint32_t>(after - file.line_starts.begin());
    const auto column = static_cast<std::uint32_t>(offset - file.line_starts[line - 1] + 1);
    const auto byte = static_cast<unsigned char>(file.text[offset]);
    file.text = shown_text(std::move(file.text), offset);
    file.refused = true;
    files_.push_back(std::move(file));
    const Place here{static_cast<std::uint32_t>(files_.size()), line, column, 1};
    std::vector<Place> also;
    if (asked_from.known()) also.push_back(asked_from);
    if (control) {
        refuse(here, "binary-file",
               fmt::format("byte 0x{:02x} does not belong in a text file", byte),
               "Deckle reads plain text in UTF-8", std::move(also));
    }
    refuse(here, "not-utf8", fmt::format("byte 0x{:02x} is not UTF-8", byte),
           "save the file as UTF-8; this looks like Latin-1 or a similar older encoding",
           std::move(also));
}

std::string_view Files::line(Place place) const {
    if (!place.known() || place.line == 0) return {};
    const File& file = at(place.file);
    if (place.line > file.line_starts.size()) return {};
    // where it ends is known: one line may hold a whole table, and is asked for by each of its
    // texts
    const std::size_t start = file.line_starts[place.line - 1];
    const std::size_t end =
        place.line < file.line_starts.size() ? file.line_starts[place.line] : file.text.size();
    std::string_view line = std::string_view(file.text).substr(start, end - start);
    if (line.ends_with('\n')) line.remove_suffix(1);
    if (line.ends_with('\r')) line.remove_suffix(1);
    return line;
}

std::string Files::where(Place place) const {
    if (!place.known()) return {};
    if (place.line == 0) return at(place.file).path;
    return fmt::format("{}:{}:{}", at(place.file).path, place.line, place.column);
}

}  // namespace deckle
