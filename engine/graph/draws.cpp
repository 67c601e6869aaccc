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

/// Row `place.row` of a group's factor times the normals of its inputs, in the order of their
/// addresses: the terms and the order of the lanes' sum of products.
double mixed_normal(const Graph& graph, CorrelationPlace place, DrawKey key, std::uint64_t draw) {
    const Correlation& group = graph.correlations()[place.group];
    const std::size_t start = std::size_t{place.row} * (place.row + 1) / 2;
    double total = 0.0;
    for (std::size_t k = 0; k <= place.row; ++k) {
        const double z =
            normal_of(unit_draw(key, stable_id(graph.text_of(group.addresses[k])), draw));
        const double term = group.factor[start + k] * z;
        total = k == 0 ? term : total + term;
    }
    return total;
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

double drawn_value(const Graph& graph, const Input& input, std::span<const double> values,
                   DrawKey key, std::uint64_t draw) {
    const SpreadValues spread = spread_values(input, values);
    if (spread.kind == SpreadKind::none) return spread.value;
    const TextId address = input.addresses.front();
    const CorrelationPlace place = graph.correlation_of(address);
    if (!place.known())
        return spread_quantile(spread, unit_draw(key, stable_id(graph.text_of(address)), draw));
    const double z = mixed_normal(graph, place, key, draw);
    return row_of(spread.kind).numbers == NumberKind::normal
               ? spread_value(spread, z)
               : spread_quantile(spread, chance_of(z));
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
