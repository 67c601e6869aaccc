#include <fmt/format.h>

#include <algorithm>
#include <iterator>
#include <vector>

#include "engine/analysis/check_parts.h"

namespace deckle::checking {
namespace {

/// A range of published figures. What a source gives is not what a mill must do: outside it a
/// reader asks.
struct PublishedRange {
    std::string_view code, what, unit;
    double low, high;
    std::string_view source;
};

// Dryness into the dryer [%], from the water driven off: e = s_out / s_in - 1 (mass balance of the
// fibre).
constexpr PublishedRange dryness_in{
    "range-evaporation",
    "dryness into the dryer",
    "%",
    24.0,
    46.0,
    "24 to 32 % into through-air dryers (A. Tysen, Aticelca 2018), up to 46 "
    "% after presses (from memory)"};
constexpr double lowest_pressed_dryness = 36.0,
                 highest_through_air_dryness = 32.0;  // [%], same sources

// Heat for a tonne at the reel, stock preparation and machine, on the lower heating value [GJ/t].
constexpr PublishedRange heat_pressed{
    "range-heat",
    "heat",
    "GJ/t",
    4.5,
    7.5,
    "about 1300 kWh/t (Ciambellotti et al., J. Cleaner Production 495, 2025, 145014, read to the "
    "nearest 100), 5.2 to 7.4 (Reczulski et al., Energies 16, 2023, 3738), 5.5 to 7.5 (EU "
    "reference document 2001, from memory)"};
constexpr PublishedRange heat_through_air{
    "range-heat",
    "heat",
    "GJ/t",
    4.9,
    13.3,
    "4.9 without any loss (calculated from 32 % dryness), 10.8 (EU Ecolabel 2019/70, from memory), "
    "13.3 in an academic model of a through-air dryer (The Clean Heat Climate Opportunity, "
    "appendix, 2025)"};
constexpr PublishedRange heat_recovered{
    "range-heat",
    "heat",
    "GJ/t",
    4.5,
    12.0,
    "7 to 12 with deinking (EU reference document 2001, from memory), 4.5 and more without"};

// Heat for water driven off [MJ/kg]: below 2.42 water does not evaporate (IAPWS-IF97, 60 to 100
// degC).
constexpr PublishedRange heat_per_water{
    "range-heat-per-water",
    "heat for water driven off",
    "MJ/kg",
    2.42,
    5.4,
    "2.42 without loss (IAPWS-IF97, 60 to 100 degC), 3.4 to 5.4 from published mills (Ciambellotti "
    "et al. 2025, Reczulski et al. 2023, at 40 to 42 % dryness)"};

// Electricity for a tonne at the reel, stock preparation and machine [kWh/t].
constexpr PublishedRange power_pressed{
    "range-electricity",
    "electricity",
    "kWh/t",
    600.0,
    1100.0,
    "600 to 1100 (EU reference document 2001, from memory), 800 (Ciambellotti et al. 2025)"};
constexpr PublishedRange power_through_air{
    "range-electricity",
    "electricity",
    "kWh/t",
    600.0,
    1500.0,
    "600 (EU reference document 2001, from memory) to 1500 (EU "
    "Ecolabel 2019/70, structured tissue, from memory)"};
constexpr PublishedRange power_recovered{
    "range-electricity",
    "electricity",
    "kWh/t",
    600.0,
    1400.0,
    "1200 to 1400 with deinking, 600 and more without (EU reference document 2001, from memory)"};

// Water given back for a tonne at the reel [m3/t].
constexpr PublishedRange effluent_virgin{
    "range-effluent",
    "water given back",
    "m3/t",
    3.5,
    20.0,
    "BAT 5 of Decision 2014/687/EU for non-integrated mills (from memory)"};
constexpr PublishedRange effluent_recovered{
    "range-effluent",
    "water given back",
    "m3/t",
    3.5,
    25.0,
    "BAT 5 of Decision 2014/687/EU, 10 to 25 with deinking, 3.5 and more without (from memory)"};

constexpr PublishedRange boiler{
    "range-boiler",
    "energy out for energy in",
    "%",
    80.0,
    105.0,
    "80 to 90 % with biomass, 92 to 95 % with gas, 105 % of the lower heating "
    "value condensing (from memory)"};
constexpr PublishedRange carbon_fraction{
    "range-carbon",
    "biogenic carbon in dry mass",
    "%",
    40.0,
    50.0,
    "bleached pulp 43 to 45 %, cellulose 44.45 %, mechanical pulp 48 "
    "to 50 %, paper 42 and more (from memory)"};
/// What a line of a mill needs for a tonne at the reel.
struct Reel {
    double tonnes = 0.0, dry_tonnes = 0.0;
    double heat_gj = 0.0, machine_heat_gj = 0.0, power_kwh = 0.0, vapour_m3 = 0.0,
           given_back_m3 = 0.0;
    bool recovered = false;
    void add(const Reel& run, double runs) {
        tonnes += runs * run.tonnes;
        dry_tonnes += runs * run.dry_tonnes;
        heat_gj += runs * run.heat_gj;
        machine_heat_gj += runs * run.machine_heat_gj;
        power_kwh += runs * run.power_kwh;
        vapour_m3 += runs * run.vapour_m3;
        given_back_m3 += runs * run.given_back_m3;
        recovered = recovered || run.recovered;
    }
    [[nodiscard]] double dryness() const { return dry_tonnes / tonnes; }
    /// s_in = s_out / (1 + e) [%]
    [[nodiscard]] double dryness_in() const {
        return 100.0 * dryness() / (1.0 + vapour_m3 / tonnes);
    }
};

class Ranges {
public:
    Ranges(const CheckContext& check, const MillNodes& mill,
           const std::function<bool(NodeId)>& matters)
        : check_(check), mill_(mill), matters_(matters) {}

