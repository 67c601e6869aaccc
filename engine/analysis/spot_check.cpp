#include "engine/analysis/spot_check.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <tuple>

#include "engine/analysis/rests_on.h"
#include "engine/analysis/sensitivity.h"
#include "engine/graph/random.h"
#include "engine/study/model.h"
#include "engine/text/csv_cells.h"
#include "engine/text/number_text.h"

namespace deckle {
namespace {

constexpr std::array<std::string_view, 3> spot_kinds{"input", "factor", "weight"};
constexpr std::size_t most_operands = 4;

/// Plain arithmetic for Philox: the same words as in the lanes.
struct PlainWords {
    using Word = std::uint64_t;
    static Word product(Word a, std::uint32_t b) { return (a & random::low_half) * b; }
    static Word exclusive(Word a, Word b, Word c) { return a ^ b ^ c; }
};

/// The number that decides whether an address is drawn.
std::uint64_t lot_of(std::string_view address, std::uint64_t seed) {
    const std::uint64_t id = stable_id(address);
    random::Words<PlainWords> words[1] = {{id & random::low_half, id >> 32U, 0, 0}};
    random::philox<PlainWords>(words, static_cast<std::uint32_t>(seed & random::low_half),
                               static_cast<std::uint32_t>(seed >> 32U));
    return (words[0].w1 << 32U) | (words[0].w0 & random::low_half);
}

template <class List>
bool holds_id(const List& list, std::string_view id) {
    return std::ranges::any_of(list, [&](const auto& one) { return one.id == id; });
}

SpotKind kind_of(const Tables& tables, std::string_view address) {
    const std::string_view head = address.substr(0, address.find('.'));
    if (holds_id(tables.characterizations, head) || holds_id(tables.scarcities, head))
        return SpotKind::weight;
    return holds_id(tables.factors, head) || holds_id(tables.prices, head) ? SpotKind::factor
                                                                           : SpotKind::input;
}

/// The source of a factor's line: the line's own, else the factor's, else its table's.
const Citation* citation_of_factor(const Tables& tables, std::string_view address) {
    for (const FactorTable& table : tables.factors) {
        for (const Factor& factor : table.factors) {
            const std::string own = factor.address() + ".";
            if (!address.starts_with(own)) continue;
            for (const FactorEntry& entry : factor.entries) {
                if (entry.stated.address == address && !entry.stated.source.empty())
                    return &entry.stated.source;
            }
            return factor.source.empty() ? &table.source : &factor.source;
        }
    }
    return nullptr;
}

/// "chapter 2, table 2.3", "page 12": where in its document.
std::string place_in(const Citation& source) {
    std::vector<std::string> parts;
    for (const std::string_view key : {"volume", "chapter", "table", "page"}) {
        const std::string value = source.field(key);
        if (!value.empty()) parts.push_back(fmt::format("{} {}", key, value));
    }
    return fmt::format("{}", fmt::join(parts, ", "));
}

/// Of a weight: its set of potentials or its scarcity model.
template <class Sets>
const Citation* citation_of_set(const Sets& sets, std::string_view address) {
    for (const auto& set : sets) {
        if (address.starts_with(set.id + ".")) return &set.source;
    }
    return nullptr;
}

void fill_source(const Study& study, Spot& spot) {
    const Tables& tables = study.model->tables;
    const Citation* source = citation_of_factor(tables, spot.address);
    if (source == nullptr) source = citation_of_set(tables.characterizations, spot.address);
    if (source == nullptr) source = citation_of_set(tables.scarcities, spot.address);
    if (source == nullptr) source = citation_of_set(tables.prices, spot.address);
    spot.document = study.graph.text_of(spot.input->source);
    if (source == nullptr) return;
    if (spot.document.empty()) spot.document = source->text();
    if (source->text() == spot.document) spot.page = place_in(*source);
}

std::string operand_text(const Graph& graph, const Evaluation& at, NodeId node) {
    const std::string& unit = graph.text_of(graph.unit(node));
    const std::string number = shortest(at.value[node]);
    return unit.empty() ? number : number + " " + unit;
}

/// What an operation comes to, and the same in the unit in which it goes on: the product of units
/// that its operands have may be no unit that anybody reads.
std::string outcome_text(const Graph& graph, const Evaluation& at, NodeId user,
                         const std::vector<NodeId>& users) {
    const NodeId next = users[user];
    const std::string outcome = operand_text(graph, at, user);
    if (next == no_node || graph.operation(next) != Operation::convert) return outcome;
    return fmt::format("{}, that is {}", outcome, operand_text(graph, at, next));
}

std::string operands_text(const Graph& graph, const Evaluation& at, NodeId input,
                          const std::vector<NodeId>& users) {
    const NodeId user = users[input];
    const auto arguments = graph.arguments(user);
    if (graph.operation(user) == Operation::convert) {
        const Conversion& c = graph.conversions()[graph.payload(user)];
        const auto by = [&](std::string_view sign, TextId number) {
            const std::string& text = graph.text_of(number);
            return text == "1" ? std::string() : fmt::format(" {} {}", sign, text);
        };
        return fmt::format("{}{}{} = {}", operand_text(graph, at, input), by("×", c.p_text),
                           by("÷", c.q_text), operand_text(graph, at, user));
    }
    if (graph.operation(user) == Operation::sum_of_products) {
        const auto term =
            static_cast<std::size_t>(std::ranges::find(arguments, input) - arguments.begin()) / 2;
        return fmt::format("{} × {}", operand_text(graph, at, arguments[2 * term]),
                           operand_text(graph, at, arguments[2 * term + 1]));
    }
    std::vector<std::string> operands;
    for (const NodeId argument : arguments) {
        if (operands.size() == most_operands) operands.emplace_back("...");
        if (operands.size() > most_operands) break;
        operands.push_back(operand_text(graph, at, argument));
    }
    const std::string_view sign = graph.operation(user) == Operation::quotient  ? " ÷ "
                                  : graph.operation(user) == Operation::product ? " × "
                                  : graph.operation(user) == Operation::sum     ? " + "
                                                                                : ", ";
    return fmt::format("{} = {}", fmt::join(operands, sign), outcome_text(graph, at, user, users));
}

/// The first node that takes an input, of those that the result rests on.
std::vector<NodeId> first_users(const Graph& graph, const std::vector<Rests>& rests) {
    std::vector<NodeId> users(graph.size(), no_node);
    for (NodeId node = 0; node < graph.size(); ++node) {
        if (!rests[node].on) continue;
        for (const NodeId argument : graph.arguments(node)) {
            if (users[argument] == no_node) users[argument] = node;
        }
    }
    return users;
}

/// All inputs below the result, each list by its weight.
std::vector<Spot> spots_of(const Study& study, const Evaluation& at, NodeId node) {
    std::vector<Spot> spots;
    std::array<double, spot_kinds.size()> whole{};
    for (const InputSensitivity& one : variance_budget(study.graph, at, node).inputs) {
        Spot spot;
        spot.input = one.input;
        spot.address = one.address;
        spot.kind = kind_of(study.model->tables, one.address);
        spot.unit = one.unit;
        spot.value = one.value;
        spot.elasticity = one.elasticity.value_or(0.0);
        whole[static_cast<std::size_t>(spot.kind)] += std::abs(spot.elasticity);
        spots.push_back(std::move(spot));
    }
    for (Spot& spot : spots) {
        const double all = whole[static_cast<std::size_t>(spot.kind)];
        spot.weight = all == 0.0 ? 0.0 : std::abs(spot.elasticity) / all;
    }
    std::ranges::sort(spots, [](const Spot& a, const Spot& b) {
        return std::tuple(a.kind, -a.weight, std::string_view(a.address)) <
               std::tuple(b.kind, -b.weight, std::string_view(b.address));
    });
    return spots;
}

/// Takes the largest of each list until they make up the share; what is left stays in `rest`.
std::vector<Spot> take_largest(std::vector<Spot>& rest, double share) {
    std::array<double, spot_kinds.size()> reached{};
    std::vector<Spot> taken, left;
    for (Spot& spot : rest) {
        double& sum = reached[static_cast<std::size_t>(spot.kind)];
        const bool wanted = sum < share && spot.weight > 0.0;
        sum += spot.weight;
        (wanted ? taken : left).push_back(std::move(spot));
    }
    rest = std::move(left);
    return taken;
}

void draw(std::vector<Spot>& rest, const SpotQuestion& question, std::vector<Spot>& taken) {
    std::ranges::sort(rest, {}, [&](const Spot& spot) {
        return std::pair(lot_of(spot.address, question.seed), spot.address);
    });
    for (std::size_t i = 0; i < std::min(question.random, rest.size()); ++i) {
        rest[i].drawn = true;
        taken.push_back(std::move(rest[i]));
    }
}

/// What stands in the unit that the input was typed in, which may say less than the input's own: a
/// climate line typed in kg is in kg CO2e. None where it says no more.
std::optional<double> in_typed_unit(const Graph& graph, const Evaluation& at, const Input& input,
                                    const Quantity& found) {
    const auto typed = parse_quantity(graph.text_of(input.typed));
    if (!typed.quantity || typed.quantity->value == 0.0 ||
        conversion(found.unit, unit_of(graph, input.node)))
        return std::nullopt;
    const auto into = conversion(found.unit, typed.quantity->unit);
    if (!into) return std::nullopt;
    return at.value[input.node] * (into->apply(found.value) / typed.quantity->value);
}

/// "it lies from 0 to 1", "0 or above": an end that any number meets is not told.
std::string bounds_words(const Bounds& bounds) {
    const bool above = bounds.low > std::numeric_limits<double>::lowest(),
               below = bounds.high < std::numeric_limits<double>::max();
    if (above && below)
        return fmt::format("it lies from {} to {}", shortest(bounds.low), shortest(bounds.high));
    if (above && bounds.low == std::numeric_limits<double>::denorm_min()) return "above 0";
    return above ? fmt::format("{} or above", shortest(bounds.low))
                 : fmt::format("{} or below", shortest(bounds.high));
}

/// "12.5" is a number in the input's own unit; "12.5 kg" has one.
double found_value(const Study& study, const Evaluation& at, const FoundValue& found,
                   const Input& input) {
    const Unit unit = unit_of(study.graph, input.node);
    const auto bare = parse_quantity(found.found);
    const bool number = bare.quantity && bare.quantity->unit.text.empty();
    const std::string typed =
        number && !unit.text.empty() ? found.found + " " + unit.text : found.found;
    const auto as_typed = bare.quantity && !number && bare.quantity->spread.kind == SpreadKind::none
                              ? in_typed_unit(study.graph, at, input, *bare.quantity)
                              : std::nullopt;
    const double value = as_typed ? *as_typed : asked_value(typed, unit, found.address);
    if (value >= input.bounds.low && value <= input.bounds.high) return value;
    throw InputError({Problem{found.place,
                              Severity::error,
                              "outside-bounds",
                              fmt::format("{} cannot be {}", found.address, found.found),
                              bounds_words(input.bounds),
                              {}}});
}

/// Problems of an answer at the row that asked.
template <class Answer>
auto at_row(const FoundValue& row, Problems& problems, Answer answer)
    -> std::optional<decltype(answer())> {
    try {
        return answer();
    } catch (const InputError& error) {
        for (const Problem& one : error.problems)
            problems.add(row.place, one.code, one.message, one.hint);
        return std::nullopt;
    }
}

/// Every row that cannot be used is told, not the first alone.
void check_rows(const Study& study, const Evaluation& at, const std::vector<FoundValue>& found) {
    Problems problems;
    for (const FoundValue& row : found) {
        (void)at_row(row, problems, [&] { return asked_result(study, row.result).node; });
        (void)at_row(row, problems, [&] {
            const Input& input = asked_input(study, row.address);
            return row.found.empty() ? input.value : found_value(study, at, row, input);
        });
    }
    problems.throw_if_any();
}

Deviations deviations_of(const Study& study, const Evaluation& at, const std::string& result,
                         const std::vector<FoundValue>& found) {
    Deviations all;
    all.asked = asked_result(study, result);
    all.value = at.value[all.asked.node];
    const NodeId wanted[] = {all.asked.node};
    const auto below = study.graph.ancestors(wanted);
    Overlay together;
    const auto moved = [&](const Overlay& overlay) {
        return evaluate(study.graph, overlay, below).value[all.asked.node] - all.value;
    };
    for (const FoundValue& one : found) {
        if (one.result != result) continue;
        const Input& input = asked_input(study, one.address);
        const std::string& typed = study.graph.text_of(input.typed);
        if (!one.typed.empty() && one.typed != typed)
            all.typed_since.push_back(fmt::format("{}: {}, now {}", one.address, one.typed, typed));
        if (one.found.empty()) {
            ++all.blank;
            continue;
        }
        Deviation row{one.address, study.graph.text_of(study.graph.unit(input.node)),
                      at.value[input.node], found_value(study, at, one, input)};
        together.changes.push_back({input.node, row.found});
        row.moves = moved({{{input.node, row.found}}});
        row.share = all.value == 0.0 ? 0.0 : row.moves / std::abs(all.value);
        all.with_sign += row.moves;
        all.without_sign += std::abs(row.moves);
        all.rows.push_back(std::move(row));
    }
    all.together = moved(together);
    return all;
}

std::size_t column_of(const std::vector<CsvCell>& head, std::string_view name, Problems& problems) {
    const auto found = std::ranges::find(head, name, &CsvCell::text);
    if (found != head.end()) return static_cast<std::size_t>(found - head.begin());
    const bool semicolons = head.size() == 1 && head.front().text.find(';') != std::string::npos;
    problems.add(head.front().place, "csv-head", fmt::format("there is no column {}", name),
                 semicolons ? "its cells are parted by semicolons: save it with commas"
                            : "the CSV of deckle sample has result, address and found");
    return static_cast<std::size_t>(found - head.begin());
}

/// A writer of CSV may have put an apostrophe before what a spreadsheet would act on.
std::string plain_cell(const std::string& text) {
    return text.starts_with('\'') ? text.substr(1) : text;
}

}  // namespace

std::string_view name_of(SpotKind kind) noexcept {
    return spot_kinds[static_cast<std::size_t>(kind)];
}

SpotCheck spot_check(const Study& study, const Evaluation& at, SpotQuestion question) {
    SpotCheck check;
    check.asked = asked_result(study, question.result);
    check.question = std::move(question);
    check.value = at.value[check.asked.node];
    std::vector<Spot> rest = spots_of(study, at, check.asked.node);
    check.inputs_in_all = rest.size();
    check.spots = take_largest(rest, check.question.share);
    draw(rest, check.question, check.spots);
    const auto users = first_users(study.graph, what_it_rests_on(study.graph, check.asked.node));
    for (Spot& spot : check.spots) {
        spot.title = title_of(study, spot.address);
        fill_source(study, spot);
        if (users[spot.input->node] != no_node)
            spot.enters = operands_text(study.graph, at, spot.input->node, users);
    }
    return check;
}

bool Deviations::above_limit() const noexcept {
    if (!limit) return false;
    const double most = *limit * std::abs(value);
    return without_sign > most || std::abs(with_sign) > most || std::abs(together) > most ||
           std::ranges::any_of(rows, [&](const auto& row) { return std::abs(row.moves) > most; });
}

std::vector<Deviations> deviations(const Study& study, const Evaluation& at,
                                   const std::vector<FoundValue>& found,
                                   std::optional<double> limit) {
    check_rows(study, at, found);
    std::vector<std::string> results;
    for (const FoundValue& one : found) {
        if (std::ranges::find(results, one.result) == results.end()) results.push_back(one.result);
    }
    std::vector<Deviations> all;
    for (const std::string& result : results) {
        all.push_back(deviations_of(study, at, result, found));
        all.back().limit = limit;
    }
    return all;
}

std::vector<FoundValue> read_found(const Files& files, std::uint32_t file, Problems& problems) {
    std::vector<FoundValue> list;
    const auto rows = read_csv_cells(files.at(file).text, file, problems);
    if (rows.empty()) {
        problems.add({file, 1, 1, 1}, "empty-file", "the file is empty",
                     "deckle sample STUDY RESULT --format csv -o FILE writes one to fill in");
        return list;
    }
    const std::size_t result = column_of(rows[0], "result", problems);
    const std::size_t address = column_of(rows[0], "address", problems);
    const std::size_t found = column_of(rows[0], "found", problems);
    const auto typed = static_cast<std::size_t>(
        std::ranges::find(rows[0], "typed", &CsvCell::text) - rows[0].begin());
    if (!problems.empty()) return list;
    for (std::size_t r = 1; r < rows.size(); ++r) {
        const auto& row = rows[r];
        if (row.size() != rows[0].size()) {
            if (!row.back().broken)
                problems.add(
                    row[0].place, "csv-columns",
                    fmt::format("{} cells, and the head has {}", row.size(), rows[0].size()),
                    "a comma inside a cell needs quotes around the cell");
        } else {
            list.push_back({plain_cell(row[result].text), plain_cell(row[address].text),
                            typed < row.size() ? plain_cell(row[typed].text) : std::string(),
                            plain_cell(row[found].text), row[found].place});
        }
    }
    return list;
}

}  // namespace deckle
