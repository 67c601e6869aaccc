// Factor tables as the files state them: what one unit of a bought thing brings along.
// factor_table_reader.cpp and factor_reader.cpp fill these from YAML; factor_lines.h turns a factor
// into graph nodes.
#pragma once

#include <memory>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "engine/tables/kind.h"
#include "engine/tables/quality.h"
#include "engine/tables/stated.h"

namespace deckle {

/// One statement of a factor that brings an indicator: "releases.ch4_fossil", "water.consumed".
struct FactorEntry {
    std::string group;  ///< releases, climate, water, energy, fibre, ... or an indicator's own id
    std::string key;    ///< gas, fossil, withdrawn, ...; "" for groups of one value
    Stated stated;
    std::size_t water_part = 0;  ///< which item of a list of waters
};

struct WaterPart {
    std::string region, use;
    Place place;
};

struct Brought {
    std::string factor;  ///< as typed
    Place place;
    Stated stated;
};

/// What the product footprint behind a factor says of itself; factor_from fills it.
struct SupplierFootprint {
    std::string edition;  ///< of the model of exchange, "3.0.3"; "" without a footprint
    std::string id;       ///< of the footprint
    std::string status;   ///< active, deprecated
    std::vector<std::string> potentials;  ///< "AR6": all that it rests on
    std::string not_carried;              ///< what it states and a factor cannot hold
    std::vector<double> ratings;     ///< of technology, geography and time, 1 the best; or none
    std::optional<Stated> exempted;  ///< part of itself that it leaves out [%]
};

struct Factor {
    std::string table, id, title;
    const KindRow* kind = nullptr;
    Place place;  ///< of its key
    std::optional<Stated> per;
    std::vector<FactorEntry> entries;
    std::vector<WaterPart> waters;
    std::string characterization;  ///< set that `climate` rests on
    std::vector<Brought> brings;
    std::optional<Stated> lhv, hhv, density, dryness;
    std::string region, reference_period, valid;
    std::optional<Stated> primary_share;
    std::vector<Score> data_quality;
    std::string scope;     ///< "1", "2", "3" or "" (by kind)
    std::string fibre_is;  ///< chemical, mechanical, recycled, other or ""
    std::string note;
    bool confirmed = true;
    Citation source;
    SupplierFootprint supplier;

    [[nodiscard]] std::string address() const { return table + "." + id; }
    [[nodiscard]] bool states(std::string_view group) const;
    /// Whether its id, title or kind has the word in it, in capitals or small letters.
    [[nodiscard]] bool is_about(std::string_view word) const;
    [[nodiscard]] const FactorEntry* entry(std::string_view group, std::string_view key = {}) const;
};

/// An indicator of the user's own, declared by a table.
struct OwnIndicator {
    std::string id, title, unit;
    Place place;
};

struct FactorTable {
    std::string id, title;
    Place place;
    Citation source;  ///< with the table's edition and licence
    std::vector<OwnIndicator> indicators;
    std::vector<Factor> factors;
};

struct Characterization {
    std::string id, title;
    Place place;
    Citation source;
    struct Gas {
        std::string id;
        Stated weight;
    };
    std::vector<Gas> gases;
    [[nodiscard]] const Gas* gas(std::string_view id) const;
};

/// Whose use a water is: "non_agricultural" where nothing is said.
[[nodiscard]] std::span<const std::string_view> water_uses() noexcept;

struct Scarcity {
    std::string id, title, model, version;
    Place place;
    Citation source;
    struct Weight {
        std::string region, use;
        Stated weight;
    };
    std::vector<Weight> weights;
    [[nodiscard]] const Weight* weight(std::string_view region, std::string_view use) const;
    [[nodiscard]] bool knows_region(std::string_view region) const;
};

struct Prices {
    std::string id, title;
    Place place;
    Citation source;
    struct Price {
        std::string factor;
        Place place;
        Stated stated;
    };
    std::vector<Price> prices;
    std::vector<Price> marginal;  ///< without fixed charges: what one unit more or less costs
    std::optional<Stated> carbon_price;  ///< of the fossil CO2 that own processes release
    std::vector<Price>
        free_allocation;  ///< by process address: CO2 per unit made that costs nothing
};

/// Everything that the tables of a study say, by kind of document.
struct Tables {
    std::vector<FactorTable> factors;
    std::vector<Characterization> characterizations;
    std::vector<Scarcity> scarcities;
    std::vector<Prices> prices;
    std::vector<QualitySpread> quality_spreads;

    [[nodiscard]] const Characterization* characterization(std::string_view id) const;
    [[nodiscard]] const Scarcity* scarcity(std::string_view id) const;
    [[nodiscard]] const Prices* price_list(std::string_view id) const;
    [[nodiscard]] const QualitySpread* quality_spread(std::string_view id) const;
    /// Factors of an id in all tables; of "table.id" the one in that table.
    [[nodiscard]] std::vector<const Factor*> find(std::string_view reference) const;
    /// Documents read, of all kinds.
    [[nodiscard]] std::size_t count() const noexcept {
        return factors.size() + characterizations.size() + scarcities.size() + prices.size() +
               quality_spreads.size();
    }
    /// "id" and "table.id" of every factor, for hints.
    [[nodiscard]] std::vector<std::string> names() const;
    /// What may have been meant by a reference to no factor: near names, of the tables and `more`,
    /// else factors that are about the word.
    [[nodiscard]] std::string meant(std::string_view typed,
                                    std::span<const std::string> more = {}) const;
};

/// Reads one file of tables into `tables`; which kind it is, its head key says. Footprints of
/// suppliers that it names are read too.
/// Errors go to `problems` with place, code and hint.
void read_table_file(Files& files, std::uint32_t file, Tables& tables, Problems& problems);

/// The key tables of this room, for the schema page.
[[nodiscard]] std::vector<const KeyTable*> table_key_tables();

}  // namespace deckle
