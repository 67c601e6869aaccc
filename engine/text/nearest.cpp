#include "engine/text/nearest.h"

#include <algorithm>
#include <cstdlib>
#include <utility>

namespace deckle {
namespace {

constexpr std::size_t farthest = 2;
constexpr std::size_t most_names = 3;
constexpr std::size_t longest_compared = 120;

/// Edit distance with transpositions of neighbours; `farthest + 1` when beyond reach.
std::size_t edit_distance(std::string_view a, std::string_view b) {
    const std::size_t gap = a.size() > b.size() ? a.size() - b.size() : b.size() - a.size();
    if (gap > farthest || a.size() > longest_compared) return farthest + 1;
    std::vector<std::size_t> before(b.size() + 1), previous(b.size() + 1), row(b.size() + 1);
    for (std::size_t j = 0; j <= b.size(); ++j) previous[j] = j;
    for (std::size_t i = 1; i <= a.size(); ++i) {
        row[0] = i;
        for (std::size_t j = 1; j <= b.size(); ++j) {
            row[j] = std::min({previous[j] + 1, row[j - 1] + 1,
                               previous[j - 1] + (a[i - 1] == b[j - 1] ? 0U : 1U)});
            const bool swapped = i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1];
            if (swapped) row[j] = std::min(row[j], before[j - 2] + 1);
        }
        before.swap(previous);
        previous.swap(row);
    }
    return previous[b.size()];
}

}  // namespace

std::vector<std::string> nearest_names(std::string_view typed, std::span<const std::string> known) {
    std::vector<std::pair<std::size_t, std::string>> ranked;
    for (const std::string& name : known) {
        const std::size_t distance = edit_distance(typed, name);
        const bool inside =
            typed.size() >= 4 && (name.find(typed) != std::string::npos ||
                                  (name.size() >= 4 && typed.find(name) != std::string_view::npos));
        if (distance <= farthest && distance < std::max<std::size_t>(2, typed.size())) {
            ranked.emplace_back(distance, name);
        } else if (inside) {
            ranked.emplace_back(farthest + 1, name);
        }
    }
    std::sort(ranked.begin(), ranked.end());
    std::vector<std::string> names;
    for (auto& [distance, name] : ranked) {
        if (names.size() == most_names) break;
        if (std::find(names.begin(), names.end(), name) == names.end())
            names.push_back(std::move(name));
    }
    return names;
}

std::string did_you_mean(std::string_view typed, std::span<const std::string> known) {
    const auto names = nearest_names(typed, known);
    if (names.empty()) return {};
    std::string text = "did you mean ";
    for (std::size_t i = 0; i < names.size(); ++i) {
        if (i > 0) text += i + 1 == names.size() ? " or " : ", ";
        text += names[i];
    }
    return text + "?";
}

}  // namespace deckle
