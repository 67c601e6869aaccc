#include "engine/tables/factor_lines.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>

#include "engine/text/nearest.h"

namespace deckle {
namespace {

/// Which indicator a statement of a factor feeds, and in which unit. Gases have a table of their
/// own.
struct LineRow {
    std::string_view group, key, indicator;
    std::array<std::string_view, 2> units;  ///< the first that fits
    bool negative = false;
};
constexpr std::array line_rows{
    LineRow{"climate", "fossil", "climate_fossil", {"kg CO2e", "kg"}},
    LineRow{"climate", "total", "climate_fossil", {"kg CO2e", "kg"}},
    LineRow{"climate", "biogenic", "climate_biogenic", {"kg CO2e", "kg"}},
    LineRow{"climate", "land_use", "climate_land_use", {"kg CO2e", "kg"}},
    LineRow{"climate", "land_management", "climate_land_management", {"kg CO2e", "kg"}},
    LineRow{"climate", "removals", "climate_removals", {"kg CO2e", "kg"}, true},
    LineRow{"climate", "aircraft", "aircraft", {"kg CO2e", "kg"}},
    LineRow{"climate", "land_management_fossil", "land_management_fossil", {"kg CO2e", "kg"}},
    LineRow{"water", "withdrawn", "water_withdrawn", {"m3", "m3"}},
    LineRow{"water", "consumed", "water_consumed", {"m3", "m3"}},
    LineRow{"fibre", "", "fibre", {"kg", "kg dry"}},
    LineRow{"energy", "renewable", "energy_renewable", {"MJ", "MJ LHV"}},
    LineRow{"energy", "non_renewable", "energy_non_renewable", {"MJ", "MJ LHV"}},
    LineRow{"biogenic_carbon", "", "biogenic_carbon", {"kg", "kg dry"}},
    LineRow{"land_occupied", "", "land_occupied", {"m2 year", "m2 year"}},
};

/// Where a gas counts, by its suffix.
struct GasRow {
    std::string_view suffix, indicator;
};
constexpr std::array gas_rows{
    GasRow{"_fossil", "climate_fossil"},
    GasRow{"_biogenic", "climate_biogenic"},
    GasRow{"_land_use", "climate_land_use"},
    GasRow{"", "climate_fossil"},
};
constexpr std::size_t longest_chain = 32;  ///< factors that bring each other along in a row
constexpr std::size_t most_brought =
    1000;  ///< by one factor, those brought along counted each time
constexpr std::string_view biogenic_co2 = "co2_biogenic";

std::string_view gas_indicator(std::string_view gas) {
    for (const GasRow& row : gas_rows) {
        if (gas.ends_with(row.suffix)) return row.indicator;
    }
    return {};
}

}  // namespace

std::string per_text(std::string_view what, const Unit& per) {
    const bool several = per.terms.size() > 1;
    return several ? fmt::format("{}/({})", what, per.text) : fmt::format("{}/{}", what, per.text);
}

bool states_line(const Factor& factor, const Indicator& indicator) {
    if (factor.states("releases") && indicator.unit == "kg CO2e") return true;
    return std::ranges::any_of(factor.entries, [&](const FactorEntry& entry) {
        if (entry.group == "indicators" || entry.group == "discharges")
            return entry.key == indicator.id;
        return std::ranges::any_of(line_rows, [&](const LineRow& row) {
            return row.indicator == indicator.id && row.group == entry.group &&
                   row.key == entry.key;
        });
    });
}

/// Makes the nodes of one factor.
class FactorBook::Maker {
public:
    Maker(FactorBook& book, FactorNodes& nodes)
        : book_(book), build_(book.build_), nodes_(nodes), factor_(*nodes.factor) {}

    void make() {
        if (!factor_.per || factor_.kind == nullptr) return;  // reported by the reader
        nodes_.per = factor_.per->unit();
        add_bridges();
        for (const FactorEntry& entry : factor_.entries) add_entry(entry);
        add_scarcity();
        add_prices();
        add_uncovered();
        std::ranges::stable_sort(nodes_.lines, [&](const FactorLine& a, const FactorLine& b) {
            if (a.indicator != b.indicator) return a.indicator < b.indicator;
            return build_.graph.text_of(a.gas) < build_.graph.text_of(b.gas);
        });
        add_brought();
        if (!factor_.characterization.empty()) book_.gwp_sets_.insert(factor_.characterization);
    }

private:
    std::string citation() const { return factor_.source.text(); }

    IndicatorId indicator(std::string_view id) const { return book_.indicators_.index(id); }

