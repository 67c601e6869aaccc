#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>

#include "engine/analysis/check_parts.h"
#include "engine/graph/evaluate.h"

namespace deckle::checking {
namespace {

/// Amounts of a mill have addresses mill.figures.X or mill.process.SECTION.X; what lies deeper (a
/// dryness, a state of steam, a distance) belongs to one of them.
bool is_amount(std::string_view address, std::string_view mill) {
    if (!address.starts_with(mill) || address.size() <= mill.size() || address[mill.size()] != '.')
        return false;
    std::vector<std::string_view> parts;
    for (std::string_view rest = address.substr(mill.size() + 1);;) {
        const std::size_t dot = rest.find('.');
        parts.push_back(rest.substr(0, dot));
        if (dot == std::string_view::npos) break;
        rest.remove_prefix(dot + 1);
    }
    if (parts.size() == 2) return parts[0] == "figures";
    constexpr std::array sections{"makes", "uses", "returns", "releases", "takes_in", "gives_back"};
    return parts.size() == 3 && std::ranges::find(sections, parts[1]) != sections.end();
}

struct Moves {
    std::string address;
    Place place;
    double percent;  ///< by which the result moves when the amount moves by its own size
};

void say(CheckContext& check, std::string code, std::vector<Moves>& moves, std::size_t all,
         const std::string& mill, std::string_view what, std::string hint) {
    if (moves.empty()) return;
    std::ranges::stable_sort(moves, std::ranges::greater{}, &Moves::percent);
    std::vector<std::string> names;
    for (const Moves& one : moves)
        names.push_back(fmt::format("{} ({} %)", one.address, number(one.percent)));
    check.add(
        {std::move(code), moves.front().place,
         fmt::format("{}: {} of {} {}; by what they move in {}: {}", mill, moves.size(),
                     counted(all, "amount"), what, check.main_result().address, listed(names)),
         std::move(hint), moves.front().percent});
}

}  // namespace

/// Amounts that the main result does not move with (they serve balances alone) are left out, and so
/// is the one unit that an inventory is drawn up for.
void check_amounts(CheckContext& check) {
    const Graph& graph = check.study.graph;
    const NodeId main = check.main_result().node;
    const double total = check.at.value[main];
    if (total == 0.0) return;
    const auto slope = derivatives(graph, check.at, main);
    for (const Mill& mill : check.model.mills) {
        std::vector<Moves> unstated, estimated;
        std::size_t all = 0;
        for (const Input& input : graph.inputs()) {
            const std::string& address =
                input.addresses.empty() ? graph.text_of(0) : graph.text_of(input.addresses.front());
            if (!is_amount(address, mill.id) || slope[input.node] == 0.0 || input.value == 1.0)
                continue;
            ++all;
            const std::string& is = graph.text_of(input.amount_is);
            const double percent = std::abs(100.0 * slope[input.node] * input.value / total);
            const Moves one{address, graph.origin(input.node).place, percent};
            if (is.empty()) unstated.push_back(one);
            else if (is == "estimated") estimated.push_back(one);
        }
        say(check, "amount-unstated", unstated, all, mill.id,
            "do not say how they are known, which counts as estimated",
            "{amount: ..., amount_is: metered, source: the meter or invoice}");
        say(check, "amount-estimated", estimated, all, mill.id, "are estimated",
            "meter the largest, or give them a spread (±)");
    }
}

}  // namespace deckle::checking
