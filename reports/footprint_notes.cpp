#include "reports/footprint_notes.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <map>

#include "engine/study/model.h"
#include "engine/study/study_head.h"
#include "engine/text/number_text.h"
#include "reports/inert.h"

namespace deckle {
namespace {

constexpr std::size_t most_factors_named = 4;

bool any_one_number(const Footprint& footprint) {
    return std::ranges::any_of(footprint.results,
                               [](const FootprintResult& one) { return one.result->one_number; });
}

/// Factors that stand for a view the study names none for.
std::string stand_ins_text(const StudyHead& head) {
    std::string text;
    for (const ViewStandIn& one : head.stand_ins)
        text +=
            fmt::format("{}{} stands for {}", text.empty() ? "" : ", ", one.factor, views_of(one));
    return text.empty() ? text : fmt::format(" {}: no grid names another factor.", inert(text));
}

std::string headline_note(const Footprint& footprint) {
    const StudyHead& head = *footprint.head;
    const auto headline = name_of(head.headline);
    if (footprint.question.view && footprint.view != head.headline) {
        return fmt::format(
            "Electricity: {}-based figures, as asked; the study's headline is "
            "{}-based.",
            name_of(footprint.view), headline);
    }
    if (!footprint.question.by.empty()) {
        return fmt::format(
            "Electricity: {}-based figures, the study's headline; --electricity {} "
            "shows the others.",
            headline,
            name_of(head.headline == ElectricityView::market ? ElectricityView::location
                                                             : ElectricityView::market));
    }
    return fmt::format(
        "Electricity: {}-based figures are the headline (marked * where the other "
        "stands beside it).",
        headline);
}

std::string electricity_note(const Footprint& footprint) {
    const StudyHead& head = *footprint.head;
    if (head.one_electricity_view) {
        return "Electricity: one factor stands for both the market-based and the location-based "
               "total, since no grid names a location and a residual factor.";
    }
    return headline_note(footprint) + stand_ins_text(head);
}

std::string sets_note(const StudyHead& head) {
    const bool mixed = head.gwp_sets.size() > 1;
    return fmt::format("Warming potentials{} {}.", mixed ? " are a MIX of sets:" : ":",
                       inert(potentials_text(head)));
}

/// Units that the products shown have besides those shown.
std::string units_note(const Footprint& footprint) {
    std::vector<std::string> others;
    for (const FootprintResult& one : footprint.results) {
        for (const std::string& per : one.subject->pers) {
            const bool shown =
                std::ranges::find(footprint.question.pers, per) != footprint.question.pers.end();
            const bool known = std::ranges::find(others, per) != others.end();
            if (!shown && !known && !per.ends_with("_unrounded")) others.push_back(per);
        }
    }
    if (others.empty()) return {};
    const bool all_by_product =
        footprint.question.by.empty() && footprint.question.products.empty();
    return fmt::format("Also per {}: --per UNIT{}.",
                       inert(fmt::format("{}", fmt::join(others, ", "))),
                       all_by_product ? ", or --product ID for all units of a product" : "");
}

std::string findings_note(const Study& study) {
    if (study.findings.empty()) return {};
    return fmt::format("Reading noticed {} thing{} to look at: `deckle check` lists them.",
                       study.findings.size(), study.findings.size() == 1 ? "" : "s");
}

std::string rules_note(const StudyHead& head) {
    if (head.rules.id.empty()) return {};
    return inert(fmt::format("Rules {}.", head.rules.line()));
}

/// What indicators that follow from others mean.
std::string derived_note(const Footprint& footprint) {
    std::vector<std::string> meanings;
    for (const Indicator& indicator : footprint.study->indicators) {
        const bool shown = std::ranges::any_of(footprint.results, [&](const FootprintResult& one) {
            return one.indicator == &indicator;
        });
        if (!shown || indicator.kind != IndicatorKind::derived || indicator.memo) continue;
        meanings.push_back(inert(indicator.title));
    }
    if (meanings.empty()) return {};
    return fmt::format("{}.", fmt::join(meanings, "; "));
}

std::string study_note(const Study& study) {
    std::string note = study.model->note;
    if (note.empty()) return {};
    std::ranges::replace(note, '\n', ' ');
    return fmt::format("Of the study: {}", inert(note));
}

/// Water withdrawn of a result whose flows say what they are for [m3]: "river, cooling".
double with_purpose(const Footprint& footprint, const Result& result,
                    std::set<std::string>& purposes) {
    const Assembly& assembly = assembly_of(*footprint.study, result.scenario);
    std::map<std::string, std::string> labels;
    for (const auto& mill : assembly.mill_nodes) {
        for (const ProcessNodes& process : mill->processes) {
            for (const auto& flow : process.takes_in) {
                if (!flow.flow->purpose.empty())
                    labels.emplace(flow_label(*flow.water, *flow.flow), flow.flow->purpose);
            }
        }
    }
    if (labels.empty() || result.coverage == Coverage::not_covered) return 0.0;
    double sum = 0.0;
    const Breakout breakout =
        break_out(*footprint.study, *footprint.at, result, result.node, BreakoutBy::gas);
    for (const Contribution& row : breakout.rows) {
        const auto label = labels.find(row.name);
        if (label == labels.end()) continue;
        sum += row.value;
        purposes.insert(label->second);
    }
    return sum;
}

std::string scarcity_note(const StudyHead& head) {
    if (head.scarcity.empty()) return {};
    if (head.scarcity_model.empty())
        return fmt::format("Water scarcity: model {}.", inert(head.scarcity));
    return inert(fmt::format("Water scarcity: model {}, version {} ({}).", head.scarcity_model,
                             head.scarcity_version, head.scarcity));
}

/// "120 of the 128.8 m3 withdrawn for a t of bath_3ply": water that passes once through, told
/// apart.
std::string purpose_note(const Footprint& footprint) {
    std::vector<std::string> parts;
    std::set<std::string> purposes;
    for (const Result& result : footprint.study->results) {
        if (footprint.study->indicators[result.indicator].id != "water_withdrawn") continue;
        const Subject* subject = footprint.study->subject(result.of, result.scenario);
        if (subject == nullptr || result.per != subject->pers.front()) continue;
        const bool shown = std::ranges::any_of(
            footprint.results, [&](const FootprintResult& one) { return one.subject == subject; });
        if (!shown) continue;
        const double once = with_purpose(footprint, result, purposes);
        if (once > 0.0 && parts.size() < most_factors_named)
            parts.push_back(fmt::format("{} of {} m3 for a {} of {}", format_significant(once),
                                        format_significant(footprint.at->value[result.node]),
                                        result.per, result.of));
    }
    if (parts.empty()) return {};
    return inert(fmt::format("Of the water withdrawn, taken for {}: {}.", fmt::join(purposes, ", "),
                             fmt::join(parts, "; ")));
}

/// What no factor could cover, since the study names no model for it.
bool lacks_model(const Footprint& footprint, std::string_view id) {
    const auto& all = footprint.study->indicators;
    const auto indicator = std::ranges::find(all, id, &Indicator::id);
    return indicator != all.end() && indicator->by_model && footprint.head->scarcity.empty();
}

/// Indicators that lack the same factors stand in one line.
struct LineGap {
    std::vector<std::string> indicators;
    std::vector<std::string> factors;  ///< in the order of the footprint's coverage
    bool one_number = false;
};

std::vector<LineGap> grouped(const Footprint& footprint) {
    std::vector<std::pair<std::string, bool>> order;
    std::map<std::pair<std::string, bool>, std::vector<std::string>> factors;
    for (const CoverageNote& note : footprint.coverage) {
        if (lacks_model(footprint, note.indicator)) continue;
        const auto key = std::pair(note.indicator, note.one_number);
        if (!factors.contains(key)) order.push_back(key);
        factors[key].push_back(note.factor);
    }
    std::vector<LineGap> gaps;
    for (const auto& key : order) {
        const auto same = std::ranges::find_if(gaps, [&](const LineGap& gap) {
            return gap.one_number == key.second && gap.factors == factors[key];
        });
        if (same == gaps.end()) gaps.push_back({{key.first}, factors[key], key.second});
        else same->indicators.push_back(key.first);
    }
    return gaps;
}

std::string factors_text(const std::vector<std::string>& factors) {
    std::vector<std::string> named;
    for (const auto& factor : factors) {
        if (named.size() < most_factors_named) named.push_back(inert(factor));
    }
    std::string text = fmt::format("{}", fmt::join(named, ", "));
    if (factors.size() > named.size()) {
        text += fmt::format(" and {} more (all in --format json)", factors.size() - named.size());
    }
    return text;
}

std::string gap_text(const LineGap& gap) {
    return fmt::format(
        "{}: {} {}", inert(fmt::format("{}", fmt::join(gap.indicators, ", "))),
        gap.one_number ? "given as one CO2e number, counted as fossil, by" : "not stated by",
        factors_text(gap.factors));
}

std::string section(std::string_view title, const std::vector<std::string>& paragraphs,
                    const Style& style) {
    std::string text;
    for (const auto& one : paragraphs) {
        if (!one.empty()) text += paragraph(one, 2, 2, style);
    }
    return text.empty() ? text : heading(title, style) + text;
}

}  // namespace

std::string potentials_text(const StudyHead& head) {
    if (head.gwp_sets.empty()) return head.characterization;
    std::string text = fmt::format("{}", fmt::join(head.gwp_sets, ", "));
    if (head.gwp_sets.front() != head.characterization)
        return text + fmt::format(
                          "; no figure rests on the study's own, {}: all CO2e came inside "
                          "factors",
                          head.characterization);
    if (head.gwp_sets.size() > 1)
        text += fmt::format(
            "; gases are weighed with {}, the others came inside factors already "
            "in CO2e",
            head.characterization);
    return text;
}

std::string footprint_notes(const Footprint& footprint, std::string_view tables,
                            const Style& style) {
    const Study& study = *footprint.study;
    std::vector<std::string> notes{
        study_note(study),          derived_note(footprint),        electricity_note(footprint),
        sets_note(*footprint.head), scarcity_note(*footprint.head), purpose_note(footprint)};
    if (any_one_number(footprint)) {
        notes.emplace_back("CO2e that a source gives as one number counts in the fossil line.");
    }
    for (std::string& note : mark_notes(tables, "below")) notes.push_back(std::move(note));
    if (tables.find("–") != std::string_view::npos) notes.emplace_back("– is not covered.");
    notes.push_back(rules_note(*footprint.head));
    notes.push_back(units_note(footprint));
    notes.push_back(findings_note(study));
    std::vector<std::string> exempted;
    for (const std::string& one : footprint.head->exempted) exempted.push_back(inert(one));
    std::vector<std::string> gaps;
    for (const LineGap& gap : grouped(footprint)) gaps.push_back(gap_text(gap));
    const auto without_model = std::ranges::find_if(
        footprint.coverage,
        [&](const CoverageNote& note) { return lacks_model(footprint, note.indicator); });
    if (without_model != footprint.coverage.end())
        gaps.push_back(inert(without_model->indicator) + ": the study names no model");
    return section("Notes", notes, style) + section("Left out by the rules", exempted, style) +
           section("Not covered", gaps, style);
}

}  // namespace deckle
