// How a text report is laid out: how wide, and whether a terminal shows emphasis.
// Emphasis never carries meaning alone; without it every report says the same.
#pragma once

#include <string>
#include <string_view>

namespace deckle {

struct Style {
    std::size_t width = 100;  ///< columns
    bool colour = false;      ///< escape sequences allowed

    [[nodiscard]] std::string bold(std::string_view text) const { return wrapped("1", text); }
    [[nodiscard]] std::string faint(std::string_view text) const { return wrapped("2", text); }
    [[nodiscard]] std::string alarm(std::string_view text) const { return wrapped("1;31", text); }

private:
    [[nodiscard]] std::string wrapped(std::string_view code, std::string_view text) const {
        if (!colour || text.empty()) return std::string(text);
        return "\x1b[" + std::string(code) + "m" + std::string(text) + "\x1b[0m";
    }
};

}  // namespace deckle
