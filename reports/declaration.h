// A product's declaration in the model that customers' systems exchange (engine/declaration): the
// figures of engine/analysis/declared.h written as JSON, with an id that follows from the content,
// and the report of a check of such files.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "engine/analysis/declared.h"
#include "engine/declaration/check.h"

namespace deckle {

struct Declaration {
    std::string of;    ///< product of the study
    std::string id;    ///< UUID, version 8: of the content, so that a change changes it
    std::string json;  ///< one object, ends with a line end
    std::vector<Problem> findings;
};

/// Writes and checks them. Errors: InputError with the rules that a declaration breaks, at the
/// place of the product in the study.
[[nodiscard]] std::vector<Declaration> declarations(const Study& study,
                                                    const std::vector<DeclaredFigures>& figures);

/// One object for one; for several {"data": [...]}, as a system answers with them.
[[nodiscard]] std::string declarations_json(const std::vector<Declaration>& all);

/// Notes for a reader of the figures, one sentence each: what is not quantified, how burnt biomass
/// is counted, whether somebody verified them. Part of the comment, and of the report.
[[nodiscard]] std::vector<std::string> declaration_notes(const Study& study,
                                                         const DeclaredFigures& figures);

/// RFC 9562, section 5.8 and appendix B.2: a UUID of version 8 from SHA-256 of a name.
[[nodiscard]] std::string uuid_of(std::string_view space, std::string_view name);

/// Errors and findings apart, each with file, line, column and JSON pointer; ends with a count.
struct DeclarationCheck {
    std::size_t footprints = 0;
    std::vector<Problem> problems;
    [[nodiscard]] bool has_errors() const;
};
/// Checks all files that were read. Errors: InputError json-syntax for what is no JSON,
/// no-footprint for what holds none, and those of read_yaml.
[[nodiscard]] DeclarationCheck check_declarations(const Files& files);
[[nodiscard]] std::string declaration_check_text(const DeclarationCheck& check, const Files& files);
[[nodiscard]] std::string declaration_check_json(const DeclarationCheck& check, const Files& files,
                                                 std::string_view program);

}  // namespace deckle
