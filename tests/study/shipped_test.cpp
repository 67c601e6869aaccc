// Properties that hold for every shipped study, whatever its figures: contributions add up, a
// process may be counted per tonne or per year, the order of keys and the choice of unit move
// nothing, and the reverse pass agrees with differences.
#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <filesystem>
#include <map>
#include <string>
#include <vector>

#include "engine/analysis/breakout.h"
#include "engine/graph/evaluate.h"
#include "engine/study/model.h"
#include "engine/study/study.h"
#include "engine/text/number_text.h"
#include "engine/text/yaml.h"
#include "tests/sanitized.h"

namespace {

using namespace deckle;
namespace fs = std::filesystem;

const std::string inventories = std::string(DECKLE_SOURCE_DIR) + "/inventories/";

struct Shipped {
    explicit Shipped(const std::string& folder) {
        load_study(inventories + folder, study);
        at = evaluate(study.graph);
    }
    Study study;
    Evaluation at;
};

const Shipped& shipped(const std::string& folder) {
    static std::map<std::string, Shipped> loaded;
    const auto known = loaded.find(folder);
    return known != loaded.end() ? known->second : loaded.emplace(folder, folder).first->second;
}

std::string any_study() { return GENERATE("worked_example", "demonstration"); }

/// The text of a scalar in double quotes, as YAML reads it back.
std::string quoted(const std::string& text) {
    std::string out = "\"";
    for (const char c : text) {
        if (c == '"' || c == '\\') out += '\\';
        out += c;
    }
    return out + "\"";
}

/// Keys of a study under which a list names files: their order says nothing.
bool names_files(std::string_view key) {
    return key == "factors" || key == "mills" || key == "products" || key == "scenarios";
}

/// A tree as YAML in flow style, keys last to first, scalars through `change`.
template <class Change>
void write_reversed(const YamlValue& value, const Change& change, std::string& out) {
    if (value.is_scalar()) {
        out += quoted(change(value.text));
        return;
    }
    if (value.is_list()) {
        out += "[";
        for (const YamlValue& item : value.items) {
            write_reversed(item, change, out);
            out += ", ";
        }
        out += "]";
        return;
    }
    out += "{";
    const auto write = [&](const YamlEntry& entry) {
        out += quoted(entry.key) + ": ";
        YamlValue turned = entry.value;
        if (names_files(entry.key)) std::ranges::reverse(turned.items);
        write_reversed(turned, change, out);
        out += ",\n";
    };
    for (auto entry = value.entries.rbegin(); entry != value.entries.rend(); ++entry) write(*entry);
    out += "}";
}

/// Values of all results by address, of the study whose YAML files are rewritten.
template <class Change>
std::map<std::string, double> rewritten(const std::string& folder, const Change& change) {
    const Files& files = shipped(folder).study.files;
    Study study;
    for (std::uint32_t file = 1; file <= files.count(); ++file) {
        const Files::File& original = files.at(file);
        std::string text = original.text;
        if (original.path.ends_with(".yaml")) {
            Problems problems;
            const YamlValue tree = read_yaml(files, file, problems);
            REQUIRE(problems.empty());
            text.clear();
            write_reversed(tree, change, text);
        }
        study.files.add(original.path, text);
    }
    load_study(files.at(1).path, study);
    const Evaluation at = evaluate(study.graph);
    std::map<std::string, double> values;
    for (const Result& result : study.results) values[result.address] = at.value[result.node];
    return values;
}

/// The parts of a result are the result, to 1e-12 of what they add up from.
void adds_up(const Result& result, const Breakout& breakout) {
    double sum = 0.0, absolute = 0.0;
    for (const Contribution& row : breakout.rows) {
        sum += row.value;
        absolute += std::abs(row.value);
    }
    if (std::abs(sum - breakout.total) <= 1e-12 * std::max(absolute, std::abs(breakout.total)))
        return;
    UNSCOPED_INFO(result.address << " by " << name_of(breakout.by) << " is " << breakout.total);
    FAIL_CHECK("and its parts are " << sum);
}

/// To 1e-11; told only where it is not, since there are tens of thousands.
void stays(const Result& result, double expected, double found) {
    if (std::abs(found - expected) <= 1e-11 * std::abs(expected) + 1e-300) return;
    UNSCOPED_INFO(result.address << " was " << expected);
    FAIL_CHECK("and is " << found);
}

}  // namespace

