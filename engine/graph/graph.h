// The calculation graph: every number of a study is a node, an input or an operation on earlier
// nodes. Append-only while a study is built, constant afterwards. Nodes are rows of parallel
// arrays; the order of the rows is the order of evaluation, so a circle cannot be written down.
// Values live outside, in an Evaluation (evaluate.h) or a Block (lanes.h). Start reading at
// Graph::make and Graph::solve.
#pragma once

#include <array>
#include <cstdint>
#include <memory>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <unordered_map>
#include <vector>

#include "engine/graph/hash_index.h"
#include "engine/graph/operation.h"
#include "engine/quantity/spread_kind.h"
#include "engine/text/place.h"

namespace deckle {

using NodeId = std::uint32_t;
using TextId = std::uint32_t;  ///< index into Graph::texts; 0 is the empty text
inline constexpr NodeId no_node = 0xFFFFFFFFU;
inline constexpr std::uint32_t no_index = 0xFFFFFFFFU;

/// What caused a node: the text it was read from and the rule that made it ("freight = mass ×
/// distance").
struct Origin {
    Place place;
    TextId rule = 0;
    friend bool operator==(const Origin&, const Origin&) = default;
};

/// How many burdens a node multiplies: none, one, or a mixture that has no break-out. `any` is
/// zero.
enum class Degree : std::uint8_t { zero, one, mixed, any };

/// What a term of a sum of products brings into the system, for the break-out. All are TextIds.
struct Tag {
    TextId stage = 0, process = 0, use = 0, factor = 0, gas = 0, scope = 0;
    /// Only burdens have a stage; a term that uses something made carries process and use alone.
    [[nodiscard]] bool is_burden() const noexcept { return stage != 0; }
    friend bool operator==(const Tag&, const Tag&) = default;
};

/// Spread of an input. normal: half-width of the 95 % interval; lognormal: the factor k;
/// triangular, uniform, arcsine: low and high; curvilinear trapezoid: low, high and how far these
/// ends may be off; Student t: scale and degrees of freedom; truncated normal: half-width, low and
/// high, of which one may be open (no_node). Parameters are inputs of the graph, so they have
/// addresses.
struct Spread {
    SpreadKind kind = SpreadKind::none;
    bool relative = false;  ///< normals: the half-width is a share of the value
    std::array<NodeId, 3> parameters{no_node, no_node, no_node};

    friend bool operator==(const Spread&, const Spread&) = default;
};

struct Bounds {
    double low, high;  ///< values outside are refused by scenarios and draws
};

struct Input {
    NodeId node = no_node;
    std::vector<TextId> addresses;  ///< the first names the draw; others are inherited names
    double value = 0.0;
    TextId typed = 0;  ///< as it stands in the file
    Spread spread;
    Bounds bounds;
    double counts_to = 0.0;  ///< of whole things, typed from 1 up to so many; 0: is no such count
    TextId source = 0;       ///< citation in one line
    TextId note = 0;
    TextId amount_is = 0;  ///< metered, invoiced, calculated, estimated
};

struct Conversion {
    double p = 1.0, q = 1.0;  ///< nearest doubles of two exact decimals
    TextId p_text = 0, q_text = 0;
};

/// One linear system x_i = sum_j c_ij x_j + b_ir: `size` unknowns for each of `right_sides`
/// columns. Arguments of its node: the coefficients in the order of `entries`, then b row by row.
struct Solve {
    struct Entry {
        std::uint32_t row, column;
    };
    NodeId node = no_node;
    std::uint32_t size = 0, right_sides = 0;
    std::vector<Entry> entries;
    std::vector<std::uint32_t> order;  ///< in which unknowns are eliminated (size <= 64)
    std::vector<TextId> unknowns;      ///< names of the products, for messages and traces
    std::size_t offset = 0;            ///< of its first unknown in Evaluation::solved
};

/// A place where an expected indicator is unstated. Its node is a constant 0.
struct NotCovered {
    NodeId node = no_node;
    TextId subject = 0;      ///< factor or input that lacks it: "example.wet_strength_resin"
    TextId indicator = 0;    ///< the line that is not covered
    bool line_only = false;  ///< the burden itself counts elsewhere (CO2e given as one number)
};

/// Must not turn negative, at load and in draws of what rests on it or on its first term (a rest).
struct Requirement {
    NodeId node = no_node;
    TextId what = 0;  ///< "vellomere.steam_header.uses.boiler_steam"
};

/// Inputs whose draws go together. What is correlated are the normal numbers under their draws, so
/// that every shape of spread can take part (a normal copula); for normals it is the correlation of
/// the values.
struct Correlation {
    std::vector<TextId> addresses;  ///< first addresses of the inputs, in the order of their bytes
    std::vector<double> coefficients;  ///< lower triangle with its diagonal of ones, row by row
    std::vector<double> factor;        ///< of Cholesky, laid out alike
};

struct CorrelationPlace {
    std::uint32_t group = no_index, row = 0;
    [[nodiscard]] bool known() const noexcept { return group != no_index; }
};

struct Solution {
    NodeId node;
    std::vector<NodeId> parts;  ///< part of (row, right side): parts[row * right_sides + side]
};

class Graph {
public:
    Graph();

