// A supplier's product footprint as a factor: a factor that says `factor_from: FILE` takes its
// unit, its lines, its set of potentials, its validity, its primary share and its source from that
// file, each with its place there. What the file states is handed to the ordinary reader of
// factors.
#pragma once

#include <cstdint>

#include "engine/tables/factor.h"
#include "engine/text/files.h"
#include "engine/text/problem.h"
#include "engine/text/yaml.h"

namespace deckle {

/// Ratings and potentials of a mapping `supplier_footprint`. Problems: not-a-list, bad-score.
void read_supplier_lists(const YamlValue& map, SupplierFootprint& supplier, Problems& problems);

/// Completes the factors of a factor table, the tree of `table_file`. Files are sought beside it.
/// Version 3 of the model is checked by its rules first; version 2 gives its amounts for one unit.
/// Errors go to `problems`: those of reading a file and of check_declared; several-footprints,
/// unit-not-carried, line-not-carried, stated-twice, property-missing.
void bring_in_footprints(YamlValue& root, Files& files, std::uint32_t table_file,
                         Problems& problems);

}  // namespace deckle
