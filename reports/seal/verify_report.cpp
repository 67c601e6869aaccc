#include <fmt/format.h>

#include "reports/footprint_notes.h"
#include "reports/inert.h"
#include "reports/json_parts.h"
#include "reports/seal/verify.h"

namespace deckle {
namespace {

std::string words_of_signature(const SealVerification& found) {
    if (found.signed_by.empty())
        return "Not signed: that nothing was altered is sure only if the digest came to you by "
               "another way than the seal.";
    const std::string key = fmt::format("Signed with the key {}", found.signed_by);
    if (found.key_given) return key + ".";
    return key + "; whose it is, is not known: --key compares it with a key you trust.";
}

}  // namespace

std::string verification_text(const SealVerification& found, const std::string& name,
                              const std::string& program, const Style& style) {
    std::string text = style.bold(inert(name)) + "\n";
    text += fmt::format("  study    {}\n  sealed   by {}, verified by {}\n  digest   {}\n",
                        inert(found.study), inert(found.program), program, found.digest);
    text += paragraph(words_of_signature(found), 2, 2, style);
    if (found.findings.empty()) {
        return text + paragraph(fmt::format("{} files, {} of them tables: as they were sealed. {} "
                                            "results worked out anew: the same to the bit.",
                                            found.inputs, found.factor_tables, found.figures),
                                0, 0, style);
    }
    text += "\n" + style.bold("What differs") + "\n";
    for (const SealFinding& one : found.findings)
        text += fmt::format("{} [{}]\n", inert_lines(one.message), one.code);
    return text + fmt::format("{} finding{}: the seal does not hold\n", found.findings.size(),
                              found.findings.size() == 1 ? "" : "s");
}

std::string verification_json(const SealVerification& found, const std::string& program) {
    Json json = report_head("deckle-verification", program);
    json["sealed_by"] = found.program;
    json["study"] = found.study;
    json["digest"] = found.digest;
    json["signed_by"] = found.signed_by.empty() ? Json(nullptr) : Json(found.signed_by);
    json["files"] = found.inputs;
    json["factor_tables"] = found.factor_tables;
    json["results"] = found.figures;
    json["holds"] = found.findings.empty();
    json["findings"] = Json::array();
    for (const SealFinding& one : found.findings)
        json["findings"].push_back({{"code", one.code}, {"message", one.message}});
    return json_text(json);
}

}  // namespace deckle