    std::vector<RangeReading> run(const Assembly& assembly) {
        for (const ProcessNodes& process : mill_.processes) of_runs_.push_back(of_run(process));
        for (const MillScale& scale : scales_per_product(check_, assembly, mill_)) {
            if (matters(mill_.products[scale.product])) line(scale);
        }
        for (const ProcessNodes& process : mill_.processes) of_boiler(process);
        for (const ProductNodes& product : mill_.products) {
            if (matters(product)) of_carbon(product);
        }
        return std::move(readings_);
    }

private:
    [[nodiscard]] bool matters(const ProductNodes& product) const {
        for (IndicatorId id = 0; id < product.lines.count(); ++id) {
            const auto& views = product.lines.at(id);
            if (std::ranges::any_of(views,
                                    [&](NodeId node) { return node != no_node && matters_(node); }))
                return true;
        }
        return false;
    }

    void judge(const PublishedRange& range, double value, Place place, const std::string& of) {
        readings_.push_back({std::string(range.code), std::string(range.what), of, value, {}});
        const bool above_limit = value > check_.threshold(range.code, value);
        if (value >= range.low && value <= range.high && !above_limit) return;
        readings_.back().outside = check_.finding(
            {std::string(range.code), place,
             fmt::format("{}: {} of {} {}, published: {} to {}", of, range.what, number(value),
                         range.unit, number(range.low), number(range.high)),
             fmt::format("{}. Check meters and units; else say in a note what is different",
                         range.source),
             value});
    }

    // --- a line: stock preparation and machine, by stage ---
    void line(const MillScale& scale) {
        const Reel reel = reel_of(scale);
        if (reel.tonnes <= 0.0) return;
        const Place place = mill_.products[scale.product].made->place;
        const std::string of = fmt::format("{}, for {}", mill_.mill->id, scale.per);
        const bool knows_water = reel.vapour_m3 > 0.0 && reel.dry_tonnes > 0.0;
        if (knows_water) judge(dryness_in, reel.dryness_in(), place, of);
        if (reel.heat_gj > 0.0) {
            if (const PublishedRange* range = heat_range(reel))
                judge(*range, reel.heat_gj / reel.tonnes, place, of);
            if (reel.vapour_m3 > 0.0)
                judge(heat_per_water, reel.machine_heat_gj / reel.vapour_m3, place, of);
        }
        if (const PublishedRange* range = power_range(reel);
            range != nullptr && reel.power_kwh > 0.0)
            judge(*range, reel.power_kwh / reel.tonnes, place, of);
        if (reel.given_back_m3 > 0.0)
            judge(reel.recovered ? effluent_recovered : effluent_virgin,
                  reel.given_back_m3 / reel.tonnes, place, of);
    }

    /// Between pressed and through-air sheets no open source gives a figure: nothing is judged
    /// there.
    static const PublishedRange* by_dryness(const Reel& reel, const PublishedRange& pressed,
                                            const PublishedRange& through_air,
                                            const PublishedRange& recovered) {
        const bool known = reel.vapour_m3 > 0.0 && reel.dry_tonnes > 0.0;
        if (!known || reel.dryness_in() >= lowest_pressed_dryness)
            return reel.recovered ? &recovered : &pressed;
        return reel.dryness_in() <= highest_through_air_dryness ? &through_air : nullptr;
    }
    static const PublishedRange* heat_range(const Reel& reel) {
        return by_dryness(reel, heat_pressed, heat_through_air, heat_recovered);
    }
    static const PublishedRange* power_range(const Reel& reel) {
        return by_dryness(reel, power_pressed, power_through_air, power_recovered);
    }

