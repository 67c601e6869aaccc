// A whole study from memory, one of its files replaced by any bytes: loading ends in a graph that
// can be evaluated, in InputError or in NoAnswer, and in nothing else. The input's first byte says
// which file. The other files are a small study with a loop, a rest, a co-product process, steam
// and a roll.
#include <algorithm>
#include <array>
#include <cmath>
#include <cstddef>
#include <cstdint>
#include <cstdlib>
#include <string>
#include <utility>

#include "engine/graph/evaluate.h"
#include "engine/study/study.h"
#include "engine/text/problem.h"

namespace {

using namespace deckle;

constexpr const char* climate = R"(characterization: weights
title: Weights for fuzzing, invented
source: {title: Invented, year: 2026}
gases: {co2_fossil: 1 kg, ch4_fossil: 30 kg}
)";
constexpr const char* factors = R"(table: made_up
title: Factors for fuzzing, invented
source: {title: Invented, year: 2026}
factors:
  gas: {title: Gas, kind: fuel, per: 1 GJ LHV, heating_value: {LHV: 36 MJ/Nm3, HHV: 40 MJ/Nm3}, releases: {co2_fossil: 56 kg}, brings: {gas_supply: 1 GJ LHV}}
  gas_supply: {title: Supply, kind: fuel_supply, per: 1 GJ LHV, climate: {total: 7 kg, characterization: weights}}
  grid: {title: Grid, kind: electricity, per: 1 kWh, climate: {total: 0.2 kg, characterization: weights}}
  pulp: {title: Pulp, kind: fibre, per: 1 ADt, dryness: 90 %, climate: {total: 400 kg, characterization: weights}, fibre: 0.9 t}
  truck: {title: Truck, kind: freight, per: 1 t km, climate: {total: 0.08 kg, characterization: weights}}
  board: {title: Board, kind: packaging, per: 1 kg, climate: {total: 0.7 kg, characterization: weights}}
)";
constexpr const char* mill = R"(mill: hazelford
title: A mill for fuzzing, invented
figures: {reel: 95 %, press: 42 % ± 1 points, evaporated: reel / press - 1, heat: 1.9 GJ/t}
waters: {river: {from: surface, basin: b, region: r}}
processes:
  engine: {stage: energy, makes: {heat: {amount: 0.4 GJ, kind: heat}, power: {amount: 0.4 GJ, kind: electricity}}, allocation: energy, uses: {gas: 1 GJ HHV}}
  boiler: {stage: energy, makes: {raw: {amount: 1 t, kind: heat, pressure: 7 bar, condensate: {return: 80 %, temperature: 90 degC}, make_up: 15 degC}}, uses: {gas: 3 GJ LHV}}
  header: {stage: energy, makes: {steam: {amount: 1 GJ, kind: heat}}, losses: 2 %, uses: {heat: 0.25 GJ, raw: rest}}
  board_room: {stage: energy, makes: {volt: {amount: 1 kWh, kind: electricity}}, uses: {power: 0.2 kWh, grid: rest}}
  machine:
    stage: papermaking
    makes: {sheet: {amount: 1 t, dryness: reel, composition: {fibre: 95 %, moisture: 5 %}, carbon: {biogenic: 0.44 kg/kg of fibre}}}
    uses: {pulp: {amount: 1.01 ADt, freight: [{by: truck, distance: 100 km}]}, broke: 0.05 t, steam: evaporated * heat, volt: 900 kWh/t}
    takes_in: {river: 9 m3}
    gives_back: {river: 7 m3}
  winder: {stage: converting, makes: {tissue: {amount: 0.95 t, dryness: reel}, broke: {amount: 0.05 t, dryness: reel}}, allocation: mass, uses: {sheet: 1 t, volt: 130 kWh}}
)";
constexpr const char* products = R"(products:
  roll_a:
    title: Roll
    from: tissue
    plies: 3
    grammage: 15 g/m2
    sheet: {length: 125 mm, width: 98 mm}
    roll: {diameter: 114 mm, wound_thickness: 0.38 mm}
    core: {outside: 42 mm, board: board, mass: 4 g}
    packed: {pack: {rolls: 8, uses: {board: 9 g}}}
)";
constexpr const char* study = R"(study: fuzzed
title: A study for fuzzing, invented
characterization: weights
factors: [climate.yaml, factors.yaml]
mills: [mill.yaml]
products: products.yaml
output: {roll_a: 1e6 roll}
)";

constexpr std::array<std::pair<const char*, const char*>, 5> study_files{
    {{"study.yaml", study},
     {"climate.yaml", climate},
     {"factors.yaml", factors},
     {"mill.yaml", mill},
     {"products.yaml", products}}};

void load_with(std::size_t replaced, const std::string& text) {
    Study loaded;
    try {
        for (std::size_t i = 0; i < study_files.size(); ++i)
            loaded.files.add(study_files[i].first, i == replaced ? text : study_files[i].second);
        load_study("study.yaml", loaded);
    } catch (const InputError&) {
        return;
    } catch (const NoAnswer&) {
        return;
    }
    const Evaluation at = evaluate(loaded.graph);
    for (const Result& result : loaded.results) {
        if (!std::isfinite(at.value[result.node])) std::abort();
    }
}

}  // namespace

extern "C" std::size_t LLVMFuzzerMutate(std::uint8_t* data, std::size_t size, std::size_t most);

/// Tiny inputs start again from one of the good files, so that mutations stay near the grammar.
extern "C" std::size_t LLVMFuzzerCustomMutator(std::uint8_t* data, std::size_t size,
                                               std::size_t most, unsigned int seed) {
    if (size < 8) {
        const std::size_t file = seed % study_files.size();
        const std::string text = study_files[file].second;
        if (text.size() + 1 <= most) {
            data[0] = static_cast<std::uint8_t>(file);
            std::copy(text.begin(), text.end(), data + 1);
            size = text.size() + 1;
        }
    }
    return LLVMFuzzerMutate(data, size, most);
}

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    if (size == 0) return 0;
    load_with(data[0] % study_files.size(),
              std::string(reinterpret_cast<const char*>(data + 1), size - 1));
    return 0;
}
