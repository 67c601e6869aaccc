// An index from hashes to numbered things that live elsewhere: equal nodes, equal texts. Two words
// a thing in one array, so that a graph of a million nodes needs no million small allocations.
#pragma once

#include <cstddef>
#include <cstdint>
#include <utility>
#include <vector>

namespace deckle {

class HashIndex {
public:
    static constexpr std::uint32_t nothing = 0xFFFFFFFFU;

    /// The first thing of this hash for which `is_it(thing)` holds, or `nothing`.
    template <typename IsIt>
    [[nodiscard]] std::uint32_t find(std::uint64_t hash, IsIt is_it) const {
        if (slots_.empty()) return nothing;
        for (std::size_t at = home(hash); slots_[at].thing != nothing; at = next(at)) {
            if (slots_[at].hash == folded(hash) && is_it(slots_[at].thing)) return slots_[at].thing;
        }
        return nothing;
    }

    /// Adds a thing; things of one hash may be several.
    void add(std::uint64_t hash, std::uint32_t thing) {
        if (2 * (count_ + 1) > slots_.size()) grow();
        place({folded(hash), thing});
        ++count_;
    }

private:
    struct Slot {
        std::uint32_t hash = 0;
        std::uint32_t thing = nothing;
    };

    /// Half of the bits are enough: `is_it` decides, the hash only spares it work.
    static std::uint32_t folded(std::uint64_t hash) {
        return static_cast<std::uint32_t>(hash ^ (hash >> 32U));
    }
    [[nodiscard]] std::size_t home(std::uint64_t hash) const {
        return folded(hash) & (slots_.size() - 1);
    }
    [[nodiscard]] std::size_t next(std::size_t at) const { return (at + 1) & (slots_.size() - 1); }

    void place(Slot slot) {
        std::size_t at = slot.hash & (slots_.size() - 1);
        while (slots_[at].thing != nothing) at = next(at);
        slots_[at] = slot;
    }

    void grow() {
        std::vector<Slot> wider(slots_.empty() ? 16 : 2 * slots_.size());
        for (const Slot& slot : std::exchange(slots_, std::move(wider))) {
            if (slot.thing != nothing) place(slot);
        }
    }

    std::vector<Slot> slots_;  ///< a power of two; at most half are taken
    std::size_t count_ = 0;
};

}  // namespace deckle
