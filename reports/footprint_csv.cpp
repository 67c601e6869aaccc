#include "reports/csv.h"
#include "reports/footprint.h"

namespace deckle {
namespace {

std::vector<std::string> result_cells(const Footprint& footprint, const FootprintResult& one) {
    const auto number = [&](double value) {
        return one.result->coverage == Coverage::not_covered ? std::string() : csv_number(value);
    };
    const NodeId sheets = one.subject->whole_count;
    return {csv_text(one.address),
            csv_text(one.result->of),
            csv_text(one.result->per),
            csv_text(one.indicator->id),
            csv_text(one.result->unit),
            number(one.value),
            number(one.market),
            number(one.location),
            csv_text(name_of(one.result->coverage)),
            sheets == no_node ? std::string() : csv_number(footprint.at->value[sheets]),
            "",
            "",
            ""};
}

std::vector<std::string> contribution_cells(const FootprintResult& one, const Breakout& breakout,
                                            const Contribution& row) {
    return {csv_text(one.address),
            csv_text(one.result->of),
            csv_text(one.result->per),
            csv_text(one.indicator->id),
            csv_text(one.result->unit),
            csv_number(row.value),
            "",
            "",
            csv_text(name_of(one.result->coverage)),
            "",
            csv_text(name_of(breakout.by)),
            csv_text(row.name),
            breakout.shares ? csv_number(row.share) : std::string()};
}

}  // namespace

std::string footprint_csv(const Footprint& footprint) {
    std::string text = csv_line({"address", "of", "per", "indicator", "unit", "value", "market",
                                 "location", "coverage", "whole_count", "by", "name", "share"});
    for (const FootprintResult& one : footprint.results) {
        text += csv_line(result_cells(footprint, one));
        for (const Breakout& breakout : one.by) {
            for (const Contribution& row : breakout.rows) {
                text += csv_line(contribution_cells(one, breakout, row));
            }
        }
    }
    return text;
}

}  // namespace deckle
