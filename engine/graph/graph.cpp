#include "engine/graph/graph.h"

#include <fmt/format.h>

#include <algorithm>
#include <bit>
#include <cmath>
#include <stdexcept>

namespace deckle {
namespace {

class Hash {
public:
    Hash& mix(std::uint64_t value) {
        state_ ^= value + 0x9E3779B97F4A7C15ULL + (state_ << 6U) + (state_ >> 2U);
        state_ *= 0xFF51AFD7ED558CCDULL;
        state_ ^= state_ >> 32U;
        return *this;
    }
    Hash& mix(const Place& place) {
        return mix((std::uint64_t{place.file} << 32U) | place.line)
            .mix((std::uint64_t{place.column} << 32U) | place.length);
    }
    Hash& mix(std::span<const NodeId> nodes) {
        for (const NodeId node : nodes) mix(node);
        return *this;
    }
    [[nodiscard]] std::uint64_t value() const noexcept { return state_; }

private:
    std::uint64_t state_ = 0x1234567;
};

std::uint64_t kind_hash(Operation operation) { return static_cast<std::uint64_t>(operation) + 1; }

/// Degrees of terms that are added: all must agree, zeros fit anything.
Degree joined(Degree a, Degree b) {
    if (a == Degree::any) return b;
    if (b == Degree::any || a == b) return a;
    return Degree::mixed;
}

/// Degree of a product of two factors.
Degree multiplied(Degree a, Degree b) {
    if (a == Degree::any || b == Degree::any) return Degree::any;
    if (a == Degree::zero) return b;
    if (b == Degree::zero) return a;
    return Degree::mixed;
}

/// The lower triangle L with L Lᵀ = a, both packed row by row; nullopt unless a is positive
/// definite (a pivot below 1e-10 of the ones on its diagonal counts as none).
std::optional<std::vector<double>> cholesky(std::size_t size, std::span<const double> a) {
    constexpr double least_pivot = 1e-10;
    const auto at = [](std::size_t row, std::size_t column) {
        return row * (row + 1) / 2 + column;
    };
    std::vector<double> factor(a.size());
    for (std::size_t row = 0; row < size; ++row) {
        for (std::size_t column = 0; column <= row; ++column) {
            double rest = a[at(row, column)];
            for (std::size_t k = 0; k < column; ++k)
                rest -= factor[at(row, k)] * factor[at(column, k)];
            if (row != column) factor[at(row, column)] = rest / factor[at(column, column)];
            else if (!(rest > least_pivot)) return std::nullopt;
            else factor[at(row, row)] = std::sqrt(rest);
        }
    }
    return factor;
}

bool stepping(Operation operation) { return row_of(operation).stepped; }

}  // namespace

Graph::Graph() { (void)text(""); }

TextId Graph::text(std::string_view text) {
    if (const TextId known = find_text(text); known != HashIndex::nothing) return known;
    const auto id = static_cast<TextId>(texts_.size());
    text_index_.add(std::hash<std::string_view>()(text), id);
    texts_.emplace_back(text);
    return id;
}

TextId Graph::find_text(std::string_view text) const {
    return text_index_.find(std::hash<std::string_view>()(text),
                            [&](TextId id) { return texts_[id] == text; });
}

NodeId Graph::append(Operation operation, std::span<const NodeId> arguments, std::uint32_t payload,
                     TextId unit, Origin origin) {
    const auto node = static_cast<NodeId>(operation_.size());
    bool stepped = stepping(operation);
    for (const NodeId argument : arguments) {
        if (argument >= node) throw std::logic_error("a node may only use earlier nodes");
        stepped = stepped || stepped_[argument] != 0;
    }
    operation_.push_back(operation);
    first_.push_back(static_cast<std::uint32_t>(arguments_.size()));
    count_.push_back(static_cast<std::uint32_t>(arguments.size()));
    payload_.push_back(payload);
    arguments_.insert(arguments_.end(), arguments.begin(), arguments.end());
    unit_.push_back(unit);
    origin_.push_back(origin);
    degree_.push_back(Degree::zero);
    stepped_.push_back(stepped ? 1 : 0);
    tag_start_.push_back(no_index);
    return node;
}

NodeId Graph::find_equal(std::uint64_t hash, Operation operation, std::span<const NodeId> arguments,
                         std::uint32_t payload, std::span<const Tag> tags) const {
    return equal_.find(hash, [&](NodeId node) {
        return operation_[node] == operation && payload_[node] == payload &&
               std::ranges::equal(this->arguments(node), arguments) &&
               std::ranges::equal(this->tags(node), tags);
    });
}

NodeId Graph::add_input(Input input, TextId unit, Origin origin) {
    if (input.addresses.empty()) throw std::logic_error("an input needs an address");
    const std::uint64_t hash = Hash()
                                   .mix(kind_hash(Operation::input))
                                   .mix(origin.place)
                                   .mix(std::bit_cast<std::uint64_t>(input.value))
                                   .value();
    const NodeId equal = equal_.find(hash, [&](NodeId node) {
        if (operation_[node] != Operation::input || !(origin_[node].place == origin.place))
            return false;
        const Input& known = inputs_[payload_[node]];
        const bool same_draw =
            origin.place.known() || known.addresses.front() == input.addresses.front();
        return known.value == input.value && known.spread == input.spread && unit_[node] == unit &&
               same_draw;
    });
    if (equal != no_node) {
        std::vector<TextId>& known = inputs_[payload_[equal]].addresses;
        for (const TextId address : input.addresses) {
            if (std::ranges::find(known, address) == known.end()) known.push_back(address);
        }
        return equal;
    }
    const NodeId node =
        append(Operation::input, {}, static_cast<std::uint32_t>(inputs_.size()), unit, origin);
    input.node = node;
    inputs_.push_back(std::move(input));
    equal_.add(hash, node);
    return node;
}

NodeId Graph::constant(double value, TextId unit, Origin origin) {
    const std::uint64_t hash = Hash()
                                   .mix(kind_hash(Operation::constant))
                                   .mix(origin.place)
                                   .mix(origin.rule)
                                   .mix(unit)
                                   .mix(std::bit_cast<std::uint64_t>(value))
                                   .value();
    const NodeId equal = equal_.find(hash, [&](NodeId node) {
        return operation_[node] == Operation::constant && origin_[node] == origin &&
               unit_[node] == unit &&
               std::bit_cast<std::uint64_t>(constants_[payload_[node]]) ==
                   std::bit_cast<std::uint64_t>(value);
    });
    if (equal != no_node) return equal;
    const NodeId node = append(Operation::constant, {},
                               static_cast<std::uint32_t>(constants_.size()), unit, origin);
    constants_.push_back(value);
    degree_[node] = value == 0.0 ? Degree::any : Degree::zero;
    equal_.add(hash, node);
    return node;
}

std::uint32_t Graph::index_of(const Conversion& conversion) {
    const std::uint64_t hash = Hash()
                                   .mix(std::bit_cast<std::uint64_t>(conversion.p))
                                   .mix(std::bit_cast<std::uint64_t>(conversion.q))
                                   .mix(conversion.p_text)
                                   .mix(conversion.q_text)
                                   .value();
    const std::uint32_t known = conversion_index_.find(hash, [&](std::uint32_t one) {
        const Conversion& c = conversions_[one];
        return c.p == conversion.p && c.q == conversion.q && c.p_text == conversion.p_text &&
               c.q_text == conversion.q_text;
    });
    if (known != HashIndex::nothing) return known;
    const auto index = static_cast<std::uint32_t>(conversions_.size());
    conversion_index_.add(hash, index);
    conversions_.push_back(conversion);
    return index;
}

NodeId Graph::convert(NodeId argument, Conversion conversion, TextId unit, Origin origin) {
    const std::uint32_t payload = index_of(conversion);
    const NodeId arguments[] = {argument};
    const std::uint64_t hash = Hash()
                                   .mix(kind_hash(Operation::convert))
                                   .mix(payload)
                                   .mix(unit)
                                   .mix(std::span<const NodeId>(arguments))
                                   .value();
    if (const NodeId equal = find_equal(hash, Operation::convert, arguments, payload, {});
        equal != no_node && unit_[equal] == unit) {
        return equal;
    }
    const NodeId node = append(Operation::convert, arguments, payload, unit, origin);
    degree_[node] = degree_[argument];
    equal_.add(hash, node);
    return node;
}

NodeId Graph::make(Operation operation, std::initializer_list<NodeId> arguments, TextId unit,
                   Origin origin) {
    return make(operation, std::span<const NodeId>(arguments.begin(), arguments.size()), unit,
                origin);
}

NodeId Graph::make(Operation operation, std::span<const NodeId> arguments, TextId unit,
                   Origin origin) {
    if (operation == Operation::sum_of_products && arguments.size() % 2 != 0) {
        throw std::logic_error("a sum of products takes pairs");
    }
    const std::uint64_t hash = Hash().mix(kind_hash(operation)).mix(arguments).value();
    if (const NodeId equal = find_equal(hash, operation, arguments, no_index, {}); equal != no_node)
        return equal;
    const Degree degree = degree_from(operation, arguments);
    const NodeId node = append(operation, arguments, no_index, unit, origin);
    degree_[node] = degree;
    equal_.add(hash, node);
    return node;
}

NodeId Graph::burdens(std::span<const NodeId> pairs, std::span<const Tag> tags, TextId unit,
                      Origin origin) {
    if (pairs.size() != 2 * tags.size()) throw std::logic_error("one tag a term");
    Hash mixed;
    mixed.mix(kind_hash(Operation::sum_of_products)).mix(pairs);
    for (const Tag& tag : tags) {
        mixed.mix((std::uint64_t{tag.stage} << 32U) | tag.process)
            .mix((std::uint64_t{tag.use} << 32U) | tag.factor);
        mixed.mix((std::uint64_t{tag.gas} << 32U) | tag.scope);
    }
    if (const NodeId equal =
            find_equal(mixed.value(), Operation::sum_of_products, pairs, no_index, tags);
        equal != no_node) {
        return equal;
    }
    Degree degree = Degree::any;
    for (std::size_t term = 0; term < tags.size(); ++term) {
        const Degree factors = multiplied(degree_[pairs[2 * term]], degree_[pairs[2 * term + 1]]);
        const bool burden = tags[term].is_burden();
        if (burden && factors == Degree::zero) degree = joined(degree, Degree::one);
        else degree = joined(degree, burden && factors == Degree::one ? Degree::mixed : factors);
    }
    const NodeId node = append(Operation::sum_of_products, pairs, no_index, unit, origin);
    degree_[node] = degree;
    tag_start_[node] = static_cast<std::uint32_t>(tags_.size());
    tags_.insert(tags_.end(), tags.begin(), tags.end());
    equal_.add(mixed.value(), node);
    return node;
}

Degree Graph::degree_from(Operation operation, std::span<const NodeId> arguments) const {
    Degree degree = Degree::any;
    switch (operation) {
        case Operation::sum:
        case Operation::negate:
            for (const NodeId a : arguments) degree = joined(degree, degree_[a]);
            return degree;
        case Operation::product:
            degree = Degree::zero;
            for (const NodeId a : arguments) degree = multiplied(degree, degree_[a]);
            return degree;
        case Operation::sum_of_products:
            for (std::size_t i = 0; i < arguments.size(); i += 2) {
                degree =
                    joined(degree, multiplied(degree_[arguments[i]], degree_[arguments[i + 1]]));
            }
            return degree;
        case Operation::quotient: {
            const bool plain_divisor =
                degree_[arguments[1]] == Degree::zero || degree_[arguments[1]] == Degree::any;
            return plain_divisor ? degree_[arguments[0]] : Degree::mixed;
        }
        default: break;
    }
    for (const NodeId a : arguments) {
        if (degree_[a] != Degree::zero && degree_[a] != Degree::any) return Degree::mixed;
    }
    return Degree::zero;
}

Solution Graph::solve(std::uint32_t size, std::span<const Solve::Entry> entries,
                      std::span<const NodeId> coefficients, std::uint32_t right_sides,
                      std::span<const NodeId> right_side_nodes, std::span<const TextId> unknowns,
                      std::span<const TextId> units, Origin origin) {
    if (coefficients.size() != entries.size() ||
        right_side_nodes.size() != std::size_t{size} * right_sides || unknowns.size() != size ||
        units.size() != right_side_nodes.size()) {
        throw std::logic_error("a solve whose parts do not fit together");
    }
    std::vector<NodeId> arguments(coefficients.begin(), coefficients.end());
    arguments.insert(arguments.end(), right_side_nodes.begin(), right_side_nodes.end());
    Hash mixed;
    mixed.mix(kind_hash(Operation::solve))
        .mix(size)
        .mix(right_sides)
        .mix(std::span<const NodeId>(arguments));
    for (const auto& entry : entries) mixed.mix((std::uint64_t{entry.row} << 32U) | entry.column);

    NodeId node = equal_.find(mixed.value(), [&](NodeId known) {
        return operation_[known] == Operation::solve &&
               std::ranges::equal(this->arguments(known), arguments);
    });
    if (node == no_node) {
        node = append(Operation::solve, arguments, static_cast<std::uint32_t>(solves_.size()), 0,
                      origin);
        for (const NodeId coefficient : coefficients) {
            if (degree_[coefficient] == Degree::one || degree_[coefficient] == Degree::mixed)
                degree_[node] = Degree::mixed;
        }
        Solve system;
        system.node = node;
        system.size = size;
        system.right_sides = right_sides;
        system.entries.assign(entries.begin(), entries.end());
        system.unknowns.assign(unknowns.begin(), unknowns.end());
        system.offset = solved_size_;
        solved_size_ += std::size_t{size} * right_sides;
        solves_.push_back(std::move(system));
        equal_.add(mixed.value(), node);
    }
    Solution solution{node, {}};
    for (std::uint32_t k = 0; k < size * right_sides; ++k) {
        const NodeId argument[] = {node};
        const std::uint64_t hash = Hash().mix(kind_hash(Operation::part)).mix(node).mix(k).value();
        NodeId part = find_equal(hash, Operation::part, argument, k, {});
        if (part == no_node) {
            part = append(Operation::part, argument, k, units[k], origin);
            Degree column = Degree::any;
            for (std::uint32_t row = 0; row < size; ++row) {
                column =
                    joined(column, degree_[right_side_nodes[row * right_sides + k % right_sides]]);
            }
            degree_[part] = degree_[node] == Degree::mixed ? Degree::mixed : column;
            equal_.add(hash, part);
        }
        solution.parts.push_back(part);
    }
    return solution;
}

void Graph::set_order(std::size_t solve, std::vector<std::uint32_t> order) {
    solves_[solve].order = std::move(order);
}

void Graph::mark_not_covered(NotCovered mark) {
    const std::uint64_t hash = Hash().mix(mark.node).mix(mark.indicator).value();
    const std::uint32_t known = mark_index_.find(hash, [&](std::uint32_t one) {
        return not_covered_[one].node == mark.node && not_covered_[one].indicator == mark.indicator;
    });
    if (known != HashIndex::nothing) return;
    mark_index_.add(hash, static_cast<std::uint32_t>(not_covered_.size()));
    not_covered_.push_back(mark);
}

void Graph::require_not_negative(Requirement requirement) {
    const auto same = std::ranges::find_if(
        requirements_, [&](const Requirement& r) { return r.node == requirement.node; });
    if (same == requirements_.end()) requirements_.push_back(requirement);
}

bool Graph::correlate(std::span<const TextId> addresses, std::span<const double> matrix) {
    const std::size_t size = addresses.size();
    if (matrix.size() != size * size) throw std::logic_error("a correlation matrix is square");
    std::vector<std::size_t> order(size);
    for (std::size_t k = 0; k < size; ++k) order[k] = k;
    std::ranges::sort(order, {},
                      [&](std::size_t k) { return std::string_view(texts_[addresses[k]]); });
    Correlation made;
    for (std::size_t row = 0; row < size; ++row) {
        made.addresses.push_back(addresses[order[row]]);
        for (std::size_t column = 0; column <= row; ++column)
            made.coefficients.push_back(matrix[order[row] * size + order[column]]);
    }
    for (std::size_t row = 0; row < size; ++row) {
        if (made.coefficients[row * (row + 3) / 2] != 1.0) return false;
    }
    auto factor = cholesky(size, made.coefficients);
    if (!factor) return false;
    const CorrelationPlace known = correlation_of(made.addresses.front());
    if (known.known() && correlations_[known.group].addresses == made.addresses &&
        correlations_[known.group].coefficients == made.coefficients)
        return true;
    made.factor = *std::move(factor);
    const auto group = static_cast<std::uint32_t>(correlations_.size());
    for (std::uint32_t row = 0; row < size; ++row) {
        if (!correlated_.try_emplace(made.addresses[row], CorrelationPlace{group, row}).second)
            throw std::logic_error(texts_[made.addresses[row]] + " is correlated twice");
    }
    correlations_.push_back(std::move(made));
    return true;
}

CorrelationPlace Graph::correlation_of(TextId first_address) const {
    const auto found = correlated_.find(first_address);
    return found == correlated_.end() ? CorrelationPlace{} : found->second;
}

double Graph::correlation(TextId one, TextId other) const {
    if (one == other) return 1.0;
    const CorrelationPlace a = correlation_of(one), b = correlation_of(other);
    if (!a.known() || a.group != b.group) return 0.0;
    const std::size_t row = std::max(a.row, b.row), column = std::min(a.row, b.row);
    return correlations_[a.group].coefficients[row * (row + 1) / 2 + column];
}

void Graph::name(NodeId node, std::string_view address) {
    const TextId id = text(address);
    if (named_.size() <= id) named_.resize(texts_.size(), no_node);
    if (named_[id] == node) return;
    if (named_[id] != no_node)
        throw std::logic_error(fmt::format("two nodes are named {}", address));
    const std::uint64_t hash = stable_id(address);
    const TextId other =
        ids_.find(hash, [&](TextId one) { return stable_id(texts_[one]) == hash; });
    if (other != HashIndex::nothing) {
        throw std::logic_error(
            fmt::format("{} and {} have the same 64-bit id; rename one", address, texts_[other]));
    }
    ids_.add(hash, id);
    named_[id] = node;
    names_.emplace_back(id, node);
    if (first_name_.size() <= node) first_name_.resize(size(), 0);
    if (first_name_[node] == 0) first_name_[node] = id;
}

std::span<const Tag> Graph::tags(NodeId node) const {
    if (tag_start_[node] == no_index) return {};
    return {tags_.data() + tag_start_[node], count_[node] / 2};
}

NodeId Graph::find(std::string_view address) const {
    const TextId id = find_text(address);
    if (id == HashIndex::nothing) return no_node;
    return id < named_.size() ? named_[id] : no_node;
}

std::string_view Graph::name_of(NodeId node) const {
    if (node >= first_name_.size() || first_name_[node] == 0) return {};
    return texts_[first_name_[node]];
}

std::vector<std::uint8_t> Graph::ancestors(std::span<const NodeId> wanted) const {
    std::vector<std::uint8_t> marked(size(), 0);
    NodeId last = 0;
    for (const NodeId node : wanted) {
        marked.at(node) = 1;
        last = std::max(last, node);
    }
    if (wanted.empty()) return marked;
    for (NodeId node = last + 1; node-- > 0;) {
        if (marked[node] == 0) continue;
        for (const NodeId argument : arguments(node)) marked[argument] = 1;
    }
    return marked;
}

}  // namespace deckle
