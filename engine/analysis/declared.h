// What the declaration of a product says in figures: its results per declared unit, how much of
// them rests on primary data, how well the data fit, which sources and sets of warming potentials
// stand behind them. All of it are walks over the burdens of results (breakout.h).
#pragma once

#include <array>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "engine/analysis/breakout.h"
#include "engine/analysis/data_rows.h"
#include "engine/analysis/data_sheet.h"
#include "engine/study/coverage.h"
#include "engine/study/disclosure.h"
#include "engine/study/study.h"

namespace deckle {

inline constexpr std::size_t most_inputs = 10;

struct DeclaredLine {
    std::string indicator, unit;
    double value = 0.0;  ///< per declared unit
    Coverage coverage = Coverage::complete;
    Bound bound = Bound::exact;
    bool one_number = false;

    /// Of what is known in part, 0 would say that there is none.
    [[nodiscard]] bool says_nothing() const {
        return coverage == Coverage::not_covered ||
               (coverage == Coverage::at_least && value == 0.0);
    }
};

struct DeclaredSource {
    std::string name, version;
    friend bool operator==(const DeclaredSource&, const DeclaredSource&) = default;
};

/// The ten elements that the paper trade tells a carbon footprint in (Cepi framework, 2017).
/// 1 forest, 2 carbon in the product, 3 own plants, 4 fibre, 5 other materials and fuel supply,
/// 6 bought energy, 7 transport, 8 use, 9 end of life, 10 avoided emissions.
inline constexpr std::size_t element_count = 10;

/// An input and how the footprint follows it.
struct DeclaredInput {
    std::string address, title;
    double elasticity = 0.0;  ///< % of the footprint for 1 % of it
    double share = 0.0;       ///< of the first-order variance
};

/// A supplier's footprint of the second edition that the product rests on.
struct EarlierEdition {
    const Factor* factor = nullptr;
    Edition says = Edition::bears;
};

/// What a supplier leaves out of the footprint behind a factor, as it states it.
struct LeftOutBySupplier {
    const Factor* factor = nullptr;
    double own = 0.0;   ///< of the supplier's footprint [%]
    double part = 0.0;  ///< of the product's, by the factor's part in it [%]
};

/// How a process with several products shares its burdens.
struct DeclaredAllocation {
    std::string process, title, method, reason;
    std::string path;                   ///< of value_ratio, in words; "" for other methods
    std::optional<double> value_ratio;  ///< highest to lowest value of its products, all it makes
};

struct DeclaredFigures {
    std::string scenario;  ///< "" is what was made
    const DeclaredProduct* product = nullptr;
    const Subject* subject = nullptr;
    const Verification* verification = nullptr;  ///< of what was made; of a scenario none
    std::string per;     ///< of the results that stand behind it: "t", "t_with_core", "roll"
    double scale = 1.0;  ///< declared units in one of these
    double mass = 1.0;   ///< product in the declared unit [kg]
    Period period{};
    /// The footprint without uptake, with what the model counts in it whatever the rules of the
    /// study do: land removals [kg CO2e per declared unit].
    double total = 0.0;
    Coverage coverage = Coverage::complete;  ///< of `total`
    std::vector<DeclaredLine> lines;
    std::optional<double> packaging, outbound;  ///< [kg CO2e]; none where there is none
    std::optional<double> other_view;           ///< `total` in the other view of electricity
    std::vector<DataRow> rows;                  ///< largest part first
    double primary_share = 0.0;                 ///< [%]
    std::array<double, rating_count> ratings{};
    std::optional<double> left_out;  ///< sum of the highest plausible shares [%]; none: silent
    std::vector<LeftOutBySupplier> left_out_by_suppliers;
    std::vector<EarlierEdition> earlier_editions;
    std::vector<std::string> sets;      ///< of potentials, by their ids: "ar6_100"
    std::vector<std::string> reports;   ///< IPCC reports of the potentials: "AR6"
    double standard_uncertainty = 0.0;  ///< of `total`, first order [kg CO2e per declared unit]
    std::size_t inputs = 0, with_spread = 0;  ///< that it rests on
    std::vector<DeclaredInput> largest;       ///< by elasticity, at most `most_inputs`
    std::vector<DeclaredSource> sources;
    std::vector<DeclaredAllocation> allocations;
    std::vector<const Grid*> grids;  ///< that electricity behind it comes from
    Breakout stages;                 ///< of `total`; its values per unit of `per`
    std::vector<std::string> gases;  ///< what the footprint counts: "ch4_fossil"
    double own_processes = 0.0;      ///< released by the company's own processes [kg CO2e]
    std::array<double, element_count + 1> elements{};  ///< 3 to 7 [kg CO2e]
    std::vector<SheetLine> sheet;
    std::vector<std::string> composition;  ///< "fibre 94.55 %"
    std::vector<FibrePart> fibres;         ///< the largest first
    std::vector<std::string> processes;    ///< "energy: Gas-fired steam boilers; Switchboard"

    [[nodiscard]] const DeclaredLine* line(std::string_view indicator) const;
    /// Its value, or 0 where it has no result.
    [[nodiscard]] double value(std::string_view indicator) const;
    /// What suppliers leave out, and with it all that is [%].
    [[nodiscard]] double left_out_before() const;
    [[nodiscard]] double left_out_in_all() const;
    /// More than 5 % biogenic carbon, or not all of it stated.
    [[nodiscard]] bool is_bio_based() const;
};

/// The products a study declares, or those asked for, in the order of the study: as they were made,
/// or as they would be in a scenario, where amounts that it changes are no primary data.
/// Errors: InputError no-disclosure, undeclared-product, bad-period, wrong-declared-unit,
/// unknown-potentials, no-biogenic-carbon, no-fossil-carbon, not-added-up, unknown-product,
/// second-edition.
[[nodiscard]] std::vector<DeclaredFigures> declared_figures(const Study& study,
                                                            const Evaluation& at,
                                                            const std::vector<std::string>& of,
                                                            std::string_view scenario = {});

}  // namespace deckle
