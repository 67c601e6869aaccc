#include <fmt/format.h>

#include <algorithm>
#include <cctype>
#include <set>

#include "engine/analysis/check_parts.h"

namespace deckle::checking {
namespace {

/// "us_" of "united_states": ids of parts may begin with the initials of the whole.
std::string initials_of(std::string_view region) {
    std::string initials;
    bool first = true;
    for (const char c : region) {
        if (first) initials += c;
        first = c == '_';
    }
    return initials.size() > 1 ? initials + "_" : std::string{};
}

class ScarcityRules {
public:
    ScarcityRules(CheckContext& check, const Scarcity& set) : check_(check), set_(set) {}

    void run() {
        for (const Mill& mill : check_.model.mills) {
            for (const Water& water : mill.waters) of_water(mill, water);
        }
        std::vector<std::string> unspecified, coarse;
        Place unspecified_place, coarse_place;
        for (const Factor* factor : check_.model.used_factors) {
            for (const WaterPart& part : factor->waters) {
                if (part.use == "unspecified") {
                    if (unspecified.empty()) unspecified_place = part.place;
                    unspecified.push_back(factor->address());
                }
                if (parts_of(part.region) > 0) {
                    if (coarse.empty()) coarse_place = part.place;
                    coarse.push_back(fmt::format("{} ({})", factor->address(), part.region));
                }
            }
        }
        if (!unspecified.empty()) use_unfit(unspecified_place, listed(unspecified), "unspecified");
        if (!coarse.empty()) region_coarse(coarse_place, listed(coarse));
        weights_out_of_bounds();
        const auto years = years_of(check_.model.period);
        const bool part_of_year = years && years->to - years->from < 0.99;
        check_.add({"scarcity-annual", check_.model.scarcity_place,
                    fmt::format("{}: water scarcity rests on annual factors, and {}", set_.id,
                                part_of_year ? "an account of less than a year must not use them"
                                             : "an annual account does not see the season"),
                    fmt::format(
                        "{}: within a year factors of one place differ tenfold and more "
                        "(Chile 5.19 in June, 84.9 in January: AWARE 2.0)",
                        part_of_year ? "take factors of these months" : "say so with the result")});
    }

private:
    void of_water(const Mill& mill, const Water& water) {
        const std::string of = fmt::format("{}.waters.{}", mill.id, water.id);
        if (!water.use.empty() && water.use != "non_agricultural")
            use_unfit(water.place, of, water.use);
        if (parts_of(water.region) > 0)
            region_coarse(water.place, fmt::format("{} ({})", of, water.region));
    }

    /// AWARE keeps its factors within 0.1 and 100 world averages (WULCA).
    void weights_out_of_bounds() {
        constexpr double least = 0.1, most = 100.0;
        if (!set_.model.starts_with("AWARE")) return;
        for (const Scarcity::Weight& weight : set_.weights) {
            const double value = weight.weight.amount.quantity.value;
            if (value >= least && value <= most) continue;
            check_.add({"scarcity-out-of-bounds", weight.weight.place(),
                        fmt::format("{}: {} of {} lies outside 0.1 to 100", set_.id,
                                    weight.weight.scalar.text, weight.region),
                        "the model cuts its factors off there: look it up again"});
        }
    }

    void use_unfit(Place place, const std::string& of, std::string_view use) {
        check_.add({"scarcity-use", place, fmt::format("{}: water scarcity for {} use", of, use),
                    "a mill's use is non_agricultural; the factors of one country differ threefold "
                    "by use (United States 33.7 unspecified, 11.3 non-agricultural: AWARE)"});
    }

    void region_coarse(Place place, const std::string& of) {
        check_.add({"scarcity-region", place,
                    fmt::format("{}: {} knows parts of this region", of, set_.id),
                    "take the state, province or basin: a country's mean hides the site (United "
                    "States 11.3, Arizona 99.4, Louisiana 0.359: AWARE 2.0)"});
    }

    /// How many regions of the set are parts of this one, by their ids.
    std::size_t parts_of(const std::string& region) const {
        if (region.empty() || !set_.knows_region(region)) return 0;
        const std::string initials = initials_of(region);
        std::set<std::string> parts;
        for (const Scarcity::Weight& weight : set_.weights) {
            const bool part = weight.region.starts_with(region + "_") ||
                              (!initials.empty() && weight.region.starts_with(initials));
            if (part) parts.insert(weight.region);
        }
        return parts.size();
    }

    CheckContext& check_;
    const Scarcity& set_;
};

}  // namespace

void check_scarcity(CheckContext& check) {
    if (const Scarcity* set = check.model.tables.scarcity(check.model.scarcity))
        ScarcityRules(check, *set).run();
}

}  // namespace deckle::checking
