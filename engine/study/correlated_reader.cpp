// Reads `correlated` of a study: addresses, and one correlation or a matrix of them.
#include <fmt/format.h>

#include <array>

#include "engine/study/correlations.h"

namespace deckle {
namespace {

constexpr std::array correlated_key_list{Key{"of", Need::required}, Key{"correlation"},
                                         Key{"matrix"}};
const KeyTable correlated_keys{"correlated", correlated_key_list};

class CorrelatedReader {
public:
    explicit CorrelatedReader(Problems& problems) : problems_(problems) {}

    std::vector<CorrelatedGroup> read(const YamlEntry& entry) {
        for (const YamlValue& item : entry.value.items) {
            if (check_keys(item, correlated_keys, key_place(entry), problems_))
                read_group(item, item.place.known() ? item.place : key_place(entry));
        }
        return std::move(groups_);
    }

private:
    void read_group(const YamlValue& map, Place place) {
        CorrelatedGroup group;
        if (!read_members(*map.entry("of"), group)) return;
        const YamlEntry *one = map.entry("correlation"), *matrix = map.entry("matrix");
        const std::size_t size = group.members.size();
        if ((one == nullptr) == (matrix == nullptr)) {
            problems_.add(place, "bad-correlation",
                          "a group has one correlation for every two of its amounts, or a matrix",
                          "correlation: 0.7, or matrix: [[1, 0.7], [0.7, 1]]");
            return;
        }
        group.place = one != nullptr ? one->value.place : matrix->value.place;
        if (one != nullptr) {
            const auto value = coefficient(one->value);
            if (!value) return;
            group.matrix.assign(size * size, *value);
            for (std::size_t k = 0; k < size; ++k) group.matrix[k * (size + 1)] = 1.0;
        } else if (!read_matrix(*matrix, group)) {
            return;
        }
        groups_.push_back(std::move(group));
    }

    bool read_members(const YamlEntry& of, CorrelatedGroup& group) {
        const std::size_t before = problems_.count();
        for (const YamlValue& item : of.value.items)
            group.members.push_back({read_text(item, "an address", problems_), item.place});
        if (problems_.count() != before) return false;
        if (of.value.is_list() && group.members.size() >= 2) return true;
        problems_.add(key_place(of), of.value.is_list() ? "bad-correlation" : "not-a-list",
                      "of is a list of two addresses or more",
                      "of: [example.gas.releases.ch4_fossil, example.oil.releases.ch4_fossil]");
        return false;
    }

    /// Between -1 and 1; both ends come with a matrix's own diagonal only.
    std::optional<double> coefficient(const YamlValue& value) {
        const QuantityResult parsed = parse_quantity(value.is_scalar() ? value.text : "");
        if (!parsed.quantity || !value.is_scalar()) {
            if (value.is_scalar()) add(problems_, value, parsed.error);
            else
                problems_.add(value.place, "not-a-quantity", "a correlation is a plain number",
                              "for example 0.7");
            return std::nullopt;
        }
        const Quantity& typed = *parsed.quantity;
        if (!typed.unit.text.empty() || typed.spread.kind != SpreadKind::none) {
            problems_.add(value.place, "wrong-unit", "a correlation is a plain number",
                          "for example 0.7");
            return std::nullopt;
        }
        if (typed.value >= -1.0 && typed.value <= 1.0) return typed.value;
        problems_.add(value.place, "bad-correlation",
                      fmt::format("{} is no correlation", value.text), "it lies between -1 and 1");
        return std::nullopt;
    }

    bool read_matrix(const YamlEntry& entry, CorrelatedGroup& group) {
        const std::size_t size = group.members.size(), before = problems_.count();
        const auto& rows = entry.value.items;
        if (!entry.value.is_list()) {
            problems_.add(key_place(entry), "not-a-list", "matrix is a list of rows",
                          "matrix: [[1, 0.7], [0.7, 1]]");
            return false;
        }
        bool square = entry.value.is_list() && rows.size() == size;
        for (const YamlValue& row : rows) square = square && row.items.size() == size;
        for (std::size_t k = 0; square && k < size * size; ++k)
            group.matrix.push_back(coefficient(rows[k / size].items[k % size]).value_or(0.0));
        if (problems_.count() != before) return false;
        bool sound = square;
        for (std::size_t k = 0; square && k < size * size; ++k) {
            const std::size_t row = k / size, column = k % size;
            sound = sound && group.matrix[k] == group.matrix[column * size + row] &&
                    (row != column || group.matrix[k] == 1.0);
        }
        if (!sound)
            problems_.add(key_place(entry), "bad-correlation",
                          fmt::format("the matrix of {} amounts has {} rows and columns, the same "
                                      "on both sides of a diagonal of ones",
                                      size, size),
                          "matrix: [[1, 0.7], [0.7, 1]]");
        return sound;
    }

    Problems& problems_;
    std::vector<CorrelatedGroup> groups_;
};

}  // namespace

std::vector<CorrelatedGroup> read_correlated(const YamlEntry& entry, Problems& problems) {
    if (entry.value.kind == YamlValue::Kind::nothing) return {};
    if (!entry.value.is_list()) {
        problems.add(key_place(entry), "not-a-list", "correlated is a list of groups",
                     "[{of: [ADDRESS, ADDRESS], correlation: 0.7}]");
        return {};
    }
    return CorrelatedReader(problems).read(entry);
}

std::vector<const KeyTable*> correlated_key_tables() { return {&correlated_keys}; }

}  // namespace deckle
