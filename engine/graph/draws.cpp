#include "engine/graph/draws.h"

#include <stdexcept>

#include "engine/graph/random.h"

namespace deckle {
namespace {

/// ScalarMath with the integer operations of Philox.
struct DrawMath : ScalarMath {
    static Word exclusive(Word a, Word b, std::uint32_t c) noexcept { return a ^ b ^ c; }
    static Word product(Word a, std::uint32_t b) noexcept { return (a & random::low_half) * b; }
};

constexpr std::uint64_t half_block = block_draws / 2;

random::Words<DrawMath> call_words(DrawKey key, std::uint64_t id, std::uint64_t call) {
    random::Words<DrawMath> words[1] = {
        {call & random::low_half, key.stream, id & random::low_half, id >> 32U}};
    random::philox(words, static_cast<std::uint32_t>(key.seed),
                   static_cast<std::uint32_t>(key.seed >> 32U));
    return words[0];
}

double sigma_of(const Spread& spread, double value, double parameter) {
    if (spread.kind == SpreadKind::lognormal)
        return logarithm<ScalarMath>(parameter) / random::half_width_95;
    const double half_width = spread.relative ? parameter * value : parameter;
    return half_width / random::half_width_95;
}

}  // namespace

std::array<std::uint32_t, 4> philox_words(std::array<std::uint32_t, 4> counter,
                                          std::array<std::uint32_t, 2> key) {
    random::Words<DrawMath> words[1] = {{counter[0], counter[1], counter[2], counter[3]}};
    random::philox(words, key[0], key[1]);
    const auto low = [](std::uint64_t word) { return static_cast<std::uint32_t>(word); };
    return {low(words[0].w0), low(words[0].w1), low(words[0].w2), low(words[0].w3)};
}

double unit_draw(DrawKey key, std::uint64_t id, std::uint64_t draw) {
    if (draw >= most_draws) throw std::logic_error("a run has at most 2^33 draws");
    const std::uint64_t place = draw % block_draws;
    const std::uint64_t call = draw / block_draws * half_block + place % half_block;
    const auto words = call_words(key, id, call);
    return place < half_block ? random::unit_number<DrawMath>(words.w0, words.w1)
                              : random::unit_number<DrawMath>(words.w2, words.w3);
}

double normal_of(double p) {
    const double q = p - 0.5;
    if (q <= random::central_half && q >= -random::central_half)
        return random::normal_of_centre<ScalarMath>(p);
    const double depth = random::depth_of_tail<ScalarMath>(p);
    return depth > random::far_tail ? random::normal_of_far_tail<ScalarMath>(p, depth)
                                    : random::normal_of_near_tail<ScalarMath>(p, depth);
}

double value_at(const Input& input, std::span<const double> values, double p) {
    const double value = values[input.node];
    const Spread& spread = input.spread;
    if (spread.kind == SpreadKind::none) return value;
    const double first = values[spread.parameters[0]];
    switch (spread.kind) {
        case SpreadKind::normal:
            return random::normal_spread<ScalarMath>(value, sigma_of(spread, value, first),
                                                     normal_of(p));
        case SpreadKind::lognormal:
            return random::lognormal_spread<ScalarMath>(value, sigma_of(spread, value, first),
                                                        normal_of(p));
        case SpreadKind::triangular:
            return random::triangular_spread<ScalarMath>(first, value, values[spread.parameters[1]],
                                                         p);
        default: return random::uniform_spread<ScalarMath>(first, values[spread.parameters[1]], p);
    }
}

// Sources: JCGM 101:2008, 6.4 (normal, uniform, triangular); of the lognormal: exp(mu + sigma^2 /
// 2) and exp(sigma^2) - 1 (Johnson, Kotz, Balakrishnan, Continuous Univariate Distributions 1, ch.
// 14).
Moments moments_of(const Input& input, std::span<const double> values) {
    const double value = values[input.node];
    const Spread& spread = input.spread;
    if (spread.kind == SpreadKind::none) return {value, 0.0};
    const double low = values[spread.parameters[0]];
    if (spread.kind == SpreadKind::normal) {
        const double sigma = sigma_of(spread, value, low);
        return {value, sigma < 0.0 ? -sigma : sigma};
    }
    if (spread.kind == SpreadKind::lognormal) {
        const double sigma = sigma_of(spread, value, low);
        const double growth = exponential<ScalarMath>(sigma * sigma / 2.0);
        const double mean = value * growth;
        const double deviation = mean * ScalarMath::root(growth * growth - 1.0);
        return {mean, deviation < 0.0 ? -deviation : deviation};
    }
    const double high = values[spread.parameters[1]];
    if (spread.kind == SpreadKind::uniform)
        return {(low + high) / 2.0, (high - low) / ScalarMath::root(12.0)};
    const double left = value - low, right = high - value;
    return {(low + value + high) / 3.0,
            ScalarMath::root((left * left + left * right + right * right) / 18.0)};
}

double drawn_value(const Graph& graph, const Input& input, std::span<const double> values,
                   DrawKey key, std::uint64_t draw) {
    if (input.spread.kind == SpreadKind::none) return values[input.node];
    const double p = unit_draw(key, stable_id(graph.text_of(input.addresses.front())), draw);
    return value_at(input, values, p);
}

Overlay drawn_inputs(const Graph& graph, const Evaluation& base,
                     std::span<const std::uint8_t> wanted, DrawKey key, std::uint64_t draw) {
    Overlay overlay;
    std::vector<double> values =
        base.value;  // a parameter may itself have a spread; it comes first
    for (const Input& input : graph.inputs()) {
        if (input.spread.kind == SpreadKind::none) continue;
        if (!wanted.empty() && wanted[input.node] == 0) continue;
        const double drawn = drawn_value(graph, input, values, key, draw);
        values[input.node] = drawn;
        overlay.changes.push_back({input.node, drawn});
    }
    return overlay;
}

}  // namespace deckle
