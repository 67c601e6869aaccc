#include "engine/analysis/uncertainty.h"

#include <fmt/format.h>

#include <algorithm>
#include <atomic>
#include <cmath>
#include <exception>
#include <limits>
#include <stdexcept>

#include "engine/analysis/rounding.h"
#include "engine/text/problem.h"

namespace deckle {
namespace {

constexpr DrawKey apart_from(std::uint64_t seed) { return {seed, 1}; }

/// Figures of one group that are drawn together: a group of very many figures is cut into several,
/// so that the lanes of a tile stay small.
constexpr std::size_t most_columns = 128;
/// Bytes for the kept lanes of tiles that are worked on at the same time.
constexpr std::size_t most_kept_bytes = std::size_t{96} << 20U;

/// One series of numbers, a draw each, of which statistics are taken.
struct Column {
    enum class Kind : std::uint8_t { figure, difference, ratio };
    Kind kind = Kind::figure;
    bool apart = false;                  ///< compared with a reference that has draws of its own
    std::size_t figure = 0;              ///< in its portion
    std::uint32_t reference = no_index;  ///< place among what is kept
    double centre = 0.0;
    double rounding = 0.0;  ///< draws so near to the centre are it
    std::vector<Window> windows;
    std::vector<TileRecord> tiles;
    std::vector<std::uint64_t> negative, zero;  ///< draws a tile, of differences and ratios
    Sample sample;

    [[nodiscard]] bool compares() const noexcept { return kind != Kind::figure; }
    void resize(std::size_t count) {
        tiles.resize(count);
        negative.resize(count);
        zero.resize(count);
    }
};

/// What one item of work draws: figures of one group.
struct Portion {
    std::vector<NodeId> wanted;
    std::vector<Column> columns;
    std::vector<NodeId> reads;  ///< kept nodes
    std::size_t tried = 0;      ///< tiles after which an adaptive run was not yet settled
    bool done = false, missed = false;
    std::vector<FigureUncertainty> answer;
};

/// Tiles worked on at the same time, and the lanes of kept nodes in each.
struct Wave {
    std::uint64_t first_tile = 0;
    std::size_t tiles = 0;  ///< before the first that failed
    std::vector<TileLanes> shared, apart;
    std::exception_ptr failure;
};

/// What a thread keeps from one item of work to the next.
struct Worker {
    std::vector<double> values;  ///< column after column
    Selector selector;
    std::optional<Gradient> gradient;
};

std::vector<std::vector<NodeId>> wanted_of(std::span<const UncertainGroup> groups) {
    std::vector<std::vector<NodeId>> wanted;
    for (const UncertainGroup& group : groups) {
        auto& nodes = wanted.emplace_back();
        for (const UncertainFigure& figure : group) nodes.push_back(figure.node);
    }
    return wanted;
}

std::vector<NodeId> references_of(std::span<const UncertainGroup> groups) {
    std::vector<NodeId> nodes;
    for (const UncertainGroup& group : groups) {
        for (const UncertainFigure& figure : group) {
            if (figure.against != no_node) nodes.push_back(figure.against);
        }
    }
    std::ranges::sort(nodes);
    nodes.erase(std::unique(nodes.begin(), nodes.end()), nodes.end());
    return nodes;
}

class Run {
public:
    Run(const Graph& graph, const Evaluation& base, std::span<const UncertainGroup> groups,
        const UncertaintyQuestion& question)
        : graph_(graph),
          base_(base),
          groups_(groups),
          question_(question),
          threads_(std::max(question.threads, 1U)),
          references_(references_of(groups)),
          shared_(graph, wanted_of(groups), references_),
          workers_(threads_) {}

    std::vector<std::vector<FigureUncertainty>> answer() {
        make_portions();
        draw_until_done();
        take_samples();
        in_parallel(threads_, portions_.size(), [&](std::size_t p, unsigned worker) {
            conclude(portions_[p], workers_[worker]);
        });
        return gathered();
    }

private:
    // --- what to draw ---
    void make_portions();
    void add_figure(Portion& portion, const UncertainFigure& figure);
    [[nodiscard]] Column compared(Column::Kind kind, bool apart, std::size_t figure,
                                  const UncertainFigure& nodes) const;

