// The report of a product's footprint for people: every heading that ISO 14067:2018 and the GHG
// Protocol Product Standard (2011) ask for, "not stated" where the study is silent, then water, the
// paper trade's ten elements and its data sheet per tonne. One document, two writers.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "engine/analysis/declared.h"
#include "engine/study/study.h"

namespace deckle {

struct ReportSection {
    std::string title;
    std::string asked_by;  ///< "ISO 14067; GHG Protocol 16"
    std::vector<std::string> paragraphs;
    std::vector<std::string> head;  ///< of a table; its first column is text
    std::vector<std::vector<std::string>> rows;
};

struct DisclosureReport {
    std::string title, subtitle, caution;
    std::vector<ReportSection> sections;
};

[[nodiscard]] DisclosureReport disclosure_report(const Study& study, const DeclaredFigures& figures,
                                                 std::string_view program);

/// One page for all of them: no script, nothing loaded; every text inert.
[[nodiscard]] std::string disclosure_html(const std::vector<DisclosureReport>& reports);
[[nodiscard]] std::string disclosure_markdown(const std::vector<DisclosureReport>& reports);

}  // namespace deckle
