// What the rules of `check` share: the study at hand, how much of a result rests on a factor,
// limits, and the list that findings go to. One source file a kind of rule; check.cpp runs them
// all. A namespace of its own, since its helpers have short names. Balances are arithmetic on
// values of the graph (amounts, shares, dryness); no result rests on them.
#pragma once

#include <functional>
#include <map>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "engine/analysis/check.h"
#include "engine/study/model.h"

namespace deckle::checking {

/// A row of the table of codes: what a finding means, and what it measures for a limit.
struct CodeRow {
    std::string_view code, meaning;
    std::string_view unit;  ///< of what is measured; "-" when nothing is, "1" for a plain number
};
[[nodiscard]] std::span<const CodeRow> code_rows() noexcept;

/// How often each process of a mill runs for what is asked, and what that makes and uses.
struct MillScale {
    const MillNodes* mill = nullptr;
    std::string per;                 ///< "1 t converted_tissue", "the study's output"
    std::vector<double> asked;       ///< of each product, in its unit
    std::vector<double> runs;        ///< of each process, in the amounts as typed
    std::vector<double> used;        ///< of each product by the mill's processes, in its unit
    std::size_t product = no_index;  ///< the one asked for; no_index for a whole output
};

/// The study under check, and the findings so far.
class CheckContext {
public:
    CheckContext(const Study& checked, const Evaluation& values, CheckReport& into);

    const Study& study;
    const StudyModel& model;
    const Evaluation& at;
    CheckReport& report;

    struct Said {
        std::string code;
        Place where;
        std::string message, hint;
        std::optional<double> measured = std::nullopt;  ///< in the unit of the code
    };
    /// Adds a finding with the limit that the study's rules set for its code.
    void add(Said said);
    /// The same, not added.
    [[nodiscard]] Finding finding(Said said) const;

    /// The limit of rules.limits for a code, in the unit of the code.
    [[nodiscard]] std::optional<double> limit(std::string_view code) const;
    /// The same, or what holds where the rules say nothing.
    [[nodiscard]] double threshold(std::string_view code, double otherwise) const;

    /// The result whose shares are told: climate of the whole output, else of the first product
    /// asked for.
    [[nodiscard]] const Result& main_result() const { return *main_; }
    /// Share of the main result that arises from a factor [%]; of several, their sum.
    [[nodiscard]] double share_of(const Factor& factor) const;
    [[nodiscard]] double share_of(std::span<const Factor* const> factors) const;

    /// Of each mill: scaled to one unit of each product asked for.
    [[nodiscard]] const std::vector<MillScale>& scales(const MillNodes& mill) const;