    // --- drawing ---
    [[nodiscard]] bool fixed() const noexcept { return question_.adaptive_digits == 0; }
    [[nodiscard]] bool one_tile() const noexcept {
        return fixed() && question_.draws <= tile_draws;
    }
    [[nodiscard]] std::uint64_t draws_of(std::uint64_t tile) const {
        return draws_in_tile(fixed() ? question_.draws : most_adaptive_draws, tile);
    }
    [[nodiscard]] std::vector<Portion*> open_portions();
    [[nodiscard]] std::size_t tiles_at_once(std::size_t portions, std::uint64_t first_tile) const;
    void draw_until_done();
    void draw_wave(std::span<Portion* const> portions, std::uint64_t first_tile, std::size_t tiles);
    void draw_kept(std::vector<TileLanes>& lanes, std::span<const NodeId> nodes, DrawKey key);
    void draw_portion(Portion& portion, std::uint64_t tile, Worker& worker) const;
    [[nodiscard]] const double* reference_of(const Column& column, std::uint64_t in_wave,
                                             std::uint64_t block) const;
    static void fill(const Column& column, const Block& block, const double* reference,
                     double* out);
    void record(Column& column, std::span<const double> values, std::uint64_t tile,
                Selector& selector) const;
    void close_if_done(Portion& portion);
    void refuse_unsettled(const Portion& portion) const;
    void take_samples();

    // --- what came of it ---
    void conclude(Portion& portion, Worker& worker) const;
    [[nodiscard]] static Comparison comparison(const Portion& portion, std::size_t figure,
                                               bool apart);
    [[nodiscard]] std::vector<std::vector<FigureUncertainty>> gathered();

