// A table of products in CSV as the same tree that YAML gives: one row a product, the head names
// key paths with their unit in parentheses, an empty cell is an absent key. UTF-8, comma, RFC 4180.
#pragma once

#include "engine/text/yaml.h"

namespace deckle {

/// Mapping of ids to products. Codes: csv-head, csv-quote, csv-columns, duplicate-key, empty-file.
[[nodiscard]] YamlValue read_product_csv(const Files& files, std::uint32_t file,
                                         Problems& problems);

}  // namespace deckle
