// The model that product footprints are exchanged in, as tables: PACT Technical Specifications for
// PCF Data Exchange, version 3.0.3 (WBCSD, 18 November 2025). One row a property; what writes a
// declaration and what checks one read the same rows.
#pragma once

#include <cstdint>
#include <span>
#include <string_view>

namespace deckle {

inline constexpr std::string_view declaration_version = "3.0.3";

enum class Form : std::uint8_t {
    text,
    filled_text,  ///< at least one character
    uuid,
    urn,
    uri,
    instant,
    number,        ///< a decimal as text, any sign
    positive,      ///< above zero
    not_negative,  ///< zero or above
    not_positive,  ///< zero or below
    yes_or_no,
    word,     ///< one of a list
    pattern,  ///< a pattern of its own, by name
    object,   ///< with a table of its own
    free_object,
};

/// How far the Methodology's reporting rules ask for a property, beyond what the schema does.
enum class Asked : std::uint8_t { no, always, biogenic, biogenic_2027, from_2027, should, capture };

struct PropertyRow {
    std::string_view name;
    Form form = Form::text;
    bool required = false;
    Asked asked = Asked::no;
    bool list = false;  ///< of such values, at least one, none twice
    std::span<const std::string_view> words = {};
    std::span<const PropertyRow> inside = {};
    std::string_view pattern = {};  ///< version, country, subdivision, report
    std::string_view what = {};     ///< for people
};

[[nodiscard]] std::span<const PropertyRow> footprint_rows() noexcept;
[[nodiscard]] std::span<const PropertyRow> carbon_rows() noexcept;  ///< of `pcf`

[[nodiscard]] std::span<const std::string_view> declared_units() noexcept;
[[nodiscard]] std::span<const std::string_view> declared_regions() noexcept;  ///< of the UN
[[nodiscard]] std::span<const std::string_view> rule_operators() noexcept;
[[nodiscard]] std::span<const std::string_view> verification_coverages() noexcept;

[[nodiscard]] bool fits_pattern(std::string_view pattern, std::string_view text) noexcept;

/// The terms of pcfExcludingBiogenicUptake. The schema prints the sum with a sign missing before
/// the last one; a worked example of the How-to Guide V3 counts it in.
[[nodiscard]] std::span<const std::string_view> terms_of_total() noexcept;

}  // namespace deckle
