// A mill in memory over an invented table of factors, for tests: what a file says stands beside
// what is expected of it. Gases weigh 1 (carbon dioxide) and 30 (methane), so that sums are plain.
#pragma once

#include <fmt/format.h>
#include <catch2/catch.hpp>
#include <map>
#include <string>

#include "engine/analysis/breakout.h"
#include "tests/study/memory_study.h"

namespace deckle::test {

/// A factor that releases `kg` of carbon dioxide per one of `per`; `more` holds further keys.
inline std::string factor(const std::string& id, const std::string& kind, const std::string& per,
                          double kg, const std::string& more = "") {
    return fmt::format(
        "  {}: {{title: {}, kind: {}, per: 1 {}, releases: {{co2_fossil: {} kg}}{}}}\n", id, id,
        kind, per, kg, more.empty() ? "" : ", " + more);
}

/// What a test says of its files; `mill` holds everything below the title.
struct MillText {
    std::string factors, mill;
    std::string study = "";                    ///< further lines of the study
    std::string indicators = "";               ///< own indicators of the table
    std::string scarcity = "", products = "";  ///< whole files, where there are any
};

inline std::vector<std::pair<std::string, std::string>> files_of(const MillText& text) {
    std::string study =
        "study: s\ntitle: S\ncharacterization: plain\nfactors: [weights.yaml, factors.yaml" +
        std::string(text.scarcity.empty() ? "" : ", scarcity.yaml") + "]\nmills: [mill.yaml]\n" +
        std::string(text.products.empty() ? "" : "products: products.yaml\n") + text.study;
    std::vector<std::pair<std::string, std::string>> files{
        {"study.yaml", std::move(study)},
        {"weights.yaml",
         "characterization: plain\ntitle: Plain weights\nsource: {title: Invented, year: 2026}\n"
         "gases: {co2_fossil: 1 kg, ch4_fossil: 30 kg, ch4_biogenic: 30 kg}\n"},
        {"factors.yaml",
         "table: t\ntitle: T\nsource: {title: Beside each test, year: 2026}\n" + text.indicators +
             "factors:\n" +
             (text.factors.empty() ? factor("unused", "other", "kg", 0.0) : text.factors)},
        {"mill.yaml", "mill: m\ntitle: M\n" + text.mill}};
    if (!text.scarcity.empty()) files.emplace_back("scarcity.yaml", text.scarcity);
    if (!text.products.empty()) files.emplace_back("products.yaml", text.products);
    return files;
}

/// A loaded mill. Errors: the engine's own.
class MillStudy : public MemoryStudy {
public:
    explicit MillStudy(const MillText& text) : MemoryStudy(files_of(text)) {}

    /// Climate of one unit, in the view that the study heads.
    [[nodiscard]] double climate(const std::string& of, const std::string& per) const {
        return result(of, per, "climate");
    }
    [[nodiscard]] double market(const std::string& of, const std::string& per) const {
        return at.value[found(of, per).market];
    }
    [[nodiscard]] double location(const std::string& of, const std::string& per) const {
        return at.value[found(of, per).location];
    }
    /// Climate by stage, scope, use, in one view.
    [[nodiscard]] std::map<std::string, double> by(BreakoutBy by, const std::string& of,
                                                   const std::string& per,
                                                   bool market_view = false) const {
        const Result& asked = found(of, per);
        std::map<std::string, double> rows;
        for (const Contribution& row :
             break_out(study, at, asked, market_view ? asked.market : asked.location, by).rows)
            rows[row.name] = row.value;
        return rows;
    }

private:
    [[nodiscard]] const Result& found(const std::string& of, const std::string& per) const {
        const Result* result = study.result(of, per, "climate");
        INFO(of << "." << per);
        REQUIRE(result != nullptr);
        return *result;
    }
};

/// The only problem of a mill that is refused (exit status 2), or that has no answer (3).
inline Problem refused(const MillText& text) {
    try {
        const MillStudy study(text);
    } catch (const InputError& error) {
        REQUIRE(error.problems.size() == 1);
        return error.problems.front();
    }
    FAIL("the mill was not refused");
    return {};
}
inline Problem no_answer(const MillText& text) {
    try {
        const MillStudy study(text);
    } catch (const NoAnswer& error) {
        return error.problem;
    }
    FAIL("the mill has an answer");
    return {};
}

/// What was printed, to half of its last digit.
inline auto printed(double value, double half_last_digit) {
    return Catch::Matchers::WithinAbs(value, half_last_digit);
}
/// What was worked out by hand, to the rounding of a few operations.
inline auto exactly(double value) { return Catch::Matchers::WithinRel(value, 1e-13); }

}  // namespace deckle::test
