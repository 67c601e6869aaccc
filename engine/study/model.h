// What the files of a study say, before any of it becomes a node: tables, mills, products, rules.
// study_reader.cpp fills it; study.cpp builds the graph from it.
#pragma once

#include <map>
#include <memory>
#include <string>
#include <vector>

#include "engine/mill/mill_graph.h"
#include "engine/product/product_graph.h"
#include "engine/tables/factor_lines.h"

namespace deckle {

struct Exemption {
    std::string what, why;
    Place place;
    std::optional<Stated> highest_plausible;  ///< a share of the result, or CO2e per tonne
};

struct RuleSet {
    std::string id, version, declared_unit, boundary;
    Place place;
    std::optional<Stated> cut_off;  ///< share of a result that may be left out in all
    std::vector<std::string> allocation_order, indicators;
    std::map<std::string, Stated> limits;  ///< by finding code with _ for -: balance_water: 2 %
};

struct Output {
    std::string of;
    Place place;
    Stated amount;
    std::string per;  ///< "roll", "t"
};

/// Amounts whose draws go together, by address.
struct CorrelatedGroup {
    struct Member {
        std::string address;
        Place place;
    };
    std::vector<Member> members;
    std::vector<double> matrix;  ///< square, row by row
    Place place;                 ///< of the coefficients
};

struct StudyModel {
    std::string id, title, owner, period, boundary, characterization, scarcity, prices, electricity,
        note, data_quality_spread;
    Place place;
    Place characterization_place, scarcity_place, prices_place, data_quality_spread_place;
    std::vector<CorrelatedGroup> correlated;
    std::map<std::string, std::string, std::less<>> stands_for;
    std::vector<std::pair<std::string, Place>> stands_for_places;
    std::vector<Grid> grids;
    std::vector<Output> output;
    std::vector<Exemption> exempted;
    RuleSet rules;

    Tables tables;
    std::vector<Mill> mills;
    std::vector<Product> products;

    // what the build made of them, for break-outs and balances
    std::vector<std::unique_ptr<MillNodes>> mill_nodes;
    std::vector<std::unique_ptr<ConsumerNodes>> product_nodes;
    std::vector<const Factor*> used_factors;
    std::vector<std::string> currencies;
};

/// Reads a study and every file it names. Errors go to `problems`.
/// `path` is a study.yaml or the folder that holds one.
void read_study(const std::string& path, Files& files, StudyModel& model, Problems& problems);

[[nodiscard]] std::vector<const KeyTable*> study_key_tables();

}  // namespace deckle
