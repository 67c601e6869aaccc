// The data behind a declared footprint, a row a use of a factor or a release: whether it is
// primary, and how well it fits in technology, geography and time. Formulas and the matrix of
// ratings: PACT, How-to Guide to its Methodology V3 (2 February 2026).
#pragma once

#include <array>
#include <set>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "engine/analysis/breakout.h"
#include "engine/study/disclosure.h"
#include "engine/study/study.h"

namespace deckle {

struct ConsumerNodes;
struct Factor;
struct Grid;

/// sum(|weight| × value) / sum(|weight|): the share of primary data and each rating. 0 of nothing.
[[nodiscard]] double weighted_mean(std::span<const double> weights, std::span<const double> values);

/// How well a data set fits: 1 best, 5 worst or unknown.
enum class Rating : std::uint8_t { technology, geography, time };
inline constexpr std::size_t rating_count = 3;
/// Time by the days between the end of the reference period of a data set and that of the
/// footprint: up to 366, 731, 1096, 1461 days, else 5. A data set that is younger counts as 1.
[[nodiscard]] int rating_of_time(std::string_view period_of_data, Instant end_of_footprint);
/// Geography of a data set's region against the place declared: the same country 1, of a country
/// that is rated by its subdivisions (places.h) the same subdivision 1 and the country 2, a region
/// that holds it 3, the world 4, else or unknown 5.
[[nodiscard]] int rating_of_place(std::string_view region_of_data, const Disclosure& declared);

/// One use of one factor, or one release of a process itself, with its part of the footprint.
struct DataRow {
    std::string process, use, factor;  ///< factor "" for own releases
    std::string process_title, factor_title;
    std::string stage, scope, source;
    int element = 0;             ///< of the trade's ten: 3 to 7 add up to the footprint
    double value = 0.0;          ///< of `total`, per declared unit [kg CO2e]
    double primary_share = 0.0;  ///< [%]
    std::string why;             ///< why the share is what it is
    bool primary_amount = false;
    /// metered, invoiced, calculated, estimated, planned in a scenario, or "" when unstated
    std::string amount_is;
    std::array<double, rating_count> ratings{5.0, 5.0, 5.0};
};

/// Of a product's footprint as a study's disclosure declares it, the largest first. `scale`:
/// burdens for one declared unit. `roll`: the consumer product, nullptr for one of a mill.
/// `end`: of the footprint's period. `planned`: amounts that a scenario changes or adds.
[[nodiscard]] std::vector<DataRow> data_rows(const Study& study, std::span<const Burden> burdens,
                                             double scale, const ConsumerNodes* roll, Instant end,
                                             const std::set<NodeId>& planned);

/// The grids that electricity behind burdens of the location-based view comes from.
[[nodiscard]] std::vector<const Grid*> grids_behind(const Study& study,
                                                    std::span<const Burden> by_location);

/// The factor of an address, nullptr for none or several.
[[nodiscard]] const Factor* factor_at(const Study& study, std::string_view address);
[[nodiscard]] bool is_fibre(const Factor* factor);

/// Whether a claim on a bio-based product may rest on a factor, by the edition of the supplier's
/// footprint behind it. The second was withdrawn for what holds more than 5 % biogenic carbon
/// (PACT, notice on Methodology V2).
enum class Edition : std::uint8_t {
    sound,      ///< no footprint of the second edition
    bears,      ///< of the second, but holds little biogenic carbon, or is no matter
    silent,     ///< of the second, and does not say how much it holds
    withdrawn,  ///< of the second, and holds more
};
[[nodiscard]] Edition edition_of(const Factor& factor);
/// Ratings typed for a factor that what stands beside them contradicts, in words: technology of 1
/// or 2 without primary data, a place or a time better than those of its data. `end`: of the
/// footprint's period.
inline constexpr std::string_view rating_hint =
    "1 the best, 5 unknown: 1 and 2 of technology are for primary data";
[[nodiscard]] std::vector<std::string> contradicted_ratings(const Factor& factor,
                                                            const Disclosure& declared,
                                                            Instant end);

/// Above it a product is bio-based: biogenic carbon in its mass [%].
inline constexpr double most_biogenic = 5.0;

}  // namespace deckle
