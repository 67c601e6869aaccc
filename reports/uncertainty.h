// The uncertainty report: which results a question asks for, their draws' statistics, and the
// writers. What came of one shard is read back from its JSON and joined with the others. Values
// come from engine/analysis/uncertainty; nothing is calculated here but the choice of what to show.
// Start at ask_uncertainty.
#pragma once

#include <string>
#include <vector>

#include "engine/analysis/uncertainty.h"
#include "engine/study/coverage.h"
#include "engine/study/study.h"
#include "reports/style.h"

namespace deckle {

/// One of several runs that divide the products of a question; {1, 1} is all of them.
struct Shard {
    std::uint32_t part = 1, of = 1;
};

struct UncertaintyAsked {
    std::vector<std::string> products;  ///< empty: those for consumers, else of the mills
    std::vector<std::string> pers;      ///< empty: the usual ones, else a product's first
    std::vector<std::string> usual_pers = {"t", "roll", "bundle"};  ///< of those a product has
    std::vector<std::string> indicators;  ///< empty: climate, water_consumed
    std::vector<std::string> scenarios;   ///< empty: today; when compared with one, all
    std::string against;                  ///< a product, or a scenario; empty: no comparison
    Shard shard;
    UncertaintyQuestion draws;
};

struct UncertaintyRow {
    std::string address, of, per, indicator, scenario, unit;
    Bound bound = Bound::exact;
    std::string against;       ///< address of its reference, or ""
    std::string not_compared;  ///< why there is no comparison all the same
    FigureUncertainty figure;
};

/// The set that gives data-quality scores their spread.
struct SpreadSet {
    std::string id;      ///< "" where the study names none: scores give no spread
    std::string source;  ///< title and citation
};

/// Everything the writers say, and nothing else: a report reads back from its JSON unchanged.
struct UncertaintyReport {
    StudyHead study;
    std::string study_files;  ///< fingerprint of all files read, 16 hex digits
    UncertaintyAsked asked;   ///< products: all that were picked, whatever the shard
    SpreadSet spreads;
    std::size_t with_spread = 0, without_spread = 0;  ///< inputs that the picked results rest on
    std::vector<UncertaintyRow> rows;                 ///< of this shard
    std::vector<std::string> scenario_findings;  ///< what building the scenarios picked noticed
};

/// Picks and draws. Counts of whole sheets and packs are taken unrounded. Errors: InputError
/// unknown-product, unknown-per, unknown-indicator, unknown-scenario, unknown-reference,
/// no-such-result, nothing-to-compare, unlike-rules, unlike-coverage (the last two where no
/// figure is like its reference); NoAnswer of uncertainty().
[[nodiscard]] UncertaintyReport ask_uncertainty(const Study& study, const Evaluation& at,
                                                UncertaintyAsked asked);

[[nodiscard]] std::string uncertainty_text(const UncertaintyReport& report, const Style& style);
/// `program` names the command and its version.
[[nodiscard]] std::string uncertainty_json(const UncertaintyReport& report,
                                           const std::string& program);
[[nodiscard]] std::string uncertainty_csv(const UncertaintyReport& report);

/// Joins the JSON reports of all shards of one question, whatever their order: what one run of it
/// gives, to the bit. `files`: the reports, named in messages.
/// Errors: InputError not-a-shard, shards-differ, shard-changed, shard-missing, shard-twice,
/// other-version.
[[nodiscard]] UncertaintyReport merged_shards(const Files& files, const std::string& program);

[[nodiscard]] std::string_view name_of(IntervalKind kind) noexcept;
[[nodiscard]] std::string_view name_of(FirstOrderVerdict verdict) noexcept;
[[nodiscard]] std::string_view name_of(ComparisonVerdict verdict) noexcept;

}  // namespace deckle
