#include <array>

#include "engine/analysis/check_parts.h"
#include "engine/analysis/check_traps.h"

namespace deckle {
namespace {

using checking::CodeRow;

/// In the order in which findings are told: what cannot be true, what does not close, what counts
/// twice, what is doubtful, what lacks a ground. "%": of what the meaning names.
constexpr std::array rows{
    CodeRow{"energy-above-input",
            "an energy process gives more energy than comes in, in % of what comes in", "%"},
    CodeRow{"dry-mass-above-input",
            "a process makes more dry mass than comes in, in % of what comes in", "%"},
    CodeRow{"balance-water",
            "water that comes in and water that goes out differ, in % of what comes in", "%"},
    CodeRow{"balance-dry-solids",
            "dry mass that comes in and that goes out differ, in % of what comes in", "%"},
    CodeRow{"balance-energy",
            "losses found and losses stated differ, in % of the energy that comes in", "%"},
    CodeRow{"balance-biogenic-carbon",
            "biogenic carbon that comes in is neither in the products nor can be in the solids "
            "that leave, in % of what comes in",
            "%"},
    CodeRow{"loop-not-closed",
            "what goes back into a loop (broke, trim) is made and used in different amounts, in % "
            "of the larger",
            "%"},
    CodeRow{"return-unused", "something is returned and no process uses it", "-"},
    CodeRow{"allocation-path", "allocation: value_ratio says which method its rule leads to", "-"},
    CodeRow{"mix-scaled",
            "a scenario changes the demand on a mix and names no source that swings, so the mix is "
            "scaled as a whole",
            "-"},
    CodeRow{"marginal-price-kept",
            "a scenario changes a price and not the marginal price beside it, which measures are "
            "counted at",
            "-"},
    CodeRow{"co-product-use",
            "a process's products are used in another ratio than they are made, in % of the larger",
            "%"},
    CodeRow{
        "basin-receives-more",
        "a basin gets more water from the mill than the mill takes from it, in % of what is taken",
        "%"},
    CodeRow{"output-above-made",
            "the study's output needs more of a sheet than its mill makes, in % of what it makes",
            "%"},
    CodeRow{"packaging-unstated", "a consumer product says nothing of its packaging", "-"},

    CodeRow{"electricity-upstream-twice",
            "a life-cycle intensity of electricity has upstream burdens added to it", "-"},
    CodeRow{"stack-twice",
            "carbon dioxide typed as a release stands beside a fuel that brings its own", "-"},
    CodeRow{"supply-twice", "a use stands beside water taken in from a supply whose factor it is",
            "-"},
    CodeRow{"freight-twice", "freight is typed for something whose factor is for delivery", "-"},

    CodeRow{"climate-implausible",
            "a result above 20 kg CO2e for a kilogram of paper: a unit is wrong somewhere, in kg "
            "CO2e/kg",
            "kg CO2e/kg"},
    CodeRow{"factor-implausible",
            "a factor for fibre or packaging above 20 kg CO2e a kilogram: a unit is wrong, in kg "
            "CO2e/kg",
            "kg CO2e/kg"},
    CodeRow{"freight-methane", "freight above a gram of methane per t km: a unit is wrong", "-"},
    CodeRow{"fuel-carbon",
            "the carbon dioxide of a fuel lies outside the published limits for it, in kg/GJ LHV",
            "kg/GJ LHV"},
    CodeRow{"heating-values",
            "the higher heating value of a fuel is too far above the lower, or hardly above it",
            "1"},
    CodeRow{"grid-withdrawal",
            "water withdrawn for electricity above 100 L/kWh: it counts what passes hydro "
            "turbines, in L/kWh",
            "L/kWh"},
    CodeRow{"total-ignores-set",
            "totals of this source rest on other warming potentials than it states", "-"},
    CodeRow{"air-dry-paper", "paper counted in air-dry tonnes of pulp", "-"},
    CodeRow{"wound-above-caliper", "a sheet is wound thicker than its caliper, in % of the caliper",
            "%"},

    CodeRow{"gwp-sets-mixed",
            "part of a result rests on another set of warming potentials, in % of climate", "%"},
    CodeRow{"contract-without-certificate",
            "electricity by contract without a cancelled certificate counts as residual mix", "-"},
    CodeRow{"one-electricity-view",
            "a factor stands for electricity in a view for which the study names none", "-"},
    CodeRow{"grid-voltage",
            "the voltage or the place in the grid that an electricity factor is for does not fit a "
            "mill",
            "-"},
    CodeRow{"residual-mix-source", "a residual mix without its publisher's table and date", "-"},

    CodeRow{"exemptions-above-cut-off",
            "what is left out adds up to more than the rules allow, in % of climate", "%"},
    CodeRow{"exemption-not-added-up",
            "what is left out is typed per something that no product has results per", "-"},
    CodeRow{"exemption-without-rules", "something is left out and no rules say how much may be",
            "-"},
    CodeRow{"allocation-without-reason",
            "a process shares its burdens and does not say why in this way", "-"},
    CodeRow{"allocation-outside-rules",
            "a process shares its burdens by a method that the rules do not list", "-"},
    CodeRow{"indicator-not-covered", "an indicator of the rules is not covered, or only in part",
            "-"},
    CodeRow{"period-differs", "a mill's period is not the study's", "-"},

    CodeRow{"factor-unconfirmed",
            "figures that their table marks as not confirmed, in % of climate", "%"},
    CodeRow{"scores-unconfirmed",
            "spreads of data-quality scores by a set whose numbers are not confirmed", "-"},
    CodeRow{"factor-outdated", "data that end years before the study's period begins, in years",
            "year"},
    CodeRow{"factor-expired",
            "factors whose validity ended before the study's period begins, in % of climate", "%"},
    CodeRow{"supplier-deprecated",
            "factors whose supplier has deprecated the footprint behind them, in % of climate",
            "%"},
    CodeRow{"supplier-second-edition",
            "a factor from a supplier's footprint of the second edition, in % of climate", "%"},
    CodeRow{"supplier-not-carried",
            "what a supplier's footprint says and a factor cannot hold, in % of climate", "%"},
    CodeRow{"rating-contradicted",
            "ratings that what stands beside them contradicts, in % of climate", "%"},
    CodeRow{"factor-invented", "factors that are invented, in % of climate", "%"},
    CodeRow{"factor-doubtful",
            "factors that rate their own data poor (4 or 5 of 5), in % of climate", "%"},
    CodeRow{"source-thin",
            "factors whose source names no publisher and no address, in % of climate", "%"},
    CodeRow{"source-undated",
            "electricity factors without edition or day of retrieval: editions drift", "-"},
    CodeRow{"source-without-table",
            "factors that cite an act without the table: one act holds several values", "-"},

    CodeRow{"scarcity-use", "water scarcity by a use that is not a mill's", "-"},
    CodeRow{"scarcity-region", "water scarcity of a whole country where its parts are known", "-"},
    CodeRow{"scarcity-out-of-bounds", "a factor of AWARE outside 0.1 to 100", "-"},
    CodeRow{"scarcity-annual", "annual scarcity factors do not see the season", "-"},

    CodeRow{"range-evaporation",
            "dryness into the dryer, from the water driven off, outside published machines", "%"},
    CodeRow{"range-heat", "heat for a tonne at the reel outside published mills, in GJ/t", "GJ/t"},
    CodeRow{"range-heat-per-water",
            "heat for a kilogram of water driven off outside published machines, in MJ/kg",
            "MJ/kg"},
    CodeRow{"range-electricity",
            "electricity for a tonne at the reel outside published mills, in kWh/t", "kWh/t"},
    CodeRow{"range-effluent",
            "water given back for a tonne at the reel outside published mills, in m3/t", "m3/t"},
    CodeRow{"range-boiler", "energy out of a boiler for energy in outside published boilers, in %",
            "%"},
    CodeRow{"range-carbon",
            "biogenic carbon in the dry mass of a product outside published fibres, in %", "%"},
    CodeRow{"range-grammage", "grammage of a ply outside what tissue has, in g/m2", "g/m2"},
    CodeRow{"range-climate", "climate of a tonne of tissue outside published studies, in kg CO2e/t",
            "kg CO2e/t"},

    CodeRow{"amount-unstated",
            "amounts of a mill that do not say how they are known, the largest in % of climate",
            "%"},
    CodeRow{"amount-estimated", "amounts of a mill that are estimated, the largest in % of climate",
            "%"},

    CodeRow{"losses-unstated",
            "an energy process with losses that it does not state, in % of what comes in", "%"},
    CodeRow{"ambient-heat",
            "heat that a heat pump takes from its surroundings, in % of what comes in", "%"},
    CodeRow{"carbon-in-solids",
            "biogenic carbon that only the solids that leave can hold, in % of what comes in", "%"},
    CodeRow{"balance-skipped", "a balance that cannot be drawn up, and what is missing", "-"},
};

constexpr auto told = [] {
    std::array<CheckCode, rows.size()> codes{};
    for (std::size_t i = 0; i < rows.size(); ++i) codes[i] = {rows[i].code, rows[i].meaning};
    return codes;
}();

constexpr std::array traps{
    Trap{1, "one data set gives other values in each edition", "source-undated", ""},
    Trap{2, "a life-cycle intensity of electricity with an upstream factor on top",
         "electricity-upstream-twice", ""},
    Trap{3, "a transcription gives residual fuel oil the carbon of gas oil", "fuel-carbon", ""},
    Trap{3, "a transcription gives lorries thousands of times the methane of rail",
         "freight-methane", ""},
    Trap{4, "kg printed for g: 568 kg CO2e for a kilogram of tissue", "climate-implausible", ""},
    Trap{5, "a printed result that its printed inputs do not give", "",
         "a factor is stated in gases or as CO2e, never both (an error of reading), so results are "
         "always recomputed from what is typed"},
    Trap{6, "decimals that a publisher calculated with and did not print", "",
         "numbers are kept as typed; how far printed figures can agree is a matter of tolerances "
         "in tests, not of a study"},
    Trap{7, "lower and higher heating value mixed up", "heating-values", ""},
    Trap{8, "CO2e that rests on outdated warming potentials", "gwp-sets-mixed", ""},
    Trap{11,
         "a country's scarcity factor for unspecified use, where non-agricultural use has another",
         "scarcity-use", ""},
    Trap{12, "a country's mean scarcity hides its states and basins", "scarcity-region", ""},
    Trap{13, "an annual scarcity factor hides the season", "scarcity-annual", ""},
    Trap{14, "withdrawal for grid electricity that counts the water through hydro turbines",
         "grid-withdrawal", ""},
    Trap{15, "residual mixes at second hand that disagree", "residual-mix-source", ""},
    Trap{16, "kWh for a tonne of what: slurry, dry, air-dry", "",
         "the unit says it: t, t dry and ADt never turn into one another without a dryness, and a "
         "wrong basis is an error of reading"},
    Trap{17, "once-through drying air makes a dryer model need three times the heat",
         "range-heat-per-water", ""},
    Trap{18, "virgin against recycled fibre has no fixed sign", "",
         "nothing here ranks fibres: each has the factor that the user gives it"},
    Trap{19, "statistics of tissue use per person contradict each other", "",
         "no file of a study holds a figure per person, and no result rests on one"},
    Trap{20, "totals that ignore the warming potentials printed at their head", "total-ignores-set",
         ""},
    Trap{21, "one act, two values for the upstream of gas", "source-without-table", ""},
    Trap{22, "air-dry is 90 % for pulp and 94 % for paper", "air-dry-paper", ""},
    Trap{23, "the EU benchmark for tissue leaves out through-air-dried tissue and converting", "",
         "no result is held against that benchmark, so none can be held against it wrongly"},
    Trap{24, "electricity as produced, or as used at a voltage that is not the mill's",
         "grid-voltage", ""},
};

}  // namespace

std::span<const CodeRow> checking::code_rows() noexcept { return rows; }
std::span<const CheckCode> check_codes() noexcept { return told; }
std::span<const Trap> known_traps() noexcept { return traps; }

}  // namespace deckle
