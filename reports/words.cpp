#include "reports/words.h"

#include <fmt/format.h>

#include "reports/inert.h"
#include "reports/table.h"

namespace deckle {

std::string spaced(std::string_view id) {
    std::string words = inert(id);
    std::ranges::replace(words, '_', ' ');
    return words;
}

std::string gas_name(std::string_view gas) {
    if (gas == "total") return "CO2e given as one number";
    for (const std::string_view line : {"fossil", "biogenic", "land_use", "land_management"}) {
        if (gas == line) return "CO2e, " + spaced(gas);
    }
    return std::string(gas);
}

std::string counted_per(std::string_view per) {
    constexpr std::string_view unrounded = "_unrounded";
    if (!per.ends_with(unrounded)) return spaced(per);
    return spaced(per.substr(0, per.size() - unrounded.size())) +
           ", on the unrounded count of sheets";
}

std::string one_decimal(double value, bool sign) {
    const std::string text = fmt::format("{:.1f}", value);
    if (text == "-0.0" || text == "0.0") return "0.0";
    return (sign && value > 0.0 ? "+" : "") + text;
}

std::string listing(const std::vector<std::string>& names) {
    std::string text;
    for (std::size_t i = 0; i < names.size(); ++i) {
        const bool last = i + 1 == names.size();
        text += (i == 0 ? "" : last ? " and " : ", ") + inert(names[i]);
    }
    return text;
}

std::string heading(std::string_view title, const Style& style) {
    std::string text = "\n";
    for (const std::string& line : wrap(title, style.width)) text += style.bold(line) + '\n';
    return text;
}

std::string paragraph(std::string_view text, std::size_t indent, std::size_t hang,
                      const Style& style) {
    const std::size_t margin = indent + hang;
    std::string result;
    std::size_t pad = indent;
    for (const std::string& line : wrap(text, style.width > margin ? style.width - margin : 1)) {
        result += std::string(pad, ' ') + line + '\n';
        pad = margin;
    }
    return result;
}

}  // namespace deckle
