// How a run of draws is divided: into tiles of 16,384 draws, a tile into blocks of 512, and the
// graph into what several products share (evaluated once a tile and kept) and what each has for
// itself. Nothing here depends on the number of threads or on how wide the lanes are.
#pragma once

#include <cstdint>
#include <exception>
#include <functional>
#include <span>
#include <vector>

#include "engine/graph/lanes.h"

namespace deckle {

inline constexpr std::uint64_t tile_draws = 16'384;
inline constexpr std::uint64_t tile_blocks = tile_draws / block_draws;

using Work = std::function<void(std::size_t item, unsigned worker)>;

/// The lowest item of work that failed, whatever thread met it.
struct FirstFailure {
    std::size_t item = 0;
    std::exception_ptr what;  ///< null when nothing failed
};

/// Calls `work` for every item below `count`, shared out to `threads` threads; after a failure
/// only items before it.
[[nodiscard]] FirstFailure first_failure(unsigned threads, std::size_t count, const Work& work);

/// The same. Errors: those of the lowest item that failed.
void in_parallel(unsigned threads, std::size_t count, const Work& work);

/// How many draws of a run of `draws` fall into a tile.
[[nodiscard]] std::uint64_t draws_in_tile(std::uint64_t draws, std::uint64_t tile);

/// What several groups of wanted nodes rest on, and references that all of them look at.
class SharedPart {
public:
    SharedPart(const Graph& graph, std::span<const std::vector<NodeId>> groups,
               std::span<const NodeId> references);

    [[nodiscard]] std::span<const std::uint8_t> varying() const noexcept { return varying_; }
    /// The nodes to keep: those that a group reads directly, and the references.
    [[nodiscard]] std::span<const NodeId> kept() const noexcept { return kept_; }
    /// Place of a node among those kept, or no_index.
    [[nodiscard]] std::uint32_t place_of(NodeId node) const;
    /// The kept nodes that `wanted` reads, ascending.
    [[nodiscard]] std::vector<NodeId> read_by(std::span<const NodeId> wanted) const;

private:
    template <class Visit>
    void each_argument(NodeId node, const Visit& visit) const;
    void claim(std::uint32_t group, std::span<const NodeId> wanted);
    void spread_sharing();
    void collect_kept(std::span<const std::vector<NodeId>> groups,
                      std::span<const NodeId> references);

    const Graph& graph_;
    std::vector<std::uint8_t> varying_, shared_;
    std::vector<std::uint32_t> owner_;  ///< the first group that rests on a node
    std::vector<NodeId> kept_;
};

/// Lanes of the kept nodes for one tile.
class TileLanes {
public:
    explicit TileLanes(std::size_t nodes);
    /// Bytes that the lanes of so many nodes take.
    [[nodiscard]] static std::size_t bytes(std::size_t nodes);
    /// Takes the lanes of a block [from 0 in its tile] whose plan wants the kept nodes.
    void keep(std::uint64_t block_in_tile, const Block& block);
    [[nodiscard]] const double* at(std::uint64_t block_in_tile, std::uint32_t node) const;

private:
    std::size_t nodes_;
    std::vector<double> lanes_;
};

}  // namespace deckle
