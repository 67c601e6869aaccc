// The verbs, each in a file of its own. They return the exit status.
#pragma once

#include "reports/command/arguments.h"

namespace deckle::command {

[[nodiscard]] int run_footprint(const Arguments& arguments);
[[nodiscard]] int run_trace(const Arguments& arguments);
[[nodiscard]] int run_check(const Arguments& arguments);
[[nodiscard]] int run_compare(const Arguments& arguments);
[[nodiscard]] int run_factors(const Arguments& arguments);
[[nodiscard]] int run_uncertainty(const Arguments& arguments);
[[nodiscard]] int run_merge(const Arguments& arguments);
[[nodiscard]] int run_sensitivity(const Arguments& arguments);
[[nodiscard]] int run_breakeven(const Arguments& arguments);
[[nodiscard]] int run_seal(const Arguments& arguments);
[[nodiscard]] int run_verify(const Arguments& arguments);
[[nodiscard]] int run_keys(const Arguments& arguments);
[[nodiscard]] int run_difference(const Arguments& arguments);
[[nodiscard]] int run_sample(const Arguments& arguments);
[[nodiscard]] int run_workbook(const Arguments& arguments);
[[nodiscard]] int run_disclose(const Arguments& arguments);
[[nodiscard]] int run_page(const Arguments& arguments);
[[nodiscard]] int run_demonstration(const Arguments& arguments);

}  // namespace deckle::command
