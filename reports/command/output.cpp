#include "reports/command/output.h"

#include <fcntl.h>
#include <fmt/format.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cerrno>
#include <csignal>
#include <cstring>
#include <filesystem>
#include <optional>

#include "engine/text/problem.h"
#include "reports/inert.h"

namespace deckle::command {
namespace {

namespace fs = std::filesystem;

constexpr int most_links = 40;

std::string hint_for(int error) {
    switch (error) {
        case ENOENT: return "the folder does not exist";
        case ENOTDIR: return "a part of the path is not a folder";
        case EACCES:
        case EPERM:
        case EROFS: return "choose a folder you may write in";
        case ENOSPC:
        case EDQUOT: return "the disk is full";
        default: return {};
    }
}

[[noreturn]] void refuse(const std::string& target, std::string_view why, std::string hint) {
    const std::string name = target == "-" ? "standard output" : inert(target);
    throw InputError({Problem{{},
                              Severity::error,
                              std::string(cannot_write),
                              fmt::format("cannot write {}: {}", name, why),
                              std::move(hint),
                              {}}});
}

[[noreturn]] void refuse(const std::string& target, int error) {
    refuse(target, std::strerror(error), hint_for(error));
}

[[noreturn]] void refuse_existing(const std::string& target) {
    throw InputError({Problem{{},
                              Severity::error,
                              std::string(file_exists),
                              fmt::format("{} exists already", inert(target)),
                              "choose another name: what stands there is never written over",
                              {}}});
}

/// 0, or the error of the first write that failed.
int write_all(int descriptor, std::string_view text) {
    while (!text.empty()) {
        const ssize_t written = ::write(descriptor, text.data(), text.size());
        if (written < 0 && errno == EINTR) continue;
        if (written < 0) return errno;
        text.remove_prefix(static_cast<std::size_t>(written));
    }
    return 0;
}

/// Signals that end a program wait while this lives.
class EndingWaits {
public:
    EndingWaits() {
        sigset_t ending;
        sigemptyset(&ending);
        for (const int signal : {SIGINT, SIGTERM, SIGHUP, SIGQUIT}) sigaddset(&ending, signal);
        sigprocmask(SIG_BLOCK, &ending, &before_);
    }
    ~EndingWaits() { sigprocmask(SIG_SETMASK, &before_, nullptr); }
    EndingWaits(const EndingWaits&) = delete;
    EndingWaits& operator=(const EndingWaits&) = delete;

private:
    sigset_t before_{};
};

constexpr std::string_view temporary_name = ".deckle-XXXXXX";

/// A temporary file that is gone unless it was renamed.
class TemporaryFile {
public:
    explicit TemporaryFile(const fs::path& folder) : path_((folder / temporary_name).string()) {
        descriptor_ = ::mkostemp(path_.data(), O_CLOEXEC);
        if (descriptor_ < 0) error_ = errno;
    }
    ~TemporaryFile() {
        close();
        if (!kept_ && error_ == 0) ::unlink(path_.c_str());
    }
    TemporaryFile(const TemporaryFile&) = delete;
    TemporaryFile& operator=(const TemporaryFile&) = delete;

    /// 0, or the error that kept the text from becoming `target`.
    int become(const fs::path& target, std::string_view text, mode_t mode) {
        if (error_ != 0) return error_;
        int error = fill(text, mode);
        if (error == 0 && ::rename(path_.c_str(), target.c_str()) != 0) error = errno;
        kept_ = error == 0;
        return error;
    }

    /// The same where nothing may stand there yet: EEXIST.
    int become_new(const fs::path& target, std::string_view text, mode_t mode) {
        if (error_ != 0) return error_;
        int error = fill(text, mode);
        if (error == 0 && ::link(path_.c_str(), target.c_str()) != 0) error = errno;
        return error;  // its first name goes with this object
    }

private:
    int fill(std::string_view text, mode_t mode) {
        int error = write_all(descriptor_, text);
        if (error == 0 && ::fchmod(descriptor_, mode) != 0) error = errno;
        if (error == 0 && ::fsync(descriptor_) != 0) error = errno;
        if (error == 0 && close() != 0) error = errno;
        return error;
    }

    int close() {
        if (descriptor_ < 0) return 0;
        const int result = ::close(descriptor_);
        descriptor_ = -1;
        return result;
    }

    EndingWaits waits_;
    std::string path_;
    int descriptor_ = -1;
    int error_ = 0;  ///< of making the file
    bool kept_ = false;
};

/// A temporary folder that is gone with all in it unless it was renamed.
class TemporaryFolder {
public:
    explicit TemporaryFolder(const fs::path& parent) : path_((parent / temporary_name).string()) {
        is_there_ = ::mkdtemp(path_.data()) != nullptr;
        if (!is_there_) error_ = errno;
    }
    ~TemporaryFolder() {
        std::error_code ignored;
        if (is_there_) fs::remove_all(path_, ignored);
    }
    TemporaryFolder(const TemporaryFolder&) = delete;
    TemporaryFolder& operator=(const TemporaryFolder&) = delete;

