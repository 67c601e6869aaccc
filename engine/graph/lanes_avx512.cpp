// The lanes for processors with AVX-512 F and DQ, 8 draws at a time.
#include <immintrin.h>

#include <cstdint>

namespace deckle {
namespace {

struct LaneMath {
    using Real = double __attribute__((vector_size(64)));
    using Word = std::uint64_t __attribute__((vector_size(64)));
    using Mask = std::int64_t __attribute__((vector_size(64)));
    static constexpr std::uint32_t width = 8;
    static constexpr const char* name = "avx512";

    static Real root(Real x) { return _mm512_maskz_sqrt_pd(0xFF, x); }
    static Word product(Word a, std::uint32_t b) {
        const Word factor = Word{} + std::uint64_t{b};
        return __builtin_bit_cast(Word,
                                  _mm512_maskz_mul_epu32(0xFF, __builtin_bit_cast(__m512i, a),
                                                         __builtin_bit_cast(__m512i, factor)));
    }
    static std::uint32_t bits(Mask mask) {
        return static_cast<std::uint32_t>(_mm512_movepi64_mask(__builtin_bit_cast(__m512i, mask)));
    }
    static bool any(Mask mask) { return bits(mask) != 0; }
    static bool all(Mask mask) { return !any(~mask); }
    static Word exclusive(Word a, Word b, std::uint32_t c) {
        const Word third = Word{} + std::uint64_t{c};
        return __builtin_bit_cast(
            Word, _mm512_ternarylogic_epi64(__builtin_bit_cast(__m512i, a),
                                            __builtin_bit_cast(__m512i, b),
                                            __builtin_bit_cast(__m512i, third), 0x96));
    }
    static Word counting() { return Word{0, 1, 2, 3, 4, 5, 6, 7}; }
};

}  // namespace
}  // namespace deckle

#include "engine/graph/lanes_source.h"

namespace deckle {

const LaneTable& lanes_avx512() noexcept { return table; }

}  // namespace deckle
