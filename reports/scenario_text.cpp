#include "reports/scenario_text.h"

#include <fmt/format.h>

#include "reports/inert.h"
#include "reports/words.h"

namespace deckle {

std::string scenario_text(const Study& study, std::string_view id, const Style& style) {
    const Scenario* scenario = id.empty() ? nullptr : study.scenario(id);
    if (scenario == nullptr) return {};
    std::string text =
        "\n" + style.bold(fmt::format("Scenario {}: {}", inert(id), inert(scenario->title))) + "\n";
    for (const Scenario::Step& step : scenario->steps) {
        const std::string from =
            step.scenario == id ? std::string{} : fmt::format(" [{}]", inert(step.scenario));
        text += paragraph(fmt::format("{} ({}){}", inert(step.change), inert(step.reason), from), 2,
                          4, style);
    }
    if (!scenario->note.empty()) text += paragraph(inert(scenario->note), 0, 0, style);
    for (const Problem& finding : scenario->findings)
        text += paragraph(fmt::format("{} ({})", inert(finding.message), inert(finding.hint)), 0, 2,
                          style);
    return text + paragraph(equipment_caution(), 0, 0, style);
}

std::vector<std::string> scenario_findings(const Study& study,
                                           const std::set<std::string>& scenarios) {
    std::vector<std::string> said;
    for (const std::string& id : scenarios) {
        const Scenario* scenario = id.empty() ? nullptr : study.scenario(id);
        if (scenario == nullptr) continue;
        for (const Problem& finding : scenario->findings)
            said.push_back(fmt::format("{} ({})", finding.message, finding.hint));
    }
    return said;
}

std::string scenario_notes(const std::vector<std::string>& findings, const Style& style) {
    std::string text = "\n";
    for (const std::string& one : findings) text += paragraph(inert(one), 0, 2, style);
    return text + paragraph(equipment_caution(), 0, 0, style);
}

std::string scenario_notes(const Study& study, const std::set<std::string>& scenarios,
                           const Style& style) {
    const bool any = !scenarios.empty() && !scenarios.rbegin()->empty();
    return any ? scenario_notes(scenario_findings(study, scenarios), style) : std::string();
}

std::string_view equipment_caution() noexcept {
    return "Caution: these figures compare footprints and are no design. Burners, boilers, "
           "hydrogen, pressure equipment and electrical work follow local codes and are for "
           "licensed "
           "practitioners.";
}

}  // namespace deckle