TEST_CASE("shipped studies: contributions add up to every result (Euler)", "[study][property]") {
    const Shipped& s = shipped(any_study());
    for (std::size_t i = 0; i < s.study.results.size(); i += test::one_in) {
        const Result& result = s.study.results[i];
        const auto burdens = burdens_of(s.study, s.at, result.node);
        for (const BreakoutBy by : {BreakoutBy::stage, BreakoutBy::process, BreakoutBy::use,
                                    BreakoutBy::factor, BreakoutBy::gas, BreakoutBy::scope}) {
            Breakout breakout = grouped(s.study.graph, burdens, by);
            breakout.by = by;
            breakout.total = s.at.value[result.node];
            adds_up(result, breakout);
        }
    }
}

TEST_CASE("shipped studies: a break-out is the burdens of its result, grouped",
          "[study][property]") {
    const Shipped& s = shipped(any_study());
    // One result in 97, since a break-out says what is open in each part too, which takes long.
    for (std::size_t i = 0; i < s.study.results.size(); i += 97 * test::one_in) {
        const Result& result = s.study.results[i];
        const auto burdens = burdens_of(s.study, s.at, result.node);
        for (const BreakoutBy by : {BreakoutBy::stage, BreakoutBy::process, BreakoutBy::use,
                                    BreakoutBy::factor, BreakoutBy::gas, BreakoutBy::scope}) {
            const Breakout found = break_out(s.study, s.at, result, result.node, by);
            const Breakout expected = grouped(s.study.graph, burdens, by);
            CAPTURE(result.address, name_of(by));
            CHECK(found.total == s.at.value[result.node]);
            CHECK(std::ranges::equal(found.rows, expected.rows,
                                     [](const Contribution& a, const Contribution& b) {
                                         return a.name == b.name && a.value == b.value;
                                     }));
            adds_up(result, found);
        }
    }
}

TEST_CASE("shipped studies: what is bought adds up to the result of each product (Euler)",
          "[study][property]") {
    const std::string folder = any_study();
    const Shipped& s = shipped(folder);
    // Of a large study one in five: this walk takes longer than that for burdens.
    const std::size_t one_in = (folder == "worked_example" ? 1 : 5) * test::one_in;
    std::size_t number = 0;
    for (const Result& result : s.study.results) {
        const Subject::Kind kind = s.study.subject(result.of, result.scenario)->kind;
        if (kind == Subject::Kind::all || kind == Subject::Kind::line ||
            result.per.find("outbound") != std::string::npos)
            continue;
        if (++number % one_in == 0)
            adds_up(result, break_out(s.study, s.at, result, result.node, BreakoutBy::user));
    }
}

TEST_CASE("shipped studies: the order of keys and of files moves no bit of any result",
          "[study][property]") {
    const std::string folder = any_study();
    const Shipped& s = shipped(folder);
    const auto values = rewritten(folder, [](const std::string& text) { return text; });
    REQUIRE(values.size() == s.study.results.size());
    for (const Result& result : s.study.results) {
        if (values.at(result.address) == s.at.value[result.node]) continue;
        FAIL_CHECK(result.address << " has other bits");
    }
}

