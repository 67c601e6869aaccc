// What one amount of a thing brings, by the shipped tables or by factors typed in a test: each
// question becomes a process that makes one piece of a service and uses nothing but this amount.
#pragma once

#include <map>
#include <string>
#include <utility>
#include <vector>

#include "tests/study/memory_study.h"

namespace deckle::test {

/// Tables of a question. The three shipped sets of warming potentials are always there.
struct Book {
    std::vector<std::string> shipped = {};  ///< "fuels_eu", ... of factors/
    std::string own = {};                   ///< factors, each indented by two blanks
    std::string characterization = "ar5_100";
    std::string scarcity = {};
    std::string more = {};                           ///< further lines of study.yaml
    std::map<std::string, std::string> beside = {};  ///< files beside the table
};

/// (name of the service, what is used): {"anthracite", "anthracite_us: 1 short_ton"}.
using Questions = std::vector<std::pair<std::string, std::string>>;

class Answers : public MemoryStudy {
public:
    Answers(const Book& book, const Questions& questions);

    /// Of one piece of a service.
    [[nodiscard]] double of(const std::string& name,
                            const std::string& indicator = "climate") const {
        return result(name, "piece", indicator);
    }
    /// The part of a gas in it [kg CO2e].
    [[nodiscard]] double of_gas(const std::string& name, const std::string& gas) const;
    [[nodiscard]] Coverage coverage(const std::string& name, const std::string& indicator) const;
};

/// Codes of what is wrong with the tables or what is used, in the order of their places.
[[nodiscard]] std::vector<std::string> problems_of(const Book& book, const Questions& questions);

/// A figure as printed: within half a unit of its last digit.
[[nodiscard]] inline auto printed(double value, double half_last_digit) {
    return Catch::Matchers::WithinAbs(value, half_last_digit * (1 + 1e-9));
}

/// Equal but for roundings on the way: a few units in the last of sixteen digits.
[[nodiscard]] inline auto equals(double expected) {
    return Catch::Matchers::WithinRel(expected, 1e-14);
}

}  // namespace deckle::test