    // --- building -----------------------------------------------------------------------------
    /// Index of a text, one for equal texts.
    TextId text(std::string_view text);
    [[nodiscard]] const std::string& text_of(TextId id) const { return texts_[id]; }

    /// A new input, or the one read from the same place with the same address, value and spread;
    /// then `input.addresses` are added to it.
    NodeId add_input(Input input, TextId unit, Origin origin);
    NodeId constant(double value, TextId unit, Origin origin);
    NodeId convert(NodeId argument, Conversion conversion, TextId unit, Origin origin);

    /// A node of any other plain operation; an equal node that exists already is not made again.
    /// A sum, product or sum of products of one term is kept (its words explain the trace).
    NodeId make(Operation operation, std::span<const NodeId> arguments, TextId unit, Origin origin);
    NodeId make(Operation operation, std::initializer_list<NodeId> arguments, TextId unit,
                Origin origin);

    /// A sum of products with one tag a term. A term whose tag has a stage is a burden: it has
    /// degree one, its two factors have none. Other terms are ordinary ones that know their use.
    NodeId burdens(std::span<const NodeId> pairs, std::span<const Tag> tags, TextId unit,
                   Origin origin);

    /// The system of a loop. `coefficients[k]` belongs to `entries[k]`; `right_sides_nodes` row by
    /// row.
    Solution solve(std::uint32_t size, std::span<const Solve::Entry> entries,
                   std::span<const NodeId> coefficients, std::uint32_t right_sides,
                   std::span<const NodeId> right_side_nodes, std::span<const TextId> unknowns,
                   std::span<const TextId> units, Origin origin);

    void mark_not_covered(NotCovered mark);
    void require_not_negative(Requirement requirement);

    /// Lets the draws of inputs go together; `matrix` is square, row by row, in the order of
    /// `addresses`. The same group again changes nothing. False when the matrix is not positive
    /// definite or has no ones on its diagonal. Errors: logic_error for an address in two groups or
    /// twice in one.
    [[nodiscard]] bool correlate(std::span<const TextId> addresses, std::span<const double> matrix);

    /// Gives a node a name. One name, one node; several names may share a node.
    /// Errors: logic_error when two different names have the same 64-bit id, or a name two nodes.
    void name(NodeId node, std::string_view address);

    // --- reading ------------------------------------------------------------------------------
    [[nodiscard]] std::size_t size() const noexcept { return operation_.size(); }
    [[nodiscard]] Operation operation(NodeId node) const { return operation_[node]; }
    [[nodiscard]] std::span<const NodeId> arguments(NodeId node) const {
        return {arguments_.data() + first_[node], count_[node]};
    }
    /// Index into inputs(), constants(), conversions(), solves(); for `part` row * right_sides +
    /// side.
    [[nodiscard]] std::uint32_t payload(NodeId node) const { return payload_[node]; }
    [[nodiscard]] TextId unit(NodeId node) const { return unit_[node]; }
    [[nodiscard]] const Origin& origin(NodeId node) const { return origin_[node]; }
    [[nodiscard]] Degree degree(NodeId node) const { return degree_[node]; }
    /// Depends on a step (whole, minimum, maximum) somewhere below.
    [[nodiscard]] bool stepped(NodeId node) const { return stepped_[node] != 0; }
    /// Tags of the terms of a sum of products; empty when it holds no burden.
    [[nodiscard]] std::span<const Tag> tags(NodeId node) const;

