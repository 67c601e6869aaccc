// What the results of a graph rest on: real burdens, marks of what is not covered, CO2e given as
// one number. One forward pass over the graph answers for every node at once.
#pragma once

#include <cstdint>
#include <memory>
#include <string_view>
#include <vector>

#include "engine/graph/graph.h"
#include "engine/study/study.h"

namespace deckle {

struct Reach {
    bool burden = false;      ///< at least one burden that is stated
    bool uncovered = false;   ///< something expected is not stated
    bool line_only = false;   ///< not stated in this line, but counted in another as one number
    bool one_number = false;  ///< CO2e given as one number
};

/// One entry a node.
[[nodiscard]] std::vector<Reach> reach_of(const Graph& graph);

/// Coverage of a line (carried or held), or of a sum of lines (derived), at a node.
[[nodiscard]] Coverage coverage_of(const Reach& reach, IndicatorKind kind);

/// What is not covered where a mill's own processes do not state a line that is asked of them.
inline constexpr std::string_view the_mill = "the mill";

/// Which way a figure that is not complete can still move when the missing part becomes known.
enum class Bound : std::uint8_t { exact, at_least, at_most, open };
/// What adds and is not covered leaves a figure open upwards, what subtracts downwards.
[[nodiscard]] Bound bound_of(const Study& study, const Result& result);

/// Writes to every result of a study what it rests on. An optional line (indicator.h, AskedOf) that
/// anything states is asked of all fibre behind the result, a discharge of the mill too.
void settle_coverage(Study& study);

class AskedLines;  ///< optional lines and who is asked for them (coverage.cpp)
class Below;       ///< the nodes that bring something to a result (coverage.cpp)

/// What is not covered in results of a study: for many of them, what they share is sought once.
class CoverageGaps {
public:
    explicit CoverageGaps(const Study& study);
    ~CoverageGaps();
    CoverageGaps(const CoverageGaps&) = delete;
    CoverageGaps& operator=(const CoverageGaps&) = delete;
    /// Worst first.
    [[nodiscard]] std::vector<Uncovered> of(const Result& result);

private:
    [[nodiscard]] std::vector<Uncovered> marked(const Result& result);
    [[nodiscard]] std::vector<Uncovered> silent(const Result& result);

    const Study& study_;
    std::unique_ptr<AskedLines> asked_;
    std::unique_ptr<Below> below_;
};

}  // namespace deckle
