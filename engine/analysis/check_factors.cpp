#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <functional>
#include <map>

#include "engine/analysis/check_parts.h"
#include "engine/analysis/data_rows.h"

namespace deckle::checking {
namespace {

/// Above four years the time score of a data set is the worst (PACT Methodology guide V3, 2026,
/// rating of the reference period).
constexpr double oldest_years = 4.0;
constexpr int poor_score = 4;
constexpr double highest_of_factors =
    20.0;  // kg CO2e/kg, of fibre or packaging: a factor of ten above published ones

/// Limits of carbon dioxide [kg/GJ LHV]: IPCC 2006 Guidelines, volume 2, chapter 1, table 1.4,
/// lower and upper limit of the 95 % interval (from memory).
struct FuelRange {
    std::array<std::string_view, 4> words;
    double low, high;
};
constexpr std::array fuel_ranges{
    FuelRange{{"natural gas"}, 54.3, 58.3},
    FuelRange{{"lpg", "liquefied petroleum"}, 61.6, 65.6},
    FuelRange{{"residual fuel oil", "heavy fuel oil", "residual heavy fuel oil"}, 75.5, 78.8},
    FuelRange{{"gas diesel oil", "gas oil", "diesel", "distillate"}, 72.6, 74.8},
    FuelRange{{"lignite"}, 90.9, 115.0},
    FuelRange{{"anthracite"}, 94.6, 101.0},
    FuelRange{{"peat"}, 100.0, 108.0},
};

/// Of the higher heating value to the lower. The two differ by the heat that the water from the
/// fuel's hydrogen gives off when it condenses, 18.015/2.016 kg a kilogram of hydrogen, 2.44 MJ/kg
/// at 25 °C (IAPWS-IF97): 1 % of a coal's 32 MJ/kg is 1.5 % of hydrogen, and anthracite holds more.
constexpr double lowest_ratio = 1.01;
constexpr std::array<std::string_view, 4> hardly_hydrogen{"carbon monoxide", "coke",
                                                          "blast furnace", "converter gas"};

const std::string& words_of(const Factor& factor) {
    return factor.title.empty() ? factor.id : factor.title;
}

std::vector<std::string> addresses(const std::vector<const Factor*>& factors) {
    std::vector<std::string> names(factors.size());
    std::ranges::transform(factors, names.begin(),
                           [](const Factor* factor) { return factor->address(); });
    return names;
}

bool is_invented(const Factor& factor) {
    return mentions(factor.source.field("title"), {"invented"});
}

class Factors {
public:
    explicit Factors(CheckContext& check) : check_(check) {
        if (const auto years = years_of(check.model.period)) begin_ = years->from;
    }

    void run() {
        sources();
        ages();
        doubts();
        suppliers();
        ratings();
        for (const Factor* factor : check_.model.used_factors) {
            fuel_carbon(*factor);
            heating_values(*factor);
            magnitude(*factor);
            methane_of_freight(*factor);
            total_of_act(*factor);
        }
        characterizations();
        air_dry_paper();
    }

private:
    /// Used factors that meet a condition, those with the largest share of climate first.
    std::vector<const Factor*> those(const std::function<bool(const Factor&)>& condition) const {
        std::vector<const Factor*> found;
        for (const Factor* factor : check_.model.used_factors) {
            if (condition(*factor)) found.push_back(factor);
        }
        std::ranges::stable_sort(found, std::ranges::greater{},
                                 [&](const Factor* factor) { return check_.share_of(*factor); });
        return found;
    }

    void group(std::string code, const std::vector<const Factor*>& factors, std::string_view what,
               std::string hint) {
        if (factors.empty()) return;
        const double share = check_.share_of(factors);
        check_.add({std::move(code), factors.front()->place,
                    fmt::format("{} {}, {} % of climate: {}", counted(factors.size(), "factor"),
                                what, number(share), listed(addresses(factors))),
                    std::move(hint), share});
    }

    // --- sources ---
    void sources() {
        group(
            "factor-invented", those(is_invented), "invented",
            "for a demonstration only: a footprint that is filed needs published or measured ones");
        group("factor-unconfirmed", those([](const Factor& f) { return !f.confirmed; }),
              "not confirmed",
              "look the figures up in the source, then take `confirmed: false` away");
        scores();
        group("source-thin", those([](const Factor& f) {
                  return !is_invented(f) && !mentions(f.source.field("title"), {"by definition"}) &&
                         f.source.field("publisher").empty() && f.source.field("url").empty();
              }),
              "whose source names neither publisher nor address",
              "source: {title: ..., publisher: ..., year: ..., url: ...}");
        group("source-without-table",
              those([](const Factor& f) { return cites_act(f) && !names_place(f); }),
              "that cite an act without saying where in it",
              "source: {table: ...} or {page: ...}: one act holds several values for one thing, "
              "9.7 and 12.7 g CO2e/MJ upstream of gas in (EU) 2023/1185");
    }