TEST_CASE(
    "shipped studies: amounts typed in another unit change nothing (1 kWh = 3.6 MJ and the "
    "prefixes, "
    "SI Brochure)",
    "[study][property]") {
    struct Pair {
        std::string typed, other;
        double factor;
    };
    const Pair pair =
        GENERATE(Pair{" kWh/t", " MJ/t", 3.6}, Pair{" km", " m", 1000.0}, Pair{" g", " kg", 0.001},
                 Pair{" mm", " m", 0.001}, Pair{" L", " m3", 0.001});
    const std::string folder = any_study();
    if (test::one_in > 1 && folder == "demonstration" && pair.factor != 3.6) return;
    const Shipped& s = shipped(folder);
    std::size_t changed = 0;
    const auto values = rewritten(folder, [&](const std::string& text) {
        const std::size_t unit = text.find(pair.typed);
        if (unit == std::string::npos || text.find_first_not_of("0123456789.") != unit) return text;
        const std::string behind = text.substr(unit + pair.typed.size());
        if (!behind.empty() && !behind.ends_with("of value")) return text;
        ++changed;
        return shortest(std::stod(text) * pair.factor) + pair.other + behind;
    });
    CAPTURE(pair.typed);
    CHECK((changed > 0 || folder != "demonstration"));  // the largest has them all
    REQUIRE(values.size() == s.study.results.size());
    for (const Result& result : s.study.results)
        stays(result, s.at.value[result.node], values.at(result.address));
}

TEST_CASE(
    "shipped studies: a process counted for twice as much of everything gives the same footprints",
    "[study][property]") {
    const Shipped& s = shipped(any_study());
    const Graph& graph = s.study.graph;
    std::map<std::string, Overlay> processes;
    for (const Input& input : graph.inputs()) {
        const std::string& address = graph.text_of(input.addresses.front());
        const std::string& unit = graph.text_of(graph.unit(input.node));
        const std::size_t first = address.find('.'), second = address.find('.', first + 1),
                          third = address.find('.', second + 1);
        if (third == std::string::npos || address.find('.', third + 1) != std::string::npos)
            continue;
        const std::string section = address.substr(second + 1, third - second - 1);
        const bool amount = section == "makes" || section == "uses" || section == "releases" ||
                            section == "takes_in" || section == "gives_back" ||
                            section == "discharges";
        const bool of_mill =  // a factor states discharges too
            std::ranges::any_of(s.study.model->mills, [&](const Mill& mill) {
                return mill.id == address.substr(0, first);
            });
        if (!of_mill || !amount || unit.find('/') != std::string::npos) continue;
        processes[address.substr(0, second)].changes.push_back({input.node, 2.0 * input.value});
    }
    CHECK(processes.size() > 5);
    for (const auto& [process, twice] : processes) {
        const Evaluation doubled = evaluate(graph, twice);
        for (const Result& result : s.study.results) {
            if (!result.scenario.empty()) continue;  // "220 MWh more" are typed for the year
            CAPTURE(process);
            stays(result, s.at.value[result.node], doubled.value[result.node]);
        }
    }
}

TEST_CASE("shipped studies: the reverse pass agrees with central differences",
          "[study][property]") {
    const Shipped& s = shipped(any_study());
    const Graph& graph = s.study.graph;
    constexpr std::size_t stride = test::one_in > 1 ? 14 : 1;
    std::size_t compared = 0;
    for (const Subject& subject : s.study.subjects) {
        const Result* result = s.study.result(subject.id, subject.pers.front(), "climate");
        if (result == nullptr || subject.kind == Subject::Kind::all) continue;
        const auto slope = derivatives(graph, s.at, result->node);
        for (std::size_t i = compared % stride; i < graph.inputs().size(); i += stride) {
            const Input& input = graph.inputs()[i];
            const double step = 1e-6 * std::abs(input.value);
            if (step == 0.0 || slope[input.node] == 0.0 || graph.stepped(result->node)) continue;
            const double up =
                evaluate(graph, {{{input.node, input.value + step}}}).value[result->node];
            const double down =
                evaluate(graph, {{{input.node, input.value - step}}}).value[result->node];
            const double difference = (up - down) / (2.0 * step);
            const double scale = std::abs(s.at.value[result->node]) / std::abs(input.value);
            CAPTURE(result->address, graph.text_of(input.addresses.front()));
            CHECK(std::abs(difference - slope[input.node]) <=
                  1e-6 * std::abs(slope[input.node]) + 1e-8 * scale);
            ++compared;
        }
    }
    CHECK(compared * stride > 120);
}
