#include "engine/analysis/draw_tiles.h"

#include <algorithm>
#include <atomic>
#include <mutex>
#include <thread>
#include <unordered_set>

namespace deckle {
namespace {

/// Doubles from one node to the next; not a whole page, so that the lanes of one draw do not fall
/// into one set of the processor's cache.
constexpr std::size_t stride = block_draws + 8;

}  // namespace

FirstFailure first_failure(unsigned threads, std::size_t count, const Work& work) {
    std::atomic<std::size_t> next{0}, lowest{count};
    std::mutex mutex;
    FirstFailure failure;
    const auto run = [&](unsigned worker) {
        for (std::size_t item = next++; item < lowest; item = next++) {
            try {
                work(item, worker);
            } catch (...) {
                const std::lock_guard lock(mutex);
                if (item >= lowest) continue;
                lowest = item;
                failure = {item, std::current_exception()};
            }
        }
    };
    {
        std::vector<std::jthread> helpers;
        for (unsigned worker = 1; worker < std::min<std::size_t>(threads, count); ++worker)
            helpers.emplace_back(run, worker);
        run(0);
    }
    return failure;
}

void in_parallel(unsigned threads, std::size_t count, const Work& work) {
    const FirstFailure failure = first_failure(threads, count, work);
    if (failure.what) std::rethrow_exception(failure.what);
}

std::uint64_t draws_in_tile(std::uint64_t draws, std::uint64_t tile) {
    return std::min(tile_draws, draws - std::min(draws, tile * tile_draws));
}

SharedPart::SharedPart(const Graph& graph, std::span<const std::vector<NodeId>> groups,
                       std::span<const NodeId> references)
    : graph_(graph),
      varying_(varying_nodes(graph)),
      shared_(graph.size(), 0),
      owner_(graph.size(), no_index) {
    for (std::uint32_t g = 0; g < groups.size(); ++g) claim(g, groups[g]);
    for (const NodeId node : references) shared_[node] = 1;
    spread_sharing();
    collect_kept(groups, references);
}

/// What a draw of a node rests on: its arguments and, of an input, the parameters of its spread.
template <class Visit>
void SharedPart::each_argument(NodeId node, const Visit& visit) const {
    for (const NodeId argument : graph_.arguments(node)) visit(argument);
    if (graph_.operation(node) != Operation::input) return;
    for (const NodeId parameter : graph_.inputs()[graph_.payload(node)].spread.parameters) {
        if (parameter != no_node) visit(parameter);
    }
}

/// A group owns what no group before it rests on; where it meets what another owns, that is shared.
void SharedPart::claim(std::uint32_t group, std::span<const NodeId> wanted) {
    std::vector<NodeId> open;
    const auto visit = [&](NodeId node) {
        if (varying_[node] == 0 || shared_[node] != 0 || owner_[node] == group) return;
        if (owner_[node] != no_index) {
            shared_[node] = 1;
            return;
        }
        owner_[node] = group;
        open.push_back(node);
    };
    for (const NodeId node : wanted) visit(node);
    while (!open.empty()) {
        const NodeId node = open.back();
        open.pop_back();
        each_argument(node, visit);
    }
}

/// What a shared node rests on is shared; so are all unknowns of a shared loop.
void SharedPart::spread_sharing() {
    for (auto node = static_cast<NodeId>(graph_.size()); node-- > 0;) {
        if (shared_[node] == 0) continue;
        each_argument(node, [&](NodeId argument) { shared_[argument] |= varying_[argument]; });
    }
    for (NodeId node = 0; node < graph_.size(); ++node) {
        if (graph_.operation(node) == Operation::part)
            shared_[node] |= shared_[graph_.arguments(node)[0]];
    }
}

void SharedPart::collect_kept(std::span<const std::vector<NodeId>> groups,
                              std::span<const NodeId> references) {
    std::vector<std::uint8_t> keep(graph_.size(), 0);
    for (const NodeId node : references) keep[node] = 1;
    for (const auto& group : groups) {
        for (const NodeId node : group) keep[node] |= shared_[node];
    }
    for (NodeId node = 0; node < graph_.size(); ++node) {
        if (owner_[node] == no_index || shared_[node] != 0) continue;
        each_argument(node, [&](NodeId argument) { keep[argument] |= shared_[argument]; });
    }
    for (NodeId node = 0; node < graph_.size(); ++node) {
        if (keep[node] != 0) kept_.push_back(node);
    }
}

std::uint32_t SharedPart::place_of(NodeId node) const {
    const auto found = std::ranges::lower_bound(kept_, node);
    if (found == kept_.end() || *found != node) return no_index;
    return static_cast<std::uint32_t>(found - kept_.begin());
}

std::vector<NodeId> SharedPart::read_by(std::span<const NodeId> wanted) const {
    std::vector<NodeId> read, open;
    std::unordered_set<NodeId> seen;
    const auto visit = [&](NodeId node) {
        if (varying_[node] == 0 || !seen.insert(node).second) return;
        (shared_[node] != 0 ? read : open).push_back(node);
    };
    for (const NodeId node : wanted) visit(node);
    while (!open.empty()) {
        const NodeId node = open.back();
        open.pop_back();
        each_argument(node, visit);
    }
    std::ranges::sort(read);
    return read;
}

TileLanes::TileLanes(std::size_t nodes) : nodes_(nodes), lanes_(tile_blocks * nodes * stride) {}

std::size_t TileLanes::bytes(std::size_t nodes) {
    return tile_blocks * nodes * stride * sizeof(double);
}

void TileLanes::keep(std::uint64_t block_in_tile, const Block& block) {
    for (std::size_t k = 0; k < nodes_; ++k) {
        const auto lanes = block.lanes(k);
        std::ranges::copy(lanes, lanes_.begin() + static_cast<std::ptrdiff_t>(
                                                      (block_in_tile * nodes_ + k) * stride));
    }
}

const double* TileLanes::at(std::uint64_t block_in_tile, std::uint32_t node) const {
    return lanes_.data() + (block_in_tile * nodes_ + node) * stride;
}

}  // namespace deckle