    /// The set that turns scores into spreads.
    void scores() {
        const StudyModel& model = check_.model;
        const QualitySpread* set = model.tables.quality_spread(model.data_quality_spread);
        if (set == nullptr || set->confirmed) return;
        check_.add(
            {"scores-unconfirmed", model.data_quality_spread_place,
             fmt::format("{}: spreads of scores rest on numbers that are not confirmed", set->id),
             fmt::format("look them up in {}, then take `confirmed: no` away",
                         set->source.text())});
    }

    static bool cites_act(const Factor& factor) {
        return mentions(factor.source.field("title"),
                        {"(eu)", "regulation", "directive", "decision"});
    }
    static bool names_place(const Factor& factor) {
        return std::ranges::any_of(std::array{"table", "page", "chapter"}, [&](const char* key) {
            return !factor.source.field(key).empty();
        });
    }

    // --- age ---
    void ages() {
        if (begin_ == 0.0) return;
        const double oldest = check_.threshold("factor-outdated", oldest_years);
        auto old = those([&](const Factor& f) { return age(f.reference_period) > oldest; });
        if (!old.empty()) {
            std::vector<std::string> names;
            double worst = 0.0;
            for (const Factor* factor : old) {
                names.push_back(
                    fmt::format("{} ({})", factor->address(), factor->reference_period));
                worst = std::max(worst, age(factor->reference_period));
            }
            check_.add({"factor-outdated", old.front()->place,
                        fmt::format("{} with data that end more than {} years before the study's "
                                    "period, {} % of climate: {}",
                                    counted(old.size(), "factor"), number(oldest),
                                    number(check_.share_of(old)), listed(names)),
                        check_.limit("factor-outdated")
                            ? "a newer edition, or a note why the old one still holds"
                            : "above four years the time of a data set has the worst score (PACT "
                              "Methodology guide V3, 2026): a newer edition, or a note why the old "
                              "one holds",
                        worst});
        }
        group("factor-expired", those([&](const Factor& f) { return age(f.valid) >= 0.0; }),
              "no longer valid when the study's period begins",
              "take the edition that is valid in the period");
    }

    /// Years from the end of a period to the begin of the study's; below zero when it is unknown.
    double age(std::string_view period) const {
        const auto years = years_of(period);
        return years ? begin_ - years->to + 1e-9 : -1.0;
    }

    // --- what the factor says of itself ---
    void doubts() {
        group("factor-doubtful", those([](const Factor& f) {
                  return std::ranges::any_of(
                      f.data_quality, [](const auto& score) { return score.score >= poor_score; });
              }),
              "that rate their own data 4 or 5 of 5",
              "data of the supplier, or of the same technology and region");
    }

    // --- footprints of suppliers ---
    void suppliers() {
        group("supplier-deprecated",
              those([](const Factor& f) { return f.supplier.status == "deprecated"; }),
              "whose supplier has deprecated the footprint behind it",
              "ask for the footprint that came in its place");
        for (const Factor* factor :
             those([](const Factor& f) { return f.supplier.edition.starts_with("2."); }))
            second_edition(*factor);
        for (const Factor* factor : those([](const Factor& f) {
                 return !f.supplier.edition.starts_with("2.") && !f.supplier.not_carried.empty();
             }))
            check_.add({"supplier-not-carried", factor->place,
                        fmt::format("{} holds not all that the footprint behind it says: {}",
                                    factor->address(), factor->supplier.not_carried),
                        "say in the comment of a disclosure what a reader needs of it",
                        check_.share_of(*factor)});
    }

    /// Ratings count in disclosures alone.
    void ratings() {
        const auto& declared = check_.model.disclosure;
        const auto period = period_from(check_.model.period);
        if (!declared || !period) return;
        std::vector<std::string> names;
        const auto against = those([&](const Factor& f) {
            const auto found = contradicted_ratings(f, *declared, period->end);
            if (!found.empty())
                names.push_back(fmt::format("{} ({})", f.address(), fmt::join(found, "; ")));
            return !found.empty();
        });
        if (against.empty()) return;
        check_.add({"rating-contradicted", against.front()->place,
                    fmt::format("{} with ratings that something beside them contradicts, {} % of "
                                "climate: {}",
                                counted(against.size(), "factor"), number(check_.share_of(against)),
                                listed(names)),
                    std::string(rating_hint), check_.share_of(against)});
    }

