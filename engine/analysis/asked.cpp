#include "engine/analysis/asked.h"

#include <fmt/format.h>

#include <algorithm>

#include "engine/quantity/quantity.h"
#include "engine/study/model.h"
#include "engine/text/nearest.h"

namespace deckle {
namespace {

constexpr std::string_view on_unrounded = "_unrounded";
constexpr std::size_t most_named = 4;

/// "results" or "results@heat_pump": what stands before the product in an address.
std::string_view head_of(std::string_view address) { return address.substr(0, address.find('.')); }

const Result* find_result(const Study& study, std::string_view address) {
    const auto found = std::ranges::find(study.results, address, &Result::address);
    return found == study.results.end() ? nullptr : &*found;
}

const Result* unrounded_of(const Study& study, const Result& whole) {
    const std::string per = whole.per + std::string(on_unrounded);
    const auto found = std::ranges::find_if(study.results, [&](const Result& one) {
        return one.of == whole.of && one.per == per && one.indicator == whole.indicator &&
               head_of(one.address) == head_of(whole.address);
    });
    return found == study.results.end() ? nullptr : &*found;
}

/// The address without its view of electricity, and the view.
std::pair<std::string_view, std::string_view> split_view(std::string_view address) {
    for (const std::string_view view : {".market", ".location"}) {
        if (address.ends_with(view)) return {address.substr(0, address.size() - view.size()), view};
    }
    return {address, {}};
}

[[noreturn]] void refuse_unknown_result(const Study& study, std::string_view address) {
    std::vector<std::string> known;
    for (const Result& result : study.results) known.push_back(result.address);
    const std::string near = did_you_mean(address, known);
    refuse_question("unknown-result", fmt::format("there is no result {}", address),
                    near.empty() ? "addresses of results are results.OF.PER.INDICATOR" : near);
}

/// First addresses of the inputs below a node, not many.
std::vector<std::string> inputs_below(const Graph& graph, NodeId node) {
    const NodeId wanted[] = {node};
    const auto below = graph.ancestors(wanted);
    std::vector<std::string> names;
    for (const Input& input : graph.inputs()) {
        if (below[input.node] != 0) names.push_back(graph.text_of(input.addresses.front()));
    }
    if (names.size() > most_named) {
        names.resize(most_named);
        names.emplace_back("...");
    }
    return names;
}

std::vector<std::string_view> words_of_address(std::string_view address) {
    std::vector<std::string_view> words;
    for (std::size_t end = 0; end != std::string_view::npos;) {
        end = address.find('.');
        words.push_back(address.substr(0, end));
        address.remove_prefix(end == std::string_view::npos ? address.size() : end + 1);
    }
    return words;
}

/// Known addresses that have all words of the typed one in their order, first and last alike, and
/// some between: those with the fewest.
std::string with_words_between(std::string_view typed, const std::vector<std::string>& known) {
    const auto words = words_of_address(typed);
    std::vector<std::pair<std::size_t, std::string>> near;
    for (const std::string& name : known) {
        const auto theirs = words_of_address(name);
        if (theirs.front() != words.front() || theirs.back() != words.back()) continue;
        auto word = words.begin();
        for (const std::string_view one : theirs) {
            if (word != words.end() && *word == one) ++word;
        }
        if (word == words.end()) near.emplace_back(theirs.size(), name);
    }
    if (near.empty()) return {};
    std::ranges::sort(near);
    std::string text = "did you mean " + near.front().second;
    for (std::size_t i = 1; i < std::min<std::size_t>(near.size(), 3); ++i)
        text += " or " + near[i].second;
    return text + "?";
}

[[noreturn]] void refuse_unknown_input(const Study& study, std::string_view address) {
    std::vector<std::string> known;
    for (const Input& input : study.graph.inputs()) {
        for (const TextId name : input.addresses) known.push_back(study.graph.text_of(name));
    }
    std::string near = did_you_mean(address, known);
    if (near.empty()) near = with_words_between(address, known);
    refuse_question(
        "unknown-input", fmt::format("there is no input {} in this study", address),
        near.empty() ? "deckle sensitivity lists the inputs that a result rests on" : near);
}

template <class List>
auto find_id(const List& list, std::string_view id) {
    return std::ranges::find_if(list, [&](const auto& one) { return one.id == id; });
}

/// The title of the part called `id`, else that of the whole.
template <class Whole, class List>
std::string title_in(const Whole& whole, const List& parts, std::string_view id) {
    const auto part = find_id(parts, id);
    return part == parts.end() || part->title.empty() ? whole.title : part->title;
}

}  // namespace

void refuse_question(std::string code, std::string message, std::string hint) {
    throw InputError(
        {Problem{{}, Severity::error, std::move(code), std::move(message), std::move(hint), {}}});
}

AskedResult asked_result(const Study& study, std::string_view address) {
    const auto [plain, view] = split_view(address);
    const Result* typed = find_result(study, plain);
    if (typed == nullptr) refuse_unknown_result(study, address);
    const Result* unrounded = unrounded_of(study, *typed);
    AskedResult asked;
    asked.result = unrounded == nullptr ? typed : unrounded;
    asked.unrounded = unrounded != nullptr;
    asked.address = asked.result->address + std::string(view);
    if (!view.empty())
        asked.view = view == ".market" ? ElectricityView::market : ElectricityView::location;
    asked.node = view == ".market"     ? asked.result->market
                 : view == ".location" ? asked.result->location
                                       : asked.result->node;
    if (asked.result->coverage == Coverage::not_covered) {
        refuse_question("not-covered", fmt::format("{} is not covered: no figure", asked.address),
                        "deckle footprint lists what does not state it");
    }
    return asked;
}

const Input& asked_input(const Study& study, std::string_view address) {
    const Graph& graph = study.graph;
    const NodeId node = graph.find(address);
    if (node == no_node) refuse_unknown_input(study, address);
    if (graph.operation(node) == Operation::input) return graph.inputs()[graph.payload(node)];
    refuse_question("not-an-input", fmt::format("{} is worked out, not typed", address),
                    fmt::format("it rests on {}", fmt::join(inputs_below(graph, node), ", ")));
}

std::string title_of(const Study& study, std::string_view address) {
    const auto cut = [&] {
        const std::size_t end = std::min(address.find('.'), address.size());
        const std::string_view word = address.substr(0, end);
        address.remove_prefix(std::min(end + 1, address.size()));
        return word;
    };
    const StudyModel& model = *study.model;
    const std::string_view whole = cut(), part = cut();
    if (whole == "products") {
        const auto product = find_id(model.products, part);
        return product == model.products.end() ? std::string() : product->title;
    }
    if (const auto mill = find_id(model.mills, whole); mill != model.mills.end())
        return title_in(*mill, mill->processes, part);
    const auto table = find_id(model.tables.factors, whole);
    return table == model.tables.factors.end() ? std::string()
                                               : title_in(*table, table->factors, part);
}

double asked_value(std::string_view typed, const Unit& unit, std::string_view what) {
    const auto parsed = parse_quantity(typed);
    if (!parsed.quantity) {
        refuse_question(parsed.error.code, fmt::format("{}: {}", what, parsed.error.message),
                        parsed.error.hint);
    }
    if (parsed.quantity->spread.kind != SpreadKind::none) {
        refuse_question("spread-not-wanted", fmt::format("{}: `{}` has a spread", what, typed),
                        "a plain value is meant here");
    }
    const Quantity quantity = without_offset(*parsed.quantity);
    const auto into = conversion(quantity.unit, unit);
    if (into) return into->apply(quantity.value);
    const bool bare = quantity.unit.text.empty();
    refuse_question(bare ? "missing-unit" : "wrong-unit",
                    fmt::format("{}: `{}` is not in {}", what, typed, unit.text),
                    fmt::format("type it in {} or a unit of the same kind",
                                unit.text.empty() ? "plain numbers" : unit.text));
}

Unit unit_of(const Graph& graph, NodeId node) {
    return known_unit(graph.text_of(graph.unit(node)));
}

}  // namespace deckle