    Reel reel_of(const MillScale& scale) const {
        Reel reel;
        for (std::size_t p = 0; p < of_runs_.size(); ++p) {
            if (scale.runs[p] != 0.0) reel.add(of_runs_[p], scale.runs[p]);
        }
        return reel;
    }

    /// What one run of a process adds.
    Reel of_run(const ProcessNodes& process) const {
        Reel run;
        for (const auto& flow : process.gives_back) {
            if (flow.flow->purpose.empty() && flow.water->from != "sea")
                run.given_back_m3 += check_.value(flow.amount);
        }
        if (process.process->stage != "papermaking") return run;
        run.tonnes = sheet_of(process, "t");
        run.dry_tonnes = sheet_of(process, "t dry");
        run.heat_gj = energy_of(process, Family::heat) + energy_of(process, Family::fuel);
        run.power_kwh = energy_of(process, Family::electricity) / 0.0036;
        run.recovered = std::ranges::any_of(process.uses, [](const ResolvedUse& use) {
            return use.factor != nullptr && use.factor->kind != nullptr &&
                   use.factor->kind->name == "recovered_fibre";
        });
        if (run.tonnes == 0.0) return run;
        run.machine_heat_gj = run.heat_gj;
        for (const auto& [what, amount] : process.leaves) {
            if (what->name == "vapour") run.vapour_m3 += check_.value(amount);
        }
        return run;
    }

    double sheet_of(const ProcessNodes& process, std::string_view unit) const {
        double sum = 0.0;
        for (const std::size_t p : process.products) {
            const ProductNodes& product = mill_.products[p];
            if (product.kind == "sheet")
                sum += in_unit(check_, product.typed, unit, product.bridges).value_or(0.0);
        }
        return sum;
    }

    /// Heat, fuel (lower heating value) or electricity used [GJ].
    double energy_of(const ProcessNodes& process, Family family) const {
        double sum = 0.0;
        for (const ResolvedUse& use : process.uses) {
            if (use.family != family) continue;
            const auto lower = in_unit(check_, use.amount, "GJ LHV", use.bridges);
            sum += lower ? *lower : in_unit(check_, use.amount, "GJ").value_or(0.0);
        }
        return sum;
    }

    // --- boilers, carbon ---
    void of_boiler(const ProcessNodes& process) {
        const bool burns = std::ranges::any_of(
            process.uses, [](const ResolvedUse& use) { return use.family == Family::fuel; });
        const bool makes_heat = process.products.size() == 1 &&
                                mill_.products[process.products[0]].family == Family::heat;
        if (!burns || !makes_heat || !matters(mill_.products[process.products[0]])) return;
        const auto flows = flows_of(check_, BalanceKind::energy, mill_, process);
        if (!flows || !flows->missing.empty() || flows->in() <= 0.0) return;
        judge(boiler, 100.0 * flows->out() / flows->in(), process.process->place,
              process.process->address());
    }

    void of_carbon(const ProductNodes& product) {
        if (product.family != Family::fibre || !product.made->carbon ||
            !states_carbon(check_, product))
            return;
        const auto dry = in_unit(check_, product.amount, "kg dry", product.bridges);
        if (!dry || *dry <= 0.0) return;
        const double share =
            100.0 * check_.at.value[product.carbon] * check_.value(product.amount) / *dry;
        judge(carbon_fraction, share, product.made->carbon->place, product.made->amount.address);
    }

    const CheckContext& check_;
    const MillNodes& mill_;
    const std::function<bool(NodeId)>& matters_;
    std::vector<Reel> of_runs_;  ///< one a process
    std::vector<RangeReading> readings_;
};

}  // namespace

std::vector<RangeReading> readings_of(const CheckContext& check, const Assembly& assembly,
                                      const std::function<bool(NodeId)>& matters) {
    std::vector<RangeReading> all;
    for (const auto& mill : assembly.mill_nodes)
        std::ranges::move(Ranges(check, *mill, matters).run(assembly), std::back_inserter(all));
    return all;
}

void check_ranges(CheckContext& check) {
    const auto all = [](NodeId) { return true; };
    std::vector<std::string> said;  // of today: a scenario's mill that stays as it is adds nothing
    for (RangeReading& one : readings_of(check, check.model, all)) {
        if (!one.outside) continue;
        said.push_back(one.outside->message);
        check.report.findings.push_back(std::move(*one.outside));
    }
    for (const Scenario& scenario : check.study.scenarios) {
        for (RangeReading& one : readings_of(check, *scenario.assembly, all)) {
            if (!one.outside || std::ranges::find(said, one.outside->message) != said.end())
                continue;
            one.outside->message = said_of(scenario.id, std::move(one.outside->message));
            check.report.findings.push_back(std::move(*one.outside));
        }
    }
}

}  // namespace deckle::checking
