// The lanes for processors with AVX2, 4 draws at a time.
#include <immintrin.h>

#include <cstdint>

namespace deckle {
namespace {

struct LaneMath {
    using Real = double __attribute__((vector_size(32)));
    using Word = std::uint64_t __attribute__((vector_size(32)));
    using Mask = std::int64_t __attribute__((vector_size(32)));
    static constexpr std::uint32_t width = 4;
    static constexpr const char* name = "avx2";

    static Real root(Real x) { return _mm256_sqrt_pd(x); }
    static Word product(Word a, std::uint32_t b) {
        const Word factor = Word{} + std::uint64_t{b};
        return __builtin_bit_cast(Word, _mm256_mul_epu32(__builtin_bit_cast(__m256i, a),
                                                         __builtin_bit_cast(__m256i, factor)));
    }
    static std::uint32_t bits(Mask mask) {
        return static_cast<std::uint32_t>(_mm256_movemask_pd(__builtin_bit_cast(Real, mask)));
    }
    static bool any(Mask mask) { return bits(mask) != 0; }
    static bool all(Mask mask) { return !any(~mask); }
    static Word exclusive(Word a, Word b, std::uint32_t c) {
        return a ^ b ^ (Word{} + std::uint64_t{c});
    }
    static Word counting() { return Word{0, 1, 2, 3}; }
};

}  // namespace
}  // namespace deckle

#include "engine/graph/lanes_source.h"

namespace deckle {

const LaneTable& lanes_avx2() noexcept { return table; }

}  // namespace deckle
