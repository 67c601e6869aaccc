// The trade's data sheet of a product: per tonne, what the mill and what its pulps release and
// discharge, and of which fibre it is made. Walks over the burdens of results (breakout.h).
#pragma once

#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "engine/analysis/breakout.h"
#include "engine/analysis/data_rows.h"
#include "engine/study/study.h"

namespace deckle {

/// A line of the trade's data sheet, per tonne: what the mill and what its pulps bring.
struct SheetLine {
    std::string title, unit;
    std::optional<double> mill, pulp;  ///< none where nothing states it
    bool buys_pulp = false;
    std::vector<std::string> missing;  ///< "the mill", and titles of pulps that do not state it

    /// Of what is stated: all of it where nothing is missing, else at least so much.
    [[nodiscard]] std::optional<double> sum() const;
};

/// Part of the dry fibre bought that is so made.
struct FibrePart {
    std::string made;    ///< chemical, mechanical, recycled, other or ""
    double share = 0.0;  ///< [%]
};

/// Fossil CO2, then each discharge of the trade, of a product `of` in a scenario ("" is today).
/// `rows`: what its footprint rests on. Empty where it has no result per tonne.
[[nodiscard]] std::vector<SheetLine> data_sheet(const Study& study, const Evaluation& at,
                                                std::string_view of, std::string_view scenario,
                                                std::span<const DataRow> rows);

/// Dry fibre bought, by how it was made: what goes in, not what stays in the sheet.
[[nodiscard]] std::vector<FibrePart> fibre_parts(const Study& study, const Evaluation& at,
                                                 std::string_view of, std::string_view scenario);

}  // namespace deckle
