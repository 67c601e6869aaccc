#include "engine/graph/lanes.h"

#include <fmt/format.h>

#include <algorithm>
#include <atomic>
#include <cmath>
#include <cstdlib>
#include <exception>
#include <mutex>
#include <new>
#include <stdexcept>
#include <thread>

#include "engine/graph/lanes_plan.h"
#include "engine/graph/sparse_loop.h"
#include "engine/graph/student.h"
#include "engine/text/number_text.h"
#include "engine/text/problem.h"

namespace deckle {
namespace {

/// Doubles from one buffer to the next. Not 512: the same lane of all buffers would fall into one
/// set of the processor's nearest cache, which holds eight.
constexpr std::size_t buffer_stride = block_draws + 8;

/// The ancestors of what is wanted, parameters of spreads included.
std::vector<std::uint8_t> needed_for_draws(const Graph& graph, std::span<const NodeId> wanted) {
    auto needed = graph.ancestors(wanted);
    for (auto node = static_cast<NodeId>(graph.size()); node-- > 0;) {
        if (needed[node] == 0 || graph.operation(node) != Operation::input) continue;
        for (const NodeId parameter : graph.inputs()[graph.payload(node)].spread.parameters) {
            if (parameter != no_node) needed[parameter] = 1;
        }
    }
    return needed;
}

/// A bound for people; an open one is said in words.
std::string bound_text(double bound) {
    if (std::isfinite(bound)) return format_significant(bound, 6);
    return bound < 0.0 ? "any below" : "any above";
}

}  // namespace

LanePlan::LanePlan(const Graph& graph, const Evaluation& base, const LaneRequest& request,
                   LaneWidth width)
    : steps_(std::make_shared<const LaneSteps>(
          LaneSteps::make(graph, base, request, lane_table(width)))) {}
std::size_t LanePlan::wanted_count() const noexcept { return steps_->wanted.size(); }
std::size_t LanePlan::drawn_count() const noexcept { return steps_->drawn.size(); }
std::size_t LanePlan::buffer_count() const noexcept { return steps_->buffers; }

/// Working space of one thread, and one walk over the steps of a plan.
struct Block::Parts {
    /// Doubles on a 64-byte boundary.
    class Aligned {
    public:
        explicit Aligned(std::size_t count)
            : start_(static_cast<double*>(
                  ::operator new(std::max<std::size_t>(count, 1) * sizeof(double), boundary))) {}
        ~Aligned() { ::operator delete(start_, boundary); }
        Aligned(const Aligned&) = delete;
        Aligned& operator=(const Aligned&) = delete;
        [[nodiscard]] double* data() const noexcept { return start_; }

    private:
        static constexpr std::align_val_t boundary{64};
        double* start_;
    };

    std::shared_ptr<const LaneSteps> kept;
    const LaneSteps& plan;
    Aligned buffers, scratch;
    std::vector<Operand> operands;
    std::vector<double*> unknowns;
    std::vector<double> coefficients, right_sides, solution;
    std::vector<std::unique_ptr<SparseLoop>> sparse;  ///< one a large loop
    std::span<const double* const> given;
    DrawKey key;
    std::uint64_t block = 0;
    std::uint32_t count = 0, lanes = 0;

    explicit Parts(const std::shared_ptr<const LaneSteps>& of)
        : kept(of),
          plan(*of),
          buffers(plan.buffers * buffer_stride),
          scratch(plan.scratch),
          operands(plan.most_operands) {
        for (const Loop& loop : plan.loops) {
            sparse.push_back(loop.shape.size == 0 ? std::make_unique<SparseLoop>(*loop.system)
                                                  : nullptr);
        }
        for (const auto& [index, value] : plan.filled)
            std::fill_n(buffer(index), block_draws, value);
    }

