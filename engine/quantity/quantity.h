// A quantity as people type it: a number, its unit, and how far it may be off. The value stays in
// the typed unit; what it may be (range, dimension) is for the caller to say. Nothing here throws.
//
//   4.35 GJ               exact                  175 degC ± 3 K       absolute (temperatures)
//   4.35 ± 0.20 GJ        normal, absolute       4.35 GJ ×÷ 1.3       lognormal
//   4.35 GJ ± 5 % of value  normal, relative     4.35 GJ (4.1 .. 4.8) triangular
//   42 % ± 1 points       normal, absolute       4.1 .. 4.6 GJ        uniform
#pragma once

#include <optional>
#include <string>
#include <string_view>

#include "engine/quantity/spread_kind.h"
#include "engine/quantity/text_error.h"
#include "engine/quantity/unit.h"

namespace deckle {

/// How far a quantity may be off, as typed.
struct TypedSpread {
    SpreadKind kind = SpreadKind::none;
    bool relative = false;  ///< normals: half_width is a share of the value (0.05 for 5 % of value)
    double half_width =
        0.0;              ///< normals: of the 95 % interval, in difference_unit of the value's unit
    double factor = 1.0;  ///< lognormal: the 95 % interval is value / factor .. value × factor
    double low = 0.0;     ///< of shapes with ends: in the value's unit; infinite: open
    double high = 0.0;
    double inexact_by =
        0.0;             ///< curvilinear trapezoid: how far both ends may be off, as half_width
    double scale = 0.0;  ///< Student t: as half_width
    double degrees_of_freedom = 0.0;
    std::string typed;       ///< "± 5 % of value"
    std::size_t offset = 0;  ///< where it stands in the text
    std::size_t length = 0;
};

struct Quantity {
    double value = 0.0;  ///< in `unit`; the mode of a triangular, the middle of a uniform
    std::string digits;  ///< of the value, as typed: "52_000"; of a uniform "4.1 .. 4.6"
    Unit unit;
    std::string of;  ///< NAME of "0.444 kg/kg of NAME"
    TypedSpread spread;
    std::size_t unit_offset = 0;  ///< where the unit stands in the text
    std::size_t unit_length = 0;  ///< 0 when there is none
};

struct QuantityResult {
    std::optional<Quantity> quantity;
    TextError error;
};

enum class Points : std::uint8_t { refused, allowed };

/// The quantity of a text. `Points::allowed` lets "2 points" stand as a value (a change of a value
/// in
/// %). Codes: those of parse_unit, and no-value, bad-number, number-with-comma, not-finite,
/// number-out-of-range, not-a-quantity, bad-spread, bare-percent-spread, text-too-long.
[[nodiscard]] QuantityResult parse_quantity(std::string_view text, Points points = Points::refused);

/// The same quantity in K (of degC and degF) or Pa (of barg, above 101 325 Pa), its spread along;
/// any other as it is.
[[nodiscard]] Quantity without_offset(const Quantity& quantity);

/// Half-width of a 95 % interval of the normal distribution, in standard deviations.
inline constexpr double normal_half_width_95 = 1.959963984540054;

/// Standard deviation of a normal [unit of half_width].
[[nodiscard]] double sigma_of_half_width(double half_width);
/// Standard deviation of the logarithm of a lognormal whose 95 % interval is ×÷ `factor` [1].
[[nodiscard]] double sigma_of_factor(double factor);

/// The text cannot be a value: it is empty or a word such as null, nan, .inf.
[[nodiscard]] bool is_number_word(std::string_view text);

}  // namespace deckle