    [[nodiscard]] std::span<const Input> inputs() const noexcept { return inputs_; }
    [[nodiscard]] std::span<const double> constants() const noexcept { return constants_; }
    [[nodiscard]] std::span<const Conversion> conversions() const noexcept { return conversions_; }
    [[nodiscard]] std::span<const Solve> solves() const noexcept { return solves_; }
    [[nodiscard]] std::span<const NotCovered> not_covered() const noexcept { return not_covered_; }
    [[nodiscard]] std::span<const Requirement> requirements() const noexcept {
        return requirements_;
    }
    [[nodiscard]] std::span<const Correlation> correlations() const noexcept {
        return correlations_;
    }
    /// Where the input with this first address stands among the correlations.
    [[nodiscard]] CorrelationPlace correlation_of(TextId first_address) const;
    /// Correlation of the draws of two inputs, by their first addresses: 1 of one with itself.
    [[nodiscard]] double correlation(TextId one, TextId other) const;
    [[nodiscard]] std::size_t solved_size() const noexcept { return solved_size_; }

    /// Node of an address, or no_node.
    [[nodiscard]] NodeId find(std::string_view address) const;
    /// First name of a node, or "".
    [[nodiscard]] std::string_view name_of(NodeId node) const;
    /// All names in the order they were given.
    [[nodiscard]] std::span<const std::pair<TextId, NodeId>> names() const noexcept {
        return names_;
    }

    /// The nodes that `wanted` rest on, themselves included: one flag a node.
    [[nodiscard]] std::vector<std::uint8_t> ancestors(std::span<const NodeId> wanted) const;

    /// Writes the elimination order of a solve; called once by plan_solves (evaluate.h).
    void set_order(std::size_t solve, std::vector<std::uint32_t> order);

private:
    NodeId append(Operation operation, std::span<const NodeId> arguments, std::uint32_t payload,
                  TextId unit, Origin origin);
    std::uint32_t index_of(const Conversion& conversion);
    NodeId find_equal(std::uint64_t hash, Operation operation, std::span<const NodeId> arguments,
                      std::uint32_t payload, std::span<const Tag> tags) const;
    [[nodiscard]] TextId find_text(std::string_view text) const;
    [[nodiscard]] Degree degree_from(Operation operation, std::span<const NodeId> arguments) const;

    std::vector<Operation> operation_;
    std::vector<std::uint32_t> first_, count_, payload_;
    std::vector<NodeId> arguments_;
    std::vector<TextId> unit_;
    std::vector<Origin> origin_;
    std::vector<Degree> degree_;
    std::vector<std::uint8_t> stepped_;
    std::vector<std::uint32_t> tag_start_;  ///< per node; no_index without burdens
    std::vector<Tag> tags_;

    std::vector<std::string> texts_;
    std::vector<Input> inputs_;
    std::vector<double> constants_;
    std::vector<Conversion> conversions_;
    std::vector<Solve> solves_;
    std::vector<NotCovered> not_covered_;
    std::vector<Requirement> requirements_;
    std::vector<Correlation> correlations_;
    std::unordered_map<TextId, CorrelationPlace> correlated_;
    std::size_t solved_size_ = 0;

    HashIndex equal_;                          ///< nodes by what they are
    HashIndex conversion_index_, mark_index_;  ///< conversions_ and not_covered_ by the same
    HashIndex text_index_;                     ///< texts_ by their characters
    std::vector<std::pair<TextId, NodeId>> names_;
    std::vector<NodeId> named_;       ///< by text; no_node, or shorter, where it names none
    std::vector<TextId> first_name_;  ///< by node; 0, or shorter, where it has none
    HashIndex ids_;                   ///< names by their 64-bit ids
};

/// Stable 64-bit id of an address: FNV-1a of its bytes. The counter of its random draws.
[[nodiscard]] constexpr std::uint64_t stable_id(std::string_view address) noexcept {
    std::uint64_t hash = 0xCBF29CE484222325ULL;
    for (const char c : address) {
        hash ^= static_cast<unsigned char>(c);
        hash *= 0x100000001B3ULL;
    }
    return hash;
}

}  // namespace deckle
