#include "reports/seal/archive.h"

#include <archive.h>
#include <archive_entry.h>
#include <fmt/format.h>

#include <algorithm>
#include <memory>
#include <set>

#include "engine/text/problem.h"
#include "reports/inert.h"

namespace deckle {
namespace {

constexpr std::size_t magic_at = 257;
constexpr std::string_view magic{
    "ustar\0"
    "00",
    8};
constexpr mode_t mode_of_entries = 0644;

[[noreturn]] void refuse_archive(std::string code, std::string message, std::string hint = {}) {
    throw InputError(
        {Problem{{}, Severity::error, std::move(code), std::move(message), std::move(hint), {}}});
}

struct FreeArchive {
    void operator()(archive* one) const noexcept { archive_free(one); }
};
struct FreeEntry {
    void operator()(archive_entry* one) const noexcept { archive_entry_free(one); }
};
using ArchiveHandle = std::unique_ptr<archive, FreeArchive>;
using EntryHandle = std::unique_ptr<archive_entry, FreeEntry>;

std::string words_of_archive(archive* one) {
    const char* words = archive_error_string(one);
    return words == nullptr ? std::string("no reason is known") : inert(words);
}

la_ssize_t append(archive* /*unused*/, void* text, const void* bytes, std::size_t size) {
    static_cast<std::string*>(text)->append(static_cast<const char*>(bytes), size);
    return static_cast<la_ssize_t>(size);
}

void write_entry(archive* into, archive_entry* entry, const ArchiveFile& file) {
    archive_entry_clear(entry);
    archive_entry_set_pathname(entry, file.path.c_str());
    archive_entry_set_filetype(entry, AE_IFREG);
    archive_entry_set_perm(entry, mode_of_entries);
    archive_entry_set_size(entry, static_cast<la_int64_t>(file.bytes.size()));
    archive_entry_set_mtime(entry, 0, 0);
    if (archive_write_header(into, entry) != ARCHIVE_OK) {
        refuse_archive("path-too-long",
                       fmt::format("{} cannot be named in a seal: {}", inert(file.path),
                                   words_of_archive(into)),
                       "shorter names of folders and files: 100 bytes for a name, 155 for its "
                       "folders");
    }
    const auto size = static_cast<la_ssize_t>(file.bytes.size());
    if (archive_write_data(into, file.bytes.data(), file.bytes.size()) != size)
        throw std::logic_error("an archive in memory: " + words_of_archive(into));
}

/// Why a path may not stand in a seal, or "".
std::string_view fault_of_path(std::string_view path) {
    if (path.empty()) return "it is empty";
    if (path.front() == '/') return "it is absolute";
    if (path.find('\\') != std::string_view::npos) return "it holds a backslash";
    for (const char c : path) {
        if (static_cast<unsigned char>(c) < 0x20 || c == 0x7F)
            return "it holds a control character";
    }
    for (std::size_t start = 0; start <= path.size();) {
        const std::size_t end = std::min(path.find('/', start), path.size());
        const std::string_view part = path.substr(start, end - start);
        if (part == "..") return "it leads out of the seal";
        if (part.empty() || part == ".") return "it has an empty part";
        start = end + 1;
    }
    return {};
}

class ArchiveReader {
public:
    explicit ArchiveReader(std::string_view bytes) : from_(archive_read_new()) {
        archive_read_support_format_tar(from_.get());
        if (archive_read_open_memory(from_.get(), bytes.data(), bytes.size()) != ARCHIVE_OK)
            refuse_damaged();
    }

    std::vector<ArchiveFile> read() {
        std::vector<ArchiveFile> files;
        archive_entry* entry = nullptr;
        for (;;) {
            const int status = archive_read_next_header(from_.get(), &entry);
            if (status == ARCHIVE_EOF) return files;
            if (status != ARCHIVE_OK) refuse_damaged();
            if (files.size() == most_entries)
                refuse_archive("too-large",
                               fmt::format("the archive has more than {} entries", most_entries));
            files.push_back(read_file(entry));
        }
    }

private:
    ArchiveFile read_file(archive_entry* entry) {
        const char* name = archive_entry_pathname(entry);
        ArchiveFile file{name == nullptr ? std::string() : std::string(name), {}};
        check_kind(entry, file.path);
        if (const auto fault = fault_of_path(file.path); !fault.empty())
            refuse_archive("unsafe-path", fmt::format("the archive has an entry `{}`: {}",
                                                      inert(file.path), fault));
        if (!paths_.insert(file.path).second)
            refuse_archive("duplicate-entry",
                           fmt::format("the archive has two entries {}", inert(file.path)));
        const auto size = static_cast<std::uint64_t>(archive_entry_size(entry));
        if (size > most_entry_bytes)
            refuse_archive("too-large", fmt::format("entry {} says it has {} bytes; {} is the most",
                                                    inert(file.path), size, most_entry_bytes));
        read_bytes(file, size);
        return file;
    }

