// An amount as a file states it: text, place, parsed form, address, and what is known of its
// origin. Stated amounts become inputs of the graph in build.h; nothing is calculated here.
#pragma once

#include <cstdint>
#include <limits>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "engine/formula/amount.h"
#include "engine/quantity/quantity.h"
#include "engine/tables/citation.h"
#include "engine/tables/indicator.h"
#include "engine/text/keys.h"
#include "engine/text/yaml.h"

namespace deckle {

/// Which values an amount may have. A typed one is checked when it is read, a formula when the
/// graph stands (limits.h).
enum class Within : std::uint8_t {
    any,
    not_negative,  ///< amounts of a mill
    positive,      ///< what is divided by
    share,         ///< from 0 to 100 %
    part,          ///< above 0, up to 100 %: a dryness
    below_whole,   ///< from 0 up to, not including, 100 %: losses
    whole,         ///< 100 %: what shares add up to
    pieces,        ///< whole things, one at least and a million at most: sheets, rolls, packs
    plies,         ///< the same, twelve at most
};

/// What a value may be: quantities only (factor tables), or formulas and words too (mills).
enum class Allow : std::uint8_t { quantity, formula };
/// Where a parameter of a spread stands that was typed as a mapping.
struct SpreadPart {
    Place place;
    std::string typed;
};

/// How well data fit, 1 best to 5: "technology", 2.
struct Score {
    std::string criterion;
    int score = 1;
    Place place;
};

struct Stated {
    std::string address;            ///< path of keys: "vellomere.boiler_house.uses.natural_gas"
    std::vector<std::string> also;  ///< further addresses of the same input (inherited by `like`)
    YamlValue scalar;               ///< the text with its place
    Amount amount;                  ///< a quantity, a formula, or the word `rest`
    std::string amount_is;  ///< metered, invoiced, calculated, estimated, or "" when unstated
    std::string note;
    Citation source;
    Within within = Within::any;
    Allow allow = Allow::quantity;
    /// Which changes of a scenario concern it: those from this one on, up to, not including, that
    /// one. What a use came to before a part of it was moved knows nothing of later changes.
    std::size_t changed_from = 0, changed_until = std::numeric_limits<std::size_t>::max();
    std::string drawn_as;       ///< address of the amount whose draw it shares; "" for its own
    std::vector<Score> scores;  ///< its own, else those of its factor
    bool any_unit = false;      ///< a price: any unit will do that its factor converts
    std::string per;  ///< of an amount of a factor: the unit that one of it is counted in ("kWh")
    std::vector<SpreadPart> spread_parts;  ///< one a parameter (graph/spread.h); empty: short form

    [[nodiscard]] bool is_quantity() const noexcept {
        return amount.kind == Amount::Kind::quantity;
    }
    [[nodiscard]] bool is_word(std::string_view word) const {
        return amount.kind == Amount::Kind::word && amount.word == word;
    }
    [[nodiscard]] const Unit& unit() const { return amount.quantity.unit; }
    [[nodiscard]] Place place() const { return scalar.place; }
    /// As it stands in the file, with a spread that stands beside it.
    [[nodiscard]] std::string typed() const {
        return spread_parts.empty() ? scalar.text
                                    : scalar.text + ", spread " + amount.quantity.spread.typed;
    }
};

struct StatedRules {
    Allow allow = Allow::quantity;
    Within within = Within::not_negative;
    std::string_view rest_word = {};  ///< a word that may stand for the amount ("rest")
    bool of_part = false;             ///< its unit may end in "of NAME" (carbon)
};

/// From a scalar, or from a mapping with `amount` and the keys of `table` (others are the
/// caller's). nullopt when it could not be read; then `problems` says why.
[[nodiscard]] std::optional<Stated> read_stated(const YamlValue& value, std::string address,
                                                Place where, const KeyTable& table,
                                                const StatedRules& rules, Problems& problems);

/// The keys every amount in mapping form has.
extern const KeyTable amount_keys;

/// A share as a quantity between 0 and 100 %; nullopt where the key is missing or was reported.
/// `example` is of such a share: "5 %".
[[nodiscard]] std::optional<Stated> read_share(const YamlValue& map, std::string_view key,
                                               std::string address, std::string_view example,
                                               Problems& problems);

/// Reports a quantity of another dimension than `expected`; true when it fits. Formulas pass (their
/// dimension is checked when the graph is built). Code: wrong-unit.
bool require_dimension(const Stated& stated, const Dimension& expected, std::string_view what,
                       std::string_view example, Problems& problems);

/// Reports a word that is not among the known ones; an empty one passes. Code: unknown-word.
void check_word(const YamlValue& value, std::string_view word,
                std::span<const std::string_view> known, std::string_view what, Problems& problems);

/// "2025-01-01 .. 2025-12-31", or a day, month or year alone, as typed. Reports other text. Codes:
/// bad-period, not-text.
[[nodiscard]] std::string read_period(const YamlValue& value, std::string_view what,
                                      Problems& problems);

/// The row of a key of `discharges`; reports others. Code: unknown-discharge.
[[nodiscard]] const DischargeRow* find_discharge(const YamlEntry& entry, Problems& problems);

/// True for 'yes', 'true', 'no', 'false' words; reports anything else. Code: not-yes-or-no.
[[nodiscard]] bool read_yes(const YamlValue& value, std::string_view what, Problems& problems);

/// Text of a scalar; reports a mapping or list. Code: not-text.
[[nodiscard]] std::string read_text(const YamlValue& value, std::string_view what,
                                    Problems& problems);

/// lower_snake_case word. Reports others. Codes: bad-id, reserved-id.
bool check_id(std::string_view id, Place place, std::string_view what, Problems& problems);

/// Place of a key, its caret under the whole key.
[[nodiscard]] Place key_place(const YamlEntry& entry);

}  // namespace deckle
