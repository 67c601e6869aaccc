// What a verifier looks at, and what it comes to. The choice: of the inputs and of the factors that
// a result rests on, the fewest that make up a share of it, and some drawn at random. The sum: what
// was found in the documents, put into the graph one by one and together.
//
// How much of a result an input makes up is its elasticity without sign: the % by which the result
// moves for 1 % of the input (sensitivity.h). Mill and product inputs, lines of factors, and
// weights (warming potentials, scarcity) are three lists, each with its own whole. Random ones:
// every input left takes a number from Philox4x32-10 (random.h), keyed by the seed and counted by
// the id of its address; those with the least numbers are taken. So a choice depends on addresses
// and seed alone. For samples, materiality and sums with and without sign: ISO 14064-3:2019, 5.1.7
// and 6 (from memory).
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "engine/analysis/asked.h"
#include "engine/study/study.h"

namespace deckle {

enum class SpotKind : std::uint8_t { input, factor, weight };
[[nodiscard]] std::string_view name_of(SpotKind kind) noexcept;

struct SpotQuestion {
    std::string result;       ///< address
    double share = 0.8;       ///< of each list that the largest make up
    std::size_t random = 10;  ///< drawn besides
    std::uint64_t seed = 1;
};

struct Spot {
    const Input* input = nullptr;
    SpotKind kind = SpotKind::input;
    bool drawn = false;  ///< at random; else one of the largest
    std::string address, title, unit;
    double value = 0.0;
    double elasticity = 0.0;     ///< % of the result for 1 % of it
    double weight = 0.0;         ///< of its list: elasticity without sign over that of all
    std::string document, page;  ///< where it was published or measured; "" when unstated
    std::string enters;          ///< the first calculation it enters, operands unrounded
};

struct SpotCheck {
    AskedResult asked;
    SpotQuestion question;
    double value = 0.0;
    std::size_t inputs_in_all = 0;
    std::vector<Spot> spots;  ///< inputs, factors, weights, each by weight; then those drawn
};

/// Errors: those of asked_result.
[[nodiscard]] SpotCheck spot_check(const Study& study, const Evaluation& at, SpotQuestion question);

/// What a verifier found in place of an input: a row of a sample.
struct FoundValue {
    std::string result, address;
    std::string typed;  ///< when the sample was drawn; "" where it does not say
    std::string found;  ///< with its unit, or a number in the input's; "" for a blank
    Place place;        ///< of the cell
};

struct Deviation {
    std::string address, unit;
    double value = 0.0, found = 0.0;
    double moves = 0.0;  ///< the result by, when this input alone is as found; evaluated anew
    double share = 0.0;  ///< of the result
};

struct Deviations {
    AskedResult asked;
    double value = 0.0;
    std::vector<Deviation> rows;                 ///< in the order of the file
    double with_sign = 0.0, without_sign = 0.0;  ///< sums of `moves`
    double together = 0.0;                       ///< all as found at once
    std::size_t blank = 0;                       ///< rows that say nothing
    /// Inputs that the study types otherwise than the sample: "ADDRESS: 1.01 ADt, now 1.03 ADt".
    std::vector<std::string> typed_since;
    std::optional<double> limit;  ///< share of the result
    /// One row, or a sum with or without sign, is above the limit.
    [[nodiscard]] bool above_limit() const noexcept;
};

/// All results that the rows name, each with its rows; a blank counts as found as typed.
/// A quantity may also be in the unit that the input was typed in.
/// Errors: InputError of asked_result and asked_value; unknown-input, outside-bounds: all of them,
/// at the places of their rows.
[[nodiscard]] std::vector<Deviations> deviations(const Study& study, const Evaluation& at,
                                                 const std::vector<FoundValue>& found,
                                                 std::optional<double> limit);

/// The rows of a sample's CSV; columns are known by their heads.
/// Errors: csv-head, csv-columns, csv-quote go to `problems`.
[[nodiscard]] std::vector<FoundValue> read_found(const Files& files, std::uint32_t file,
                                                 Problems& problems);

}  // namespace deckle
