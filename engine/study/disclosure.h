// What a study says for its disclosures beyond its figures: who declares what, under which names,
// rules and standards, and the texts of a report. disclosure_reader.cpp fills it from the key
// `disclosure` of a study; a study without it can be computed, but not disclosed.
#pragma once

#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "engine/declaration/forms.h"
#include "engine/tables/stated.h"

namespace deckle {

struct SectorRules {
    std::string by, other_operator;  ///< PEF, EPD International or Other, and then its name
    std::vector<std::string> names;
};

struct Verification {
    std::string coverage, provider, standard, level, comments;
    std::optional<Instant> completed;
};

/// One product as it is declared.
struct DeclaredProduct {
    std::string of;
    Place place;
    std::string unit;  ///< kilogram or piece
    std::vector<std::string> ids, classifications, preceding;
    std::string name, description, changes, version;
    std::string use;  ///< intermediate, final or "": a consumer product is final
    std::string earlier_report;
    std::optional<Stated> recycled_carbon;  ///< of its carbon, fossil and biogenic [%]
};

struct Disclosure {
    Place place;
    std::optional<Instant> created;
    std::optional<Period> valid;
    bool active = true;
    std::string company;
    std::vector<std::string> company_ids, standards;
    std::string region, country, subdivision;
    std::vector<SectorRules> sector_rules;
    std::string boundary, land_use_method, comment, water_schema;
    std::optional<Verification> verification;
    std::vector<std::pair<std::string, std::string>> report;  ///< texts by the key of their heading
    std::vector<DeclaredProduct> products;

    [[nodiscard]] const DeclaredProduct* product(std::string_view of) const;
    /// The text a study gives for a heading of the report, or "".
    [[nodiscard]] std::string_view text(std::string_view heading) const;
};

/// Reads the value of the key `disclosure`. Errors go to `problems`; whether its products exist is
/// checked when the study is built.
[[nodiscard]] Disclosure read_disclosure(const YamlEntry& entry, const std::string& owner,
                                         Problems& problems);

[[nodiscard]] std::vector<const KeyTable*> disclosure_key_tables();

}  // namespace deckle
