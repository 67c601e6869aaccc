// The live page: one HTML file that carries the calculation graph, the engine's results and what
// must be said beside them, with the script that evaluates the graph anew in the reader's browser.
// Nothing is calculated here. page_data.cpp writes the data, page_still.cpp what a reader without
// script sees, page_report.cpp puts both into the shell that the build bundles from reports/page.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "engine/analysis/histogram.h"
#include "engine/study/study.h"
#include "reports/uncertainty.h"

namespace deckle {

struct PageQuestion {
    std::string program;           ///< "deckle 0.1.0"
    std::uint64_t draws = 10'000;  ///< behind intervals and histograms; 0: none are shown
    std::uint64_t seed = 1;
    unsigned threads = 1;
    std::string seal;  ///< digest of the seal that the study lies in; "" without
};

/// How sure the main figures are: today's and those of every scenario, per t, roll, bundle and
/// pack.
struct PageUncertainty {
    std::vector<UncertaintyRow> rows;
    std::vector<Histogram> histograms;  ///< one a row
    std::size_t with_spread = 0, without_spread = 0;
    std::string why;  ///< why there is none: "", or what a draw lacked
};

/// The whole page. Errors: those of uncertainty() other than NoAnswer, which the page tells.
[[nodiscard]] std::string page_html(const Study& study, const Evaluation& at,
                                    const PageQuestion& question);

[[nodiscard]] PageUncertainty page_uncertainty(const Study& study, const Evaluation& at,
                                               const PageQuestion& question);

/// One JSON object: {graph: as in graph_json.h, page: all that the page shows beside it}. The names
/// in `page` are those of reports/page/data.ts.
[[nodiscard]] std::string page_data(const Study& study, const Evaluation& at,
                                    const PageQuestion& question,
                                    const PageUncertainty& uncertainty);

/// HTML without script: the headline figures as the engine has them.
[[nodiscard]] std::string page_still(const Study& study, const Evaluation& at);

}  // namespace deckle
