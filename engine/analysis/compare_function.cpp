// Whether the rows of a comparison are equal in what was asked for, and how large their pieces are.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "engine/analysis/asked.h"
#include "engine/analysis/compare_parts.h"
#include "engine/study/model.h"
#include "engine/text/number_text.h"

namespace deckle {
namespace {

constexpr double alike = 0.005;  ///< of a diameter or count: within what a laboratory repeats

class EqualFunctionCheck {
public:
    EqualFunctionCheck(const Study& study, const Evaluation& at, Compared& all)
        : study_(study), at_(at), all_(all) {}

    void check() {
        const std::string& equal = all_.question.equal;
        if (equal == "roll_diameter" || equal == "sheet_count") {
            check_same(equal == "roll_diameter" ? "diameter" : "number of sheets",
                       equal == "roll_diameter" ? "m" : "sheets",
                       [&](const ComparedRow& row) -> std::optional<double> {
                           const ConsumerNodes* nodes = consumer_of(study_, row);
                           if (nodes == nullptr) return std::nullopt;
                           const Measure& one =
                               equal == "roll_diameter" ? nodes->diameter : nodes->count;
                           return one.known() ? std::optional(at_.value[one.node]) : std::nullopt;
                       });
            for (ComparedRow& row : all_.rows) add_sizes(row);
            note_sizes_that_differ(equal == "roll_diameter" ? "roll diameter" : "sheets");
        }
        if (equal == "absorbed_water") check_absorbencies();
    }

private:
    template <class Value>
    void check_same(std::string_view what, std::string_view unit, Value value_of) const {
        std::optional<double> first;
        for (const ComparedRow& row : all_.rows) {
            const std::optional<double> value = value_of(row);
            if (!value)
                refuse_question(
                    "unlike-function",
                    fmt::format("{} has no {}", name_of({row.scenario, row.of, {}}), what),
                    "compare at another function: area, mass, absorbed_water");
            if (!first) first = value;
            if (std::abs(*value - *first) > alike * *first)
                refuse_question(
                    "unlike-function",
                    fmt::format("the {} differs: {} has {} {}, {} has {} {}", what,
                                name_of({all_.rows.front().scenario, all_.rows.front().of, {}}),
                                format_significant(*first, 4), unit,
                                name_of({row.scenario, row.of, {}}), format_significant(*value, 4),
                                unit),
                    "compare at another function, or products that are alike in it");
        }
    }

    /// Absorbencies measured in different ways, or in ways that nobody states, do not compare; nor
    /// do those of sheets of another dryness: a moister one holds part of its water already.
    void check_absorbencies() const {
        const auto method = [](const ComparedRow& row) {
            const auto found =
                std::ranges::find(row.properties, "absorbency", &ComparedRow::Property::name);
            return found == row.properties.end() ? std::string{} : found->method;
        };
        const ComparedRow& first = all_.rows.front();
        for (const ComparedRow& row : all_.rows) {
            if (method(row).empty() && all_.rows.size() > 1)
                refuse_question(
                    "unlike-function",
                    fmt::format("the absorbency of {} is stated without its method", row.of),
                    "absorbency: {value: 9.4 g/g, method: ISO 12625-8}");
            if (method(row) == method(first)) continue;
            refuse_question(
                "unlike-function",
                fmt::format("absorbency is measured in different ways: {} by {}, {} by {}",
                            first.of, method(first), row.of, method(row)),
                "compare figures of one method");
        }
        if (std::ranges::any_of(all_.rows,
                                [&](const ComparedRow& row) { return dryness(row).has_value(); }))
            check_same("dryness", "%", [&](const ComparedRow& row) { return dryness(row); });
    }

    /// [%]
    std::optional<double> dryness(const ComparedRow& row) const {
        const ConsumerNodes* nodes = consumer_of(study_, row);
        if (nodes == nullptr || !nodes->dryness.known()) return std::nullopt;
        return 100.0 * at_.value[nodes->dryness.node];
    }

    /// How large a piece is, on the unrounded count, in the units a laboratory uses.
    void add_sizes(ComparedRow& row) const {
        const ConsumerNodes* nodes = consumer_of(study_, row);
        if (nodes == nullptr) return;
        const Measure& mass = nodes->exact_mass.known() ? nodes->exact_mass : nodes->tissue_mass;
        const auto add = [&](std::string_view what, std::string_view unit, const Measure& measure,
                             double scale) {
            if (measure.known())
                row.sizes.push_back(
                    {std::string(what), std::string(unit), scale * at_.value[measure.node]});
        };
        add("roll diameter", "mm", nodes->diameter, 1e3);
        add("sheet length", "mm", nodes->sheet_length, 1e3);
        add("width", "mm", nodes->sheet_width, 1e3);
        add("sheets", "", nodes->count, 1.0);
        add("area", "m2", nodes->area, 1.0);
        add("tissue", "g", mass, 1e6);
    }

    /// Rolls of one diameter, or of as many sheets, need not hold the same paper.
    void note_sizes_that_differ(std::string_view equal) {
        for (const std::string_view what :
             {"roll diameter", "sheet length", "width", "sheets", "area"}) {
            const auto size_of = [&](const ComparedRow& row) {
                const auto found = std::ranges::find(row.sizes, what, &ComparedRow::Size::what);
                return found == row.sizes.end() ? 0.0 : found->value;
            };
            const double first = size_of(all_.rows.front());
            const bool differs = std::ranges::any_of(all_.rows, [&](const ComparedRow& row) {
                return std::abs(size_of(row) - first) > alike * std::abs(first);
            });
            if (differs && what != equal) all_.unlike_sizes.emplace_back(what);
        }
    }

    const Study& study_;
    const Evaluation& at_;
    Compared& all_;
};

}  // namespace

void check_equal_function(const Study& study, const Evaluation& at, Compared& all) {
    EqualFunctionCheck(study, at, all).check();
}

const ConsumerNodes* consumer_of(const Study& study, const ComparedRow& row) {
    for (const auto& nodes : assembly_of(study, row.scenario).product_nodes) {
        if (nodes->product->id == row.of) return nodes.get();
    }
    return nullptr;
}

}  // namespace deckle
