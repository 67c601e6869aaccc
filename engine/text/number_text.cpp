#include "engine/text/number_text.h"

#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <cmath>
#include <cstdlib>
#include <stdexcept>

namespace deckle {
namespace {

void require_finite(double value) {
    if (!std::isfinite(value))
        throw std::logic_error("a figure that is not finite reached the output");
}

/// Five digits and more before the decimal sign in groups of three: ISO 80000-1, 7.3.1.
std::string grouped(std::string text) {
    constexpr std::string_view narrow_space = "\u202f";
    const std::size_t first = text.starts_with('-') ? 1 : 0;
    const std::size_t end = std::min(text.find_first_not_of("0123456789", first), text.size());
    if (end - first < 5) return text;
    for (std::size_t at = end; at > first + 3;) text.insert(at -= 3, narrow_space);
    return text;
}

}  // namespace

std::string format_significant(double value, int digits) {
    require_finite(value);
    if (value == 0.0) return "0";
    const std::string scientific = fmt::format("{:.{}e}", value, digits - 1);
    const int exponent = std::atoi(scientific.c_str() + scientific.find('e') + 1);
    if (exponent < -4 || exponent >= 15) return scientific;
    const double rounded = std::strtod(scientific.c_str(), nullptr);
    return grouped(fmt::format("{:.{}f}", rounded, std::max(0, digits - 1 - exponent)));
}

std::string format_count(std::uint64_t count) { return grouped(std::to_string(count)); }

std::string shortest(double value) {
    require_finite(value);
    if (value == 0.0) return "0";
    char buffer[32];
    const auto result = std::to_chars(std::begin(buffer), std::end(buffer), value);
    return {std::begin(buffer), result.ptr};
}

}  // namespace deckle
