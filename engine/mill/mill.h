// A mill as its file states it: processes with what they make, use, take in and give back.
// mill_reader.cpp fills these structs from YAML; mill_graph.h turns them into nodes.
#pragma once

#include <memory>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "engine/tables/stated.h"

namespace deckle {

/// Steam as it is metered: its state, and what comes back of it.
struct SteamState {
    Place place;
    std::optional<Stated> pressure, temperature, make_up;
    std::optional<Stated> condensate_return, condensate_temperature;
    [[nodiscard]] bool stated() const noexcept {
        return pressure.has_value() || temperature.has_value();
    }
    /// Any of its keys, which only heat may have.
    [[nodiscard]] bool mentioned() const noexcept {
        return stated() || make_up.has_value() || condensate_return.has_value();
    }
};

struct Freight {
    std::string by;
    Place place;
    Stated distance;
};

/// How electricity reaches the mill, and what that claims.
struct Supply {
    enum class Kind : std::uint8_t { grid, contract, direct_line, own };
    Kind kind = Kind::grid;
    Place place;
    std::string grid;  ///< the electricity factor whose grid a contract or sold certificates go by
    bool certificate = false;
    bool certificates_sold = false;
    std::vector<std::pair<std::string, std::string>> certificate_fields;
};

struct Use;

/// What a scenario moves from one use to another: a part of it (all when nothing says how much),
/// carried over by a ratio, or by the useful heat that both give. What is left of the one is the
/// rest of the same part.
struct Moved {
    Place place;
    std::shared_ptr<const Use> from;    ///< as it stood before
    std::vector<std::string> uses;      ///< addresses of all uses that the change moves
    std::optional<Stated> share;        ///< of what was used
    std::optional<Stated> useful_heat;  ///< the part that gives this much
    std::optional<Stated> ratio;        ///< amount used now per amount used before
    std::optional<Stated> efficiency_from, efficiency_to;  ///< useful heat per energy used
    bool is_left = false;                                  ///< what is not moved
    [[nodiscard]] bool is_part() const noexcept {
        return share.has_value() || useful_heat.has_value();
    }
};

struct Use {
    enum class Space : std::uint8_t { either, made, factor };
    std::string thing;  ///< id or table.id, without made. or factor.
    Space space = Space::either;
    std::string name;  ///< NAME of "ID as NAME", else the id
    Place place;
    Stated amount;  ///< a quantity, a formula, or `rest`
    std::optional<Stated> dryness;
    std::vector<Freight> freight;
    std::optional<Supply> supply;
    SteamState steam;
    std::optional<Moved> stands_for;  ///< in a scenario: the part of an earlier use it comes to
};

struct Composition {
    struct Part {
        std::string name;
        Stated share;
    };
    std::vector<Part> parts;
    std::string like;  ///< id of a product that is made of the same
    Place place;
};

struct Carbon {
    std::optional<Stated> biogenic, fossil;
    Place place;
};

struct Made {
    std::string id;
    Place place;
    Stated amount;
    std::string kind;  ///< heat, electricity, fuel, fibre, sheet, other, or "" when unstated
    std::optional<Stated> dryness, price;
    std::optional<Composition> composition;
    std::optional<Carbon> carbon;
    SteamState steam;
};

struct WaterFlow {
    std::string water, purpose;
    Place place;
    Stated amount;
};

struct NamedAmount {
    std::string name;
    Place place;
    Stated amount;
};

struct Allocation {
    std::string method;  ///< mass, energy, exergy, price, reference_efficiencies, shares
    Place place;
    std::vector<NamedAmount> shares;
    std::optional<Stated> heat_efficiency, power_efficiency;
    /// Of a rule for many processes: what stays where the products do not fit its method.
    std::shared_ptr<const Allocation> otherwise = {};
};

struct Process {
    std::string mill, id, title, stage, run_by = "own", reason, note;
    Place place;
    std::vector<Made> makes;
    std::vector<Use> uses;
    std::vector<NamedAmount> returns, releases, discharges, leaves;
    std::vector<WaterFlow> takes_in, gives_back;
    std::optional<Allocation> allocation;
    std::optional<Stated> ambient, losses;

    [[nodiscard]] std::string address() const { return mill + "." + id; }
    [[nodiscard]] const Made* made(std::string_view wanted) const;
};

struct Water {
    std::string id, from, to, basin, region, use, factor;
    Place place, region_place;

    /// What is taken of it is withdrawn.
    [[nodiscard]] bool is_basin() const { return from == "surface" || from == "ground"; }
};

/// What a flow is called in break-outs: "river", "river, cooling".
[[nodiscard]] std::string flow_label(const Water& water, const WaterFlow& flow);

struct Mill {
    std::string id, title, period, note;
    Place place;
    std::vector<NamedAmount> figures;
    std::vector<Water> waters;
    std::vector<Process> processes;

    [[nodiscard]] const Water* water(std::string_view wanted) const;
    [[nodiscard]] const Process* process(std::string_view wanted) const;
};

/// The words for how burdens are shared, in rules; `avoid` is to share none.
[[nodiscard]] std::span<const std::string_view> ways_to_allocate() noexcept;

/// Reads a mill file. Errors go to `problems`; nullopt when nothing could be made of it.
[[nodiscard]] std::optional<Mill> read_mill(const Files& files, std::uint32_t file,
                                            Problems& problems);

/// The key tables of this room, for the schema page.
[[nodiscard]] std::vector<const KeyTable*> mill_key_tables();

// Shared with products and scenarios: uses, freight, supplies, allocations and processes have one
// reader.

/// The place of a use in its text: "made.steam as yankee" apart into space, thing and name.
void split_use_key(std::string_view key, Place place, Use& use, Problems& problems);

/// `supply` of a use of electricity, and the key tables it is read by.
[[nodiscard]] Supply read_supply(const YamlEntry& entry, Problems& problems);
[[nodiscard]] std::vector<const KeyTable*> supply_key_tables();

/// `allocation` of a process, or what a rule of a scenario puts in its place. `base` is its path.
/// Codes: unknown-word, not-a-mapping, and those of its amounts.
[[nodiscard]] Allocation read_allocation(const YamlEntry& entry, const std::string& base,
                                         Problems& problems);

/// A process of a mill from its mapping.
[[nodiscard]] Process read_process(const std::string& mill, const std::string& id, Place place,
                                   const YamlValue& map, Problems& problems);

/// `uses` of a process or a product: a mapping of "ID", "made.ID", "factor.ID", "table.ID" or
/// "... as NAME" to amounts. `base` is the path of the mapping; addresses are base + "." + NAME.
[[nodiscard]] std::vector<Use> read_uses(const YamlValue& map, const std::string& base,
                                         Problems& problems);

/// A list of {by, distance}. `base` is the path of the list; addresses are base + ".N.distance".
[[nodiscard]] std::vector<Freight> read_freight(const YamlValue& list, const std::string& base,
                                                Problems& problems);

}  // namespace deckle
