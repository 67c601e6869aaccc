// The factors that a study's tables hold, as they are typed: what can be used, in which unit, from
// which source. A walk over the tables alone, so that it serves a study that does not load yet.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "engine/study/model.h"
#include "reports/style.h"

namespace deckle {

struct FactorQuestion {
    std::vector<std::string> words;  ///< each in the id, title or kind; none: all
    std::vector<std::string> kinds;  ///< none: all
};

struct FactorList {
    const StudyModel* model;
    const Files* files;
    std::vector<const Factor*> factors;  ///< in the order of tables and lines
};

/// Errors: InputError unknown-kind, unknown-factor (none fits).
[[nodiscard]] FactorList list_factors(const StudyModel& model, const Files& files,
                                      const FactorQuestion& question);

/// A table of factors for each table of the study that has some.
[[nodiscard]] std::string factor_list_text(const FactorList& list, const Style& style);
[[nodiscard]] std::string factor_list_json(const FactorList& list, std::string_view program);
/// A line a factor.
[[nodiscard]] std::string factor_list_csv(const FactorList& list);

}  // namespace deckle
