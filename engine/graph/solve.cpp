#include "engine/graph/solve.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <numeric>

#include "engine/graph/elimination.h"
#include "engine/graph/sparse_loop.h"
#include "engine/text/number_text.h"

namespace deckle {
namespace {

constexpr std::size_t most = largest_dense_solve;
/// A planned pivot should be at least this share of its row, so that a draw may move it.
constexpr double comfortable_pivot = 1e-3;

bool has_credits(std::span<const double> coefficients) {
    return std::ranges::any_of(coefficients, [](double c) { return c < 0.0; });
}

/// I - C of a small loop with its rows and columns in the order of elimination.
struct DenseLoop {
    std::uint32_t size;
    std::array<std::uint32_t, most> place{};  ///< of each unknown in the order
    std::array<std::uint64_t, most> rows{};
    std::array<double, most * most> a;
    std::array<double, most> largest{};

    DenseLoop(const Solve& system, std::span<const std::uint32_t> order,
              std::span<const double> coefficients)
        : size(system.size) {
        loop_shape(system, order, place, rows);
        for (std::uint32_t i = 0; i < size; ++i) {
            for (std::uint32_t j = 0; j < size; ++j) a[i * size + j] = i == j ? 1.0 : 0.0;
        }
        for (std::size_t k = 0; k < coefficients.size(); ++k) {
            const auto [row, column] = system.entries[k];
            a[place[row] * size + place[column]] -= coefficients[k];
        }
        for (std::uint32_t k = 0; k < size; ++k) {
            largest[k] = elimination::largest_entry(size, rows.data(), a.data(), k);
        }
    }

    void factor() { elimination::factor(size, rows.data(), a.data()); }
};

/// The order stored with the system, or the one of the rows.
struct StoredOrder {
    std::array<std::uint32_t, most> natural{};
    std::span<const std::uint32_t> order;

