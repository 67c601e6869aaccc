#include "reports/command/terminal.h"

#include <fmt/format.h>
#include <sys/ioctl.h>
#include <unistd.h>

#include <algorithm>
#include <chrono>
#include <cstdlib>

#include "reports/inert.h"

namespace deckle::command {
namespace {

constexpr std::size_t narrowest = 60;

bool is_set(const char* variable) {
    const char* value = std::getenv(variable);
    return value != nullptr && *value != '\0';
}

bool may_colour() {
    const char* kind = std::getenv("TERM");
    return !is_set("NO_COLOR") && kind != nullptr && std::string_view(kind) != "dumb";
}

}  // namespace

Style style_of_stream(int descriptor) {
    if (isatty(descriptor) == 0) return {};
    Style style{.width = 100, .colour = may_colour()};
    winsize size{};
    if (ioctl(descriptor, TIOCGWINSZ, &size) == 0 && size.ws_col > 0) {
        style.width = std::max<std::size_t>(size.ws_col, narrowest);
    }
    return style;
}

Progress::Progress(std::string_view what) : what_(inert(what)) {
    if (isatty(STDERR_FILENO) != 0) thread_ = std::thread([this] { show(); });
}

Progress::~Progress() {
    if (!thread_.joinable()) return;
    {
        const std::lock_guard lock(mutex_);
        done_ = true;
    }
    changed_.notify_one();
    thread_.join();
}

void Progress::show() {
    constexpr std::string_view clear_line = "\r\x1b[K";
    std::unique_lock lock(mutex_);
    int seconds = 0;
    while (!changed_.wait_for(lock, std::chrono::seconds(1), [this] { return done_; })) {
        fmt::print(stderr, "{}{} ... {} s", clear_line, what_, ++seconds);
        std::fflush(stderr);
    }
    if (seconds > 0) fmt::print(stderr, "{}", clear_line);
}

}  // namespace deckle::command
