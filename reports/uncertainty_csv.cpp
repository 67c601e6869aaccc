#include "reports/csv.h"
#include "reports/footprint.h"
#include "reports/uncertainty.h"

namespace deckle {
namespace {

void add_sample(std::vector<std::string>& cells, const Sample* sample) {
    const auto add = [&](double Summary::*member) {
        cells.push_back(sample == nullptr ? std::string() : csv_number(sample->summary.*member));
    };
    add(&Summary::mean);
    add(&Summary::standard_uncertainty);
    add(&Summary::median);
    add(&Summary::low);
    add(&Summary::high);
}

void add_comparison(std::vector<std::string>& cells, const std::optional<Comparison>& one) {
    cells.push_back(one ? csv_number(one->below) : std::string());
    cells.push_back(one ? csv_text(name_of(one->verdict)) : std::string());
    add_sample(cells, one ? &one->difference : nullptr);
    add_sample(cells, one && one->ratio ? &*one->ratio : nullptr);
}

std::vector<std::string> cells_of(const UncertaintyReport& report, const UncertaintyRow& row) {
    const FigureUncertainty& figure = row.figure;
    std::vector<std::string> cells{csv_text(row.address),
                                   csv_text(row.of),
                                   csv_text(row.per),
                                   csv_text(row.indicator),
                                   csv_text(row.scenario),
                                   csv_text(row.unit),
                                   std::string(name_of(row.bound)),
                                   csv_number(figure.value),
                                   std::to_string(figure.sample.draws)};
    add_sample(cells, &figure.sample);
    cells.push_back(csv_number(digits_that_hold(figure.sample.summary, figure.sample.errors)));
    cells.push_back(csv_number(figure.first_order.standard_uncertainty));
    cells.push_back(csv_text(name_of(figure.first_order.verdict)));
    cells.push_back(csv_number(figure.first_order.digits));
    cells.push_back(csv_text(row.against));
    add_comparison(cells, figure.paired);
    add_comparison(cells, figure.unpaired);
    cells.push_back(csv_text(report.spreads.id));
    return cells;
}

}  // namespace

std::string uncertainty_csv(const UncertaintyReport& report) {
    std::vector<std::string> head{"address",
                                  "of",
                                  "per",
                                  "indicator",
                                  "scenario",
                                  "unit",
                                  "bound",
                                  "value",
                                  "draws",
                                  "mean",
                                  "standard_uncertainty",
                                  "median",
                                  "low",
                                  "high",
                                  "digits_that_hold",
                                  "first_order_standard_uncertainty",
                                  "first_order_verdict",
                                  "first_order_digits",
                                  "against"};
    for (const std::string prefix : {"", "unpaired_"}) {
        head.insert(head.end(), {prefix + "below", prefix + "verdict"});
        for (const std::string of : {"difference_", "ratio_"}) {
            for (const char* what : {"mean", "standard_uncertainty", "median", "low", "high"})
                head.push_back(prefix + of + what);
        }
    }
    head.emplace_back("data_quality_spread");
    std::string text = csv_line(head);
    for (const UncertaintyRow& row : report.rows) text += csv_line(cells_of(report, row));
    return text;
}

}  // namespace deckle
