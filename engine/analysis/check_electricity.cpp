#include <fmt/format.h>

#include <algorithm>
#include <set>

#include "engine/analysis/check_parts.h"
#include "engine/study/study_head.h"

namespace deckle::checking {
namespace {

constexpr double most_withdrawn_l_per_kwh =
    100.0;  // above it a figure counts the water through hydro turbines

bool is_electricity(const Factor& factor) {
    return factor.kind != nullptr && factor.kind->family == Family::electricity;
}

/// All that a factor says of itself in words.
std::string all_words_of(const Factor& factor) {
    return fmt::format("{} {} {} {}", factor.id, factor.title, factor.note,
                       factor.source.field("title"));
}

bool is_life_cycle(const Factor& factor) {
    return mentions(all_words_of(factor),
                    {"life cycle", "upstream included", "including upstream"});
}

/// A factor with climate above zero that it brings along, or nullptr.
const Factor* upstream_of(const CheckContext& check, const Factor& factor) {
    for (const Brought& brought : factor.brings) {
        for (const Factor* other : check.model.tables.find(brought.factor)) {
            if (climate_of(check, *other).value_or(0.0) > 0.0) return other;
        }
    }
    return nullptr;
}

class Electricity {
public:
    explicit Electricity(CheckContext& check) : check_(check) {}

    void run() {
        for (const Factor* factor : check_.model.used_factors) {
            if (!is_electricity(*factor)) continue;
            upstream_twice(*factor);
            withdrawal(*factor);
            place_in_grid(*factor);
            edition(*factor);
        }
        for (const auto& mill : check_.model.mill_nodes) {
            for (const ProcessNodes& process : mill->processes) upstream_beside(process);
        }
        residual_mixes();
        one_view();
    }

private:
    void upstream_twice(const Factor& factor) {
        const Factor* upstream = is_life_cycle(factor) ? upstream_of(check_, factor) : nullptr;
        if (upstream == nullptr) return;
        check_.add({"electricity-upstream-twice", factor.place,
                    fmt::format("{} is a life-cycle intensity and brings {} along besides",
                                factor.address(), upstream->address()),
                    "take the link out: upstream is inside already"});
    }

    /// A life-cycle intensity with a supply per kWh typed beside it in the same process.
    void upstream_beside(const ProcessNodes& process) {
        const auto used = [&](const auto& condition) {
            return std::ranges::find_if(process.uses, [&](const ResolvedUse& use) {
                return use.factor != nullptr && condition(*use.factor);
            });
        };
        const auto power =
            used([](const Factor& f) { return is_electricity(f) && is_life_cycle(f); });
        const auto supply = used([&](const Factor& f) {
            return f.kind->name == "fuel_supply" &&
                   f.per->unit().dimension == dimensions::energy() &&
                   climate_of(check_, f).value_or(0.0) > 0.0;
        });
        if (power == process.uses.end() || supply == process.uses.end()) return;
        check_.add(
            {"electricity-upstream-twice", supply->use->place,
             fmt::format("{}: {} stands beside {}, a life-cycle intensity",
                         process.process->address(), supply->use->name, power->factor->address()),
             "take this line out: upstream is inside already"});
    }

    void withdrawal(const Factor& factor) {
        const FactorEntry* withdrawn = factor.entry("water", "withdrawn");
        const auto per = per_in(factor, "kWh");
        if (withdrawn == nullptr || !per) return;
        const double litres = typed_in(withdrawn->stated, "L").value_or(0.0) / *per;
        if (litres <= check_.threshold("grid-withdrawal", most_withdrawn_l_per_kwh)) return;
        check_.add({"grid-withdrawal", withdrawn->stated.place(),
                    fmt::format("{}: {} L withdrawn for a kWh", factor.address(), number(litres)),
                    "above about 100 L/kWh a figure counts what passes hydro turbines (Austria 14 "
                    "148 withdrawn, 5.72 consumed: WRI guidance 2020); leave withdrawn out, or "
                    "state it without",
                    litres});
    }

