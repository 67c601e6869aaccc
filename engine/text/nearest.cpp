#include "engine/text/nearest.h"

#include <algorithm>
#include <array>
#include <cstdlib>
#include <utility>

namespace deckle {
namespace {

constexpr std::size_t farthest = 2;
constexpr std::size_t most_names = 3;
constexpr std::size_t longest_compared = 120;

/// Edit distance with transpositions of neighbours; `farthest + 1` when beyond reach. Only cells
/// within reach of the diagonal are worked out, so that long lists of names are searched quickly.
std::size_t edit_distance(std::string_view a, std::string_view b) {
    constexpr std::size_t beyond = farthest + 1;
    const std::size_t gap = a.size() > b.size() ? a.size() - b.size() : b.size() - a.size();
    if (gap > farthest || a.size() > longest_compared) return beyond;
    using Row = std::array<std::size_t, longest_compared + 2 * farthest + 1>;
    std::array<Row, 3> rows;  // this one and the two before it
    for (std::size_t j = 0; j <= b.size(); ++j) rows[0][j] = std::min(j, beyond);
    std::size_t least_before = 0;
    for (std::size_t i = 1; i <= a.size(); ++i) {
        Row& row = rows[i % 3];
        const Row &previous = rows[(i + 2) % 3], &before = rows[(i + 1) % 3];
        const std::size_t first = i > farthest ? i - farthest : 1;
        const std::size_t last = std::min(b.size(), i + farthest);
        row[first - 1] = first == 1 ? i : beyond;
        row[last + 1] = beyond;
        std::size_t least = row[first - 1];
        for (std::size_t j = first; j <= last; ++j) {
            row[j] = std::min({previous[j] + 1, row[j - 1] + 1,
                               previous[j - 1] + (a[i - 1] == b[j - 1] ? 0U : 1U)});
            const bool swapped = i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1];
            if (swapped) row[j] = std::min(row[j], before[j - 2] + 1);
            least = std::min(least, row[j]);
        }
        if (least > farthest && least_before > farthest) return beyond;
        least_before = least;
    }
    return std::min(rows[a.size() % 3][b.size()], beyond);
}

std::string without_underscores(std::string_view name) {
    std::string plain(name);
    std::erase(plain, '_');
    return plain;
}

using Ranked = std::vector<std::pair<std::size_t, std::string>>;

/// Names that begin as what was typed, but for a letter and underscores: bath3 for bath_3ply.
Ranked alike(std::string_view typed, std::span<const std::string> known) {
    const std::string begin = without_underscores(typed);
    Ranked ranked;
    for (const std::string& name : known) {
        const std::string plain = without_underscores(name);
        const std::size_t distance =
            std::min(edit_distance(begin, plain.substr(0, begin.size())),
                     edit_distance(begin, plain.substr(0, begin.size() + 1)));
        if (distance <= 1) ranked.emplace_back(distance, name);
    }
    return ranked;
}

}  // namespace

std::string small_letters(std::string_view text) {
    std::string small(text);
    for (char& c : small) c = static_cast<char>(c >= 'A' && c <= 'Z' ? c - 'A' + 'a' : c);
    return small;
}

std::vector<std::string> nearest_names(std::string_view typed, std::span<const std::string> known) {
    Ranked ranked;
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
    if (ranked.empty() && typed.size() > 4) ranked = alike(typed, known);
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
