#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cctype>
#include <cmath>

#include "engine/analysis/check_parts.h"
#include "engine/declaration/forms.h"
#include "engine/text/number_text.h"

namespace deckle::checking {
namespace {

constexpr std::size_t most_bridges = 4;  ///< two heating values, density, dryness

struct Crossing {
    double value;
    Unit unit;
    std::size_t used;
};

/// All ways over at most one use of each bridge; the one with the fewest bridges.
std::optional<Crossing> cross(const CheckContext& check, const Crossing& from, const Unit& target,
                              std::span<const Bridge> bridges) {
    if (const auto direct = conversion(from.unit, target))
        return Crossing{direct->apply(from.value), target, from.used};
    if (bridges.empty()) return std::nullopt;
    const Bridge& bridge = bridges.front();
    const auto rest = bridges.subspan(1);
    const double by = check.value(bridge.measure);
    std::optional<Crossing> best = cross(check, from, target, rest);
    const auto consider = [&](double value, const Unit& unit) {
        const auto found = cross(check, {value, unit, from.used + 1}, target, rest);
        if (found && (!best || found->used < best->used)) best = found;
    };
    consider(from.value * by, from.unit * bridge.measure.unit);
    if (by != 0.0) consider(from.value / by, from.unit / bridge.measure.unit);
    return best;
}

/// 1 July 2025 as 2025.496.
double year_of(Instant instant) {
    const auto day = std::chrono::floor<std::chrono::days>(instant);
    const auto year = std::chrono::year_month_day{day}.year();
    const std::chrono::sys_days first = year / 1 / 1, next = (year + std::chrono::years(1)) / 1 / 1;
    return static_cast<int>(year) +
           static_cast<double>((day - first).count()) / static_cast<double>((next - first).count());
}

}  // namespace

std::optional<double> in_unit(const CheckContext& check, const Measure& measure,
                              std::string_view unit, std::span<const Bridge> bridges) {
    if (!measure.known()) return std::nullopt;
    const auto found = cross(check, {check.value(measure), measure.unit, 0}, known_unit(unit),
                             bridges.first(std::min(bridges.size(), most_bridges)));
    return found ? std::optional(found->value) : std::nullopt;
}

std::optional<double> typed_in(const Stated& stated, std::string_view unit) {
    if (!stated.is_quantity()) return std::nullopt;
    const Quantity plain = without_offset(stated.amount.quantity);
    const auto factor = conversion(plain.unit, known_unit(unit));
    return factor ? std::optional(factor->apply(plain.value)) : std::nullopt;
}

std::optional<double> per_in(const Factor& factor, std::string_view unit) {
    return factor.per ? typed_in(*factor.per, unit) : std::nullopt;
}

std::optional<double> climate_of(const CheckContext& check, const Factor& factor) {
    constexpr std::array<std::string_view, 3> memos{"aircraft", "land_management_fossil",
                                                    "removals"};
    std::optional<double> sum;
    const Characterization* set = check.model.tables.characterization(check.model.characterization);
    for (const FactorEntry& entry : factor.entries) {
        double weight = 1.0;
        if (entry.group == "releases") {
            const auto* gas = set == nullptr ? nullptr : set->gas(entry.key);
            if (gas == nullptr) continue;  // co2_biogenic weighs nothing
            weight = typed_in(gas->weight, "kg").value_or(gas->weight.amount.quantity.value);
        } else if (entry.group != "climate" || std::ranges::find(memos, entry.key) != memos.end()) {
            continue;
        }
        auto mass = typed_in(entry.stated, "kg");
        if (!mass) mass = typed_in(entry.stated, "kg CO2e");
        if (mass) sum = sum.value_or(0.0) + *mass * weight;
    }
    if (sum && factor.per) *sum /= factor.per->amount.quantity.value;
    return sum;
}

std::string listed(const std::vector<std::string>& names, std::size_t most) {
    const std::size_t shown = std::min(names.size(), most);
    std::string text = fmt::format(
        "{}", fmt::join(names.begin(), names.begin() + static_cast<std::ptrdiff_t>(shown), ", "));
    if (names.size() > shown) text += fmt::format(" and {} more", names.size() - shown);
    return text;
}

std::string counted(std::size_t count, std::string_view thing) {
    return fmt::format("{} {}{}", count, thing, count == 1 ? "" : "s");
}

std::string number(double value) { return format_significant(value); }

bool mentions(std::string_view text, std::initializer_list<std::string_view> words) {
    return mentions(text, std::span(words.begin(), words.size()));
}

bool mentions(std::string_view text, std::span<const std::string_view> words) {
    std::string plain(text);
    std::ranges::transform(plain, plain.begin(), [](unsigned char c) {
        return c == '_' || c == '-' ? ' ' : static_cast<char>(std::tolower(c));
    });
    return std::ranges::any_of(words, [&](std::string_view word) {
        return !word.empty() && plain.find(word) != std::string::npos;
    });
}

std::optional<Years> years_of(std::string_view period) {
    const auto days = period_from(period);
    return days ? std::optional(Years{year_of(days->start), year_of(days->end)}) : std::nullopt;
}

}  // namespace deckle::checking
