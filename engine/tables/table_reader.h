// The readers of the table documents, chosen by their head key. Used inside this room only.
#pragma once

#include <vector>

#include "engine/tables/factor.h"

namespace deckle {

void read_factor_table(const YamlValue& root, Tables& tables, Problems& problems);
void read_characterization(const YamlValue& root, Tables& tables, Problems& problems);
void read_scarcity(const YamlValue& root, Tables& tables, Problems& problems);
void read_prices(const YamlValue& root, Tables& tables, Problems& problems);
void read_quality_spread(const YamlValue& root, Tables& tables, Problems& problems);

[[nodiscard]] std::vector<const KeyTable*> factor_key_tables();
[[nodiscard]] std::vector<const KeyTable*> weight_key_tables();
[[nodiscard]] std::vector<const KeyTable*> quality_key_tables();

}  // namespace deckle
