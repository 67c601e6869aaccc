// Why a figure moved between two studies: two years, or before and after a revision. Both graphs
// are walked, OLD and NEW; what is named alike in both is the same input.
//
// The rule. Inputs move together along the straight line from their old to their new values, and
// each takes the integral of its derivative along that line: the parts add up to the change, and an
// input that did not change takes none (Aumann and Shapley, Values of Non-Atomic Games, Princeton
// 1974, chapter III). What NEW adds grows from 0, what OLD had dropped shrinks to 0, where an input
// may be 0; shares of an allocation that is new or gone do not, they are method. What is left is
// the method: the difference of the two graphs at equal inputs. As it could come before the inputs
// move or after, the mean of both orders is taken (Dietzenbacher and Los, "Structural decomposition
// techniques: sense and sensitivity", Economic Systems Research 10 (1998) 307-324). Titles and
// pages from memory.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "engine/study/study.h"

namespace deckle {

enum class DifferenceKind : std::uint8_t { input_changed, factor_revised, added, dropped, method };
[[nodiscard]] std::string_view name_of(DifferenceKind kind) noexcept;

/// A study with its values at what was typed.
struct EvaluatedStudy {
    const Study* study = nullptr;
    const Evaluation* at = nullptr;
};

struct DifferenceQuestion {
    std::vector<std::string> results;  ///< addresses; empty: climate of the whole output in the
                                       ///< period, else of every product per its first unit
    /// Share of a figure at whose change it is due for recalculation: PACT Methodology 3, validity.
    double trigger = 0.1;
    std::optional<double> limit;  ///< share of the old figure that counts as material
};

struct DifferencePart {
    DifferenceKind kind = DifferenceKind::method;
    std::string address;               ///< in NEW, of what was dropped in OLD; "" for the method
    std::string address_was;           ///< in OLD, where it is another (a table of another edition)
    std::string typed_was, typed_now;  ///< "" where there is none
    double part = 0.0;                 ///< of the change, in the unit of the result
    double share = 0.0;                ///< of the change; 0 where there is none
};

struct DifferenceFinding {
    std::string code, message;
};

struct ResultDifference {
    std::string address, unit;
    double was = 0.0, now = 0.0, change = 0.0;
    std::optional<double> relative;     ///< change over the old figure; none where that is 0
    std::vector<DifferencePart> parts;  ///< largest first
    double jumps = 0.0;     ///< what no derivative sees: whole numbers, minima, maxima, rounding
    double absolute = 0.0;  ///< the parts added up without their signs
    std::vector<std::string> notes;
    std::vector<DifferenceFinding> findings;
};

struct Difference {
    DifferenceQuestion question;
    std::vector<ResultDifference> results;
    /// What changed in the studies as a whole: "electricity: market, now location", "process
    /// m.kiln: added", "allocation of m.turbine: exergy, now energy"
    std::vector<std::string> heads;
    [[nodiscard]] bool has_findings() const noexcept;
};

/// Errors: InputError of asked_result on either side, unlike-units; NoAnswer where a point between
/// has none.
[[nodiscard]] Difference difference(const EvaluatedStudy& was, const EvaluatedStudy& now,
                                    DifferenceQuestion question);

}  // namespace deckle
