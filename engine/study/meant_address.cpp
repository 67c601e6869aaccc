#include "engine/study/meant_address.h"

#include <fmt/format.h>

#include <algorithm>

#include "engine/text/nearest.h"

namespace deckle {
namespace {

constexpr std::size_t most_named = 6;

using Keys = std::vector<std::string_view>;

Keys keys_of(std::string_view address) {
    Keys keys;
    for (std::size_t from = 0; from <= address.size();) {
        const std::size_t dot = std::min(address.find('.', from), address.size());
        keys.push_back(address.substr(from, dot - from));
        from = dot + 1;
    }
    return keys;
}

/// Whether the keys of one stand in the other, in this order and with others between them.
bool stands_within(const Keys& fewer, const Keys& more) {
    std::size_t found = 0;
    for (const std::string_view key : more)
        found += found < fewer.size() && key == fewer[found] ? 1U : 0U;
    return found == fewer.size();
}

/// "steam is used there as yankee and heating": the id of a thing in place of the name of its use.
std::string uses_meant(std::string_view typed, const std::vector<Mill>& mills) {
    for (const Mill& mill : mills) {
        for (const Process& process : mill.processes) {
            const std::string before = process.address() + ".uses.";
            if (!typed.starts_with(before)) continue;
            std::vector<std::string> uses;
            for (const Use& use : process.uses) {
                if (use.thing == typed.substr(before.size()) && use.name != use.thing)
                    uses.push_back(before + use.name);
            }
            if (!uses.empty())
                return fmt::format("{} is used there under another name: {}",
                                   typed.substr(before.size()), fmt::join(uses, ", "));
        }
    }
    return {};
}

/// A key too many ("processes"), or one left out (the table of a price's factor).
std::string keys_meant(std::string_view typed, std::span<const std::string> known) {
    const Keys keys = keys_of(typed);
    if (keys.size() < 2) return {};
    std::vector<std::string> meant;
    for (const std::string& address : known) {
        const Keys other = keys_of(address);
        const std::size_t apart =
            std::max(keys.size(), other.size()) - std::min(keys.size(), other.size());
        const bool alike =
            other.size() > 1 && (stands_within(keys, other) || stands_within(other, keys));
        if (alike && apart == 1) meant.push_back(address);
    }
    std::ranges::sort(meant);
    meant.erase(std::unique(meant.begin(), meant.end()), meant.end());
    if (meant.empty() || meant.size() > most_named) return {};
    return fmt::format("did you mean {}?", fmt::join(meant, " or "));
}

/// What stands at the longest part of the address that is right.
std::string stands_there(std::string_view typed, std::span<const std::string> known) {
    for (std::size_t dot = typed.rfind('.'); dot != std::string_view::npos && dot > 0;
         dot = typed.rfind('.', dot - 1)) {
        const std::string_view part = typed.substr(0, dot + 1);
        if (std::ranges::count(part, '.') < 2) return {};  // a whole mill or table
        std::vector<std::string> there;
        for (const std::string& address : known) {
            if (address.starts_with(part) && !address.ends_with(".spread"))
                there.push_back(address);
        }
        if (there.empty()) continue;
        std::ranges::sort(there);
        const std::size_t more = there.size() > most_named ? there.size() - most_named : 0;
        there.resize(there.size() - more);
        return fmt::format("there stand {}{}", fmt::join(there, ", "),
                           more == 0 ? "" : fmt::format(" and {} more", more));
    }
    return {};
}

}  // namespace

std::string address_meant(std::string_view typed, std::span<const std::string> known,
                          const std::vector<Mill>& mills) {
    std::string meant = uses_meant(typed, mills);
    if (meant.empty()) meant = keys_meant(typed, known);
    if (meant.empty()) meant = did_you_mean(typed, known);
    return meant.empty() ? stands_there(typed, known) : meant;
}

}  // namespace deckle
