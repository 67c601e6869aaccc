// A whole graph evaluated for blocks of 512 draws, one lane a draw: the walk under every
// uncertainty run. A LanePlan says once what to compute, in which buffers; a Block is the working
// space of one thread and holds the lanes of the wanted nodes after each evaluate(). Only what the
// wanted nodes rest on is evaluated, only what depends on a spread is evaluated in lanes, and
// inputs that nothing wanted rests on are not drawn. The bits are those of evaluate() with the
// drawn inputs, at any width and thread count. Statistics are not made here. Start reading at
// evaluate_draws.
#pragma once

#include <cstdint>
#include <functional>
#include <memory>
#include <optional>
#include <span>
#include <string_view>
#include <vector>

#include "engine/graph/draws.h"
#include "engine/graph/evaluate.h"
#include "engine/graph/graph.h"
#include "engine/graph/lanes_table.h"

namespace deckle {

enum class LaneWidth : std::uint8_t { sse2, avx2, avx512 };

/// The widest this processor has, or what the environment variable DECKLE_LANES says (sse2, avx2,
/// avx512). Errors: InputError bad-lanes for another word or a width that this processor lacks.
[[nodiscard]] LaneWidth chosen_lane_width();
[[nodiscard]] bool has_lane_width(LaneWidth width) noexcept;
[[nodiscard]] const LaneTable& lane_table(LaneWidth width) noexcept;

/// Which nodes depend on a spread: one flag a node.
[[nodiscard]] std::vector<std::uint8_t> varying_nodes(const Graph& graph);

/// What a plan is for. The cost of making a plan is that of the nodes between given and wanted, if
/// `varying` is passed; else of the whole graph.
struct LaneRequest {
    std::span<const NodeId> wanted;  ///< whose lanes are read after each block
    std::span<const NodeId> given =
        {};  ///< whose lanes come from outside: what other plans computed
    std::span<const std::uint8_t> varying = {};  ///< of varying_nodes, made once for many plans
};

struct LaneSteps;

class LanePlan {
public:
    /// Requirements of the graph that the wanted nodes rest on are looked at in every draw.
    /// `base` holds the values of all that does not vary, and the values that spreads stand around.
    /// Graph and base must outlive the plan and its blocks.
    LanePlan(const Graph& graph, const Evaluation& base, const LaneRequest& request,
             LaneWidth width = chosen_lane_width());

    [[nodiscard]] std::size_t wanted_count() const noexcept;
    /// Inputs that are drawn.
    [[nodiscard]] std::size_t drawn_count() const noexcept;
    /// Buffers of 512 doubles that a block needs.
    [[nodiscard]] std::size_t buffer_count() const noexcept;

private:
    friend class Block;
    std::shared_ptr<const LaneSteps> steps_;  ///< shared with its blocks
};

class Block {
public:
    explicit Block(const LanePlan& plan);
    ~Block();
    Block(Block&&) noexcept;

    /// Draws 512 g to 512 g + count - 1 (count <= 512), g the number of the block. `given`: for
    /// each given node of the request its `count` lanes, readable up to the next multiple of 8.
    /// Errors: NoAnswer draw-outside-bounds, negative-rest, unsolvable-loop, not-finite; each names
    /// the draw.
    void evaluate(DrawKey key, std::uint64_t block, std::uint32_t count = block_draws,
                  std::span<const double* const> given = {});

    /// Lanes of the wanted node number `index` of the request, one a draw of the block.
    [[nodiscard]] std::span<const double> lanes(std::size_t index) const;

private:
    struct Parts;
    std::unique_ptr<Parts> parts_;
};

/// One block, for tests and small runs: `evaluate` of a fresh Block.
[[nodiscard]] Block evaluate_block(const LanePlan& plan, DrawKey key, std::uint64_t block,
                                   std::uint32_t count = block_draws);

/// Draws 0 to `draws` - 1 in blocks, shared out to `threads` threads. `take` gets each block once,
/// from any thread and in any order; it must write to places of its own. Without given nodes.
/// Errors: those of Block::evaluate; of several, the one of the lowest draw.
void evaluate_draws(const LanePlan& plan, DrawKey key, std::uint64_t draws, unsigned threads,
                    const std::function<void(std::uint64_t first_draw, const Block& block)>& take);

}  // namespace deckle
