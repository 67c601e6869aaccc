#include "reports/words.h"

#include <fmt/format.h>

#include <map>
#include <utility>

#include "reports/inert.h"
#include "reports/table.h"

namespace deckle {
namespace {

/// "ch4_biogenic" is CH4 of the kind biogenic, "hfc_134a" HFC-134a of none.
std::pair<std::string, std::string> gas_and_kind(std::string_view id) {
    const std::size_t end = std::min(id.find('_'), id.size());
    std::string formula;
    for (const char c : id.substr(0, end))
        formula += c >= 'a' && c <= 'z' ? static_cast<char>(c - 'a' + 'A') : c;
    if (end == id.size()) return {formula, {}};
    const std::string_view rest = id.substr(end + 1);
    if (rest[0] >= '0' && rest[0] <= '9') return {fmt::format("{}-{}", formula, rest), {}};
    return {formula, spaced(rest)};
}

}  // namespace

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

std::vector<std::string> gases_told(std::vector<std::string> gases) {
    std::ranges::sort(gases);
    std::map<std::string, std::vector<std::string>> kinds;
    std::vector<std::string> apart, as_co2e;
    for (const std::string& id : gases) {
        if (id == "total") as_co2e.emplace_back("all kinds as one number");
        else if (gas_name(id) != id) as_co2e.push_back(spaced(id));
        else {
            const auto [formula, kind] = gas_and_kind(id);
            kinds[formula].push_back(kind);
        }
    }
    for (const auto& [formula, all] : kinds)
        apart.push_back(
            all.front().empty() ? formula : fmt::format("{} ({})", formula, fmt::join(all, ", ")));
    std::vector<std::string> lines;
    if (!apart.empty()) lines.push_back(fmt::format("{}.", fmt::join(apart, "; ")));
    if (!as_co2e.empty())
        lines.push_back(fmt::format("CO2e of factors that do not tell gases apart: {}.",
                                    fmt::join(as_co2e, "; ")));
    return lines;
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
