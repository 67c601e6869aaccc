#include <fmt/format.h>

#include <algorithm>

#include "engine/text/number_text.h"
#include "reports/footprint.h"
#include "reports/footprint_notes.h"
#include "reports/inert.h"
#include "reports/page_report.h"

namespace deckle {
namespace {

std::string cell(const FootprintResult* one) {
    if (one == nullptr || one->result->coverage == Coverage::not_covered) return "–";
    return fmt::format("{}{}", mark_of(one->bound), format_significant(one->value, 3));
}

/// A row a product and unit, a column for climate and one for water consumed.
std::string still_rows(const Footprint& footprint) {
    std::string rows;
    std::vector<FootprintResult> results = footprint.results;
    // what a customer buys comes first, what the mills make for it after it
    std::stable_partition(results.begin(), results.end(), [](const FootprintResult& one) {
        return one.subject->kind == Subject::Kind::consumer_product;
    });
    for (auto at = results.begin(); at != results.end();) {
        const auto end = std::find_if(at, results.end(), [&](const FootprintResult& one) {
            return one.result->of != at->result->of || one.result->per != at->result->per;
        });
        const auto figure = [&](std::string_view indicator) {
            const auto found = std::find_if(at, end, [&](const FootprintResult& one) {
                return one.indicator->id == indicator;
            });
            return html_inert(cell(found == end ? nullptr : &*found));
        };
        rows += fmt::format("<tr><th scope=\"row\">{}</th><td>{}</td><td>{}</td><td>{}</td></tr>\n",
                            html_inert(at->subject->title), html_inert(at->result->per),
                            figure("climate"), figure("water_consumed"));
        at = end;
    }
    return rows;
}

}  // namespace

std::string page_still(const Study& study, const Evaluation& at) {
    FootprintQuestion question;
    question.indicators = {"climate", "water_consumed"};
    const Footprint footprint = ask_footprint(study, at, at_a_glance(study, std::move(question)));
    return fmt::format(
        "<h1>{}</h1>\n<p>{} {}</p>\n"
        "<noscript><p>This page computes in a browser that runs scripts: save it and open it "
        "there.</p></noscript>\n<p>The main figures, as the engine has them.</p>\n"
        "<table>\n<thead><tr><th scope=\"col\">product</th><th scope=\"col\">per</th>"
        "<th scope=\"col\">climate, kg CO2e</th><th scope=\"col\">water consumed, m3</th></tr>"
        "</thead>\n<tbody>\n{}</tbody>\n</table>\n",
        html_inert(study.head.title), html_inert(study.head.owner), html_inert(study.head.period),
        still_rows(footprint));
}

}  // namespace deckle
