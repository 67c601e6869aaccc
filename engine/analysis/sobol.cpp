#include "engine/analysis/sobol.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <span>
#include <stdexcept>

#include "engine/analysis/rank_correlation.h"
#include "engine/analysis/rests_on.h"
#include "engine/analysis/rounding.h"
#include "engine/text/problem.h"

namespace deckle {
namespace {

constexpr double half_width_95 = 1.959963984540054;  ///< in standard deviations

/// Sums over rows of one estimator: its terms, their squares, their products with the terms of the
/// variance.
struct Sums {
    double term = 0.0, square = 0.0, with_variance = 0.0;

    void add(double x, double v) {
        term += x;
        square += x * x;
        with_variance += x * v;
    }
    void add(const Sums& other) {
        term += other.term;
        square += other.square;
        with_variance += other.with_variance;
    }
};

/// Of one group.
struct Estimates {
    Sums first;  ///< covariance of B with what the exchange moves
    Sums rest;   ///< what all other inputs move
    Sums total;  ///< what the exchange moves

    void add(const Estimates& other) {
        first.add(other.first);
        rest.add(other.rest);
        total.add(other.total);
    }
};

[[noreturn]] void refuse(const char* code, std::string message, const char* hint) {
    throw NoAnswer({{}, Severity::error, code, std::move(message), hint, {}});
}

class SobolRun {
public:
    SobolRun(const Graph& graph, const Evaluation& at, NodeId figure, const SobolQuestion& question)
        : graph_(graph), at_(at), figure_(figure), question_(question) {
        const auto rests = what_it_rests_on(graph, figure);
        for (const Input& input : graph.inputs()) {
            if (!rests[input.node].on || input.spread.kind == SpreadKind::none) continue;
            add_to_group(input.addresses.front());
            nodes_.push_back(input.node);
        }
    }

    SobolIndices run() {
        if (nodes_.empty()) {
            refuse("no-spread", "no input that the result rests on has a spread",
                   "state spreads, such as 4.35 GJ ± 5 % of value, where amounts are uncertain");
        }
        const NodeId wanted[] = {figure_};
        const LanePlan draws(graph_, at_, {.wanted = nodes_}, question_.width);
        const LanePlan model(graph_, at_, {.wanted = wanted, .given = nodes_}, question_.width);
        run_both_halves(draws, model);
        settle_moments();
        run_exchanged(draws, model);
        correlate_ranks();
        return result();
    }

private:
    using Pointers = std::vector<const double*>;

    /// Correlated inputs stay together, whatever the order they come in.
    void add_to_group(TextId address) {
        const CorrelationPlace place = graph_.correlation_of(address);
        const auto fresh = static_cast<std::uint32_t>(groups_.size());
        const std::uint32_t at =
            place.known() ? correlated_.try_emplace(place.group, fresh).first->second : fresh;
        if (at == fresh) groups_.emplace_back();
        groups_[at].members.push_back(nodes_.size());
        groups_[at].addresses.push_back(graph_.text_of(address));
    }

    [[nodiscard]] DrawKey key(std::uint32_t stream) const { return {question_.seed, stream}; }

    static Pointers lanes_of(const Block& block, std::size_t count) {
        Pointers lanes;
        for (std::size_t i = 0; i < count; ++i) lanes.push_back(block.lanes(i).data());
        return lanes;
    }

    /// One block of rows: the lanes of A and of B, and the model that takes either.
    struct Rows {
        std::uint64_t first, block;
        std::uint32_t count;
        const Pointers &a, &b;
        Block& model;
    };

    template <class Work>
    void each_block(const LanePlan& draws, const LanePlan& model, const Work& work) {
        const auto take = [&](std::uint64_t first, const Block& of_a) {
            const std::uint64_t block = first / block_draws;
            const auto count = static_cast<std::uint32_t>(
                std::min<std::uint64_t>(block_draws, question_.rows - first));
            const Block of_b = evaluate_block(draws, key(sobol_stream_b), block, count);
            Block evaluated(model);
            const Pointers a = lanes_of(of_a, nodes_.size()), b = lanes_of(of_b, nodes_.size());
            work(Rows{first, block, count, a, b, evaluated});
        };
        evaluate_draws(draws, key(sobol_stream_a), question_.rows, question_.threads, take);
    }

    std::span<const double> evaluate_rows(const Rows& rows, const Pointers& inputs) const {
        rows.model.evaluate(key(sobol_stream_a), rows.block, rows.count, inputs);
        return rows.model.lanes(0);
    }

    void run_both_halves(const LanePlan& draws, const LanePlan& model) {
        of_a_.resize(question_.rows);
        of_b_.resize(question_.rows);
        each_block(draws, model, [&](const Rows& rows) {
            const auto at = static_cast<std::ptrdiff_t>(rows.first);
            std::ranges::copy(evaluate_rows(rows, rows.a), of_a_.begin() + at);
            std::ranges::copy(evaluate_rows(rows, rows.b), of_b_.begin() + at);
        });
    }

    [[nodiscard]] double variance_term(std::size_t row) const {
        const double a = of_a_[row] - mean_, b = of_b_[row] - mean_;
        return (a * a + b * b) / 2.0;
    }

