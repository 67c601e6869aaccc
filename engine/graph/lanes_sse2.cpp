// The lanes for any x86-64 processor, 2 draws at a time.
#include <emmintrin.h>

#include <cstdint>

namespace deckle {
namespace {

struct LaneMath {
    using Real = double __attribute__((vector_size(16)));
    using Word = std::uint64_t __attribute__((vector_size(16)));
    using Mask = std::int64_t __attribute__((vector_size(16)));
    static constexpr std::uint32_t width = 2;
    static constexpr const char* name = "sse2";

    static Real root(Real x) { return _mm_sqrt_pd(x); }
    static Word product(Word a, std::uint32_t b) {
        const Word factor = Word{} + std::uint64_t{b};
        return __builtin_bit_cast(Word, _mm_mul_epu32(__builtin_bit_cast(__m128i, a),
                                                      __builtin_bit_cast(__m128i, factor)));
    }
    static std::uint32_t bits(Mask mask) {
        return static_cast<std::uint32_t>(_mm_movemask_pd(__builtin_bit_cast(Real, mask)));
    }
    static bool any(Mask mask) { return bits(mask) != 0; }
    static bool all(Mask mask) { return !any(~mask); }
    static Word exclusive(Word a, Word b, std::uint32_t c) {
        return a ^ b ^ (Word{} + std::uint64_t{c});
    }
    static Word counting() { return Word{0, 1}; }
};

}  // namespace
}  // namespace deckle

#include "engine/graph/lanes_source.h"

namespace deckle {

const LaneTable& lanes_sse2() noexcept { return table; }

}  // namespace deckle
