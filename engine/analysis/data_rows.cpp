#include "engine/analysis/data_rows.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <tuple>

#include "engine/analysis/asked.h"
#include "engine/analysis/check_parts.h"
#include "engine/declaration/places.h"
#include "engine/study/model.h"

namespace deckle {
namespace {

constexpr std::array<int, 4> days_of_rating{366, 731, 1096, 1461};
constexpr int unknown_rating = 5;
constexpr std::string_view planned_amount = "planned";

bool states_primary(std::string_view amount_is) {
    return amount_is == "metered" || amount_is == "invoiced" || amount_is == "calculated";
}

class RowMaker {
public:
    RowMaker(const Study& study, const ConsumerNodes* roll, Instant end,
             const std::set<NodeId>& planned)
        : study_(study), roll_(roll), end_(end), planned_(planned) {}

    std::vector<DataRow> run(std::span<const Burden> burdens, double scale) const {
        std::vector<DataRow> rows;
        std::map<std::tuple<TextId, TextId, TextId>, std::size_t> index;
        for (const Burden& burden : burdens) {
            const Tag& tag = burden.tag;
            const auto [found, is_new] =
                index.try_emplace({tag.process, tag.use, tag.factor}, rows.size());
            if (is_new) rows.push_back(row_of(burden));
            rows[found->second].value += burden.value / scale;
        }
        std::ranges::stable_sort(rows, [](const DataRow& a, const DataRow& b) {
            return std::abs(a.value) > std::abs(b.value);
        });
        return rows;
    }

private:
    DataRow row_of(const Burden& burden) const {
        const Tag& tag = burden.tag;
        const Graph& graph = study_.graph;
        DataRow row;
        row.process = graph.text_of(tag.process);
        row.use = graph.text_of(tag.use);
        row.factor = graph.text_of(tag.factor);
        row.stage = graph.text_of(tag.stage);
        row.scope = graph.text_of(tag.scope);
        row.amount_is = planned_.contains(burden.amount) ? std::string(planned_amount)
                                                         : amount_is(row, graph.text_of(tag.gas));
        row.primary_amount = states_primary(row.amount_is);
        const Factor* factor = factor_at(study_, row.factor);
        settle_share(row, factor);
        settle_ratings(row, factor);
        row.element = element_of(row, factor);
        row.process_title = title_of(study_, row.process + ".");
        if (row.process_title.empty()) row.process_title = row.process;
        if (factor != nullptr) {
            row.source = factor->source.text();
            row.factor_title = factor->title;
        }
        return row;
    }

    /// What is said of the amount that was typed; what closes a balance is calculated.
    std::string amount_is(const DataRow& row, const std::string& gas) const {
        std::vector<std::string> places{row.process + ".uses." + row.use,
                                        row.process + ".takes_in." + row.use,
                                        row.process + ".glue." + row.use};
        if (row.factor.empty()) places = {row.process + ".releases." + gas};
        if (row.use == "core") places.push_back(row.process + ".core.mass");
        if (roll_ != nullptr) {
            for (const PackingLevel& level : roll_->product->packed)
                places.push_back(
                    fmt::format("{}.packed.{}.uses.{}", row.process, level.name, row.use));
        }
        for (const std::string& place : places) {
            const NodeId node = study_.graph.find(place);
            if (node == no_node) continue;
            if (study_.graph.operation(node) != Operation::input) return "calculated";
            return study_.graph.text_of(
                study_.graph.inputs()[study_.graph.payload(node)].amount_is);
        }
        return "calculated";
    }

    /// All of a direct emission of the own site, the supplier's share of what has one, else none.
    static void settle_share(DataRow& row, const Factor* factor) {
        const bool released =
            factor == nullptr ||
            (factor->kind != nullptr && factor->kind->scope == ScopeRule::where_released);
        if (!row.primary_amount) {
            row.why = row.amount_is.empty()             ? "amount not said to be measured"
                      : row.amount_is == planned_amount ? "amount of a scenario"
                                                        : "amount estimated";
        } else if (released && row.scope == "1") {
            row.primary_share = 100.0;
            row.why = "released on the own site";
        } else if (factor != nullptr && factor->primary_share) {
            row.primary_share = checking::typed_in(*factor->primary_share, "%").value_or(0.0);
            row.why = "as the supplier states";
        } else {
            row.why = "secondary factor";
        }
    }

    void settle_ratings(DataRow& row, const Factor* factor) const {
        if (factor == nullptr) {  // the plant's own data of the period
            const double technology = row.primary_amount ? 1.0 : unknown_rating;
            row.ratings = {technology, 1.0, 1.0};
            return;
        }
        row.ratings = {
            unknown_rating,
            static_cast<double>(rating_of_place(factor->region, *study_.model->disclosure)),
            static_cast<double>(rating_of_time(factor->reference_period, end_))};
        if (factor->supplier.ratings.size() == rating_count)
            std::ranges::copy(factor->supplier.ratings, row.ratings.begin());
        constexpr std::array<std::string_view, rating_count> criteria{"technology", "geography",
                                                                      "time"};
        for (const Score& score : factor->data_quality) {
            for (std::size_t k = 0; k < rating_count; ++k) {
                if (score.criterion == criteria[k]) row.ratings[k] = score.score;
            }
        }
    }

