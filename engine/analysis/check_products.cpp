#include <fmt/format.h>

#include <algorithm>
#include <numbers>

#include "engine/analysis/check_parts.h"

namespace deckle::checking {
namespace {

// Climate of a tonne of tissue in published studies, cradle to gate [kg CO2e/t]: the lowest grade
// of 252 US mills (Tomberlin et al., BioResources 15(2), 2020, 3899), premium bath tissue (Brito et
// al., BioResources 18(2), 2023, 4006).
constexpr double lowest_published = 608.0, highest_published = 3075.0;
constexpr double highest_of_products =
    20.0;  // kg CO2e/kg of paper: a factor of seven above anything published

/// Consumer products, and in a study without them the sheets of its mills.
bool is_tissue(const CheckContext& check, const Subject& subject) {
    if (subject.kind == Subject::Kind::consumer_product) return true;
    if (!check.model.product_nodes.empty()) return false;
    return std::ranges::any_of(check.model.mill_nodes, [&](const auto& mill) {
        return std::ranges::any_of(mill->products, [&](const ProductNodes& product) {
            return product.kind == "sheet" && product.made->place == subject.place;
        });
    });
}

/// Products on one side of the published range, told together.
struct Side {
    std::string_view words;
    std::vector<std::string> names;
    Place place;
    double worst = 0.0;

