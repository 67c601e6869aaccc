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

}  // namespace

std::string format_significant(double value, int digits) {
    require_finite(value);
    if (value == 0.0) return "0";
    const std::string scientific = fmt::format("{:.{}e}", value, digits - 1);
    const int exponent = std::atoi(scientific.c_str() + scientific.find('e') + 1);
    if (exponent < -4 || exponent >= 15) return scientific;
    const double rounded = std::strtod(scientific.c_str(), nullptr);
    return fmt::format("{:.{}f}", rounded, std::max(0, digits - 1 - exponent));
}

std::string shortest(double value) {
    require_finite(value);
    if (value == 0.0) return "0";
    char buffer[32];
    const auto result = std::to_chars(std::begin(buffer), std::end(buffer), value);
    return {std::begin(buffer), result.ptr};
}

}  // namespace deckle