    [[nodiscard]] double* buffer(std::uint32_t index) const {
        return buffers.data() + std::size_t{index} * buffer_stride;
    }
    [[nodiscard]] Operand operand(Slot slot) const;
    [[nodiscard]] std::span<const Operand> gather(const Step& step);
    [[nodiscard]] bool run(const Step& step);
    void normals(const Step& step);
    [[nodiscard]] bool draw(const Step& step);
    void students(const Operand& degrees_of_freedom, double* numbers) const;
    [[nodiscard]] bool one_by_one(const Step& step);
    [[nodiscard]] bool solve(const Step& step);
    [[nodiscard]] bool solve_sparse(const Step& step, const Loop& loop);
    void explain_failure() const;
    void explain_draw(std::uint64_t draw) const;
};

Operand Block::Parts::operand(Slot slot) const {
    switch (slot.kind) {
        case Slot::Kind::constant: return {plan.constants.data() + std::size_t{slot.index} * 8, 0};
        case Slot::Kind::given: return {given[slot.index], ~std::uint64_t{0}};
        default: return {buffer(slot.index), ~std::uint64_t{0}};
    }
}

std::span<const Operand> Block::Parts::gather(const Step& step) {
    for (std::uint32_t k = 0; k < step.count; ++k)
        operands[k] = operand(plan.arguments[step.first + k]);
    return {operands.data(), step.count};
}

bool Block::Parts::run(const Step& step) {
    switch (step.kind) {
        case Step::Kind::normals: normals(step); return true;
        case Step::Kind::draw: return draw(step);
        case Step::Kind::solve: return solve(step);
        case Step::Kind::one_by_one: return one_by_one(step);
        case Step::Kind::check:
            return plan.table->at_least(operand(plan.arguments[step.first]).lanes, 0.0, lanes);
        default:
            return step.plain(gather(step).data(), step.count, step.parameters.data(),
                              buffer(step.out), lanes);
    }
}

/// Standard normals of one address, all 512.
void Block::Parts::normals(const Step& step) {
    const DrawTask task{key.seed, plan.ids[step.index], block, key.stream, 0.0, 0.0, {}, {}, {},
                        {}};
    plan.table->units(task, buffer(step.out));
    plan.table->normals(buffer(step.out));
}

bool Block::Parts::draw(const Step& step) {
    const Drawn& drawn = plan.drawn[step.index];
    const auto a = gather(step);
    const DrawTask task{key.seed,          drawn.id, block, key.stream, drawn.bounds.low,
                        drawn.bounds.high, a[0],     a[1],  a[2],       a[3]};
    double* numbers = buffer(step.out);
    if (drawn.mixed) std::copy_n(a[4].lanes, lanes, numbers);
    else plan.table->units(task, numbers);
    const bool wants_normals = drawn.numbers == NumberKind::normal;
    if (wants_normals && !drawn.mixed) plan.table->normals(numbers);
    if (!wants_normals && drawn.mixed) plan.table->chances(numbers, lanes);
    if (drawn.numbers == NumberKind::student) students(a[2], numbers);
    return drawn.spread(task, numbers, lanes);
}

/// Numbers of Student's distribution, one after the other: its inverse has no lanes.
void Block::Parts::students(const Operand& degrees_of_freedom, double* numbers) const {
    Student student(degrees_of_freedom.lanes[0]);
    for (std::uint32_t lane = 0; lane < lanes; ++lane) {
        const double wanted = degrees_of_freedom.lanes[lane & degrees_of_freedom.mask];
        if (wanted != student.degrees_of_freedom()) student = Student(wanted);
        numbers[lane] = student.quantile(numbers[lane]);
    }
}

/// For what the tables do not have: the scalar operation, draw by draw.
bool Block::Parts::one_by_one(const Step& step) {
    const auto a = gather(step);
    coefficients.resize(step.count);
    double* out = buffer(step.out);
    bool finite = true;
    for (std::uint32_t lane = 0; lane < lanes; ++lane) {
        for (std::size_t k = 0; k < a.size(); ++k) coefficients[k] = a[k].lanes[lane & a[k].mask];
        out[lane] = value_of(step.operation, coefficients);
        finite = finite && std::isfinite(out[lane]);
    }
    return finite;
}

bool Block::Parts::solve(const Step& step) {
    const Loop& loop = plan.loops[step.index];
    unknowns.resize(loop.outs.size());
    for (std::size_t u = 0; u < unknowns.size(); ++u) {
        unknowns[u] = loop.outs[u] == no_index ? nullptr : buffer(loop.outs[u]);
    }
    if (loop.shape.size == 0) return solve_sparse(step, loop);
    return plan.table->solve(loop.shape, gather(step).data(), unknowns.data(), scratch.data(),
                             lanes);
}

bool Block::Parts::solve_sparse(const Step& step, const Loop& loop) {
    const auto a = gather(step);
    SparseLoop& system = *sparse[step.index];
    const std::size_t entries = loop.system->entries.size();
    coefficients.resize(entries);
    right_sides.resize(step.count - entries);
    solution.resize(right_sides.size());
    for (std::uint32_t lane = 0; lane < count; ++lane) {
        const auto value = [&](std::size_t k) { return a[k].lanes[lane & a[k].mask]; };
        for (std::size_t k = 0; k < entries; ++k) coefficients[k] = value(k);
        for (std::size_t k = 0; k < right_sides.size(); ++k) right_sides[k] = value(entries + k);
        if (system.factor(coefficients).outcome != SolveOutcome::solved) return false;
        system.solve(right_sides, solution);
        for (std::size_t u = 0; u < unknowns.size(); ++u) {
            if (unknowns[u] != nullptr) unknowns[u][lane] = solution[u];
        }
    }
    for (double* const unknown : unknowns) {
        if (unknown != nullptr) std::fill(unknown + count, unknown + lanes, 0.0);
    }
    return true;
}

/// Bounds, rests and the scalar evaluation of one draw; throws what is wrong with it, if anything.
void Block::Parts::explain_draw(std::uint64_t draw) const {
    const Graph& graph = *plan.graph;
    std::vector<NodeId> wanted = plan.wanted_nodes;
    for (const Requirement& requirement : plan.requirements) wanted.push_back(requirement.node);
    const auto needed = needed_for_draws(graph, wanted);
    Overlay overlay = drawn_inputs(graph, *plan.base, needed, key, draw);
    const auto refuse = [&](NodeId node, const char* code, const std::string& message,
                            const char* hint) {
        throw NoAnswer({graph.origin(node).place, Severity::error, code, message, hint, {}});
    };
    for (const auto& change : overlay.changes) {
        const Input& input = graph.inputs()[graph.payload(change.input)];
        if (change.value >= input.bounds.low && change.value <= input.bounds.high) continue;
        refuse(
            change.input, "draw-outside-bounds",
            fmt::format("draw {} gives {} the value {}, outside {} to {}", draw,
                        graph.text_of(input.addresses.front()), format_significant(change.value, 6),
                        bound_text(input.bounds.low), bound_text(input.bounds.high)),
            "state a narrower spread, or a lognormal (×÷) where a value cannot be negative");
    }
    for (std::size_t k = 0; k < given.size(); ++k) {  // perhaps of another stream
        if (graph.operation(plan.given_nodes[k]) == Operation::input)
            overlay.changes.push_back({plan.given_nodes[k], given[k][draw % block_draws]});
    }
    for (const Input& input : graph.inputs()) {
        const bool passing =
            plan.base->value[input.node] != input.value && input.spread.kind == SpreadKind::none;
        if (passing) overlay.changes.push_back({input.node, plan.base->value[input.node]});
    }
    const auto result = [&] {
        try {
            return deckle::evaluate(graph, overlay, needed);
        } catch (NoAnswer& failure) {
            failure.problem.message = fmt::format("draw {}: {}", draw, failure.problem.message);
            throw NoAnswer(failure.problem);
        }
    }();
    for (const Requirement& requirement : plan.requirements) {
        const double value = result.value[requirement.node];
        if (value >= 0.0) continue;
        refuse(requirement.node, "negative-rest",
               fmt::format("draw {} makes {} negative ({})", draw, graph.text_of(requirement.what),
                           format_significant(value, 6)),
               "the other uses of that kind can exceed the output; state narrower spreads or the "
               "amount itself");
    }
}

/// A lane failed: the first draw that fails by itself is named. Lanes that fill up the last vector
/// are no draws of this run and may fail.
void Block::Parts::explain_failure() const {
    for (std::uint32_t i = 0; i < count; ++i) explain_draw(block * block_draws + i);
    if (lanes == count) throw std::logic_error("lanes and scalar evaluation disagree about a draw");
}

Block::Block(const LanePlan& plan) : parts_(std::make_unique<Parts>(plan.steps_)) {}
Block::~Block() = default;
Block::Block(Block&&) noexcept = default;

void Block::evaluate(DrawKey key, std::uint64_t block, std::uint32_t count,
                     std::span<const double* const> given) {
    Parts& p = *parts_;
    if (count == 0 || count > block_draws || block >= most_draws / block_draws ||
        given.size() != p.plan.given_nodes.size()) {
        throw std::logic_error("a block takes 1 to 512 draws below 2^33, and all given nodes");
    }
    p.key = key;
    p.block = block;
    p.count = count;
    p.lanes = (count + 7U) / 8U * 8U;
    p.given = given;
    bool sound = true;
    for (const Step& step : p.plan.steps) sound = p.run(step) && sound;
    if (!sound) p.explain_failure();
}

std::span<const double> Block::lanes(std::size_t index) const {
    const Slot slot = parts_->plan.wanted[index];
    return {parts_->operand(slot).lanes, parts_->count};
}

Block evaluate_block(const LanePlan& plan, DrawKey key, std::uint64_t block, std::uint32_t count) {
    Block result(plan);
    result.evaluate(key, block, count);
    return result;
}

namespace {

/// The failure of the lowest block, whichever thread met one first.
class FirstFailure {
public:
    [[nodiscard]] bool before(std::uint64_t block) const { return lowest_.load() < block; }
    void keep(std::uint64_t block, std::exception_ptr failure) {
        const std::lock_guard lock(mutex_);
        if (block >= lowest_.load()) return;
        lowest_.store(block);
        failure_ = std::move(failure);
    }
    void rethrow() const {
        if (failure_) std::rethrow_exception(failure_);
    }

private:
    std::atomic<std::uint64_t> lowest_{~std::uint64_t{0}};
    std::mutex mutex_;
    std::exception_ptr failure_;
};

}  // namespace

void evaluate_draws(const LanePlan& plan, DrawKey key, std::uint64_t draws, unsigned threads,
                    const std::function<void(std::uint64_t, const Block&)>& take) {
    const std::uint64_t blocks = (draws + block_draws - 1) / block_draws;
    std::atomic<std::uint64_t> next{0};
    FirstFailure failure;
    const auto work = [&] {
        Block block(plan);
        for (std::uint64_t g = next++; g < blocks && !failure.before(g); g = next++) {
            try {
                const std::uint64_t first = g * block_draws;
                block.evaluate(key, g,
                               static_cast<std::uint32_t>(
                                   std::min<std::uint64_t>(block_draws, draws - first)));
                take(first, block);
            } catch (...) {
                failure.keep(g, std::current_exception());
            }
        }
    };
    const auto helpers =
        std::min<std::uint64_t>(std::max(threads, 1U), std::max<std::uint64_t>(blocks, 1)) - 1;
    {
        std::vector<std::jthread> running;
        for (std::uint64_t i = 0; i < helpers; ++i) running.emplace_back(work);
        work();
    }
    failure.rethrow();
}

namespace {

constexpr std::string_view width_names[] = {"sse2", "avx2", "avx512"};

[[noreturn]] void refuse_width(std::string_view asked, std::string_view why) {
    throw InputError({{{},
                       Severity::error,
                       "bad-lanes",
                       fmt::format("DECKLE_LANES is '{}': {}", asked, why),
                       "use sse2, avx2 or avx512, or leave it unset",
                       {}}});
}

}  // namespace

bool has_lane_width(LaneWidth width) noexcept {
    switch (width) {
        case LaneWidth::sse2: return true;
        case LaneWidth::avx2: return __builtin_cpu_supports("avx2") != 0;
        default:
            return __builtin_cpu_supports("avx512f") != 0 &&
                   __builtin_cpu_supports("avx512dq") != 0;
    }
}

LaneWidth chosen_lane_width() {
    if (const char* asked = std::getenv("DECKLE_LANES"); asked != nullptr && *asked != '\0') {
        const auto found = std::ranges::find(width_names, std::string_view(asked));
        if (found == std::end(width_names)) refuse_width(asked, "no such width");
        const auto width = static_cast<LaneWidth>(found - std::begin(width_names));
        if (!has_lane_width(width)) refuse_width(asked, "this processor lacks it");
        return width;
    }
    if (has_lane_width(LaneWidth::avx512)) return LaneWidth::avx512;
    return has_lane_width(LaneWidth::avx2) ? LaneWidth::avx2 : LaneWidth::sse2;
}

const LaneTable& lane_table(LaneWidth width) noexcept {
    switch (width) {
        case LaneWidth::avx512: return lanes_avx512();
        case LaneWidth::avx2: return lanes_avx2();
        default: return lanes_sse2();
    }
}

}  // namespace deckle