    static void check_kind(archive_entry* entry, const std::string& path) {
        const bool link =
            archive_entry_hardlink(entry) != nullptr || archive_entry_symlink(entry) != nullptr;
        if (link || archive_entry_filetype(entry) != AE_IFREG)
            refuse_archive("unsafe-entry",
                           fmt::format("entry `{}` is {}, and a seal holds files alone",
                                       inert(path), link ? "a link" : "no plain file"));
    }

    /// In pieces: what an entry says of its size is believed only as far as bytes come.
    void read_bytes(ArchiveFile& file, std::uint64_t size) {
        const void* piece = nullptr;
        std::size_t length = 0;
        la_int64_t offset = 0;
        for (;;) {
            const int status = archive_read_data_block(from_.get(), &piece, &length, &offset);
            if (status == ARCHIVE_EOF) break;
            if (status != ARCHIVE_OK) refuse_damaged();
            if (offset != static_cast<la_int64_t>(file.bytes.size())) refuse_damaged();
            file.bytes.append(static_cast<const char*>(piece), length);
            if (file.bytes.size() > size) refuse_damaged();
        }
        if (file.bytes.size() != size) refuse_damaged();
    }

    [[noreturn]] void refuse_damaged() {
        refuse_archive(
            "not-a-seal",
            fmt::format("the archive cannot be read to its end: {}", words_of_archive(from_.get())),
            "it was cut off or damaged: fetch it again");
    }

    ArchiveHandle from_;
    std::set<std::string> paths_;
};

/// The entry whose header or bytes hold this byte of the archive.
std::string entry_at(std::span<const ArchiveFile> files, std::size_t offset) {
    std::size_t end = 0;
    for (const ArchiveFile& file : files) {
        const std::size_t blocks = (file.bytes.size() + archive_block - 1) / archive_block;
        end += archive_block + blocks * archive_block;
        if (offset < end) return file.path;
    }
    return "its end";
}

void check_layout(std::string_view bytes, std::span<const ArchiveFile> files) {
    const std::string own = write_archive(files);
    if (own == bytes) return;
    const auto differs = std::mismatch(own.begin(), own.end(), bytes.begin(), bytes.end());
    if (differs.first == own.end())
        refuse_archive("trailing-data", fmt::format("{} bytes follow the end of the archive",
                                                    bytes.size() - own.size()));
    const auto offset = static_cast<std::size_t>(differs.first - own.begin());
    refuse_archive(
        "other-layout",
        fmt::format("byte {} of the archive, at {}, is not as deckle writes it", offset + 1,
                    inert(entry_at(files, offset))),
        "a seal that was unpacked and packed again by another program is no longer that seal");
}

}  // namespace

std::string write_archive(std::span<const ArchiveFile> files) {
    std::string bytes;
    const ArchiveHandle into(archive_write_new());
    const EntryHandle entry(archive_entry_new());
    archive_write_set_format_ustar(into.get());
    archive_write_set_bytes_per_block(into.get(), archive_block);
    archive_write_set_bytes_in_last_block(into.get(), archive_block);
    if (archive_write_open(into.get(), &bytes, nullptr, append, nullptr) != ARCHIVE_OK)
        throw std::logic_error("an archive in memory: " + words_of_archive(into.get()));
    for (const ArchiveFile& file : files) write_entry(into.get(), entry.get(), file);
    if (archive_write_close(into.get()) != ARCHIVE_OK)
        throw std::logic_error("an archive in memory: " + words_of_archive(into.get()));
    return bytes;
}

bool looks_like_archive(std::string_view start) noexcept {
    return start.size() >= archive_block && start.substr(magic_at, magic.size()) == magic;
}

std::vector<ArchiveFile> read_archive(std::string_view bytes) {
    if (bytes.size() > most_archive_bytes)
        refuse_archive("too-large", fmt::format("the archive has {} bytes; {} is the most",
                                                bytes.size(), most_archive_bytes));
    if (!looks_like_archive(bytes))
        refuse_archive("not-a-seal", "this is no seal: it does not start as an archive does",
                       "deckle seal STUDY -o FILE makes one");
    std::vector<ArchiveFile> files = ArchiveReader(bytes).read();
    check_layout(bytes, files);
    return files;
}

}  // namespace deckle
