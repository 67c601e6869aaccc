// The footprint report: which results a question asks for, with their break-outs and what they do
// not cover, and its three writers. Values come from an Evaluation; nothing is calculated here but
// the choice of what to show. Start at ask_footprint; the writers are in footprint_text, _json and
// _csv.cpp.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "engine/analysis/breakout.h"
#include "engine/study/coverage.h"
#include "engine/study/study.h"
#include "reports/style.h"

namespace deckle {

struct FootprintQuestion {
    std::vector<std::string> scenarios;   ///< ids; empty: today
    std::vector<std::string> products;    ///< ids of subjects; empty: all
    std::vector<std::string> pers;        ///< empty: all
    std::vector<std::string> indicators;  ///< empty: all
    std::vector<BreakoutBy> by;
    std::string process;  ///< asks for what this process makes; empty: no one process
    std::optional<ElectricityView> view;  ///< empty: the study's headline
    bool at_a_glance = false;  ///< the indicators are the main ones, chosen for the reader
};

[[nodiscard]] std::string_view name_of(Bound bound) noexcept;
/// "≥", "≤", "≈" or nothing, before a figure.
[[nodiscard]] std::string_view mark_of(Bound bound) noexcept;
/// What the marks in `tables` mean, a sentence each; `see` says where to look further.
[[nodiscard]] std::vector<std::string> mark_notes(std::string_view tables, std::string_view see);

struct FootprintResult {
    const Result* result = nullptr;
    const Subject* subject = nullptr;
    const Indicator* indicator = nullptr;
    std::string address;  ///< of the view shown
    double value = 0.0;   ///< in Result::unit; without meaning when not covered
    double market = 0.0;
    double location = 0.0;
    Bound bound = Bound::exact;
    std::vector<Breakout> by;
};

struct CoverageNote {
    std::string indicator;
    std::string factor;
    std::vector<std::string> uses;
    bool one_number = false;  ///< counted in another line, as one number
};

struct Footprint {
    const Study* study = nullptr;
    const StudyHead* head = nullptr;  ///< of the one scenario asked for, else today's
    const Evaluation* at = nullptr;
    FootprintQuestion question;
    ElectricityView view = ElectricityView::location;
    std::vector<FootprintResult> results;  ///< in the order of subjects, their units, indicators
    std::vector<CoverageNote> coverage;    ///< of all results shown
};

/// The question put to the products of its process, per their own units. Errors: unknown-process.
[[nodiscard]] FootprintQuestion narrowed_to_process(const Study& study, FootprintQuestion question);

/// Errors: InputError unknown-product, unknown-per, unknown-indicator, no-such-result with the
/// nearest names, and those of break_out.
[[nodiscard]] Footprint ask_footprint(const Study& study, const Evaluation& at,
                                      FootprintQuestion question);

/// The question narrowed to what is read at a glance: main indicators, no unrounded counts; with a
/// break-out, climate and water consumed of the consumer products by their first unit.
[[nodiscard]] FootprintQuestion at_a_glance(const Study& study, FootprintQuestion question);

/// Tables for reading, three significant digits. Pass a footprint asked at a glance.
[[nodiscard]] std::string footprint_text(const Footprint& footprint, const Style& style);
/// `program` names the command and its version.
[[nodiscard]] std::string footprint_json(const Footprint& footprint, const std::string& program);
/// One line a result and, under it, one a contribution.
[[nodiscard]] std::string footprint_csv(const Footprint& footprint);

[[nodiscard]] std::string_view name_of(ElectricityView view) noexcept;
[[nodiscard]] std::string_view name_of(Coverage coverage) noexcept;

}  // namespace deckle