    /// 0, or the error that kept the texts from becoming the files of `target`.
    int become(const fs::path& target, const Texts& texts, mode_t mode) {
        for (const auto& [name, text] : texts) {
            if (error_ == 0) error_ = fill(fs::path(path_) / name, text, mode);
        }
        constexpr mode_t searched = 0111;  // by whoever may read
        const mode_t of_folder = mode | (mode >> 2U & searched);
        if (error_ == 0 && ::chmod(path_.c_str(), of_folder) != 0) error_ = errno;
        if (error_ == 0 && ::rename(path_.c_str(), target.c_str()) != 0) error_ = errno;
        if (error_ == 0) is_there_ = false;  // under its own name
        return error_;
    }

private:
    static int fill(const fs::path& path, std::string_view text, mode_t mode) {
        std::error_code error;
        fs::create_directories(path.parent_path(), error);
        if (error) return error.value();
        TemporaryFile file(path.parent_path());
        return file.become(path, text, mode);
    }

    EndingWaits waits_;
    std::string path_;
    int error_ = 0;
    bool is_there_ = false;
};

/// The file that a chain of links ends at, existing or not.
fs::path behind_links(fs::path path) {
    std::error_code error;
    for (int i = 0; i < most_links && fs::is_symlink(fs::symlink_status(path, error)); ++i) {
        const fs::path next = fs::read_symlink(path, error);
        if (error) break;
        path = next.is_absolute() ? next : path.parent_path() / next;
    }
    return path;
}

mode_t mode_of_new_files() {
    const mode_t mask = ::umask(0);
    ::umask(mask);
    return 0666U & ~mask;
}

void sync_folder(const fs::path& folder) {
    const int descriptor = ::open(folder.c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    if (descriptor < 0) return;
    ::fsync(descriptor);
    ::close(descriptor);
}

void replace_file(const std::string& target, std::string_view text, std::optional<mode_t> mode) {
    const fs::path path = behind_links(target);
    const fs::path folder = path.has_parent_path() ? path.parent_path() : fs::path(".");
    if (mode && ::access(path.c_str(), W_OK) != 0) refuse(target, errno);
    TemporaryFile file(folder);
    if (const int error = file.become(path, text, mode.value_or(mode_of_new_files()))) {
        refuse(target, error);
    }
    sync_folder(folder);
}

void write_device(const std::string& target, std::string_view text) {
    const int descriptor = ::open(target.c_str(), O_WRONLY | O_CLOEXEC);
    if (descriptor < 0) refuse(target, errno);
    int error = write_all(descriptor, text);
    if (::close(descriptor) != 0 && error == 0) error = errno;
    if (error != 0) refuse(target, error);
}

void keep_inputs(const std::string& target, const Files& inputs) {
    for (std::uint32_t i = 1; i <= inputs.count(); ++i) {
        std::error_code error;
        if (fs::equivalent(target, inputs.at(i).path, error)) {
            refuse(target, "it is a file of the study", "choose another name");
        }
    }
}

}  // namespace

void write_output(const std::string& target, std::string_view text, const Files& inputs) {
    if (target == "-") {
        const int error = write_all(STDOUT_FILENO, text);
        if (error != 0 && error != EPIPE) refuse(target, error);  // a closed pager is no fault
        return;
    }
    struct stat state {};
    if (::stat(target.c_str(), &state) != 0) {
        if (target.ends_with('/')) refuse(target, "it is a folder", "name a file in it");
        return replace_file(target, text, std::nullopt);
    }
    if (S_ISDIR(state.st_mode)) refuse(target, "it is a folder", "name a file in it");
    if (!S_ISREG(state.st_mode)) return write_device(target, text);
    keep_inputs(target, inputs);
    replace_file(target, text, state.st_mode & 07777U);
}

void write_new_output(const std::string& target, std::string_view text, Readers readers) {
    struct stat state {};
    const bool exists = ::lstat(target.c_str(), &state) == 0;
    if (target == "-" || (exists && (S_ISCHR(state.st_mode) || S_ISFIFO(state.st_mode))))
        return write_output(target, text, {});
    if (exists && S_ISDIR(state.st_mode)) refuse(target, "it is a folder", "name a file in it");
    if (exists) refuse_existing(target);
    if (target.ends_with('/')) refuse(target, "it is a folder", "name a file in it");
    const fs::path path(target);
    const fs::path folder = path.has_parent_path() ? path.parent_path() : fs::path(".");
    {
        constexpr mode_t owner_alone = 0600;
        TemporaryFile file(folder);
        const mode_t mode = readers == Readers::owner_alone ? owner_alone : mode_of_new_files();
        const int error = file.become_new(path, text, mode);
        if (error == EEXIST) refuse_existing(target);
        if (error != 0) refuse(target, error);
    }
    sync_folder(folder);
}

void write_new_folder(const std::string& target, const Texts& texts) {
    struct stat state {};
    if (::lstat(target.c_str(), &state) == 0) refuse_existing(target);
    fs::path path(target);
    if (!path.has_filename()) path = path.parent_path();  // typed with / at its end
    const fs::path parent = path.has_parent_path() ? path.parent_path() : fs::path(".");
    TemporaryFolder folder(parent);
    if (const int error = folder.become(path, texts, mode_of_new_files())) refuse(target, error);
    sync_folder(parent);
}

void secure_standard_streams() {
    std::signal(SIGPIPE, SIG_IGN);
    std::signal(SIGXFSZ, SIG_IGN);
    for (const int descriptor : {STDIN_FILENO, STDOUT_FILENO, STDERR_FILENO}) {
        if (::fcntl(descriptor, F_GETFD) >= 0 || errno != EBADF) continue;
        // The lowest free number is this one; writing to it fails, as it would have.
        (void)::open("/dev/null", O_RDONLY);
    }
}

}  // namespace deckle::command
