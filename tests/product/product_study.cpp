#include "tests/product/product_study.h"

#include <algorithm>

namespace deckle::test {
namespace {

const std::string study_yaml = R"(study: small
title: Products over a plain mill
characterization: weights
factors: [weights.yaml, factors.yaml]
mills: [mill.yaml]
products: )";
const std::string weights_yaml = R"(characterization: weights
title: Carbon dioxide alone
source: {title: By definition, year: 2026}
gases: {co2_fossil: 1 kg}
)";
const std::string factors_yaml = R"(table: plain
title: Factors so round that sums are worked out on paper (invented)
source: {title: Invented for these tests, year: 2026}
factors:
  pulp: {title: Pulp, kind: fibre, per: 1 t, releases: {co2_fossil: 1 t}, fibre: 900 kg}
  core_board: {title: Core board, kind: packaging, per: 1 kg, releases: {co2_fossil: 0.75 kg}, biogenic_carbon: 0.40 kg}
  case_board: {title: Case board, kind: packaging, per: 1 kg, releases: {co2_fossil: 0.75 kg}, biogenic_carbon: 0.40 kg}
  film: {title: Film, kind: packaging, per: 1 kg, releases: {co2_fossil: 2.5 kg}, biogenic_carbon: 0 kg}
  glue: {title: Glue, kind: chemical, per: 1 kg dry, dryness: 50 %, releases: {co2_fossil: 3.0 kg}}
  pallet_trip: {title: Trip of a pallet, kind: packaging, per: 1 piece, releases: {co2_fossil: 0.9 kg}, biogenic_carbon: 0 kg}
  lorry: {title: Lorry, kind: freight, per: 1 t km, releases: {co2_fossil: 0.08 kg}}
)";
const std::string mill_yaml = R"(mill: m
title: Three sheets
processes:
  soft_machine:
    stage: papermaking
    makes: {soft_sheet: {amount: 1 t, dryness: 95 %, composition: {fibre: 95 %, moisture: 5 %}, carbon: {biogenic: 0.444 kg/kg of fibre}}}
    uses: {pulp: 1 t}
  strong_machine:
    stage: papermaking
    makes: {strong_sheet: {amount: 1 t, dryness: 90 %}}
    uses: {pulp: 2 t}
  plain_machine:
    stage: papermaking
    makes: {plain_sheet: 1 t}
    uses: {pulp: 1.5 t}
)";

}  // namespace

MemoryStudy product_study(const std::string& products, const std::string& name) {
    return MemoryStudy({{"study.yaml", study_yaml + name + "\n"},
                        {"weights.yaml", weights_yaml},
                        {"factors.yaml", factors_yaml},
                        {"mill.yaml", mill_yaml},
                        {name, products}});
}

std::vector<std::string> product_problems(const std::string& products, const std::string& name) {
    std::vector<std::string> codes;
    try {
        (void)product_study(products, name);
    } catch (const InputError& error) {
        for (const Problem& problem : error.problems) codes.push_back(problem.code);
    }
    return codes;
}

}  // namespace deckle::test