    void add_bridges() {
        add_heating_value(factor_.lhv, "LHV", "heating value (LHV)");
        add_heating_value(factor_.hhv, "HHV", "heating value (HHV)");
        if (factor_.density)
            nodes_.bridges.push_back({build_.input(*factor_.density, {}, citation()), "density"});
        if (factor_.dryness)
            nodes_.bridges =
                joined(nodes_.bridges, build_.dryness(*factor_.dryness, {}, citation()));
    }

    /// A heating value is typed without its basis, since its key says it: the bridge carries the
    /// basis.
    void add_heating_value(const std::optional<Stated>& stated, std::string_view basis,
                           std::string_view name) {
        if (!stated) return;
        const Measure typed = build_.input(*stated, {}, citation());
        for (const std::string_view per : {"kg", "Nm3", "m3", "kg dry"}) {
            const auto plain =
                build_.in_unit(typed, known_unit(fmt::format("MJ/{}", per)), stated->place());
            if (!plain) continue;
            nodes_.bridges.push_back(
                {{plain->node, known_unit(fmt::format("MJ {}/{}", basis, per))}, name});
            return;
        }
        nodes_.bridges.push_back({typed, name});  // typed with its basis all the same
    }

    /// A statement of the factor per one unit of it: "1 g" of a factor per GJ is 1 g/GJ; under a
    /// `per` of several units it is divided by them.
    Measure per_one(const Stated& stated, bool is_co2e = false) {
        const Unit& typed = build_.standing(stated).unit();
        const Unit unit = is_co2e && typed.dimension == dimensions::mass
                              ? known_unit(typed.text + " CO2e")
                              : typed;
        const Quantity& per = factor_.per->amount.quantity;
        if (per.value == 1.0) return build_.input_as(stated, unit / per.unit, citation());
        const Measure divisor{build_.graph.constant(per.value, build_.text(per.unit.text),
                                                    build_.origin(factor_.per->place(), "per")),
                              per.unit};
        return build_.divide(build_.input_as(stated, unit, citation()), divisor,
                             "per one unit of the factor", stated.place());
    }

    /// The same in a unit of the indicator per unit of the factor; nullopt when it does not fit.
    std::optional<Measure> per_one_in(const Measure& measure, std::string_view unit, Place place) {
        return build_.in_unit(measure, known_unit(unit) / nodes_.per, place);
    }

    void push(IndicatorId id, NodeId value, std::string_view gas, bool one_number = false) {
        nodes_.lines.push_back({id, value, build_.text(gas), one_number});
    }

    void add_entry(const FactorEntry& entry) {
        const Place place = entry.stated.place();
        const Measure stated = per_one(entry.stated, entry.group == "climate");
        if (entry.group == "releases") {
            const auto mass = per_one_in(stated, "kg", place);
            if (auto line = book_.release(entry.key, *mass, place))
                push(line->indicator, line->value, entry.key);
            return;
        }
        if (entry.group == "indicators" || entry.group == "discharges") {
            const IndicatorId id = indicator(entry.key);
            push(id, per_one_in(stated, book_.indicators_.at(id).unit, place)->node, entry.key);
            return;
        }
        if (entry.group == "cost") return add_cost(stated, place);
        const auto row = std::ranges::find_if(line_rows, [&](const LineRow& r) {
            return r.group == entry.group && r.key == entry.key;
        });
        if (row == line_rows.end()) return;
        for (const std::string_view unit : row->units) {
            const auto amount = per_one_in(stated, unit, place);
            if (!amount) continue;
            NodeId node = amount->node;
            if (row->negative)
                node = build_.graph.make(Operation::negate, {node}, build_.text(amount->unit.text),
                                         build_.origin(place, "a removal counts below zero"));
            push(indicator(row->indicator), node, entry.key.empty() ? entry.group : entry.key,
                 entry.key == "total");
            return;
        }
    }

    void add_scarcity() {
        for (const FactorEntry& entry : factor_.entries) {
            if (entry.group != "water" || entry.key != "consumed") continue;
            const Place place = entry.stated.place();
            const WaterPart& part = factor_.waters[entry.water_part];
            const Measure weight =
                part.region.empty() ? Measure{} : book_.scarcity_weight(part.region, part.use);
            book_.check_region(part.region, part.place);
            if (!weight.known()) {
                if (entry.stated.amount.quantity.value > 0.0)
                    cover_nothing("water_scarcity", false);
                continue;
            }
            const Measure consumed = *per_one_in(per_one(entry.stated), "m3", place);
            const NodeId value = build_.graph.make(
                Operation::product, {consumed.node, weight.node},
                build_.text(per_text("m3 world-eq", nodes_.per)),
                build_.origin(place, "scarcity = water consumed × factor of the region"));
            push(indicator("water_scarcity"), value, part.region);
        }
    }

