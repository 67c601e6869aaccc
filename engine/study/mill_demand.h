// What is asked of the products of a mill: the study's output, brought to the sheets and other
// products that it takes. How a process is typed, for a year or for one tonne, says nothing of
// that.
#pragma once

#include <string>
#include <vector>

#include "engine/study/model.h"

namespace deckle {

struct MillDemand {
    std::vector<NodeId> amounts;       ///< by product of the mill, in its unit; no_node for none
    std::vector<std::string> unknown;  ///< final products of which nothing says how much
};

/// Of `mill`, one of the assembly's. Co-products go along with what their process is asked for.
/// Where the study states no output of a mill, all whose final products come from one process, it
/// is asked for what that is typed with in `today`: any amount gives the same shares.
[[nodiscard]] MillDemand demand_of(Build& build, const StudyModel& model, const Assembly& assembly,
                                   const MillNodes& mill, const MillNodes& today);

}  // namespace deckle
