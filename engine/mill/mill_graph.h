// A mill as graph nodes: for each product the footprint of one unit, in every carried indicator and
// both views of electricity. Processes that feed each other become one `solve`.
// Start reading at build_mill.
#pragma once

#include <map>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "engine/mill/mill.h"
#include "engine/mill/terms.h"

namespace deckle {

/// A use after its target and amount are known.
struct ResolvedUse {
    const Use* use = nullptr;
    const Factor* factor = nullptr;  ///< bought, or
    std::size_t product = no_index;  ///< made in this mill: index into MillNodes::products, or
    bool returned = false;           ///< something that comes back and brings nothing
    Measure amount;                  ///< in the unit of what is used (as typed for factors)
    std::vector<Bridge> bridges;     ///< of the amount: dryness of what is used, else of the use
    std::vector<Bridge> delivered;   ///< as it arrives: dryness of the use, else of what is used
    Family family = Family::other;
};

/// One product of a process: its unit, its share of the process, its footprint per unit.
struct ProductNodes {
    const Process* process = nullptr;
    const Made* made = nullptr;
    std::size_t process_index = 0;
    std::string id;
    Measure amount;  ///< what the process makes of it, in the unit results are given per
    Measure typed;   ///< the same as typed (tonnes of steam)
    std::string kind;
    Family family = Family::other;
    std::vector<Bridge> bridges;  ///< its dryness
    Measure share;                ///< of the process's burdens; unknown for a single product
    Lines lines;                  ///< carried indicators per unit
    NodeId carbon = no_node;  ///< kg biogenic carbon held per unit; no_node for what has no mass
    NodeId fossil_carbon = no_node;  ///< kg fossil carbon held per unit; no_node where unstated
};

/// How the method of an allocation was come by. Ratio: of the value of all that is made.
struct AllocationPath {
    std::string path;                   ///< of value_ratio, in words; "" for other methods
    std::optional<double> value_ratio;  ///< highest to lowest, where prices settle the shares
};

struct ProcessNodes {
    const Process* process = nullptr;
    const Allocation* allocation = nullptr;  ///< the one its products share by; of several products
    std::vector<ResolvedUse> uses;
    std::vector<std::size_t> products;
    Lines totals;  ///< the process's whole sums, whose terms `--by user` reads
    struct Flow {
        const Water* water;
        const WaterFlow* flow;
        Measure amount;  ///< m3
    };
    std::vector<Flow> takes_in, gives_back;
    std::vector<std::pair<const NamedAmount*, Measure>> returns, leaves;
    Measure losses;
    AllocationPath allocation_path;
};

struct MillNodes {
    const Mill* mill = nullptr;
    std::vector<ProcessNodes> processes;
    std::vector<ProductNodes> products;
    std::vector<std::vector<std::size_t>> loops;  ///< products that feed each other
    std::vector<Problem> findings;
    ViewsBought electricity;

    [[nodiscard]] const ProductNodes* product(std::string_view id) const;
};

/// A mix whose sources were settled from outside: what a scenario's demand asks of it (demand.h).
struct SwungMix {
    std::string product;
    NodeId factor = no_node;                               ///< amount made ÷ amount typed
    std::vector<std::pair<std::string, Measure>> sources;  ///< by the name of the use
};

/// Adds a mill to the graph. Every problem goes to build.problems; with problems the nodes are
/// incomplete and must not be evaluated.
[[nodiscard]] std::unique_ptr<MillNodes> build_mill(Build& build, FactorBook& book,
                                                    const std::vector<Grid>& grids,
                                                    const Mill& mill,
                                                    const std::vector<SwungMix>& swung = {});

/// Basins from which a process of the mill takes water: what returns there is not consumed. A water
/// that is only named takes nothing.
[[nodiscard]] bool withdraws_from(const Mill& mill, std::string_view basin);

}  // namespace deckle