    /// A thing without a marginal price costs as much at the margin as elsewhere.
    void add_prices() {
        const Prices* list = book_.choice_.prices;
        if (list == nullptr) return;
        add_price(list->prices, Indicators::cost);
        if (list->marginal.empty()) return;
        const bool own = std::ranges::any_of(list->marginal, [&](const Prices::Price& price) {
            return book_.find(price.factor, price.place) == &factor_;
        });
        add_price(own ? list->marginal : list->prices, Indicators::marginal_cost);
    }

    void add_price(const std::vector<Prices::Price>& prices, std::string_view cost) {
        for (const Prices::Price& price : prices) {
            if (book_.find(price.factor, price.place) != &factor_) continue;
            const Stated& stated = build_.standing(price.stated);
            const std::string& currency = book_.indicators_.at(indicator(cost)).unit;
            const auto per = build_.across(build_.input(price.stated),
                                           known_unit(per_text(currency, nodes_.per)),
                                           nodes_.bridges, stated.place());
            if (per) {
                nodes_.lines.push_back({indicator(cost), per->node, build_.text("price"), false});
            } else if (stated.unit().dimension.money() != known_unit(currency).dimension.money()) {
                add_wrong_currency("price", stated.place());
            } else {
                build_.problems.add(
                    stated.place(), "wrong-unit",
                    fmt::format("the price of {} does not fit its unit {}", factor_.id,
                                nodes_.per.text),
                    fmt::format("for example 38 {}", per_text(currency, nodes_.per)));
            }
        }
    }

    void add_cost(const Measure& stated, Place place) {
        const IndicatorId cost = indicator("cost");
        const auto parsed = parse_unit(book_.indicators_.at(cost).unit);
        const auto amount =
            parsed.unit ? build_.in_unit(stated, *parsed.unit / nodes_.per, place) : std::nullopt;
        if (amount) push(cost, amount->node, "cost");
        else add_wrong_currency("cost", place);
    }

    /// The study's currency is that of its price list, else of the first cost of a factor.
    void add_wrong_currency(std::string_view what, Place place) {
        std::vector<Place> first;
        if (const Prices* list = book_.choice_.prices; list != nullptr && !list->prices.empty())
            first.push_back(list->prices.front().stated.place());
        build_.problems.add(place, "wrong-currency",
                            fmt::format("the {} of {} is not in the study's currency {}", what,
                                        factor_.id, book_.indicators_.at(indicator("cost")).unit),
                            "two currencies, and two years of one, do not add", std::move(first));
    }

    bool has_line(std::string_view id) const {
        return std::ranges::any_of(
            nodes_.lines, [&](const FactorLine& line) { return line.indicator == indicator(id); });
    }

    /// Several waters cover a line only when each of them states it.
    bool every_water_states(std::string_view key) const {
        const auto stated = std::ranges::count_if(factor_.entries, [&](const FactorEntry& entry) {
            return entry.group == "water" && entry.key == key;
        });
        return stated > 0 && static_cast<std::size_t>(stated) >= factor_.waters.size();
    }

    void cover_nothing(std::string_view id, bool line_only) {
        const IndicatorId index = indicator(id);
        const NodeId zero =
            book_.uncovered(factor_.address(), index, line_only, nodes_.per, factor_.place);
        const TextId gas = build_.text("not covered");
        const bool there =
            std::ranges::any_of(nodes_.lines, [&](const FactorLine& l) { return l.value == zero; });
        if (!there) nodes_.lines.push_back({index, zero, gas, false});
    }