    explicit StoredOrder(const Solve& system) : order(system.order) {
        if (order.size() == system.size) return;
        std::iota(natural.begin(), natural.end(), 0U);
        order = std::span<const std::uint32_t>(natural).first(system.size);
    }
};

SolveFailure verdict(double pivot, double largest, bool credits, std::uint32_t row) {
    if (elimination::soundness(pivot, largest, credits ? -1.0 : 0.0) > 0.0) return {};
    const bool small = !(std::fabs(pivot) > smallest_pivot * largest);
    return {small ? SolveOutcome::singular : SolveOutcome::needs_more_of_itself, row};
}

/// The first pivot that does not serve.
SolveFailure judge(const DenseLoop& loop, std::span<const std::uint32_t> order, bool credits) {
    for (std::uint32_t k = 0; k < loop.size; ++k) {
        const SolveFailure failure =
            verdict(loop.a[k * loop.size + k], loop.largest[k], credits, order[k]);
        if (failure.outcome != SolveOutcome::solved) return failure;
    }
    return {};
}

/// Rows of right-hand sides from the order of the unknowns to that of elimination, and back.
void to_order(const DenseLoop& loop, std::size_t sides, std::span<const double> from,
              std::span<double> to) {
    for (std::size_t i = 0; i < loop.size; ++i) {
        for (std::size_t s = 0; s < sides; ++s) to[loop.place[i] * sides + s] = from[i * sides + s];
    }
}

void from_order(const DenseLoop& loop, std::size_t sides, std::span<const double> from,
                std::span<double> to) {
    for (std::size_t i = 0; i < loop.size; ++i) {
        for (std::size_t s = 0; s < sides; ++s) to[i * sides + s] = from[loop.place[i] * sides + s];
    }
}

/// lambda of one right-hand side: U^T y = g downwards, L^T lambda = y upwards.
void substitute_transposed(const DenseLoop& loop, std::span<double> g, std::uint32_t sides,
                           std::uint32_t side) {
    const std::uint32_t n = loop.size;
    const auto at = [&](std::uint32_t i) -> double& { return g[i * sides + side]; };
    for (std::uint32_t k = 0; k < n; ++k) {
        for (std::uint32_t j = 0; j < k; ++j) {
            if (elimination::has<double>(loop.rows[j], k)) at(k) -= loop.a[j * n + k] * at(j);
        }
        at(k) /= loop.a[k * n + k];
    }
    for (std::uint32_t k = n; k-- > 0;) {
        for (std::uint32_t i = k + 1; i < n; ++i) {
            if (elimination::has<double>(loop.rows[i], k)) at(k) -= loop.a[i * n + k] * at(i);
        }
    }
}

}  // namespace

void loop_shape(const Solve& system, std::span<const std::uint32_t> order,
                std::span<std::uint32_t> place, std::span<std::uint64_t> rows) {
    for (std::uint32_t k = 0; k < system.size; ++k) {
        place[order[k]] = k;
        rows[k] = std::uint64_t{1} << k;
    }
    for (const auto& entry : system.entries) {
        rows[place[entry.row]] |= std::uint64_t{1} << place[entry.column];
    }
    for (std::uint32_t k = 0; k < system.size; ++k) {
        const std::uint64_t right_of_k = k == 63 ? 0 : rows[k] >> (k + 1) << (k + 1);
        for (std::uint32_t i = k + 1; i < system.size; ++i) {
            if (elimination::has<double>(rows[i], k)) rows[i] |= right_of_k;
        }
    }
}

SolveFailure solve_system(const Solve& system, std::span<const double> coefficients,
                          std::span<const double> b, std::span<double> x) {
    if (system.size > largest_dense_solve) {
        SparseLoop loop(system);
        const SolveFailure failure = loop.factor(coefficients);
        if (failure.outcome == SolveOutcome::solved) loop.solve(b, x);
        return failure;
    }
    const StoredOrder stored(system);
    DenseLoop loop(system, stored.order, coefficients);
    loop.factor();
    const SolveFailure failure = judge(loop, stored.order, has_credits(coefficients));
    if (failure.outcome != SolveOutcome::solved) return failure;

    std::vector<double> in_order(b.size());
    to_order(loop, system.right_sides, b, in_order);
    elimination::substitute(system.size, loop.rows.data(), loop.a.data(), system.right_sides,
                            in_order.data());
    from_order(loop, system.right_sides, in_order, x);
    return {};
}

void solve_transposed(const Solve& system, std::span<const double> coefficients,
                      std::span<const double> g, std::span<double> lambda) {
    if (system.size > largest_dense_solve) {
        SparseLoop loop(system);
        (void)loop.factor(coefficients);  // the same values were solved before
        loop.solve_transposed(g, lambda);
        return;
    }
    const StoredOrder stored(system);
    DenseLoop loop(system, stored.order, coefficients);
    loop.factor();
    std::vector<double> in_order(g.size());
    to_order(loop, system.right_sides, g, in_order);
    for (std::uint32_t side = 0; side < system.right_sides; ++side) {
        substitute_transposed(loop, in_order, system.right_sides, side);
    }
    from_order(loop, system.right_sides, in_order, lambda);
}

SolveFailure plan_order(const Solve& system, std::span<const double> coefficients,
                        std::vector<std::uint32_t>& order) {
    order.resize(system.size);
    std::iota(order.begin(), order.end(), 0U);
    if (system.size > largest_dense_solve) return SparseLoop(system).factor(coefficients);

    const bool credits = has_credits(coefficients);
    const std::uint32_t n = system.size;
    DenseLoop loop(system, order, coefficients);
    auto& a = loop.a;
    const auto share = [&](std::uint32_t row) {
        const double of_row = a[row * n + row] / loop.largest[row];
        return credits ? std::fabs(of_row) : of_row;
    };
    for (std::uint32_t k = 0; k < n; ++k) {
        const auto next = order.begin() + k;
        const auto less = [&](std::uint32_t left, std::uint32_t right) {
            return share(left) < share(right);
        };
        const auto best =
            share(order[k]) >= comfortable_pivot ? next : std::max_element(next, order.end(), less);
        std::rotate(next, best, best + 1);
        const std::uint32_t pivot = order[k];
        const SolveFailure failure =
            verdict(a[pivot * n + pivot], loop.largest[pivot], credits, pivot);
        if (failure.outcome != SolveOutcome::solved) return failure;
        for (std::uint32_t i = k + 1; i < n; ++i) {
            const double factor = a[order[i] * n + pivot] / a[pivot * n + pivot];
            if (factor == 0.0) continue;
            for (std::uint32_t j = k + 1; j < n; ++j) {
                a[order[i] * n + order[j]] -= factor * a[pivot * n + order[j]];
            }
        }
    }
    return {};
}

namespace {

std::string members_text(const Graph& graph, const Solve& system) {
    constexpr std::size_t shown = 8;
    const std::size_t count = system.unknowns.size();
    std::string text;
    for (std::size_t i = 0; i < std::min(count, shown); ++i) {
        if (i != 0) text += i + 1 == count ? " and " : ", ";
        text += graph.text_of(system.unknowns[i]);
    }
    if (count > shown) text += fmt::format(" and {} more", count - shown);
    return text;
}

std::string largest_text(const Graph& graph, const Solve& system,
                         std::span<const double> coefficients) {
    std::vector<std::size_t> places(coefficients.size());
    std::iota(places.begin(), places.end(), std::size_t{0});
    std::ranges::stable_sort(places, std::ranges::greater{},
                             [&](std::size_t k) { return std::fabs(coefficients[k]); });
    places.resize(std::min<std::size_t>(places.size(), 3));
    std::string text;
    for (const std::size_t k : places) {
        const auto [row, column] = system.entries[k];
        text += fmt::format(
            "{}{} takes {} of {}", text.empty() ? "" : ", ", graph.text_of(system.unknowns[row]),
            format_significant(coefficients[k], 4), graph.text_of(system.unknowns[column]));
    }
    return text;
}

}  // namespace

std::string loop_message(const Graph& graph, const Solve& system,
                         std::span<const double> coefficients, SolveFailure failure) {
    const std::string& at = graph.text_of(system.unknowns[failure.row]);
    const std::string verdict_text =
        failure.outcome == SolveOutcome::needs_more_of_itself
            ? fmt::format("{} needs more of itself than it makes", at)
            : fmt::format("what {} needs of itself leaves nothing of it", at);
    return fmt::format("the loop of {} cannot be solved: {}; largest amounts per unit: {}",
                       members_text(graph, system), verdict_text,
                       largest_text(graph, system, coefficients));
}

}  // namespace deckle