    void settle_moments() {
        const auto rows = static_cast<double>(question_.rows);
        double sum = 0.0;
        for (std::size_t row = 0; row < of_a_.size(); ++row) sum += of_a_[row] + of_b_[row];
        mean_ = sum / (2.0 * rows);
        double squares = 0.0;
        for (std::size_t row = 0; row < of_a_.size(); ++row) {
            const double v = variance_term(row);
            squares += v;
            variance_square_ += v * v;
        }
        variance_ = squares / rows;
        if (std::sqrt(variance_) > rounding_of(mean_, mean_)) return;
        refuse("no-variance", "the result is the same in every draw, but for rounding",
               "what has a spread cancels out of it, or its steps are wider than the spreads");
    }

    /// Every block writes to places of its own; they are joined in the order of their numbers.
    void run_exchanged(const LanePlan& draws, const LanePlan& model) {
        const std::uint64_t blocks = (question_.rows + block_draws - 1) / block_draws;
        std::vector<Estimates> of_blocks(blocks * groups_.size());
        each_block(draws, model, [&](const Rows& rows) {
            Pointers mixed = rows.a;
            for (std::size_t i = 0; i < groups_.size(); ++i) {
                for (const std::size_t k : groups_[i].members) mixed[k] = rows.b[k];
                const std::size_t at = rows.block * groups_.size() + i;
                add_rows(rows, evaluate_rows(rows, mixed), of_blocks[at]);
                for (const std::size_t k : groups_[i].members) mixed[k] = rows.a[k];
            }
        });
        estimates_.resize(groups_.size());
        for (std::size_t at = 0; at < of_blocks.size(); ++at)
            estimates_[at % groups_.size()].add(of_blocks[at]);
    }

    /// Each input is drawn once more by itself: all of them at once would not fit into memory.
    void correlate_ranks() {
        const std::vector<double> ranks = ranks_of(of_a_);
        std::vector<double> drawn(question_.rows);
        for (const Group& group : groups_) {
            const NodeId wanted[] = {nodes_[group.members.front()]};
            const LanePlan plan(graph_, at_, {.wanted = wanted}, question_.width);
            evaluate_draws(plan, key(sobol_stream_a), question_.rows, question_.threads,
                           [&](std::uint64_t first, const Block& block) {
                               std::ranges::copy(
                                   block.lanes(0),
                                   drawn.begin() + static_cast<std::ptrdiff_t>(first));
                           });
            rank_correlations_.push_back(correlation_of_ranks(ranks_of(drawn), ranks));
        }
    }

    void add_rows(const Rows& rows, std::span<const double> exchanged, Estimates& sums) const {
        for (std::size_t i = 0; i < exchanged.size(); ++i) {
            const std::size_t row = rows.first + i;
            const double v = variance_term(row), moved = exchanged[i] - of_a_[row];
            const double from_b = of_b_[row] - exchanged[i];
            sums.first.add((of_b_[row] - mean_) * moved, v);
            sums.rest.add(from_b * from_b / 2.0, v);
            sums.total.add(moved * moved / 2.0, v);
        }
    }

    /// Mean of the terms over the variance; its error from what each row adds to the ratio.
    [[nodiscard]] SobolIndex index(const Sums& sums) const {
        const auto rows = static_cast<double>(question_.rows);
        SobolIndex index;
        index.value = sums.term / rows / variance_;
        const double square = sums.square - 2.0 * index.value * sums.with_variance +
                              index.value * index.value * variance_square_;
        index.half_width =
            half_width_95 * std::sqrt(std::max(square, 0.0) / rows) / variance_ / std::sqrt(rows);
        return index;
    }

    /// Saltelli's estimator is sharp for inputs that do little, Jansen's for those that do nearly
    /// all: the one with the smaller error.
    [[nodiscard]] SobolIndex first_order(const Estimates& sums) const {
        const SobolIndex direct = index(sums.first);
        SobolIndex by_rest = index(sums.rest);
        by_rest.value = 1.0 - by_rest.value;
        return by_rest.half_width < direct.half_width ? by_rest : direct;
    }

    [[nodiscard]] SobolIndices result() const {
        SobolIndices found;
        found.rows = question_.rows;
        found.runs = question_.rows * (groups_.size() + 2);
        found.seed = question_.seed;
        found.mean = mean_;
        found.deviation = std::sqrt(variance_);
        for (std::size_t i = 0; i < groups_.size(); ++i) {
            found.inputs.push_back({groups_[i].addresses, first_order(estimates_[i]),
                                    index(estimates_[i].total), rank_correlations_[i]});
            found.sum_of_first += found.inputs.back().first.value;
        }
        std::ranges::stable_sort(found.inputs, [](const SobolInput& one, const SobolInput& other) {
            return one.total.value > other.total.value;
        });
        return found;
    }

    const Graph& graph_;
    const Evaluation& at_;
    NodeId figure_;
    const SobolQuestion& question_;
    struct Group {
        std::vector<std::size_t> members;  ///< places in nodes_
        std::vector<std::string> addresses;
    };
    std::vector<NodeId> nodes_;  ///< of all inputs that are drawn
    std::vector<Group> groups_;
    std::map<std::uint32_t, std::uint32_t> correlated_;  ///< from the graph's groups to these
    std::vector<double> of_a_, of_b_;                    ///< the figure, one a row
    double mean_ = 0.0, variance_ = 0.0, variance_square_ = 0.0;
    std::vector<Estimates> estimates_;  ///< one a group
    std::vector<double> rank_correlations_;
};

}  // namespace

SobolIndices sobol_indices(const Graph& graph, const Evaluation& at, NodeId figure,
                           const SobolQuestion& question) {
    if (question.rows < least_sobol_rows)
        throw std::logic_error("Sobol indices need at least 64 rows");
    return SobolRun(graph, at, figure, question).run();
}

}  // namespace deckle
