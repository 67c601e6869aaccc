// Prints one digest of the draws of several random graphs, loops below and above 64 products
// included, and checks that every width and number of threads gives it; with the argument `once`
// only the first of these is worked out. Two builds of this program by different compilers must
// print the same; see compilers_agree.cmake.
#include <bit>
#include <cstdint>
#include <cstdio>
#include <optional>
#include <string_view>

#include "engine/analysis/uncertainty.h"
#include "engine/graph/lanes.h"
#include "tests/graph/graph_maker.h"

using namespace deckle;

namespace {

/// FNV-1a over the bits of doubles, in order.
class Digest {
public:
    void add(double value) {
        auto bits = std::bit_cast<std::uint64_t>(value);
        for (int byte = 0; byte < 8; ++byte, bits >>= 8U)
            state_ = (state_ ^ (bits & 0xFFU)) * 0x100000001B3ULL;
    }
    [[nodiscard]] std::uint64_t value() const { return state_; }

private:
    std::uint64_t state_ = 0xCBF29CE484222325ULL;
};

void add_sample(Digest& digest, const Sample& sample) {
    const Summary& summary = sample.summary;
    for (const double value :
         {summary.mean, summary.standard_uncertainty, summary.median, summary.low, summary.high,
          sample.errors.mean, sample.errors.standard_uncertainty, sample.errors.low,
          sample.errors.high})
        digest.add(value);
}

/// Every result a product of its own, compared with the first one; more draws than a tile has.
void add_statistics(Digest& digest, const test::RandomGraph& random, const Evaluation& base,
                    LaneWidth width, unsigned threads) {
    std::vector<UncertainGroup> groups;
    for (const NodeId result : random.results) groups.push_back({{result, random.results[0]}});
    UncertaintyQuestion question;
    question.seed = 42;
    question.draws = tile_draws + 1001;
    question.unpaired = true;
    question.threads = threads;
    question.width = width;
    for (const auto& group : uncertainty(random.graph(), base, groups, question)) {
        add_sample(digest, group[0].sample);
        add_sample(digest, group[0].paired->difference);
        add_sample(digest, group[0].unpaired->difference);
        digest.add(group[0].paired->below);
        digest.add(group[0].first_order.standard_uncertainty);
    }
}

std::uint64_t digest(const test::RandomGraph& random, LaneWidth width, unsigned threads,
                     bool with_statistics) {
    constexpr std::uint64_t draws = 1500;
    const Evaluation base = evaluate(random.graph());
    const LanePlan plan(random.graph(), base, {random.results}, width);
    std::vector<double> rows(draws * random.results.size());
    evaluate_draws(plan, {42, 0}, draws, threads, [&](std::uint64_t first, const Block& block) {
        for (std::size_t k = 0; k < random.results.size(); ++k) {
            const auto lanes = block.lanes(k);
            for (std::size_t i = 0; i < lanes.size(); ++i)
                rows[(first + i) * random.results.size() + k] = lanes[i];
        }
    });
    Digest result;
    for (const double value : rows) result.add(value);
    for (const double value : base.value) result.add(value);
    for (const double value : derivatives(random.graph(), base, random.results[0]))
        result.add(value);
    if (with_statistics) add_statistics(result, random, base, width, threads);
    return result.value();
}

}  // namespace

int main(int count, char** words) {
    const bool once = count > 1 && std::string_view(words[1]) == "once";
    struct Case {
        test::RandomGraph random;
        bool with_statistics;
    };
    std::vector<Case> cases;
    for (std::uint64_t seed = 1; seed <= 6; ++seed)
        cases.push_back({test::random_graph(seed, 400), seed == 1});
    cases.push_back({test::random_loop(1, 40, 2, 5), true});
    cases.push_back({test::random_loop(2, 90, 2, 5), true});
    for (const auto& [random, with_statistics] : cases) {
        std::optional<std::uint64_t> first;
        for (const LaneWidth width : {LaneWidth::sse2, LaneWidth::avx2, LaneWidth::avx512}) {
            if (!has_lane_width(width)) continue;
            for (const unsigned threads : {1U, 2U, 7U}) {
                if (once && first) continue;
                const std::uint64_t found = digest(random, width, threads, with_statistics);
                if (!first) first = found;
                if (found == *first) continue;
                std::printf("differs: %s, %u threads\n", lane_table(width).name, threads);
                return 1;
            }
        }
        std::printf("%016llx\n", static_cast<unsigned long long>(*first));
    }
    return 0;
}
