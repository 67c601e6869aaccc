// The help texts, from the table of verbs.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "reports/command/verbs.h"
#include "reports/style.h"

namespace deckle::command {

/// `deckle --help`: the verbs by person, then all of them.
[[nodiscard]] std::string program_help(const Style& style);

/// `deckle VERB --help`: purpose, usage, options with units and defaults, a worked example, exit
/// status.
[[nodiscard]] std::string verb_help(const VerbRow& verb, const Style& style);

/// "deckle trace STUDY ADDRESS [options]"
[[nodiscard]] std::string usage_of(const VerbRow& verb);

/// "-o, --output FILE"
[[nodiscard]] std::string option_head(const OptionRow& row);

/// Help of an option with its choices and its default.
[[nodiscard]] std::string option_help(const OptionRow& row);

/// Headings of the options of a verb, in the order they appear.
[[nodiscard]] std::vector<std::string_view> groups_of(const VerbRow& verb);

}  // namespace deckle::command
