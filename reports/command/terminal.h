// The terminal, if there is one: its width, whether it may show colour, and a sign of life on
// standard error for work that takes longer than a second.
#pragma once

#include <condition_variable>
#include <mutex>
#include <string>
#include <string_view>
#include <thread>

#include "reports/style.h"

namespace deckle::command {

/// The style for a stream (1: standard output, 2: standard error): the terminal's width and colour,
/// or 100 columns without colour. NO_COLOR (when not empty) and TERM=dumb switch colour off.
[[nodiscard]] Style style_of_stream(int descriptor);

/// Shows what is being done, once a second has passed, until it is destroyed. Silent unless
/// standard error is a terminal.
class Progress {
public:
    explicit Progress(std::string_view what);
    ~Progress();
    Progress(const Progress&) = delete;
    Progress& operator=(const Progress&) = delete;

private:
    void show();

    std::string what_;
    std::mutex mutex_;
    std::condition_variable changed_;
    bool done_ = false;
    std::thread thread_;
};

}  // namespace deckle::command