    void second_edition(const Factor& factor) {
        const bool withdrawn = edition_of(factor) == Edition::withdrawn;
        const std::string& lost = factor.supplier.not_carried;
        check_.add({"supplier-second-edition", factor.place,
                    fmt::format(
                        "{} is from a footprint of edition {}{}{}", factor.address(),
                        factor.supplier.edition,
                        withdrawn ? ", withdrawn for what holds more than 5 % biogenic carbon" : "",
                        lost.empty() ? "" : "; not carried over: " + lost),
                    withdrawn
                        ? "no claim on bio-based products may rest on it: ask for one of the third "
                          "edition"
                        : "ask for one of the third edition",
                    check_.share_of(factor)});
    }

    // --- single figures ---
    void fuel_carbon(const Factor& factor) {
        if (factor.kind == nullptr || factor.kind->name != "fuel") return;
        if (mentions(words_of(factor), {"bio"})) return;
        const FactorEntry* gas = factor.entry("releases", "co2_fossil");
        const auto per = per_in(factor, "GJ LHV");
        const auto range = std::ranges::find_if(fuel_ranges, [&](const FuelRange& one) {
            return mentions(words_of(factor), one.words) || mentions(factor.id, one.words);
        });
        if (gas == nullptr || !per || range == fuel_ranges.end()) return;
        const double found = typed_in(gas->stated, "kg").value_or(0.0) / *per;
        if (found >= range->low && found <= range->high) return;
        check_.add(
            {"fuel-carbon", gas->stated.place(),
             fmt::format("{}: {} kg CO2/GJ LHV; published limits are {} to {} (IPCC 2006, volume "
                         "2, table 1.4, from memory)",
                         factor.address(), number(found), number(range->low), number(range->high)),
             "another fuel's value, the higher heating value, or CO2e in place of CO2", found});
    }

    /// Hydrogen has the highest ratio of a dry fuel, 141.8/120.0 (from memory); moist wood lies
    /// above it. The lowest are those of fuels that hardly hold hydrogen.
    void heating_values(const Factor& factor) {
        if (!factor.lhv || !factor.hhv) return;
        const auto factor_of = conversion(factor.hhv->unit(), factor.lhv->unit());
        if (!factor_of || factor.lhv->amount.quantity.value <= 0.0) return;
        const double ratio =
            factor_of->apply(factor.hhv->amount.quantity.value) / factor.lhv->amount.quantity.value;
        const bool moist = factor.entry("releases", "co2_biogenic") != nullptr;
        const bool without_hydrogen =
            mentions(words_of(factor), hardly_hydrogen) || mentions(factor.id, hardly_hydrogen);
        const bool too_far = ratio > 1.2 && !moist;
        const bool too_near = ratio < lowest_ratio && !without_hydrogen;
        if (!too_far && !too_near) return;  // the reader refuses a ratio below 1
        check_.add(
            {"heating-values", factor.hhv->place(),
             fmt::format("{}: the higher heating value is {} times the lower", factor.address(),
                         too_near ? fmt::format("{:.4f}", ratio) : number(ratio)),
             fmt::format("1.05 for coal and oil, 1.11 for natural gas (IPCC 2006, volume 2, "
                         "chapter 1), 1.18 for hydrogen; {}",
                         too_near ? "one may stand for both" : "the two may be exchanged"),
             ratio});
    }

    void magnitude(const Factor& factor) {
        const std::string_view kind = factor.kind == nullptr ? "" : factor.kind->name;
        if (kind != "fibre" && kind != "recovered_fibre" && kind != "packaging") return;
        if (factor.per->unit().dimension.without_basis() != dimensions::mass) return;
        const auto climate = climate_of(check_, factor);
        const auto base =
            conversion(factor.per->unit(),
                       known_unit(factor.per->unit().dimension.has_basis() ? "kg dry" : "kg"));
        if (!climate || !base) return;
        const double per_kg = *climate / base->apply(1.0);
        if (per_kg <= check_.threshold("factor-implausible", highest_of_factors)) return;
        check_.add(
            {"factor-implausible", factor.place,
             fmt::format("{}: {} kg CO2e for a kilogram of {}", factor.address(), number(per_kg),
                         kind),
             "a unit is wrong: kg printed for g has been seen (568 kg for a kilogram of tissue)",
             per_kg});
    }

