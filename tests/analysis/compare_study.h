// Small studies of the tests of comparisons, whose figures follow by hand, and what is asked of
// them.
#pragma once

#include <string>
#include <vector>

#include "engine/analysis/compare.h"
#include "tests/study/memory_study.h"

namespace deckle::test {

inline const std::string weights =
    "characterization: w\ntitle: W\nsource: {title: By hand, year: 2026}\n"
    "gases: {co2_fossil: 1 kg}\n";
inline const std::string factors = R"(table: f
title: Factors by hand
source: {title: By hand, year: 2026}
factors:
  gas: {title: Gas, kind: fuel, per: 1 GJ LHV, releases: {co2_fossil: 56 kg}, water: {withdrawn: 0 L, consumed: 0 L}}
  power: {title: Power, kind: electricity, per: 1 kWh, climate: {fossil: 0.2 kg, biogenic: 0 kg, land_use: 0 kg, characterization: w}, water: {withdrawn: 0 L, consumed: 0 L}}
  fresh: {title: Fresh water that does not return, kind: water_supply, per: 1 m3, climate: {fossil: 0 kg, biogenic: 0 kg, land_use: 0 kg, characterization: w}, water: {withdrawn: 1 m3, consumed: 1 m3}}
  pulp: {title: Pulp, kind: fibre, per: 1 t dry, climate: {fossil: 400 kg, biogenic: 0 kg, land_use: 0 kg, characterization: w}, water: {withdrawn: 20 m3, consumed: 2 m3}, fibre: 1 t}
)";
inline const std::string prices = R"(prices: p
title: Prices by hand
gas: 10 EUR_2025/GJ LHV
power: 0.1 EUR_2025/kWh
pulp: 600 EUR_2025/t dry
carbon_price: 80 EUR_2025/t
free_allocation: {m.boiler: 0.02 t/GJ}
marginal: {gas: 8 EUR_2025/GJ LHV}
)";
inline const std::string mill = R"(mill: m
title: A mill (invented)
processes:
  boiler: {stage: energy, makes: {steam: {amount: 9 GJ, kind: heat}}, uses: {gas: 10 GJ LHV}}
  machine: {stage: papermaking, makes: {sheet: {amount: 1 t, dryness: 95 %}}, uses: {steam: 4.5 GJ, power: 1000 kWh, pulp: 0.95 t dry}}
)";
inline const std::string scenarios = R"(scenarios:
  electric:
    title: The boiler's heat by power
    changes:
      - {shifts: {from: m.boiler.uses.gas, to: power, useful_heat: all, efficiency: {from: 90 %, to: 99 %}}, reason: by hand}
  under_market:
    title: Market-based electricity
    changes: [{rule: electricity, is: market, reason: by hand}]
)";

/// The study file, `more` behind it.
[[nodiscard]] std::string head(const std::string& more);

/// A towel of one ply of the mill's sheet, with its absorbency in g/g; `method` "" states none.
[[nodiscard]] std::string towel(const std::string& id, const std::string& absorbency,
                                const std::string& method = "one method",
                                const std::string& dryness = "95 %");

/// The mill in a study with `more` in its head and these files beside it.
[[nodiscard]] MemoryStudy of_mill(const std::string& more, const MemoryStudy::Texts& files);
[[nodiscard]] MemoryStudy mill_with_scenarios(const std::string& scenarios);
/// The mill with products of its sheet, each a line of YAML.
[[nodiscard]] MemoryStudy with_products(const std::string& products);

/// Asks for products at an equal function ("absorbed_water", "roll_diameter", "day"); by all
/// indicators where none is named.
[[nodiscard]] ComparisonQuestion at_equal(std::string function, std::vector<std::string> products,
                                          std::vector<std::string> indicators = {});

[[nodiscard]] const ComparedFigure& figure(const Compared& all, std::size_t row,
                                           const std::string& id);

/// Of the first problem a comparison is refused with; "" where it is not.
[[nodiscard]] std::string code_of(const MemoryStudy& study, const ComparisonQuestion& question);

}  // namespace deckle::test
