// The lanes: one source, compiled once for each instruction set by lanes_sse2.cpp, lanes_avx2.cpp
// and lanes_avx512.cpp, which first define LaneMath (Real, Word, Mask, width, root, product,
// exclusive, bits, any, all). Everything here is in an anonymous namespace and nothing but
// <cstdint> and intrinsics is included, so that no copy of a library function made for a wide
// processor can be linked into code for every processor. Each operation makes the + - * / of
// evaluate.cpp and operation.cpp in the same order.
#pragma once

#include <cstdint>

#include "engine/graph/elimination.h"
#include "engine/graph/lanes_table.h"
#include "engine/graph/random.h"
#include "engine/properties/elementary.h"
#include "engine/properties/steam_formulas.h"

namespace deckle {
namespace {

using Real = LaneMath::Real;
using Word = LaneMath::Word;
constexpr std::uint32_t width = LaneMath::width;
constexpr std::uint32_t block = 512;
constexpr std::uint32_t half_block = 256;

struct Unaligned {
    Real value;
} __attribute__((packed, aligned(8), may_alias));

Real load(const double* from) { return reinterpret_cast<const Unaligned*>(from)->value; }
void store(double* to, Real value) { reinterpret_cast<Unaligned*>(to)->value = value; }
Real load(const Operand& operand, std::uint32_t lane) {
    return load(operand.lanes + (lane & operand.mask));
}

/// Remembers whether every value seen was finite: finite * 0 is 0, all else is not a number.
class Finite {
public:
    void see(Real value) { seen_ = seen_ + value * 0.0; }
    [[nodiscard]] bool all() const { return !LaneMath::any(seen_ != seen_); }

private:
    Real seen_ = Real{};
};

/// out = function(argument lanes at i), for every i.
template <class Function>
bool each(double* out, std::uint32_t lanes, Function function) {
    Finite finite;
    for (std::uint32_t i = 0; i < lanes; i += width) {
        const Real value = function(i);
        finite.see(value);
        store(out + i, value);
    }
    return finite.all();
}

/// A fold over many terms, `Vectors` vectors of lanes side by side so that each argument is looked
/// up once for all of them; gives the lane where it stopped.
template <std::uint32_t Vectors, class First, class Next>
std::uint32_t fold_by(Finite& finite, std::uint32_t from, std::uint32_t terms, double* out,
                      std::uint32_t lanes, First first, Next next) {
    std::uint32_t i = from;
    for (; i + Vectors * width <= lanes; i += Vectors * width) {
        Real total[Vectors];
        for (std::uint32_t v = 0; v < Vectors; ++v) total[v] = first(i + v * width);
        for (std::uint32_t k = 1; k < terms; ++k) {
            for (std::uint32_t v = 0; v < Vectors; ++v) total[v] = next(total[v], k, i + v * width);
        }
        for (std::uint32_t v = 0; v < Vectors; ++v) {
            finite.see(total[v]);
            store(out + i + std::uint64_t{v} * width, total[v]);
        }
    }
    return i;
}

template <class First, class Next>
bool fold(std::uint32_t terms, double* out, std::uint32_t lanes, First first, Next next) {
    Finite finite;
    const std::uint32_t rest = fold_by<4>(finite, 0, terms, out, lanes, first, next);
    fold_by<1>(finite, rest, terms, out, lanes, first, next);
    return finite.all();
}

bool sum(const Operand* a, std::uint32_t count, const double*, double* out, std::uint32_t lanes) {
    return fold(
        count, out, lanes, [=](std::uint32_t i) { return load(a[0], i); },
        [=](Real total, std::uint32_t k, std::uint32_t i) { return total + load(a[k], i); });
}

bool product(const Operand* a, std::uint32_t count, const double*, double* out,
             std::uint32_t lanes) {
    return fold(
        count, out, lanes, [=](std::uint32_t i) { return load(a[0], i); },
        [=](Real total, std::uint32_t k, std::uint32_t i) { return total * load(a[k], i); });
}

bool sum_of_products(const Operand* a, std::uint32_t count, const double*, double* out,
                     std::uint32_t lanes) {
    const auto term = [=](std::uint32_t k, std::uint32_t i) {
        const std::size_t pair = std::size_t{2} * k;
        return load(a[pair], i) * load(a[pair + 1], i);
    };
    return fold(
        count / 2, out, lanes, [=](std::uint32_t i) { return term(0, i); },
        [=](Real total, std::uint32_t k, std::uint32_t i) { return total + term(k, i); });
}

bool quotient(const Operand* a, std::uint32_t, const double*, double* out, std::uint32_t lanes) {
    return each(out, lanes, [=](std::uint32_t i) { return load(a[0], i) / load(a[1], i); });
}

bool negate(const Operand* a, std::uint32_t, const double*, double* out, std::uint32_t lanes) {
    return each(out, lanes, [=](std::uint32_t i) { return -load(a[0], i); });
}

bool convert(const Operand* a, std::uint32_t, const double* p_q, double* out, std::uint32_t lanes) {
    return each(out, lanes, [=](std::uint32_t i) { return load(a[0], i) * p_q[0] / p_q[1]; });
}

bool power(const Operand* a, std::uint32_t, const double* exponent, double* out,
           std::uint32_t lanes) {
    const double b = exponent[0];
    const bool multiplied_out = is_multiplied_out<LaneMath>(b);
    return each(out, lanes, [=](std::uint32_t i) {
        return power_of<LaneMath>(load(a[0], i), b, multiplied_out);
    });
}

bool square_root(const Operand* a, std::uint32_t, const double*, double* out, std::uint32_t lanes) {
    return each(out, lanes, [=](std::uint32_t i) { return LaneMath::root(load(a[0], i)); });
}

bool lane_exponential(const Operand* a, std::uint32_t, const double*, double* out,
                      std::uint32_t lanes) {
    return each(out, lanes, [=](std::uint32_t i) { return exponential<LaneMath>(load(a[0], i)); });
}

bool lane_logarithm(const Operand* a, std::uint32_t, const double*, double* out,
                    std::uint32_t lanes) {
    return each(out, lanes, [=](std::uint32_t i) { return logarithm<LaneMath>(load(a[0], i)); });
}

bool minimum(const Operand* a, std::uint32_t count, const double*, double* out,
             std::uint32_t lanes) {
    return each(out, lanes, [=](std::uint32_t i) {
        Real taken = load(a[0], i);
        for (std::uint32_t k = 1; k < count; ++k) {
            const Real other = load(a[k], i);
            taken = other < taken ? other : taken;
        }
        return taken;
    });
}

bool maximum(const Operand* a, std::uint32_t count, const double*, double* out,
             std::uint32_t lanes) {
    return each(out, lanes, [=](std::uint32_t i) {
        Real taken = load(a[0], i);
        for (std::uint32_t k = 1; k < count; ++k) {
            const Real other = load(a[k], i);
            taken = taken < other ? other : taken;
        }
        return taken;
    });
}

bool whole(const Operand* a, std::uint32_t, const double*, double* out, std::uint32_t lanes) {
    return each(out, lanes, [=](std::uint32_t i) {
        return round_down<LaneMath>(load(a[0], i) * almost_whole);
    });
}

template <Real (*Property)(Real, Real)>
bool of_state(const Operand* a, std::uint32_t, const double*, double* out, std::uint32_t lanes) {
    return each(out, lanes,
                [=](std::uint32_t i) { return Property(load(a[0], i), load(a[1], i)); });
}

template <Real (*Property)(Real)>
bool of_pressure(const Operand* a, std::uint32_t, const double*, double* out, std::uint32_t lanes) {
    return each(out, lanes, [=](std::uint32_t i) { return Property(load(a[0], i)); });
}

/// A full block of numbers in (0, 1): the first half of the draws and the second from the same
/// calls.
void units(const DrawTask& task, double* out) {
    const auto key_0 = static_cast<std::uint32_t>(task.seed),
               key_1 = static_cast<std::uint32_t>(task.seed >> 32U);
    const Word stream = Word{} + std::uint64_t{task.stream}, id_low = Word{} + task.id,
               id_high = id_low >> 32U;
    Word call = LaneMath::counting() + task.block * half_block;
    for (std::uint32_t i = 0; i < half_block; i += 2 * width) {
        const Word next_call = call + std::uint64_t{width};
        random::Words<LaneMath> words[2] = {{call, stream, id_low, id_high},
                                            {next_call, stream, id_low, id_high}};
        random::philox(words, key_0, key_1);
        double* to = out + i;
        for (const auto& word : words) {
            store(to, random::unit_number<LaneMath>(word.w0, word.w1));
            store(to + half_block, random::unit_number<LaneMath>(word.w2, word.w3));
            to += width;
        }
        call = next_call + std::uint64_t{width};
    }
}

/// Normals of the tails, `count` numbers packed together; room for one more vector.
void tail_normals(double* numbers, std::uint32_t count) {
    for (std::uint32_t i = count; i < count + width; ++i) numbers[i] = 0.01;
    for (std::uint32_t i = 0; i < count; i += width) {
        const Real p = load(numbers + i);
        const Real depth = random::depth_of_tail<LaneMath>(p);
        Real z = random::normal_of_near_tail<LaneMath>(p, depth);
        if (LaneMath::any(depth > random::far_tail)) {
            const Real far = random::normal_of_far_tail<LaneMath>(p, depth);
            z = depth > random::far_tail ? far : z;
        }
        store(numbers + i, z);
    }
}

/// The 15 % in the tails are packed together first, so that logarithm and square root are taken of
/// them alone.
void normals(double* numbers) {
    alignas(64) double tails[block + width];
    std::uint32_t where[block];
    std::uint32_t count = 0;
    for (std::uint32_t i = 0; i < block; i += 64) {
        std::uint64_t in_tail = 0;
        for (std::uint32_t k = 0; k < 64; k += width) {
            const Real q = load(numbers + i + k) - 0.5;
            const auto outside = (q > random::central_half) | (q < -random::central_half);
            in_tail |= std::uint64_t{LaneMath::bits(outside)} << k;
        }
        for (; in_tail != 0; in_tail &= in_tail - 1) {
            where[count] = i + static_cast<std::uint32_t>(__builtin_ctzll(in_tail));
            tails[count] = numbers[where[count]];
            ++count;
        }
    }
    for (std::uint32_t i = 0; i < block; i += width) {
        store(numbers + i, random::normal_of_centre<LaneMath>(load(numbers + i)));
    }
    tail_normals(tails, count);
    for (std::uint32_t k = 0; k < count; ++k) numbers[where[k]] = tails[k];
}

/// out = function(number, lane), inside the bounds of the task, which are finite.
template <class Function>
bool each_drawn(const DrawTask& task, double* out, std::uint32_t lanes, Function function) {
    LaneMath::Mask inside = Real{} == Real{};
    for (std::uint32_t i = 0; i < lanes; i += width) {
        const Real value = function(load(out + i), i);
        inside = inside & (value >= task.low_bound) & (value <= task.high_bound);
        store(out + i, value);
    }
    return LaneMath::all(inside);
}

bool draw_normal(const DrawTask& task, double* numbers, std::uint32_t lanes) {
    return each_drawn(task, numbers, lanes, [&](Real z, std::uint32_t i) {
        return random::normal_spread<LaneMath>(load(task.value, i), load(task.a, i), z);
    });
}

bool draw_lognormal(const DrawTask& task, double* numbers, std::uint32_t lanes) {
    return each_drawn(task, numbers, lanes, [&](Real z, std::uint32_t i) {
        return random::lognormal_spread<LaneMath>(load(task.value, i), load(task.a, i), z);
    });
}

bool draw_triangular(const DrawTask& task, double* numbers, std::uint32_t lanes) {
    return each_drawn(task, numbers, lanes, [&](Real p, std::uint32_t i) {
        return random::triangular_spread<LaneMath>(load(task.a, i), load(task.value, i),
                                                   load(task.b, i), p);
    });
}

bool draw_uniform(const DrawTask& task, double* numbers, std::uint32_t lanes) {
    return each_drawn(task, numbers, lanes, [&](Real p, std::uint32_t i) {
        return random::uniform_spread<LaneMath>(load(task.a, i), load(task.b, i), p);
    });
}

bool draw_arcsine(const DrawTask& task, double* numbers, std::uint32_t lanes) {
    return each_drawn(task, numbers, lanes, [&](Real p, std::uint32_t i) {
        return random::arcsine_spread<LaneMath>(load(task.a, i), load(task.b, i), p);
    });
}

bool draw_trapezoid(const DrawTask& task, double* numbers, std::uint32_t lanes) {
    return each_drawn(task, numbers, lanes, [&](Real p, std::uint32_t i) {
        return random::trapezoid_spread<LaneMath>(load(task.a, i), load(task.b, i), load(task.c, i),
                                                  p);
    });
}

bool draw_truncated(const DrawTask& task, double* numbers, std::uint32_t lanes) {
    for (std::uint32_t i = 0; i < lanes; i += width) {
        store(numbers + i, random::truncated_chance<LaneMath>(load(task.value, i), load(task.a, i),
                                                              load(task.b, i), load(task.c, i),
                                                              load(numbers + i)));
    }
    normals(numbers);
    return each_drawn(task, numbers, lanes, [&](Real z, std::uint32_t i) {
        return random::truncated_spread<LaneMath>(load(task.value, i), load(task.a, i),
                                                  load(task.b, i), load(task.c, i), z);
    });
}

void chances(double* z, std::uint32_t lanes) {
    for (std::uint32_t i = 0; i < lanes; i += width)
        store(z + i, random::open_chance<LaneMath>(load(z + i)));
}

/// I - C of the draws from lane i on; gives the lowest coefficient or 0.
Real assemble(const LoopShape& shape, const Operand* coefficients, std::uint32_t i, Real* a) {
    const std::uint32_t cells = shape.size * shape.size;
    for (std::uint32_t cell = 0; cell < cells; ++cell) a[cell] = Real{};
    for (std::uint32_t k = 0; k < shape.size; ++k) a[k * shape.size + k] = Real{} + 1.0;
    Real lowest = Real{};
    for (std::uint32_t k = 0; k < shape.entries; ++k) {
        const Real coefficient = load(coefficients[k], i);
        a[shape.cells[k]] = a[shape.cells[k]] - coefficient;
        lowest = coefficient < lowest ? coefficient : lowest;
    }
    return lowest;
}

/// Factors in place; below 0 where a pivot does not serve.
Real factor_sound(const LoopShape& shape, Real lowest, Real* a) {
    Real largest[64];
    for (std::uint32_t k = 0; k < shape.size; ++k) {
        largest[k] = elimination::largest_entry(shape.size, shape.rows, a, k);
    }
    elimination::factor(shape.size, shape.rows, a);
    Real worst = Real{} + 1.0;
    for (std::uint32_t k = 0; k < shape.size; ++k) {
        const Real sound = elimination::soundness(a[k * shape.size + k], largest[k], lowest);
        worst = sound > 0.0 ? worst : Real{} - 1.0;
    }
    return worst;
}

bool solve(const LoopShape& shape, const Operand* arguments, double* const* x, double* scratch,
           std::uint32_t lanes) {
    Real* a = reinterpret_cast<Real*>(scratch);
    Real* b = a + std::uint64_t{shape.size} * shape.size;
    const Operand* sides = arguments + shape.entries;
    Finite finite;
    Real worst = Real{} + 1.0;
    for (std::uint32_t i = 0; i < lanes; i += width) {
        const Real lowest = assemble(shape, arguments, i, a);
        const Real sound = factor_sound(shape, lowest, a);
        worst = sound < worst ? sound : worst;
        for (std::uint32_t u = 0; u < shape.size * shape.sides; ++u) {
            b[shape.place[u / shape.sides] * shape.sides + u % shape.sides] = load(sides[u], i);
        }
        elimination::substitute(shape.size, shape.rows, a, shape.sides, b);
        for (std::uint32_t u = 0; u < shape.size * shape.sides; ++u) {
            if (x[u] == nullptr) continue;
            const Real value = b[shape.place[u / shape.sides] * shape.sides + u % shape.sides];
            finite.see(value);
            store(x[u] + i, value);
        }
    }
    return finite.all() && !LaneMath::any(worst < 0.0);
}

bool at_least(const double* values, double least, std::uint32_t lanes) {
    Real lowest = Real{} + least;
    for (std::uint32_t i = 0; i < lanes; i += width) {
        const Real value = load(values + i);
        lowest = value < lowest ? value : lowest;
    }
    return !LaneMath::any(lowest < least);
}

constexpr LaneTable table{LaneMath::name,
                          width,
                          sum,
                          product,
                          quotient,
                          sum_of_products,
                          negate,
                          convert,
                          power,
                          square_root,
                          lane_exponential,
                          lane_logarithm,
                          minimum,
                          maximum,
                          whole,
                          of_state<if97::steam_h<LaneMath>>,
                          of_state<if97::steam_s<LaneMath>>,
                          of_pressure<if97::liquid_h<LaneMath>>,
                          of_pressure<if97::vapour_h<LaneMath>>,
                          of_pressure<if97::liquid_s<LaneMath>>,
                          of_pressure<if97::vapour_s<LaneMath>>,
                          of_pressure<if97::boiling_t<LaneMath>>,
                          units,
                          normals,
                          chances,
                          draw_normal,
                          draw_lognormal,
                          draw_triangular,
                          draw_uniform,
                          draw_arcsine,
                          draw_trapezoid,
                          draw_truncated,
                          solve,
                          at_least};

}  // namespace
}  // namespace deckle