    void add(const Subject& subject, double value) {
        if (names.empty()) place = subject.place, worst = value;
        names.push_back(fmt::format("{} ({})", subject.id, number(value)));
    }
};

void results(CheckContext& check) {
    Side low{"below", {}, {}}, high{"above", {}, {}};
    const double most = check.threshold("range-climate", highest_published);
    for (const Subject& subject : check.study.subjects) {
        const Result* result =
            is_tissue(check, subject) ? check.study.result(subject.id, "t", "climate") : nullptr;
        if (result == nullptr) continue;
        const double value = check.at.value[result->node];
        if (value / 1000.0 > check.threshold("climate-implausible", highest_of_products)) {
            check.add({"climate-implausible", subject.place,
                       fmt::format("{}: {} kg CO2e for a kilogram of tissue", subject.id,
                                   number(value / 1000.0)),
                       "a unit is wrong somewhere (kg for g, MWh for kWh): the break-out by use "
                       "shows where",
                       value / 1000.0});
        } else if (value < lowest_published) {
            low.add(subject, value);
            low.worst = std::min(low.worst, value);
        } else if (value > std::min(most, highest_published)) {
            high.add(subject, value);
            high.worst = std::max(high.worst, value);
        }
    }
    for (const Side* side : {&low, &high}) {
        if (side->names.empty()) continue;
        check.add({"range-climate", side->place,
                   fmt::format("climate of a tonne {} published studies, {} to {} kg CO2e/t: {}",
                               side->words, number(lowest_published), number(highest_published),
                               listed(side->names)),
                   "608 (lowest grade of 252 US mills, Tomberlin et al. 2020) to 3075 (premium "
                   "bath tissue, Brito et al. 2023): say what is different",
                   side->worst});
    }
}

/// Grammage of a ply [g/m2]. Common practice, no published source: facial tissue from 12, hand
/// towels of one ply up to 50.
constexpr double lightest_ply = 8.0, heaviest_ply = 80.0;

void grammages(CheckContext& check, const Product& product) {
    std::vector<const Stated*> stated;
    if (product.grammage) stated.push_back(&*product.grammage);
    for (const Ply& ply : product.different_plies) {
        if (ply.grammage) stated.push_back(&*ply.grammage);
    }
    for (const Stated* one : stated) {
        const auto found = typed_in(*one, one->unit().dimension.has_basis() ? "g/m2 dry" : "g/m2");
        if (!found || (*found >= lightest_ply && *found <= heaviest_ply)) continue;
        check.add(
            {"range-grammage", one->place(),
             fmt::format("products.{}: a ply of {} g/m2; tissue has {} to {} g/m2 a ply",
                         product.id, number(*found), number(lightest_ply), number(heaviest_ply)),
             "`grammage` is that of one ply, in g/m2 (common practice, no published source)",
             *found});
    }
}

/// Wound thickness of a sheet [mm], typed or from t = pi (D^2 - d^2) / (4 n l).
std::optional<double> wound_thickness(const Product& product) {
    if (product.wound_thickness) return typed_in(*product.wound_thickness, "mm");
    if (!product.diameter || !product.count || !product.sheet_length) return std::nullopt;
    const auto outer = typed_in(*product.diameter, "mm");
    const auto inner = product.core && product.core->outside
                           ? typed_in(*product.core->outside, "mm")
                           : std::optional(0.0);
    const auto length = typed_in(*product.sheet_length, "mm");
    if (!outer || !inner || !length || !product.count->is_quantity()) return std::nullopt;
    const double wound = product.count->amount.quantity.value * *length;
    return wound > 0.0 ? std::optional(std::numbers::pi * (*outer * *outer - *inner * *inner) /
                                       (4.0 * wound))
                       : std::nullopt;
}

/// Winding compresses a sheet: in the roll it is never thicker than its caliper at 2 kPa (ISO
/// 12625-3).
void winding(CheckContext& check, const Product& product) {
    const auto caliper = std::ranges::find_if(
        product.properties, [](const Property& one) { return one.name == "caliper"; });
    const auto wound =
        caliper == product.properties.end() ? std::nullopt : wound_thickness(product);
    const auto free = wound ? typed_in(caliper->value, "mm") : std::nullopt;
    if (!free || *free <= 0.0) return;
    const double above = 100.0 * (*wound - *free) / *free;
    if (above <= check.threshold("wound-above-caliper", 0.0)) return;
    check.add({"wound-above-caliper", product.place,
               fmt::format("products.{}: a sheet is wound {} mm thick, its caliper is {} mm",
                           product.id, number(*wound), number(*free)),
               "caliper and wound thickness are those of the sheet with all its plies; diameter, "
               "core, count or sheet length may be wrong",
               above});
}

// Amounts below this are for a unit of the product, not of a mill. Common practice, no published
// source, like the margin: stocks are seldom more than some per cent of a year.
constexpr double least_of_a_year = 1000.0;  // t
constexpr double open_output_percent = 10.0;

/// The study's output against what its mills say they make: of each mill the product that falls
/// short most.
void output(CheckContext& check, const MillNodes& mill) {
    const auto whole = scale_of_output(check, mill);
    if (!whole) return;
    double worst = 0.0;
    const ProductNodes* scarce = nullptr;
    for (std::size_t p = 0; p < mill.products.size(); ++p) {
        const ProductNodes& product = mill.products[p];
        const auto made = in_unit(check, product.typed, "t", product.bridges);
        if (product.family != Family::fibre || !made || *made < least_of_a_year) continue;
        const double needed = whole->asked[p] + whole->used[p];
        const double above = 100.0 * (needed / check.value(product.amount) - 1.0);
        if (above <= worst) continue;
        worst = above;
        scarce = &product;
    }
    if (worst <= check.threshold("output-above-made", open_output_percent)) return;
    check.add({"output-above-made", scarce->made->place,
               fmt::format("the study's output needs {} % more {} than {} makes", number(worst),
                           scarce->id, mill.mill->id),
               "the output, its unit, or the amount made is wrong; or another mill makes the rest",
               worst});
}

/// What is sold in something, and of which nothing is said.
void packaging(CheckContext& check) {
    std::vector<std::string> bare;
    Place place;
    for (const Product& product : check.model.products) {
        if (!product.packed.empty()) continue;
        if (bare.empty()) place = product.place;
        bare.push_back(product.id);
    }
    if (bare.empty()) return;
    check.add({"packaging-unstated", place,
               fmt::format("nothing is said of the packaging of {}", listed(bare)),
               "packed: {pack: {rolls: 8, uses: {FACTOR: 15 g}}}"});
}

}  // namespace

void check_products(CheckContext& check) {
    results(check);
    for (const auto& mill : check.model.mill_nodes) output(check, *mill);
    packaging(check);
    for (const Product& product : check.model.products) {
        grammages(check, product);
        winding(check, product);
    }
}

}  // namespace deckle::checking