    /// A mill is fed at high or medium voltage; what is generated still has the losses of the grid
    /// before it.
    void place_in_grid(const Factor& factor) {
        const std::string title = factor.id + " " + factor.title;
        if (mentions(title, {"low voltage"})) {
            check_.add({"grid-voltage", factor.place,
                        fmt::format("{} is for low voltage", factor.address()),
                        "a mill is fed at high or medium voltage: take the factor of that (EU27 in "
                        "2019: 295 and 298 against 308 g/kWh)"});
        } else if (mentions(title, {"produced", "generated", "generation"}) &&
                   upstream_of(check_, factor) == nullptr && !on_site(factor)) {
            check_.add({"grid-voltage", factor.place,
                        fmt::format("{} is for electricity as generated: losses and trade of the "
                                    "grid are not in it",
                                    factor.address()),
                        "take the factor of what is used at the mill's voltage (Austria in 2019: "
                        "153 produced, 240 used), or bring the losses along"});
        }
    }

    /// From a direct line or the mill's own plant only.
    bool on_site(const Factor& factor) const {
        bool direct = false, other = false;
        for (const auto& mill : check_.model.mill_nodes) {
            for (const ProcessNodes& process : mill->processes) {
                for (const ResolvedUse& use : process.uses) {
                    if (use.factor != &factor) continue;
                    const bool past_the_grid =
                        use.use->supply && (use.use->supply->kind == Supply::Kind::direct_line ||
                                            use.use->supply->kind == Supply::Kind::own);
                    (past_the_grid ? direct : other) = true;
                }
            }
        }
        return direct && !other;
    }

    void edition(const Factor& factor) {
        const Citation& source = factor.source;
        const bool published = !source.field("publisher").empty() || !source.field("url").empty();
        const bool act =
            mentions(source.field("title"), {"(eu)", "regulation", "directive", "decision"});
        if (!published || act || !source.field("edition").empty() ||
            !source.field("retrieved").empty())
            return;
        check_.add({"source-undated", factor.place,
                    fmt::format("{}: the source names neither edition nor day of retrieval",
                                factor.address()),
                    "editions of one data set differ (Germany 2023: 371, 365 and 363 g/kWh in "
                    "three): source: {edition: ..., retrieved: ...}"});
    }

    void residual_mixes() {
        for (const Grid& grid : check_.model.grids) {
            for (const Factor* factor : check_.model.tables.find(grid.residual)) {
                const Citation& source = factor->source;
                const bool where = !source.field("table").empty() || !source.field("page").empty();
                if (mentions(source.field("title"), {"invented"}) ||
                    (where && !source.field("publisher").empty()))
                    continue;
                check_.add(
                    {"residual-mix-source", factor->place,
                     fmt::format("{} is the residual mix of {} and its source names no {}",
                                 factor->address(), grid.factor, where ? "publisher" : "table"),
                     "residual mixes at second hand disagree (Italy 2024: 332 and 441 g/kWh): cite "
                     "the publisher's table with its date"});
            }
        }
    }

    void one_view() {
        const auto& stand_ins = check_.study.head.stand_ins;
        if (stand_ins.empty()) return;
        Place place = check_.model.place;
        for (const Factor* factor : check_.model.used_factors) {
            if (factor->address() == stand_ins.front().factor) place = factor->place;
        }
        std::vector<std::string> names;
        for (const ViewStandIn& one : stand_ins)
            names.push_back(fmt::format("{} for {}", one.factor, views_of(one)));
        check_.add({"one-electricity-view", place,
                    fmt::format("the study names no factor for a view of electricity, and what is "
                                "used stands in: {}",
                                listed(names)),
                    "grids: {GRID: {location: FACTOR, residual: FACTOR}} in the study"});
    }

    CheckContext& check_;
};

}  // namespace

void check_electricity(CheckContext& check) { Electricity(check).run(); }

}  // namespace deckle::checking