    /// Expected and unstated: a constant 0 that the result can tell from a real one.
    void add_uncovered() {
        const KindRow& kind = *factor_.kind;
        const bool gases = factor_.states("releases");
        const bool total = factor_.entry("climate", "total") != nullptr;
        if (!gases) {
            for (const std::string_view line : {"fossil", "biogenic", "land_use"}) {
                const bool stated =
                    factor_.entry("climate", line) != nullptr || (total && line == "fossil");
                if (!stated) cover_nothing(fmt::format("climate_{}", line), total);
            }
        }
        if (book_.choice_.land_management_expected &&
            factor_.entry("climate", "land_management") == nullptr && !gases) {
            cover_nothing("climate_land_management", total);
        }
        if (kind.water) {
            if (!every_water_states("withdrawn")) cover_nothing("water_withdrawn", false);
            if (!every_water_states("consumed")) {
                cover_nothing("water_consumed", false);
                cover_nothing("water_scarcity", false);
            }
        }
        if (kind.fibre && !has_line("fibre")) cover_nothing("fibre", false);
        if (kind.energy) {
            for (const std::string_view id : {"energy_renewable", "energy_non_renewable"}) {
                if (!has_line(id)) cover_nothing(id, false);
            }
        }
        if (book_.choice_.prices == nullptr) return;
        if (!has_line(Indicators::cost)) cover_nothing(Indicators::cost, false);
        if (!book_.choice_.prices->marginal.empty() && !has_line(Indicators::marginal_cost))
            cover_nothing(Indicators::marginal_cost, false);
    }

    void add_brought() {
        std::vector<const Brought*> sorted;
        sorted.reserve(factor_.brings.size());
        for (const Brought& one : factor_.brings) sorted.push_back(&one);
        std::ranges::sort(sorted, {}, &Brought::factor);
        for (const Brought* each : sorted) {
            const Brought& one = *each;
            const Factor* other = book_.find(one.factor, one.place);
            if (other == nullptr) {
                build_.problems.add(one.place, "unknown-factor",
                                    fmt::format("there is no factor {}", one.factor),
                                    book_.tables_.meant(one.factor));
                continue;
            }
            if (std::ranges::find(book_.in_progress_, other) != book_.in_progress_.end()) {
                build_.problems.add(one.place, "circular-brings",
                                    fmt::format("{} brings itself along", other->id),
                                    "take one of the links out");
                continue;
            }
            if (book_.in_progress_.size() > longest_chain) {
                too_much(one.place,
                         fmt::format("more than {} factors bring each other along in a row",
                                     longest_chain));
                continue;
            }
            const FactorNodes& nodes = book_.nodes(*other);
            nodes_.reach += nodes.reach;
            if (nodes_.reach > most_brought) {
                too_much(one.place, fmt::format("{} brings more than {} others along", factor_.id,
                                                most_brought));
                return;
            }
            const Measure stated = per_one(one.stated);
            const Unit per_unit = nodes.per / nodes_.per;
            const auto amount =
                build_.across(stated, per_unit, joined(nodes_.bridges, nodes.bridges), one.place);
            if (!amount) {
                build_.problems.add(
                    one.stated.place(), "wrong-unit",
                    fmt::format("{} is per {}, not per {}", other->id, nodes.per.dimension.text(),
                                one.stated.unit().dimension.text()),
                    fmt::format("for example 1 {}", nodes.per.text));
                continue;
            }
            nodes_.brings.push_back({&nodes, *amount});
        }
    }

    void too_much(Place place, std::string message) {
        build_.problems.add(place, "brings-too-much", std::move(message),
                            "state the sum as one factor with its source");
    }

