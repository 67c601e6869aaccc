// Private to lanes.cpp and lanes_plan.cpp: what a LanePlan consists of. The plan is made once:
// which nodes vary, the steps in the order of the graph, and buffers shared by last use.
#pragma once

#include <array>
#include <cstdint>
#include <utility>
#include <vector>

#include "engine/graph/lanes.h"
#include "engine/graph/solve.h"
#include "engine/graph/spread.h"

namespace deckle {

/// Where the lanes of a value stand.
struct Slot {
    enum class Kind : std::uint8_t { buffer, constant, given };
    Kind kind = Kind::buffer;
    std::uint32_t index = no_index;
};

struct Step {
    enum class Kind : std::uint8_t { plain, one_by_one, normals, draw, solve, check };
    Kind kind = Kind::plain;
    Operation operation = Operation::input;
    LaneTable::Plain plain = nullptr;
    std::uint32_t first = 0, count = 0;  ///< of its arguments in LaneSteps::arguments
    std::uint32_t out = no_index;        ///< buffer
    std::uint32_t index = 0;             ///< into ids, drawn or loops
    std::array<double, 2> parameters{};  ///< of convert and power
};

struct Drawn {
    LaneTable::Draw spread = nullptr;
    NumberKind numbers = NumberKind::chance;
    bool mixed = false;  ///< its numbers are normals that stand behind the other arguments
    std::uint64_t id = 0;
    Bounds bounds{};
};

struct Loop {
    const Solve* system = nullptr;
    LoopShape shape{};  ///< size 0: too large for our own elimination
    std::vector<std::uint32_t> cells, place;
    std::vector<std::uint64_t> rows;
    std::vector<std::uint32_t> outs;  ///< buffer of each unknown, or no_index
};

struct LaneSteps {
    const Graph* graph = nullptr;
    const Evaluation* base = nullptr;
    const LaneTable* table = nullptr;
    std::vector<NodeId> wanted_nodes, given_nodes;
    std::vector<Requirement> requirements;
    std::vector<Step> steps;
    std::vector<Slot> arguments;
    std::vector<double> constants;   ///< eight copies of each
    std::vector<std::uint64_t> ids;  ///< of the normals that are mixed
    std::vector<Drawn> drawn;
    std::vector<Loop> loops;
    std::vector<Slot> wanted;
    std::vector<std::pair<std::uint32_t, double>>
        filled;  ///< buffers of wanted values that do not vary
    std::size_t buffers = 0, scratch = 0, most_operands = 5;

    static LaneSteps make(const Graph& graph, const Evaluation& base, const LaneRequest& request,
                          const LaneTable& table);
};

}  // namespace deckle