    /// Engines slip grams of methane per kWh at most, a tenth of a kWh moves a t km. A
    /// transcription in circulation has 15 g per short ton-mile for lorries, beside 0.0017 g for
    /// rail.
    void methane_of_freight(const Factor& factor) {
        constexpr double most = 1.0;  // g per t km
        if (factor.kind == nullptr || factor.kind->name != "freight") return;
        const FactorEntry* gas = factor.entry("releases", "ch4_fossil");
        const auto per = per_in(factor, "t km");
        if (gas == nullptr || !per || *per <= 0.0) return;
        const double found = typed_in(gas->stated, "g").value_or(0.0) / *per;
        if (found <= most) return;
        check_.add({"freight-methane", gas->stated.place(),
                    fmt::format("{}: {} g of methane per t km; freight has less than {}",
                                factor.address(), number(found), number(most)),
                    "a unit is wrong: a transcription of a published table gives lorries 15 g per "
                    "short ton-mile, where rail beside it has 0.0017 g"});
    }

    /// Annex IX of (EU) 2022/996 prints 28 and 265 at its head; its totals close only with 25 and
    /// 298.
    void total_of_act(const Factor& factor) {
        const FactorEntry* total = factor.entry("climate", "total");
        if (total == nullptr || !mentions(factor.source.field("title"), {"2022/996"}) ||
            mentions(factor.characterization, {"ar4"}))
            return;
        check_.add(
            {"total-ignores-set", total->stated.place(),
             fmt::format(
                 "{}: totals of (EU) 2022/996, Annex IX, rest on CH4 25 and N2O 298, not on {}",
                 factor.address(), factor.characterization),
             "state the gases (releases) where the annex splits them, else characterization: "
             "ar4_100"});
    }

    // --- sets of warming potentials ---
    void characterizations() {
        const std::string& own = check_.model.characterization;
        std::map<std::string, std::vector<const Factor*>> by_set;
        for (const Factor* factor : those([&](const Factor& f) {
                 return !f.characterization.empty() && f.characterization != own;
             }))
            by_set[factor->characterization].push_back(factor);
        for (const auto& [set, factors] : by_set) {
            const double share = check_.share_of(factors);
            check_.add({"gwp-sets-mixed", factors.front()->place,
                        fmt::format("{} % of climate rest on {} in place of {}: {}", number(share),
                                    set, own, listed(addresses(factors))),
                        misspelt(set) + "factors in gases (releases) are weighed with the study's "
                                        "set; CO2e cannot be re-based",
                        share});
        }
    }

    /// A set that no file holds, and a letter more or less makes one that some file does: ar5_10.
    /// With another letter in its place, ar5_100 is no slip for ar6_100.
    std::string misspelt(const std::string& set) const {
        std::vector<std::string> near;
        for (const Characterization& known : check_.model.tables.characterizations) {
            if (known.id == set) return {};
            const bool is_longer = known.id.size() == set.size() + 1;
            if (!is_longer && known.id.size() + 1 != set.size()) continue;
            const std::string &longer = is_longer ? known.id : set,
                              &shorter = is_longer ? set : known.id;
            const auto apart = std::ranges::mismatch(shorter, longer);
            if (std::equal(apart.in1, shorter.end(), apart.in2 + 1, longer.end()))
                near.push_back(known.id);
        }
        return near.empty() ? "" : fmt::format("did you mean {}? else: ", fmt::join(near, " or "));
    }

    // --- air-dry paper ---
    void air_dry_paper() {
        const auto say = [&](Place place, const std::string& what) {
            check_.add({"air-dry-paper", place,
                        fmt::format("{} is counted in ADt: air-dry pulp is 90 % dry, air-dry paper "
                                    "of the EU's rules 94 %",
                                    what),
                        "t with a dryness, or t dry"});
        };
        for (const auto& mill : check_.model.mill_nodes) {
            for (const ProductNodes& product : mill->products) {
                const Stated& amount = product.made->amount;
                if (product.kind == "sheet" && amount.is_quantity() &&
                    amount.unit().text.find("ADt") != std::string::npos)
                    say(amount.place(), product.made->amount.address);
            }
        }
        for (const Factor* factor : check_.model.used_factors) {
            const bool paper = factor->kind != nullptr && factor->kind->name == "packaging";
            if (paper && factor->per->unit().text.find("ADt") != std::string::npos)
                say(factor->per->place(), factor->address());
        }
        if (check_.model.rules.declared_unit.find("ADt") != std::string::npos)
            say(check_.model.rules.place, "the declared unit of the rules");
    }

    CheckContext& check_;
    double begin_ = 0.0;  ///< of the study's period [years]
};

}  // namespace

void check_factors(CheckContext& check) { Factors(check).run(); }

}  // namespace deckle::checking