    FactorBook& book_;
    Build& build_;
    FactorNodes& nodes_;
    const Factor& factor_;
};

FactorBook::FactorBook(Build& build, const Tables& tables, const Indicators& indicators,
                       TableChoice choice)
    : build_(build), tables_(tables), indicators_(indicators), choice_(std::move(choice)) {}

const Factor* FactorBook::find(std::string_view reference, Place place) {
    if (const auto alias = choice_.stands_for.find(reference); alias != choice_.stands_for.end())
        reference = alias->second;
    const auto found = tables_.find(reference);
    if (found.empty()) return nullptr;
    if (found.size() > 1) {
        std::vector<std::string> names;
        std::vector<Place> places;
        for (const Factor* factor : found) {
            names.push_back(factor->address());
            places.push_back(factor->place);
        }
        build_.problems.add(place, "ambiguous-factor",
                            fmt::format("{} stands in several tables", reference),
                            fmt::format("write {}", fmt::join(names, " or ")), std::move(places));
    }
    return found.front();
}

const FactorNodes& FactorBook::nodes(const Factor& factor) {
    auto& slot = made_[&factor];
    if (slot) return *slot;
    slot = std::make_unique<FactorNodes>();
    FactorNodes& nodes = *slot;
    nodes.factor = &factor;
    used_.push_back(&factor);
    in_progress_.push_back(&factor);
    Maker(*this, nodes).make();
    in_progress_.pop_back();
    return nodes;
}

void FactorBook::check_region(std::string_view region, Place place) {
    const Scarcity* set = choice_.scarcity;
    if (set == nullptr || region.empty() || set->knows_region(region)) return;
    std::vector<std::string> names;
    for (const auto& one : set->weights) names.push_back(one.region);
    build_.problems.add(place, "unknown-region",
                        fmt::format("{} has no region {}", set->id, region),
                        did_you_mean(region, names));
}

Measure FactorBook::scarcity_weight(std::string_view region, std::string_view use) {
    if (choice_.scarcity == nullptr) return {};
    const std::string_view wanted = use.empty() ? std::string_view("non_agricultural") : use;
    const auto* weight = choice_.scarcity->weight(region, wanted);
    return weight == nullptr ? Measure{} : build_.input(weight->weight);
}

Measure FactorBook::carbon_price() {
    const Prices* list = choice_.prices;
    if (list == nullptr || !list->carbon_price) return {};
    const Stated& stated = build_.standing(*list->carbon_price);
    const Unit per_co2e = known_unit(indicators_.at(indicators_.index(Indicators::cost)).unit) /
                          known_unit("kg CO2e");
    const Measure typed = build_.input(*list->carbon_price);
    if (auto price = build_.in_unit(typed, per_co2e, stated.place())) return *price;
    // "75 EUR_2025/t": of CO2, and so of CO2e
    const Unit per_mass =
        known_unit(indicators_.at(indicators_.index(Indicators::cost)).unit) / known_unit("kg");
    if (auto price = build_.in_unit(typed, per_mass, stated.place()))
        return {price->node, per_co2e};
    build_.problems.add(stated.place(), "wrong-unit",
                        fmt::format("a carbon price is money per mass of CO2, in {}",
                                    indicators_.at(indicators_.index(Indicators::cost)).unit),
                        "for example 75 EUR_2025/t");
    return {};
}

const Stated* FactorBook::free_allocation(std::string_view process) const {
    if (choice_.prices == nullptr) return nullptr;
    for (const Prices::Price& one : choice_.prices->free_allocation) {
        if (one.factor == process) return &one.stated;
    }
    return nullptr;
}

std::vector<IndicatorId> FactorBook::costs() const {
    std::vector<IndicatorId> costs{indicators_.index(Indicators::cost)};
    if (choice_.prices != nullptr && !choice_.prices->marginal.empty())
        costs.push_back(indicators_.index(Indicators::marginal_cost));
    return costs;
}

NodeId FactorBook::uncovered(std::string_view subject, IndicatorId indicator, bool line_only,
                             const Unit& per, Place place) {
    const Indicator& line = indicators_.at(indicator);
    const std::string rule = fmt::format("not covered: {} of {}", line.id, subject);
    const NodeId zero = build_.graph.constant(0.0, build_.text(per_text(line.unit, per)),
                                              build_.origin(place, rule));
    build_.graph.mark_not_covered({zero, build_.text(subject), build_.text(line.id), line_only});
    return zero;
}

std::optional<FactorLine> FactorBook::release(std::string_view gas, const Measure& mass,
                                              Place place) {
    if (gas == biogenic_co2)
        return FactorLine{indicators_.index("biogenic_co2_released"), mass.node, build_.text(gas),
                          false};
    if (choice_.characterization == nullptr) return std::nullopt;  // reported with the study
    const auto* weight = choice_.characterization->gas(gas);
    if (weight == nullptr) {
        std::vector<std::string> names, origins;
        for (const auto& known : choice_.characterization->gases) {
            names.push_back(known.id);
            if (known.id.starts_with(fmt::format("{}_", gas))) origins.push_back(known.id);
        }
        const std::string near =
            origins.empty() ? did_you_mean(gas, names)
                            : fmt::format("say its origin: {}", fmt::join(origins, " or "));
        build_.problems.add(
            place, "unknown-gas",
            fmt::format("{} does not weigh the gas {}", choice_.characterization->id, gas),
            near.empty() ? "add it to the characterization table with its source" : near);
        return std::nullopt;
    }
    gwp_sets_.insert(choice_.characterization->id);
    const Unit& typed = weight->weight.unit();
    const Unit co2e =
        typed.dimension == dimensions::mass ? known_unit(typed.text + " CO2e") : typed;
    const Measure factor = *build_.in_unit(
        build_.input_as(weight->weight, co2e / known_unit("kg"), weight->weight.source.text()),
        known_unit("kg CO2e/kg"), weight->weight.place());
    const NodeId value =
        build_.multiply(mass, factor, "CO2e = mass of gas × warming potential", place).node;
    return FactorLine{indicators_.index(gas_indicator(gas)), value, build_.text(gas), false};
}

}  // namespace deckle
