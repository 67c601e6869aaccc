#include "engine/analysis/data_sheet.h"

#include <algorithm>
#include <functional>

#include "engine/study/coverage.h"
#include "engine/study/model.h"

namespace deckle {
namespace {

/// The lines of one product.
class SheetMaker {
public:
    SheetMaker(const Study& study, const Evaluation& at, std::string_view of,
               std::string_view scenario, std::span<const DataRow> rows)
        : study_(study), at_(at), of_(of), scenario_(scenario), rows_(rows) {}

    std::vector<SheetLine> run() const {
        const Result* fossil = study_.result(of_, "t", "climate_fossil", scenario_);
        if (fossil == nullptr) return {};
        std::vector<SheetLine> lines{carbon(*fossil)};
        for (const DischargeRow& row : discharge_rows()) lines.push_back(line_of(row));
        return lines;
    }

private:
    /// Fossil CO2 of the own plants, and all fossil CO2e of the pulps.
    SheetLine carbon(const Result& fossil) const {
        SheetLine line{"fossil CO2", "kg", 0.0, {}, false, {}};
        for (const Burden& burden : burdens_of(study_, at_, fossil.node)) {
            if (is_fibre(factor_at(study_, study_.graph.text_of(burden.tag.factor))))
                line.pulp = line.pulp.value_or(0.0) + burden.value;
            else if (study_.graph.text_of(burden.tag.gas) == "co2_fossil" &&
                     study_.graph.text_of(burden.tag.scope) == "1")
                *line.mill += burden.value;
        }
        add_silent(line, fossil.indicator);
        return line;
    }

    SheetLine line_of(const DischargeRow& row) const {
        SheetLine line{std::string(row.title), std::string(row.unit), {}, {}, false, {}};
        const auto indicator = std::ranges::find(study_.indicators, row.id, &Indicator::id);
        bool own = indicator->asked_of != AskedOf::fibre_and_mill;
        if (const Result* found = study_.result(of_, "t", row.id, scenario_)) {
            for (const Burden& burden : burdens_of(study_, at_, found->node)) {
                const Factor* factor = factor_at(study_, study_.graph.text_of(burden.tag.factor));
                own = own || factor == nullptr;
                auto& part = is_fibre(factor) ? line.pulp : line.mill;
                part = part.value_or(0.0) + burden.value;
            }
        }
        if (!own) line.missing.emplace_back(the_mill);
        add_silent(line, static_cast<IndicatorId>(indicator - study_.indicators.begin()));
        return line;
    }

    /// Which pulps that the footprint rests on say nothing of a line.
    void add_silent(SheetLine& line, IndicatorId indicator) const {
        for (const DataRow& data : rows_) {
            const Factor* factor = factor_at(study_, data.factor);
            if (!is_fibre(factor)) continue;
            line.buys_pulp = true;
            if (!states_line(*factor, study_.indicators[indicator]) &&
                std::ranges::find(line.missing, data.factor_title) == line.missing.end())
                line.missing.push_back(data.factor_title);
        }
    }

    const Study& study_;
    const Evaluation& at_;
    std::string_view of_, scenario_;
    std::span<const DataRow> rows_;
};

}  // namespace

std::optional<double> SheetLine::sum() const {
    if (!mill && !pulp) return std::nullopt;
    return mill.value_or(0.0) + pulp.value_or(0.0);
}

std::vector<SheetLine> data_sheet(const Study& study, const Evaluation& at, std::string_view of,
                                  std::string_view scenario, std::span<const DataRow> rows) {
    return SheetMaker(study, at, of, scenario, rows).run();
}

std::vector<FibrePart> fibre_parts(const Study& study, const Evaluation& at, std::string_view of,
                                   std::string_view scenario) {
    const Result* fibre = study.result(of, "t", "fibre", scenario);
    if (fibre == nullptr) return {};
    std::vector<FibrePart> parts;
    double all = 0.0;
    for (const Burden& burden : burdens_of(study, at, fibre->node)) {
        const Factor* factor = factor_at(study, study.graph.text_of(burden.tag.factor));
        const std::string made = factor == nullptr ? std::string() : factor->fibre_is;
        auto found = std::ranges::find(parts, made, &FibrePart::made);
        if (found == parts.end()) found = parts.insert(found, {made, 0.0});
        found->share += burden.value;
        all += burden.value;
    }
    if (all <= 0.0) return {};
    for (FibrePart& part : parts) part.share *= 100.0 / all;
    std::ranges::stable_sort(parts, std::greater<>(), &FibrePart::share);
    return parts;
}

}  // namespace deckle