    [[nodiscard]] double value(const Measure& measure) const { return at.value[measure.node]; }

private:
    std::vector<std::vector<MillScale>> scales_;  ///< in the order of the study's mills
    const Result* main_ = nullptr;
    std::map<std::string, double, std::less<>> share_by_factor_;  ///< [%]
};

// --- values with their units (check_values.cpp) ---

/// A measure in another unit, over at most one use of each bridge; nullopt when no way leads there.
[[nodiscard]] std::optional<double> in_unit(const CheckContext& check, const Measure& measure,
                                            std::string_view unit,
                                            std::span<const Bridge> bridges = {});
/// A quantity as typed, in another unit; nullopt for formulas and other dimensions.
[[nodiscard]] std::optional<double> typed_in(const Stated& stated, std::string_view unit);
/// Highest plausible share of what is left out [%]: as typed, or of CO2e per one of `pers`, against
/// the climate of one [kg CO2e]; nullopt where it cannot be told.
[[nodiscard]] std::optional<double> share_left_out(
    const Stated& highest, std::span<const std::string> pers,
    const std::function<double(const std::string&)>& climate_per);
/// kg CO2e that one unit of a factor releases itself, without what it brings along; nullopt when it
/// says nothing of climate.
[[nodiscard]] std::optional<double> climate_of(const CheckContext& check, const Factor& factor);
/// One unit of a factor (its `per`) in another unit.
[[nodiscard]] std::optional<double> per_in(const Factor& factor, std::string_view unit);
/// "a, b, c and 4 more"
[[nodiscard]] std::string listed(const std::vector<std::string>& names, std::size_t most = 3);
/// "1 factor", "3 factors"
[[nodiscard]] std::string counted(std::size_t count, std::string_view thing);
/// Three significant digits, as every number that people read.
[[nodiscard]] std::string number(double value);
/// True when one of the words stands in a text, whatever its case.
[[nodiscard]] bool mentions(std::string_view text, std::initializer_list<std::string_view> words);
[[nodiscard]] bool mentions(std::string_view text, std::span<const std::string_view> words);
/// The years of a period as files state it: begin of the first day, end of the last, in years with
/// decimals. nullopt for none.
struct Years {
    double from, to;
};
[[nodiscard]] std::optional<Years> years_of(std::string_view period);

// --- a mill scaled to what is asked of it (check_scale.cpp) ---

/// One a product asked for: each sheet that consumer products are made of, else each product that
/// no process of the mill uses.
[[nodiscard]] std::vector<MillScale> scales_per_product(const CheckContext& check,
                                                        const Assembly& assembly,
                                                        const MillNodes& mill);
/// For the study's whole output; nullopt when it asks for nothing of this mill.
[[nodiscard]] std::optional<MillScale> scale_of_output(const CheckContext& check,
                                                       const MillNodes& mill);

// --- what comes in and goes out (check_flows.cpp) ---

enum class BalanceKind : std::uint8_t { water, energy, dry_solids, biogenic_carbon };

/// One flow of a process, in the unit of its balance (m3, GJ, kg dry, kg C): above zero in, below
/// out.
struct Flow {
    std::string
        thing;  ///< id of what the mill itself makes or returns; "" across the mill's boundary
    double amount;
    bool solids = false;  ///< dry matter that is no product: to the effluent, to waste
};
struct Flows {
    std::vector<Flow> all;
    std::string missing;  ///< why the balance cannot be drawn up; "" when it can
    [[nodiscard]] double in() const;
    [[nodiscard]] double out() const;
    [[nodiscard]] double solids() const;
};

/// The flows of a process; nullopt when the balance does not concern it.
[[nodiscard]] std::optional<Flows> flows_of(const CheckContext& check, BalanceKind kind,
                                            const MillNodes& mill, const ProcessNodes& process);
/// Whether what a product is made of says how much carbon it holds.
[[nodiscard]] bool states_carbon(const CheckContext& check, const ProductNodes& product);
/// "kg dry"
[[nodiscard]] std::string_view unit_of(BalanceKind kind) noexcept;
/// "dry_solids"
[[nodiscard]] std::string_view name_of(BalanceKind kind) noexcept;

// --- the rules, by idea ---

void check_balances(CheckContext& check);
void check_mixes(CheckContext& check);   ///< loops, co-products, returns, basins
void check_ranges(CheckContext& check);  ///< mills, of scenarios too, against published ranges
/// Of one assembly; see range_readings of check.h.
[[nodiscard]] std::vector<RangeReading> readings_of(const CheckContext& check,
                                                    const Assembly& assembly,
                                                    const std::function<bool(NodeId)>& matters);
void check_factors(CheckContext& check);      ///< sources, age, confirmation, doubtful figures
void check_products(CheckContext& check);     ///< results and rolls of consumer products
void check_electricity(CheckContext& check);  ///< grids, voltage, upstream, residual mixes
void check_double_counting(CheckContext& check);
void check_scarcity(CheckContext& check);
void check_rules(CheckContext& check);    ///< exemptions, allocation, periods, coverage
void check_amounts(CheckContext& check);  ///< how amounts are known

}  // namespace deckle::checking
