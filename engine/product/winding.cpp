#include "engine/product/winding.h"

#include <fmt/format.h>

#include <cmath>
#include <numbers>

namespace deckle {
namespace {

constexpr double largest_disagreement = 0.01;
constexpr double almost_one = 1e-9;  ///< whole sheets: floor(L/l·(1 + 10⁻⁹))

class Winder {
public:
    Winder(Build& build, const Product& product)
        : build_(build), product_(product), place_(product.roll_place) {}

    Winding run() {
        if (!check_typed()) return {};
        Winding w;
        const Measure l = metres(product_.sheet_length);
        const Measure count = plain_count();
        w.diameter = metres(product_.diameter);
        w.wound_thickness = thickness();
        Measure length = metres(product_.length);
        if (!length.known() && count.known() && l.known())
            length = build_.multiply(count, l, "wound length = sheets × sheet length", place_);
        if (!complete(w, length)) return {};
        if (length.known()) {
            w.length = length;
            if (!w.diameter.known()) w.diameter = diameter(w.wound_thickness, length);
            else if (!w.wound_thickness.known())
                w.wound_thickness = thickness_of(w.diameter, length);
        } else {
            w.length = wound_length(w.diameter, w.wound_thickness);
        }
        if (!l.known()) return w;
        if (count.known()) {
            w.exact_count = w.whole_count = count;
        } else {
            w.derived = true;
            w.exact_count = build_.divide(
                w.length, l, "sheets, unrounded = wound length ÷ sheet length", place_);
            w.exact_count.unit = {};
            w.whole_count = {build_.graph.make(Operation::whole, {w.exact_count.node}, 0,
                                               build_.origin(place_, "whole sheets")),
                             {}};
        }
        return w;
    }

private:
    Measure metres(const std::optional<Stated>& stated) {
        if (!stated) return {};
        return *build_.in_unit(build_.input(*stated), known_unit("m"), stated->place());
    }

    Measure plain_count() {
        if (!product_.count) return {};
        return {build_.input(*product_.count).node, {}};
    }

    /// As typed, or the caliper of the standard less the compression in the roll.
    Measure thickness() {
        if (product_.wound_thickness) return metres(product_.wound_thickness);
        if (!product_.compression) return {};
        for (const Property& property : product_.properties) {
            if (property.name != "caliper") continue;
            const Measure free = metres(property.value);
            if (!free.known()) return {};
            const Measure c =
                build_.ratio(build_.input(*product_.compression), product_.compression->place());
            const Measure kept = build_.subtract(build_.constant(1.0, "", "1", place_), c,
                                                 "1 − compression", place_);
            return {
                build_.multiply(free, kept, "wound thickness = caliper × (1 − compression)", place_)
                    .node,
                known_unit("m")};
        }
        build_.problems.add(product_.compression->place(), "missing-key",
                            "compression needs the caliper it acts on",
                            "properties: {caliper: {value: 0.45 mm, method: ISO 12625-3}}");
        return {};
    }

    bool complete(const Winding& w, const Measure& length) {
        const int known = (w.diameter.known() ? 1 : 0) + (w.wound_thickness.known() ? 1 : 0) +
                          (length.known() ? 1 : 0);
        if (known >= 2) return true;
        build_.problems.add(
            place_.known() ? place_ : product_.place, "winding-underdetermined",
            fmt::format(
                "{}: two of diameter, wound_thickness and count (or length) are needed, {} found",
                product_.id, known),
            "roll: {diameter: 114 mm, wound_thickness: 0.38 mm}");
        return false;
    }

    Measure core_square() {
        if (!product_.core || !product_.core->outside)
            return build_.constant(0.0, "m2", "no core", place_);
        return square(metres(product_.core->outside), "core outside, squared");
    }

    Measure square(const Measure& measure, std::string_view rule) {
        if (!measure.known()) return build_.constant(0.0, "m2", "no core", place_);
        const Measure two = build_.constant(2.0, "", "exponent", place_);
        return {build_.graph.make(Operation::power, {measure.node, two.node}, build_.text("m2"),
                                  build_.origin(place_, rule)),
                known_unit("m2")};
    }