    /// Released at the own plants 3; else by the kind of what is bought.
    static int element_of(const DataRow& row, const Factor* factor) {
        constexpr int plants = 3, fibre = 4, others = 5, energy = 6, transport = 7;
        if (factor == nullptr || row.scope == "1") return plants;
        if (is_fibre(factor)) return fibre;
        if (factor->kind->stage == "inbound") return transport;
        return factor->kind->scope == ScopeRule::bought_energy ? energy : others;
    }

    const Study& study_;
    const ConsumerNodes* roll_;
    Instant end_;
    const std::set<NodeId>& planned_;
};

}  // namespace

double weighted_mean(std::span<const double> weights, std::span<const double> values) {
    double sum = 0.0, all = 0.0;
    for (std::size_t i = 0; i < weights.size(); ++i) {
        sum += std::abs(weights[i]) * values[i];
        all += std::abs(weights[i]);
    }
    return all == 0.0 ? 0.0 : sum / all;
}

int rating_of_time(std::string_view period_of_data, Instant end_of_footprint) {
    const auto period = period_from(period_of_data);
    if (!period) return unknown_rating;
    const auto days = std::chrono::floor<std::chrono::days>(end_of_footprint - period->end).count();
    const auto found = std::ranges::find_if(days_of_rating, [&](int most) { return days <= most; });
    return static_cast<int>(found - days_of_rating.begin()) + 1;
}

int rating_of_place(std::string_view region_of_data, const Disclosure& declared) {
    const std::string data = place_id(region_of_data);
    if (data.empty()) return unknown_rating;
    if (data == "world" || data == "global") return 4;
    if (!declared.subdivision.empty() && data == place_id(declared.subdivision)) return 1;
    const std::string country =
        declared.country.empty() ? declared.subdivision.substr(0, 2) : declared.country;
    const bool same =
        !country.empty() && (data == place_id(country) || country_code(region_of_data) == country);
    if (same) return is_rated_by_subdivision(country) ? 2 : 1;
    const bool around = region_holds(region_of_data, country) ||
                        (!declared.region.empty() && data == place_id(declared.region));
    return around ? 3 : unknown_rating;
}

bool is_fibre(const Factor* factor) {
    return factor != nullptr && factor->kind != nullptr && factor->kind->family == Family::fibre;
}

Edition edition_of(const Factor& factor) {
    if (!factor.supplier.edition.starts_with("2.")) return Edition::sound;
    const FactorEntry* carbon = factor.entry("biogenic_carbon");
    const auto held = carbon == nullptr ? std::nullopt : checking::typed_in(carbon->stated, "kg");
    const auto mass = checking::per_in(factor, "kg");
    if (held && *held == 0.0) return Edition::bears;
    if (held && mass)
        return 100.0 * *held > most_biogenic * *mass ? Edition::withdrawn : Edition::bears;
    if (held || mass || factor.kind == nullptr || factor.kind->family == Family::fuel)
        return Edition::silent;
    constexpr std::array<std::string_view, 3> no_matter{"kWh", "t km", "h"};
    const bool is_matter = std::ranges::none_of(no_matter, [&](std::string_view unit) {
        return checking::per_in(factor, unit).has_value();
    });
    return is_matter ? Edition::silent : Edition::bears;
}

std::vector<std::string> contradicted_ratings(const Factor& factor, const Disclosure& declared,
                                              Instant end) {
    constexpr int worst_of_primary = 2;
    std::vector<std::string> found;
    const auto primary =
        factor.primary_share ? checking::typed_in(*factor.primary_share, "%") : std::nullopt;
    const int place = rating_of_place(factor.region, declared),
              time = rating_of_time(factor.reference_period, end);
    for (const Score& score : factor.data_quality) {
        if (score.criterion == "technology" && score.score <= worst_of_primary &&
            primary.value_or(0.0) <= 0.0)
            found.push_back(fmt::format("technology {} without primary data", score.score));
        if (score.criterion == "geography" && place < unknown_rating && score.score < place)
            found.push_back(fmt::format("geography {} for data of {}, which is {}", score.score,
                                        factor.region, place));
        if (score.criterion == "time" && !factor.reference_period.empty() && score.score < time)
            found.push_back(fmt::format("time {} for data of {}, which is {}", score.score,
                                        factor.reference_period, time));
    }
    return found;
}

const Factor* factor_at(const Study& study, std::string_view address) {
    const auto found =
        address.empty() ? std::vector<const Factor*>{} : study.model->tables.find(address);
    return found.size() == 1 ? found.front() : nullptr;
}

std::vector<const Grid*> grids_behind(const Study& study, std::span<const Burden> by_location) {
    std::set<const Factor*> behind;
    for (const Burden& burden : by_location)
        behind.insert(factor_at(study, study.graph.text_of(burden.tag.factor)));
    std::vector<const Grid*> grids;
    for (const Grid& grid : study.model->grids) {
        const Factor* stands =
            factor_at(study, grid.location.empty() ? grid.factor : grid.location);
        if (stands != nullptr && behind.contains(stands)) grids.push_back(&grid);
    }
    return grids;
}

std::vector<DataRow> data_rows(const Study& study, std::span<const Burden> burdens, double scale,
                               const ConsumerNodes* roll, Instant end,
                               const std::set<NodeId>& planned) {
    return RowMaker(study, roll, end, planned).run(burdens, scale);
}

}  // namespace deckle