    const Graph& graph_;
    const Evaluation& base_;
    std::span<const UncertainGroup> groups_;
    const UncertaintyQuestion& question_;
    unsigned threads_;
    std::vector<NodeId> references_;
    SharedPart shared_;
    std::vector<Worker> workers_;
    Wave wave_;
    std::vector<Portion> portions_;
    std::vector<std::size_t> portions_of_group_;
};

// --- what to draw -------------------------------------------------------------------------------

void Run::make_portions() {
    for (const UncertainGroup& group : groups_) {
        std::size_t count = 0;
        for (std::size_t k = 0; k < group.size(); ++k) {
            if (count == 0 || portions_.back().columns.size() >= most_columns) {
                portions_.emplace_back();
                ++count;
            }
            add_figure(portions_.back(), group[k]);
        }
        portions_of_group_.push_back(count);
    }
    for (Portion& portion : portions_) portion.reads = shared_.read_by(portion.wanted);
}

void Run::add_figure(Portion& portion, const UncertainFigure& figure) {
    const std::size_t k = portion.wanted.size();
    portion.wanted.push_back(figure.node);
    Column own;
    own.figure = k;
    own.centre = base_.value[figure.node];
    own.rounding = rounding_of(own.centre, own.centre);
    portion.columns.push_back(own);
    if (figure.against == no_node) return;
    for (const bool apart : {false, true}) {
        if (apart && !question_.unpaired) continue;
        portion.columns.push_back(compared(Column::Kind::difference, apart, k, figure));
        portion.columns.push_back(compared(Column::Kind::ratio, apart, k, figure));
    }
}

Column Run::compared(Column::Kind kind, bool apart, std::size_t figure,
                     const UncertainFigure& nodes) const {
    const double value = base_.value[nodes.node];
    double reference = base_.value[nodes.against];
    const double same = rounding_of(value, reference);
    if (std::abs(value - reference) <= same) reference = value;
    Column column;
    column.kind = kind;
    column.apart = apart;
    column.figure = figure;
    column.reference =
        apart ? static_cast<std::uint32_t>(std::ranges::lower_bound(references_, nodes.against) -
                                           references_.begin())
              : shared_.place_of(nodes.against);
    if (kind == Column::Kind::difference) {
        column.centre = value - reference;
        column.rounding = same;
    } else if (reference > 0.0) {
        column.centre = value / reference;
        column.rounding = rounding_of(column.centre, column.centre);
    }
    return column;
}

// --- drawing ------------------------------------------------------------------------------------

std::vector<Portion*> Run::open_portions() {
    std::vector<Portion*> open;
    for (Portion& portion : portions_) {
        if (!portion.done) open.push_back(&portion);
    }
    return open;
}

/// Enough items for all threads; the first tile alone, since it settles the windows.
std::size_t Run::tiles_at_once(std::size_t portions, std::uint64_t first_tile) const {
    if (first_tile == 0) return 1;
    const std::size_t bytes = TileLanes::bytes(shared_.kept().size()) +
                              (question_.unpaired ? TileLanes::bytes(references_.size()) : 0);
    const std::size_t wanted = (threads_ + portions - 1) / portions;
    const std::size_t fitting =
        bytes == 0 ? wanted : std::max<std::size_t>(1, most_kept_bytes / bytes);
    std::size_t tiles = std::min(wanted, fitting);
    while (tiles > 1 && draws_of(first_tile + tiles - 1) == 0) --tiles;
    return tiles;
}

void Run::draw_until_done() {
    std::uint64_t tile = 0;
    for (auto open = open_portions(); !open.empty(); open = open_portions()) {
        const std::size_t tiles = tiles_at_once(open.size(), tile);
        draw_wave(open, tile, tiles);
        tile += tiles;
        for (Portion* portion : open) close_if_done(*portion);
        if (question_.progress && fixed()) {
            question_.progress(std::min(1.0, static_cast<double>(tile * tile_draws) /
                                                 static_cast<double>(question_.draws)));
        }
    }
}

/// A tile whose shared part fails is not drawn further, but all before it are: so the failure that
/// is told does not depend on how many tiles are worked on at once.
void Run::draw_wave(std::span<Portion* const> portions, std::uint64_t first_tile,
                    std::size_t tiles) {
    wave_.first_tile = first_tile;
    wave_.tiles = tiles;
    draw_kept(wave_.shared, shared_.kept(), {question_.seed, 0});
    if (question_.unpaired) draw_kept(wave_.apart, references_, apart_from(question_.seed));
    for (Portion* portion : portions) {
        for (Column& column : portion->columns) column.resize(first_tile + tiles);
    }
    in_parallel(threads_, wave_.tiles * portions.size(), [&](std::size_t item, unsigned worker) {
        draw_portion(*portions[item % portions.size()], first_tile + item / portions.size(),
                     workers_[worker]);
    });
    if (wave_.failure) std::rethrow_exception(wave_.failure);
}

void Run::draw_kept(std::vector<TileLanes>& lanes, std::span<const NodeId> nodes, DrawKey key) {
    if (nodes.empty()) return;
    while (lanes.size() < wave_.tiles) lanes.emplace_back(nodes.size());
    const LanePlan plan(graph_, base_, {nodes, {}, shared_.varying()}, question_.width);
    std::vector<std::optional<Block>> blocks(threads_);
    const auto draw = [&](std::size_t item, unsigned worker) {
        const std::size_t in_wave = item / tile_blocks, block = item % tile_blocks;
        const std::uint64_t tile = wave_.first_tile + in_wave, draws = draws_of(tile);
        if (block * block_draws >= draws) return;
        if (!blocks[worker]) blocks[worker].emplace(plan);
        const auto count = std::min<std::uint64_t>(block_draws, draws - block * block_draws);
        blocks[worker]->evaluate(key, tile * tile_blocks + block,
                                 static_cast<std::uint32_t>(count));
        lanes[in_wave].keep(block, *blocks[worker]);
    };
    const FirstFailure failure = first_failure(threads_, wave_.tiles * tile_blocks, draw);
    if (!failure.what) return;
    wave_.failure = failure.what;
    wave_.tiles = failure.item / tile_blocks;
}

void Run::draw_portion(Portion& portion, std::uint64_t tile, Worker& worker) const {
    const LanePlan plan(graph_, base_, {portion.wanted, portion.reads, shared_.varying()},
                        question_.width);
    Block block(plan);
    const std::uint64_t draws = draws_of(tile), in_wave = tile - wave_.first_tile;
    std::vector<std::uint32_t> places;
    for (const NodeId node : portion.reads) places.push_back(shared_.place_of(node));
    std::vector<const double*> given(places.size());
    worker.values.resize(portion.columns.size() * draws);
    for (std::uint64_t b = 0; b * block_draws < draws; ++b) {
        for (std::size_t k = 0; k < given.size(); ++k)
            given[k] = wave_.shared[in_wave].at(b, places[k]);
        const auto count = std::min<std::uint64_t>(block_draws, draws - b * block_draws);
        block.evaluate({question_.seed, 0}, tile * tile_blocks + b,
                       static_cast<std::uint32_t>(count), given);
        for (std::size_t c = 0; c < portion.columns.size(); ++c) {
            const Column& column = portion.columns[c];
            fill(column, block, column.compares() ? reference_of(column, in_wave, b) : nullptr,
                 worker.values.data() + c * draws + b * block_draws);
        }
    }
    for (std::size_t c = 0; c < portion.columns.size(); ++c) {
        const auto values = std::span<const double>(worker.values).subspan(c * draws, draws);
        record(portion.columns[c], values, tile, worker.selector);
    }
}

const double* Run::reference_of(const Column& column, std::uint64_t in_wave,
                                std::uint64_t block) const {
    const auto& lanes = column.apart ? wave_.apart : wave_.shared;
    return lanes[in_wave].at(block, column.reference);
}

void Run::fill(const Column& column, const Block& block, const double* reference, double* out) {
    const auto lanes = block.lanes(column.figure);
    const auto settled = [&](double value) {
        return std::abs(value - column.centre) <= column.rounding ? column.centre : value;
    };
    switch (column.kind) {
        case Column::Kind::figure:
            for (std::size_t i = 0; i < lanes.size(); ++i) out[i] = settled(lanes[i]);
            return;
        case Column::Kind::difference:
            for (std::size_t i = 0; i < lanes.size(); ++i)
                out[i] = settled(lanes[i] - reference[i]);
            return;
        case Column::Kind::ratio:
            for (std::size_t i = 0; i < lanes.size(); ++i) {
                const bool sound = lanes[i] > 0.0 && reference[i] > 0.0;
                const double ratio = lanes[i] / (sound ? reference[i] : 1.0);
                // a negative one marks draws that have none
                const bool finite = ratio <= std::numeric_limits<double>::max();
                out[i] = sound && finite ? settled(ratio) : -1.0;
            }
            return;
    }
}

void Run::record(Column& column, std::span<const double> values, std::uint64_t tile,
                 Selector& selector) const {
    if (column.compares()) {
        std::uint64_t negative = 0, zero = 0;
        for (const double value : values) {
            negative += value < 0.0 ? 1U : 0U;
            zero += value == 0.0 ? 1U : 0U;
        }
        column.negative[tile] = negative;
        column.zero[tile] = zero;
    }
    if (one_tile()) {
        column.sample = sample_of(values, column.centre, question_.interval, selector);
        return;
    }
    if (column.windows.empty())
        column.windows =
            windows_around(values, question_.interval, question_.window_deviations, selector);
    TileRecord& record = column.tiles[tile];
    record.draws = values.size();
    record.sums = PowerSums::of(values, column.centre);
    record.shares.clear();
    for (const Window& window : column.windows)
        record.shares.push_back(WindowShare::of(values, window));
    if (!fixed())
        record.summary = sample_of(values, column.centre, question_.interval, selector).summary;
}

void Run::close_if_done(Portion& portion) {
    const std::size_t drawn = portion.columns.front().tiles.size();
    if (fixed()) {
        portion.done = draws_of(drawn) == 0;
        return;
    }
    // by the scatter of the tiles, and by what is printed of all of them: a few tiles that happen
    // to lie close together would end the run too early
    const auto settled = [&](const Column& column, std::size_t tiles) {
        if (column.compares()) return true;
        const auto so_far = std::span<const TileRecord>(column.tiles).first(tiles);
        if (!is_settled(so_far, column.centre, question_.adaptive_digits)) return false;
        const auto sample = sample_of(so_far, column.windows, column.centre, question_.interval);
        return !sample || bears_out(*sample, question_.adaptive_digits);
    };
    // the earliest tile that suffices, however many were drawn at once
    for (std::size_t tiles = portion.tried + 1; tiles <= drawn; ++tiles) {
        portion.done = std::ranges::all_of(
            portion.columns, [&](const Column& column) { return settled(column, tiles); });
        if (!portion.done) continue;
        for (Column& column : portion.columns) column.resize(tiles);
        return;
    }
    portion.tried = drawn;
    if (draws_of(drawn) == 0) refuse_unsettled(portion);
}

void Run::refuse_unsettled(const Portion& portion) const {
    throw NoAnswer({{},
                    Severity::error,
                    "not-settled",
                    fmt::format("{} draws do not settle {} digits of the uncertainty of {}",
                                most_adaptive_draws, question_.adaptive_digits,
                                graph_.name_of(portion.wanted.front())),
                    "ask for fewer digits, or for a fixed number of draws",
                    {}});
}

/// Takes the samples; where a window missed the rank it was made for, everything is drawn once more
/// and kept.
void Run::take_samples() {
    if (one_tile()) return;
    const auto take = [&](std::size_t p, unsigned) {
        Portion& portion = portions_[p];
        portion.missed = false;
        for (Column& column : portion.columns) {
            const auto sample =
                sample_of(column.tiles, column.windows, column.centre, question_.interval);
            if (sample) column.sample = *sample;
            else portion.missed = true;
        }
    };
    in_parallel(threads_, portions_.size(), take);
    for (std::size_t p = 0; p < portions_.size(); ++p) {
        if (!portions_[p].missed) continue;
        const std::uint64_t tiles = portions_[p].columns.front().tiles.size();
        for (Column& column : portions_[p].columns) column.windows = windows_without_ends();
        Portion* const alone = &portions_[p];
        for (std::uint64_t tile = 0; tile < tiles; ++tile) draw_wave({&alone, 1}, tile, 1);
        take(p, 0);
    }
}

// --- what came of it ----------------------------------------------------------------------------

Comparison Run::comparison(const Portion& portion, std::size_t figure, bool apart) {
    Comparison result;
    for (const Column& column : portion.columns) {
        if (column.figure != figure || column.apart != apart || !column.compares()) continue;
        std::uint64_t negative = 0, zero = 0;
        for (const std::uint64_t count : column.negative) negative += count;
        for (const std::uint64_t count : column.zero) zero += count;
        if (column.kind == Column::Kind::ratio) {
            if (negative == 0) result.ratio = column.sample;
            continue;
        }
        result.draws = column.sample.draws;
        result.difference = column.sample;
        result.below = (static_cast<double>(negative) + 0.5 * static_cast<double>(zero)) /
                       static_cast<double>(result.draws);
        result.verdict = verdict_of(result.below, result.difference.summary);
    }
    return result;
}

void Run::conclude(Portion& portion, Worker& worker) const {
    if (!worker.gradient) worker.gradient.emplace(graph_, base_);
    for (std::size_t k = 0; k < portion.wanted.size(); ++k) {
        FigureUncertainty answer;
        answer.value = base_.value[portion.wanted[k]];
        bool compared = false;
        for (const Column& column : portion.columns) {
            if (column.figure != k) continue;
            if (column.compares()) compared = true;
            else answer.sample = column.sample;
        }
        answer.first_order =
            judged(answer.value,
                   first_order_uncertainty(graph_, base_, *worker.gradient, portion.wanted[k]),
                   answer.sample, question_.interval);
        if (compared) answer.paired = comparison(portion, k, false);
        if (compared && question_.unpaired) answer.unpaired = comparison(portion, k, true);
        portion.answer.push_back(answer);
    }
}

std::vector<std::vector<FigureUncertainty>> Run::gathered() {
    std::vector<std::vector<FigureUncertainty>> all;
    auto portion = portions_.begin();
    for (const std::size_t count : portions_of_group_) {
        auto& group = all.emplace_back();
        for (std::size_t k = 0; k < count; ++k, ++portion)
            std::ranges::move(portion->answer, std::back_inserter(group));
    }
    return all;
}

}  // namespace

std::vector<std::vector<FigureUncertainty>> uncertainty(const Graph& graph, const Evaluation& base,
                                                        std::span<const UncertainGroup> groups,
                                                        const UncertaintyQuestion& question) {
    if (question.adaptive_digits != 0 && question.interval == IntervalKind::shortest)
        throw std::logic_error("the ends of a shortest interval do not end an adaptive run");
    return Run(graph, base, groups, question).answer();
}

}  // namespace deckle