    Measure ring(const Measure& outer) {
        const Measure core = core_square();  // the order of arguments is the compiler's choice
        const Measure difference =
            build_.subtract(square(outer, "diameter, squared"), core, "D² − d²", place_);
        const Measure pi = build_.constant(std::numbers::pi, "", "pi", place_);
        const Measure four = build_.constant(4.0, "", "4", place_);
        return build_.divide(build_.multiply(difference, pi, "pi (D² − d²)", place_), four,
                             "ring of paper = pi (D² − d²) ÷ 4", place_);
    }

    Measure wound_length(const Measure& outer, const Measure& t) {
        return {build_.divide(ring(outer), t, "wound length = pi (D² − d²) ÷ (4 t)", place_).node,
                known_unit("m")};
    }

    Measure thickness_of(const Measure& outer, const Measure& length) {
        return {build_.divide(ring(outer), length, "wound thickness = pi (D² − d²) ÷ (4 L)", place_)
                    .node,
                known_unit("m")};
    }

    Measure diameter(const Measure& t, const Measure& length) {
        const Measure four = build_.constant(4.0, "", "4", place_);
        const Measure pi = build_.constant(std::numbers::pi, "", "pi", place_);
        const Measure paper = build_.multiply(length, t, "L × t", place_);
        const Measure area =
            build_.divide(build_.multiply(paper, four, "4 L t", place_), pi, "4 L t ÷ pi", place_);
        const Measure whole = build_.add({area.node, known_unit("m2")}, core_square(),
                                         "D² = d² + 4 L t ÷ pi", place_);
        return build_.apply(Operation::square_root, {whole}, "m", "diameter = √(d² + 4 L t ÷ pi)",
                            place_);
    }

    // --- what is typed must be possible, and agree -------------------------------------------
    double value_now(const Stated& stated, const Unit& unit) {
        if (build_.changes == nullptr)
            return conversion(stated.unit(), unit)->apply(stated.amount.quantity.value);
        const auto measure = build_.in_unit(build_.input(stated), unit, stated.place());
        return build_.value_at_load(*measure).value_or(0.0);
    }

    double in_metres(const Stated& stated) { return value_now(stated, known_unit("m")); }

    std::optional<double> typed(const std::optional<Stated>& stated) {
        return stated ? std::optional(in_metres(*stated)) : std::nullopt;
    }

    std::optional<double> typed_thickness() {
        if (product_.wound_thickness || !product_.compression)
            return typed(product_.wound_thickness);
        for (const Property& property : product_.properties) {
            if (property.name != "caliper") continue;
            return in_metres(property.value) *
                   (1.0 - value_now(*product_.compression, plain_unit()));
        }
        return std::nullopt;
    }

    bool contradiction(std::string message, std::string hint) {
        build_.problems.add(place_, "winding-contradiction",
                            fmt::format("{}: {}", product_.id, message), std::move(hint));
        return false;
    }

    bool check_typed() {
        const auto outer = typed(product_.diameter), t = typed_thickness();
        const auto sheet = typed(product_.sheet_length);
        const double d =
            product_.core && product_.core->outside ? in_metres(*product_.core->outside) : 0.0;
        if (outer && *outer <= d)
            return contradiction(
                fmt::format("a core of {:.4g} m does not fit into a roll of {:.4g} m", d, *outer),
                "both are outside diameters");
        auto length = typed(product_.length);
        if (product_.count && sheet) {
            const double sheets = value_now(*product_.count, plain_unit()) * *sheet;
            if (length && std::abs(*length - sheets) > largest_disagreement * sheets)
                return contradiction(
                    fmt::format("count × sheet length is {:.4g} m, length says {:.4g} m", sheets,
                                *length),
                    "leave one of the two out");
            if (!length) length = sheets;
        }
        if (!outer || !t) return true;
        const double wound = std::numbers::pi * (*outer * *outer - d * d) / (4.0 * *t);
        if (length && std::abs(wound - *length) > largest_disagreement * wound)
            return contradiction(
                fmt::format("diameter and thickness wind {:.4g} m, count or length say {:.4g} m",
                            wound, *length),
                "they may differ by 1 %; leave one of the three out");
        if (!length && sheet && wound < *sheet * (1.0 - almost_one))
            return contradiction(
                fmt::format("{:.4g} m are wound, less than one sheet of {:.4g} m", wound, *sheet),
                "a roll holds at least one whole sheet");
        return true;
    }

    Build& build_;
    const Product& product_;
    Place place_;
};

}  // namespace

Winding wind(Build& build, const Product& product) { return Winder(build, product).run(); }

}  // namespace deckle
