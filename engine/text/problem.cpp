#include "engine/text/problem.h"

#include <fmt/format.h>

#include <algorithm>
#include <tuple>

namespace deckle {
namespace {

constexpr std::size_t most_problems_shown = 50;
constexpr std::size_t widest_excerpt = 160;

std::string first_message(const std::vector<Problem>& problems) {
    return problems.empty() ? std::string("input error") : problems.front().message;
}

/// Columns on a terminal: continuation bytes of UTF-8 take none.
std::size_t shown_width(std::string_view text) {
    return static_cast<std::size_t>(std::count_if(text.begin(), text.end(), [](char c) {
        return (static_cast<unsigned char>(c) & 0xC0U) != 0x80U;
    }));
}

std::size_t character_start(std::string_view text, std::size_t at) {
    while (at > 0 && at < text.size() && (static_cast<unsigned char>(text[at]) & 0xC0U) == 0x80U)
        --at;
    return std::min(at, text.size());
}

std::string caret_line(std::string_view line, Place place) {
    const std::size_t start = std::min<std::size_t>(place.column - 1, line.size());
    const std::size_t end = std::min<std::size_t>(start + std::max(place.length, 1U), line.size());
    std::string under;
    for (const char c : line.substr(0, start)) {
        if (c == '\t') under += '\t';
        else if ((static_cast<unsigned char>(c) & 0xC0U) != 0x80U) under += ' ';
    }
    under.append(std::max<std::size_t>(1, shown_width(line.substr(start, end - start))), '^');
    return under;
}

/// The source line with its caret; a long line is cut around the value.
std::string excerpt(Place place, const Files& files) {
    std::string_view line = files.line(place);
    if (line.empty() || place.column == 0) return {};
    std::string lead;
    if (line.size() > widest_excerpt) {
        std::size_t from =
            place.column > widest_excerpt / 2 ? place.column - widest_excerpt / 2 : 0;
        from = character_start(line, from);
        line = line.substr(from);
        line = line.substr(0, character_start(line, widest_excerpt));
        place.column -= static_cast<std::uint32_t>(from);
        if (from > 0) lead = "... ";
    }
    const std::string pad(lead.size(), ' ');
    return fmt::format("    {}{}\n    {}{}\n", lead, line, pad, caret_line(line, place));
}

}  // namespace

InputError::InputError(std::vector<Problem> list)
    : std::runtime_error(first_message(list)), problems(std::move(list)) {}

NoAnswer::NoAnswer(Problem one) : std::runtime_error(one.message), problem(std::move(one)) {}

void Problems::add(Place where, std::string code, std::string message, std::string hint,
                   std::vector<Place> related) {
    all_.push_back({where, Severity::error, std::move(code), std::move(message), std::move(hint),
                    std::move(related)});
}

void Problems::add(const InputError& error) {
    all_.insert(all_.end(), error.problems.begin(), error.problems.end());
}

void Problems::throw_if_any() {
    if (all_.empty()) return;
    const auto key = [](const Problem& p) {
        return std::tuple(p.where.file, p.where.line, p.where.column);
    };
    std::stable_sort(all_.begin(), all_.end(),
                     [&](const Problem& a, const Problem& b) { return key(a) < key(b); });
    const auto same = [&](const Problem& a, const Problem& b) {
        return key(a) == key(b) && a.code == b.code && a.message == b.message;
    };
    all_.erase(std::unique(all_.begin(), all_.end(), same), all_.end());
    throw InputError(std::move(all_));
}

std::string problem_text(const Problem& problem, const Files& files) {
    const std::string where = files.where(problem.where);
    std::string text = where.empty() ? "" : where + ": ";
    text += fmt::format("{}: {} [{}]\n", problem.severity == Severity::error ? "error" : "finding",
                        problem.message, problem.code);
    text += excerpt(problem.where, files);
    for (const Place& place : problem.related) {
        if (place.known()) text += fmt::format("    see also {}\n", files.where(place));
    }
    if (!problem.hint.empty()) text += fmt::format("    hint: {}\n", problem.hint);
    return text;
}

std::string problems_text(const std::vector<Problem>& problems, const Files& files) {
    std::string text;
    const std::size_t shown = std::min(problems.size(), most_problems_shown);
    for (std::size_t i = 0; i < shown; ++i) text += problem_text(problems[i], files);
    if (shown < problems.size()) text += fmt::format("... and {} more\n", problems.size() - shown);
    text += fmt::format("{} error{}, nothing computed\n", problems.size(),
                        problems.size() == 1 ? "" : "s");
    return text;
}

}  // namespace deckle
