#include "reports/footprint.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <tuple>

#include "engine/analysis/asked.h"
#include "engine/study/coverage.h"
#include "engine/study/model.h"
#include "engine/text/nearest.h"
#include "reports/inert.h"
#include "reports/words.h"

namespace deckle {
namespace {

constexpr std::array<std::string_view, 6> main_indicators{"climate",         "climate_with_uptake",
                                                          "water_withdrawn", "water_consumed",
                                                          "water_scarcity",  "cost"};
constexpr std::array<std::string_view, 4> main_pers{"t", "roll", "bundle", "period"};
constexpr std::array<std::string_view, 2> broken_out{"climate", "water_consumed"};

bool asked(const std::vector<std::string>& names, std::string_view name) {
    return names.empty() || holds(names, name);
}

std::string listed(const std::vector<std::string>& names) {
    return names.size() > 40 ? "" : fmt::format("known are {}", fmt::join(names, ", "));
}

using Meant = std::string (*)(std::string_view typed, std::span<const std::string> known);

void require_known(const std::vector<std::string>& names, const std::vector<std::string>& known,
                   std::string_view what, Meant meant = did_you_mean) {
    for (const std::string& name : names) {
        if (holds(known, name)) continue;
        const std::string near = meant(name, known);
        refuse_question(fmt::format("unknown-{}", what),
                        fmt::format("there is no {} {}", what, inert(name)),
                        near.empty() ? listed(known) : near);
    }
}

/// As results name them: today is "".
std::vector<std::string> scenarios_of(const FootprintQuestion& question) {
    std::vector<std::string> ids = question.scenarios;
    if (ids.empty()) ids.emplace_back();
    std::ranges::replace(ids, std::string("today"), std::string());
    return ids;
}

void require_known(const Study& study, const FootprintQuestion& question) {
    std::vector<std::string> products, pers, indicators;
    for (const std::string& scenario : scenarios_of(question)) {
        for (const Subject& subject : study.subjects_of(scenario)) {
            products.push_back(subject.id);
            for (const auto& per : subject.pers) {
                if (!holds(pers, per)) pers.push_back(per);
            }
        }
    }
    for (const Indicator& indicator : study.indicators) indicators.push_back(indicator.id);
    require_known(question.products, products, "product");
    require_known(question.pers, pers, "per");
    require_known(question.indicators, indicators, "indicator", indicator_meant);
}

/// Scopes are those of greenhouse gases.
bool has_scopes(const Indicator& indicator) { return indicator.unit == "kg CO2e"; }

void require_scopes(const Study& study, const FootprintQuestion& question) {
    if (std::ranges::find(question.by, BreakoutBy::scope) == question.by.end()) return;
    const bool any = std::ranges::any_of(study.indicators, [&](const Indicator& indicator) {
        return asked(question.indicators, indicator.id) && has_scopes(indicator);
    });
    if (any) return;
    refuse_question("no-break-out",
                    fmt::format("{} has no scopes",
                                inert(fmt::format("{}", fmt::join(question.indicators, ", ")))),
                    "only climate has scopes: --indicator climate, or another --by");
}

NodeId shown_node(const Footprint& footprint, const Result& result) {
    if (!footprint.question.view) return result.node;
    return footprint.view == ElectricityView::market ? result.market : result.location;
}

bool can_break_out(BreakoutBy by, const FootprintResult& one) {
    if (one.result->coverage == Coverage::not_covered) return false;
    if (by == BreakoutBy::scope) return has_scopes(*one.indicator);
    const Subject::Kind kind = one.subject->kind;
    return by != BreakoutBy::user || (kind != Subject::Kind::all && kind != Subject::Kind::line);
}

FootprintResult answer(const Footprint& footprint, const Subject& subject, const Result& result) {
    const Study& study = *footprint.study;
    FootprintResult one;
    one.result = &result;
    one.subject = &subject;
    one.indicator = &study.indicators[result.indicator];
    one.address = result.address;
    if (footprint.question.view) one.address += fmt::format(".{}", name_of(footprint.view));
    const NodeId node = shown_node(footprint, result);
    one.value = footprint.at->value[node];
    one.market = footprint.at->value[result.market];
    one.location = footprint.at->value[result.location];
    one.bound = bound_of(study, result);
    for (const BreakoutBy by : footprint.question.by) {
        if (!can_break_out(by, one)) continue;
        one.by.push_back(break_out(study, *footprint.at, result, node, by));
    }
    return one;
}

void collect_results(Footprint& footprint) {
    const FootprintQuestion& question = footprint.question;
    const Study& study = *footprint.study;
    const std::vector<std::string> scenarios = scenarios_of(question);
    for (const Result& result : study.results) {
        if (!holds(scenarios, result.scenario)) continue;
        if (!asked(question.products, result.of) || !asked(question.pers, result.per)) continue;
        if (!asked(question.indicators, study.indicators[result.indicator].id)) continue;
        const Subject* subject = study.subject(result.of, result.scenario);
        if (subject == nullptr) continue;
        footprint.results.push_back(answer(footprint, *subject, result));
    }
}

void add_coverage(std::vector<CoverageNote>& notes, CoverageNote note) {
    const auto same = std::ranges::find_if(notes, [&](const CoverageNote& n) {
        return n.indicator == note.indicator && n.factor == note.factor &&
               n.one_number == note.one_number;
    });
    if (same == notes.end()) {
        notes.push_back(std::move(note));
        return;
    }
    for (auto& use : note.uses) {
        if (!holds(same->uses, use)) same->uses.push_back(std::move(use));
    }
}

/// Whether a bought thing is a fuel, power or heat: what weighs most in a figure that lacks it.
bool is_energy(const Study& study, const std::string& factor) {
    constexpr std::array energies{Family::fuel, Family::electricity, Family::heat};
    return std::ranges::any_of(study.model->tables.find(factor), [&](const Factor* one) {
        return one->kind != nullptr &&
               std::ranges::find(energies, one->kind->family) != energies.end();
    });
}

/// In the order of the indicators; of each fuels, power and heat before the rest, by name.
void sort_coverage(const Study& study, std::vector<CoverageNote>& notes) {
    std::vector<std::string> indicators;
    for (const Indicator& one : study.indicators) indicators.push_back(one.id);
    const auto place = [&](const CoverageNote& note) {
        return std::tuple(std::ranges::find(indicators, note.indicator) - indicators.begin(),
                          !is_energy(study, note.factor), std::string_view(note.factor));
    };
    std::ranges::stable_sort(notes, {}, place);
}

void collect_coverage(Footprint& footprint) {
    CoverageGaps gaps(*footprint.study);
    for (const FootprintResult& one : footprint.results) {
        if (one.result->coverage == Coverage::complete) continue;
        for (Uncovered& gap : gaps.of(*one.result)) {
            add_coverage(footprint.coverage, {footprint.study->indicators[gap.indicator].id,
                                              gap.subject, std::move(gap.uses), gap.line_only});
        }
    }
    sort_coverage(*footprint.study, footprint.coverage);
}

}  // namespace

FootprintQuestion narrowed_to_process(const Study& study, FootprintQuestion question) {
    if (question.process.empty()) return question;
    const auto& mills = study.model->mill_nodes;
    std::vector<std::string> known;
    question.products.clear();
    question.pers.clear();
    for (const auto& mill : mills) {
        for (const ProductNodes& product : mill->products) {
            const Process& process = *product.process;
            if (!holds(known, process.address()))
                known.insert(known.end(), {process.id, process.address()});
            if (question.process != process.id && question.process != process.address()) continue;
            question.products.push_back(mills.size() > 1 ? mill->mill->id + "." + product.id
                                                         : product.id);
        }
    }
    require_known({question.process}, known, "process");
    return question;
}

Footprint ask_footprint(const Study& study, const Evaluation& at, FootprintQuestion question) {
    require_known(study, question);
    require_scopes(study, question);
    Footprint footprint;
    footprint.study = &study;
    footprint.at = &at;
    footprint.question = std::move(question);
    const auto scenarios = scenarios_of(footprint.question);
    footprint.head = scenarios.size() == 1 ? &study.head_of(scenarios[0]) : &study.head;
    footprint.view = footprint.question.view.value_or(footprint.head->headline);
    collect_results(footprint);
    if (footprint.results.empty()) {
        refuse_question("no-such-result",
                        "the products asked for have no result per the unit asked for",
                        "leave out --per to see all units of a product");
    }
    collect_coverage(footprint);
    return footprint;
}

namespace {

bool is_consumer_product(const Subject& subject) {
    return subject.kind == Subject::Kind::consumer_product;
}

template <std::size_t Size>
std::vector<std::string> those_known(const std::array<std::string_view, Size>& ids,
                                     const Study& study) {
    std::vector<std::string> known;
    for (const std::string_view id : ids) {
        const bool is_known = std::ranges::any_of(
            study.indicators, [&](const Indicator& indicator) { return indicator.id == id; });
        if (is_known) known.emplace_back(id);
    }
    return known;
}

void narrow_products(std::span<const Subject> subjects, FootprintQuestion& question) {
    const bool any = std::ranges::any_of(subjects, is_consumer_product);
    for (const Subject& subject : subjects) {
        if (any ? is_consumer_product(subject) : subject.kind == Subject::Kind::mill_product) {
            question.products.push_back(subject.id);
        }
    }
}

/// Of products that were named all units but the unrounded counts; else the main ones of consumer
/// products and all of the mills'; with a break-out the first of each product.
bool is_for_reading(const Subject& subject, std::string_view per, const FootprintQuestion& question,
                    bool named) {
    if (per.ends_with("_unrounded")) return false;
    if (!question.by.empty()) return per == subject.pers.front();
    if (named || subject.kind == Subject::Kind::mill_product) return true;
    return std::ranges::find(main_pers, per) != main_pers.end();
}

void narrow_pers(std::span<const Subject> subjects, FootprintQuestion& question, bool named) {
    for (const Subject& subject : subjects) {
        if (!asked(question.products, subject.id)) continue;
        for (const auto& per : subject.pers) {
            if (holds(question.pers, per)) continue;
            if (is_for_reading(subject, per, question, named)) question.pers.push_back(per);
        }
    }
}

}  // namespace

FootprintQuestion at_a_glance(const Study& study, FootprintQuestion question) {
    const bool named = !question.products.empty();
    const bool broken = !question.by.empty();
    require_known(study, question);
    const auto subjects = study.subjects_of(scenarios_of(question).front());
    if (!named && broken) narrow_products(subjects, question);
    if (question.pers.empty()) narrow_pers(subjects, question, named);
    if (question.indicators.empty() && broken) {
        question.indicators = those_known(broken_out, study);
    } else if (question.indicators.empty() && !named) {
        question.indicators = those_known(main_indicators, study);
        question.at_a_glance = true;
    }
    return question;
}

std::string_view name_of(Bound bound) noexcept {
    switch (bound) {
        case Bound::exact: return "exact";
        case Bound::at_least: return "at_least";
        case Bound::at_most: return "at_most";
        case Bound::open: break;
    }
    return "open";
}

std::string_view mark_of(Bound bound) noexcept {
    switch (bound) {
        case Bound::exact: return "";
        case Bound::at_least: return "≥";
        case Bound::at_most: return "≤";
        case Bound::open: break;
    }
    return "≈";
}

std::vector<std::string> mark_notes(std::string_view tables, std::string_view see) {
    const std::array<std::pair<std::string_view, std::string>, 3> all{
        {{"≥", fmt::format("≥ is at least: a part is not covered, see {}.", see)},
         {"≤", "≤ is at most: what it subtracts is itself at least."},
         {"≈", "≈ is open both ways: parts that add and parts that subtract are not covered."}}};
    std::vector<std::string> notes;
    for (const auto& [mark, note] : all) {
        if (tables.find(mark) != std::string_view::npos) notes.push_back(note);
    }
    return notes;
}

std::string_view name_of(ElectricityView view) noexcept {
    return view == ElectricityView::market ? "market" : "location";
}

std::string_view name_of(Coverage coverage) noexcept {
    switch (coverage) {
        case Coverage::complete: return "complete";
        case Coverage::at_least: return "at_least";
        case Coverage::not_covered: break;
    }
    return "not_covered";
}

}  // namespace deckle
